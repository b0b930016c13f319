//! Week: does this plan do what the client wants? The plan as a grid, the ledger, gaps, minutes and proposals.

use super::client::flags;
use super::start::day as changed_on;
use crate::App;
use crate::answers::{Answer, Refused, blocking};
use crate::page::{Frame, Place, page};
use crate::state::Known;
use answer::{Audit, Entry, GroupRow, LedgerRow, Message, Proposal, SettingValue, Status};
use axum::Router;
use axum::extract::{Path, Query, State};
use axum::http::header;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use desk::text;
use maud::{Markup, html};
use std::collections::BTreeMap;
use std::sync::Arc;
use store::{Week, WeekId};

pub fn routes() -> Router<Arc<App>> {
    Router::new()
        .route("/week", get(newest))
        .route("/week/{id}", get(show))
        .route("/week/{id}/judged", get(judged))
        .route("/week/{id}/edit", post(super::week_edit::edit))
        .route("/week/{id}/history", get(history))
        .route("/week/{id}/compare", get(compare))
        .route("/week/{id}/workbook", get(workbook))
        .route("/week/{id}/ledger.{kind}", get(ledger_file))
}

/// The week changed last, of any client.
async fn newest(State(app): State<Arc<App>>) -> Answer {
    let mut weeks = app.store.newest_weeks()?;
    weeks.sort_by(|a, b| b.changed.cmp(&a.changed).then(a.id.cmp(&b.id)));
    let to = weeks.first().map_or("/".to_string(), |w| format!("/week/{}", w.id));
    Ok(Redirect::to(&to).into_response())
}

async fn show(State(app): State<Arc<App>>, Path(id): Path<WeekId>) -> Response {
    blocking(move || {
        let week = app.store.week(id)?;
        let known = app.known(week.row.client)?;
        Ok(week_page(&app, &known, &week)?.into_response())
    })
    .await
}

/// Title, plan and what is judged so far. What is not judged yet is asked for by the page itself.
fn week_page(app: &App, known: &Known, week: &Week) -> Result<Markup, Refused> {
    let ready = app.judged_already(known, week);
    let audit = ready.as_deref().and_then(|r| r.as_ref().ok());
    let finding = match (&ready, week.content.entries.is_empty()) {
        (_, true) => "Nothing is planned yet: write the first exercise into a day".to_string(),
        (Some(r), _) => r.as_ref().as_ref().map_or_else(|_| "This week cannot be judged".into(), figure::audit_finding),
        (None, _) => "Working out what this week trains …".to_string(),
    };
    let about = html! {
        a href={ "/client/" (known.row.id) } { (known.row.name) } " · " (week.row.name)
        span.grey { " · changed " (changed_on(&week.row.changed)) }
    };
    let body = html! {
        nav.actions.jump aria-label="On this page" {
            a href="#judged" { "Ledger, gaps, proposals" }
            a href="#plan" { "The plan" }
        }
        div.week { div id="judged" data-load=[ready.is_none().then(|| format!("/week/{}/judged", week.row.id))] aria-live="polite" {
            @match &ready {
                Some(r) => (judgement(week, r)),
                None => {
                    p.note { "The ledger, the gaps and proposals follow in a moment. "
                        a href={ "/week/" (week.row.id) "/judged?page=1" } { "Wait for them" } }
                }
            }
        }
        (super::week_plan::plan(app, known, week, audit)?) }
    };
    Ok(page(&Frame { place: Some(Place::Week), finding: &finding, about }, body))
}

async fn judged(
    State(app): State<Arc<App>>,
    Path(id): Path<WeekId>,
    Query(query): Query<BTreeMap<String, String>>,
) -> Response {
    blocking(move || {
        let week = app.store.week(id)?;
        let known = app.known(week.row.client)?;
        let result = app.judged(&known, &week);
        if query.contains_key("page") {
            return Ok(Redirect::to(&format!("/week/{id}")).into_response());
        }
        let finding = result.as_ref().as_ref().map_or_else(|_| "This week cannot be judged".into(), figure::audit_finding);
        let minutes = result.as_ref().as_ref().ok().map(super::week_plan::minutes_of);
        Ok(html! {
            template data-finding { @if week.content.entries.is_empty() { "Nothing is planned yet: write the first exercise into a day" } @else { (finding) } }
            @if let Some(minutes) = minutes { template data-minutes { @for (day, text) in &minutes { span data-day=(day) { (text) } } } }
            (judgement(&week, &result))
        }
        .into_response())
    })
    .await
}

/// Cautions, ledger, gaps and proposals, or why there are none.
fn judgement(week: &Week, result: &Result<Audit, desk::problem::Report>) -> Markup {
    match result {
        Err(report) => {
            html! { ul.problems { @for p in &report.problems { li.stop { (p.place) " " (p.what) @if !p.remedy.is_empty() { ": " (p.remedy) } } } } }
        }
        Ok(a) if week.content.entries.is_empty() => flags(&a.flags),
        Ok(a) => html! {
            (flags(&a.flags))
            (ledger(a))
            (gaps(a))
            (proposals(week, a))
            (messages(&a.messages, &a.notes))
        },
    }
}

/// Right end of the scale: the largest band or credit shown, a round number.
fn scale(a: &Audit) -> f64 {
    let heads = a.ledger.iter().map(|r| r.credited_sets.pooled.high.max(r.band.high));
    let groups = a.groups.iter().map(|r| r.credited_sets.pooled.high.max(r.band.high));
    let most = heads.chain(groups).fold(8.0, f64::max).min(32.0);
    (most / 4.0).ceil() * 4.0
}

/// Range, middle and band on one line; words beside it carry the numbers.
fn bar(range: answer::Range, band: answer::Band, most: f64) -> Markup {
    let at = |v: f64| format!("{:.1}", 240.0 * (v / most).clamp(0.0, 1.0));
    let wide = |low: f64, high: f64| format!("{:.1}", (240.0 * ((high - low) / most)).clamp(2.0, 240.0));
    html! {
        svg.bar viewBox="-6 0 252 22" width="252" height="22" aria-hidden="true" {
            line.axis x1="0" x2="240" y1="11" y2="11" {}
            rect.band x=(at(band.low)) width=(wide(band.low, band.high)) y="3" height="16" rx="2" {}
            rect.range x=(at(range.low)) width=(wide(range.low, range.high.min(most))) y="8" height="6" rx="3" {}
            circle.mid cx=(at(range.mid)) cy="11" r="4.5" {}
        }
    }
}

fn ledger(a: &Audit) -> Markup {
    let most = scale(a);
    html! {
        section.card.ledger aria-labelledby="ledger-title" {
            h2 id="ledger-title" { "Credited sets a week" }
            p.grey { "Dot: best estimate. Bar: range. Sand field: what the aim asks for. Groups first; open one for its heads." }
            @for g in &a.groups {
                @let rows: Vec<&LedgerRow> = a.ledger.iter().filter(|r| g.heads.contains(&r.head)).collect();
                details.group { summary.ledger-row { (group_row(g, most)) }
                    @for r in rows { div.ledger-row.head { (head_row(r, most)) } }
                }
            }
        }
    }
}

fn of_band(range: answer::Range, band: answer::Band) -> Markup {
    if band.high <= 0.0 {
        return html! { b { (text::number(range.mid, 1)) } span.grey { " (" (text::number(range.low, 1)) "–" (text::number(range.high, 1)) "), none asked for" } };
    }
    html! { b { (text::number(range.mid, 1)) } span.grey { " (" (text::number(range.low, 1)) "–" (text::number(range.high, 1)) ") of " (text::short(band.low, 1)) "–" (text::short(band.high, 1)) } }
}

fn verdict(word: &str) -> Markup {
    html! { @match word { "below" => b { "short" }, "above" => span { "above" }, _ => span.grey { "in band" } } }
}

fn group_row(g: &GroupRow, most: f64) -> Markup {
    html! {
        span.what { (g.group) " " span.grey { (g.aim) } }
        (bar(g.credited_sets.pooled, g.band, most))
        span.n title=(g.band_basis) { (of_band(g.credited_sets.pooled, g.band)) }
        span { @if g.band.high > 0.0 { (verdict(&g.verdict)) } }
    }
}

fn head_row(r: &LedgerRow, most: f64) -> Markup {
    let share = |v: f64| format!("{:.0} %", 100.0 * v);
    html! {
        span.what { a href={ "/muscle?h=" (r.head) } { (figure::words::capital(&r.plain)) }
            @for m in &r.marks { " " span.mark { (m) } } }
        (bar(r.credited_sets.pooled, r.band, most))
        span.n { (of_band(r.credited_sets.pooled, r.band)) }
        details.why { summary { (verdict(&r.verdict)) " " span.link { "why" } }
            ul {
                @for (from, sets) in &r.from { li { (from) ": " (text::number(*sets, 1)) } }
                li.grey { "by mechanics " (text::range(r.credited_sets.mechanics, 1)) ", by counting (direct 1, indirect ½) " (text::number(r.credited_sets.convention, 1))
                    @match r.credited_sets.trials { Some(t) => { ", by trials " (text::number(t, 1)) }, None => {} } }
                li.grey { (r.sessions) " sessions; at long length " (share(r.long_length_share)) "; largest session " (text::number(r.largest_session, 1)) }
                @if !r.band_basis.is_empty() { li.grey { "band: " (r.band_basis) } }
                li { a href={ "/muscle?h=" (r.head) } { "what trains it best" } }
            }
        }
    }
}

fn gaps(a: &Audit) -> Markup {
    const FIRST: usize = 6;
    let line = |g: &answer::Gap| html! { li { b { (figure::words::capital(&g.plain)) } " is " (text::number(g.short_by, 1)) " short: " (g.reason) } };
    html! {
        @if !a.gaps.is_empty() {
            section.card aria-labelledby="gaps-title" {
                h2 id="gaps-title" { "Gaps" }
                ul.lines { @for g in a.gaps.iter().take(FIRST) { (line(g)) } }
                @if a.gaps.len() > FIRST {
                    details { summary { (a.gaps.len() - FIRST) " smaller ones" } ul.lines { @for g in a.gaps.iter().skip(FIRST) { (line(g)) } } }
                }
            }
        }
    }
}

/// A proposal's line with its settings as a coach says them: "stance width from 1.1 to 1.6 × shoulder width".
pub fn edit_said(p: &Proposal) -> String {
    let Some((what, changes)) = p.edit.rsplit_once(": ").filter(|_| p.change.kind == "setting") else {
        return p.edit.clone();
    };
    let said = |change: &str| -> Option<String> {
        let (key, rest) = change.split_once(' ')?;
        let (from, to) = match rest.strip_prefix("from ") {
            Some(both) => both.split_once(" to ").map(|(from, to)| (Some(from), to))?,
            None => (None, rest.strip_prefix("to ")?),
        };
        let (label, unit) = figure::setting_label(key);
        let value = |text: &str| -> Option<String> {
            let value = text.parse().map_or_else(|_| SettingValue::Word(text.into()), SettingValue::Number);
            let all = figure::setting_said(key, &value);
            Some(all.strip_prefix(label)?.trim_start_matches(':').trim().to_string())
        };
        // The unit once, behind the last number.
        let first = |v: String| v.strip_suffix(unit).map_or(v.clone(), |bare| bare.trim_end().to_string());
        Some(match from {
            Some(from) => format!("{label} from {} to {}", first(value(from)?), value(to)?),
            None => format!("{label} to {}", value(to)?),
        })
    };
    let changes: Vec<String> = changes.split(", ").map(|c| said(c).unwrap_or_else(|| c.to_string())).collect();
    format!("{what}: {}", changes.join(", "))
}

fn proposals(week: &Week, a: &Audit) -> Markup {
    const FIRST: usize = 3;
    html! {
        section aria-labelledby="proposals-title" {
            h2 id="proposals-title" { "Proposals" }
            @if a.proposals.is_empty() { p.note { "Change nothing: no single edit inside kit, time and limits makes this week clearly better." } }
            @for (n, p) in a.proposals.iter().enumerate().take(FIRST) { (proposal(week, a, n, p)) }
            @if a.proposals.len() > FIRST {
                details.more { summary { (a.proposals.len() - FIRST) " more, once these are done" }
                    @for (n, p) in a.proposals.iter().enumerate().skip(FIRST) { (proposal(week, a, n, p)) }
                }
            }
            @if a.proposals.len() > 1 { p.grey { "Each counts on those above it. Apply from the top." } }
            p { a href={ "/week/" (week.row.id) "/rebuild" } { "Or build the whole week anew, with a bound on how good it can be" } }
        }
    }
}

fn proposal(week: &Week, a: &Audit, n: usize, p: &Proposal) -> Markup {
    let plain = |head: &str| {
        a.ledger.iter().find(|r| r.head == *head).map_or_else(|| head.replace('-', " "), |r| r.plain.clone())
    };
    let mut moved: Vec<(&String, f64, f64)> =
        p.after.iter().map(|(h, after)| (h, p.before.get(h).copied().unwrap_or_default(), *after)).collect();
    moved.sort_by(|x, y| (y.2 - y.1).abs().total_cmp(&(x.2 - x.1).abs()));
    let applies = n == 0 && !p.change.kind.is_empty();
    html! {
        article.card.proposal {
            div {
                h3 { (edit_said(p)) }
                p { (p.reason) }
                p.grey {
                    @for (i, (head, before, after)) in moved.iter().take(5).enumerate() {
                        @if i > 0 { "; " } (plain(head)) " " (text::number(*before, 1)) " → " (text::number(*after, 1))
                    }
                    @if p.minutes.abs() >= 0.5 { "; minutes " (text::signed(p.minutes, 0)) }
                }
                @if !p.costs.is_empty() { p.grey { "It costs: " (p.costs.join("; ")) } }
                @if !p.cautions.is_empty() { p.note { "Mind: " (p.cautions.join("; ")) } }
                @if !p.stop_signs.is_empty() { details { summary { "Stop and ask for help when" } ul { @for s in &p.stop_signs { li { (s) } } } } }
            }
            @if applies {
                form method="post" action={ "/week/" (week.row.id) "/edit" } data-swap {
                    input type="hidden" name="version" value=(week.row.version);
                    button name="do" value="apply" { "Apply" }
                }
            }
        }
    }
}

fn messages(list: &[Message], notes: &[String]) -> Markup {
    html! {
        @if !list.is_empty() || !notes.is_empty() {
            details.card { summary { "What was assumed (" (list.len() + notes.len()) ")" }
                ul.lines {
                    @for m in list { li { @if !m.place.is_empty() { span.grey { (m.place) " " } } (m.text) } }
                    @for n in notes { li { (n) } }
                }
            }
        }
    }
}

async fn history(State(app): State<Arc<App>>, Path(id): Path<WeekId>) -> Answer {
    let week = app.store.week(id)?;
    let states = app.store.history(id)?;
    let body = html! {
        table.card { thead { tr { th scope="col" { "When (UTC)" } th scope="col" { "Change" } th scope="col" { "" } } }
            tbody { @for s in &states {
                tr { td { (s.made.replace('T', " ").trim_end_matches('Z')) } td { (s.what) }
                    td { @if s.shown { b { "shown" } } @else {
                        form method="post" action={ "/week/" (id) "/edit" } {
                            input type="hidden" name="version" value=(week.row.version);
                            input type="hidden" name="state" value=(s.at);
                            button.quiet name="do" value="state" { "Go to it" }
                        }
                    } }
                }
            } }
        }
    };
    let about = html! { a href={ "/week/" (id) } { (week.row.name) } };
    let finding = format!("{} states are kept; going to one loses none", states.len());
    Ok(page(&Frame { place: Some(Place::Week), finding: &finding, about }, body).into_response())
}

/// What moved from one week to another, head by head.
async fn compare(
    State(app): State<Arc<App>>,
    Path(id): Path<WeekId>,
    Query(query): Query<BTreeMap<String, String>>,
) -> Response {
    blocking(move || {
        let week = app.store.week(id)?;
        let known = app.known(week.row.client)?;
        let others = app.store.weeks(week.row.client)?;
        let with = query.get("with").and_then(|w| w.parse::<WeekId>().ok());
        let about = html! { a href={ "/week/" (id) } { (week.row.name) } " of " (known.row.name) };
        let choose = html! {
            form.row { label { "Compare with" select name="with" { @for w in others.iter().filter(|w| w.id != id) { option value=(w.id) selected[with == Some(w.id)] { (w.name) } } } } button { "Compare" } }
        };
        let Some(with) = with else {
            return Ok(page(&Frame { place: Some(Place::Week), finding: "Which two weeks?", about }, choose).into_response());
        };
        let other = app.store.week(with)?;
        let other_known = app.known(other.row.client)?;
        let (a, b) = (app.judged(&known, &week), app.judged(&other_known, &other));
        let (a, b) = (a.as_ref().as_ref().map_err(Clone::clone)?, b.as_ref().as_ref().map_err(Clone::clone)?);
        let mut rows: Vec<(&LedgerRow, f64, f64)> = a
            .ledger
            .iter()
            .filter_map(|r| b.ledger.iter().find(|o| o.head == r.head).map(|o| (r, r.credited_sets.pooled.mid, o.credited_sets.pooled.mid)))
            .collect();
        rows.sort_by(|x, y| (y.2 - y.1).abs().total_cmp(&(x.2 - x.1).abs()));
        let moved = rows.iter().filter(|r| (r.2 - r.1).abs() >= 0.5).count();
        let finding = match rows.first().filter(|r| (r.2 - r.1).abs() >= 0.5) {
            Some((r, from, to)) => format!("{moved} heads differ by half a set or more, most of all {}: {} against {}", r.plain, text::number(*from, 1), text::number(*to, 1)),
            None => "No head differs by half a credited set".to_string(),
        };
        let body = html! {
            (choose)
            table.card { thead { tr { th scope="col" { "Head" } th.n scope="col" { (week.row.name) } th.n scope="col" { (other.row.name) } th.n scope="col" { "Difference" } th.n scope="col" { "Asked for" } } }
                tbody { @for (r, from, to) in rows.iter().filter(|r| (r.2 - r.1).abs() >= 0.1) {
                    tr { th scope="row" { (figure::words::capital(&r.plain)) } td.n { (text::number(*from, 1)) } td.n { (text::number(*to, 1)) } td.n { (text::signed(to - from, 1)) } td.n { (text::short(r.band.low, 1)) "–" (text::short(r.band.high, 1)) } }
                } }
            }
        };
        Ok(page(&Frame { place: Some(Place::Week), finding: &finding, about }, body).into_response())
    })
    .await
}

async fn workbook(State(app): State<Arc<App>>, Path(id): Path<WeekId>) -> Response {
    blocking(move || {
        let week = app.store.week(id)?;
        let known = app.known(week.row.client)?;
        let audit = app.judged(&known, &week);
        let bytes = app.desk(Some(known.client), 0).workbook(audit.as_ref().as_ref().map_err(Clone::clone)?)?;
        let kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";
        Ok(file(kind, &format!("week-{id}.xlsx"), bytes))
    })
    .await
}

async fn ledger_file(State(app): State<Arc<App>>, Path((id, kind)): Path<(WeekId, String)>) -> Response {
    blocking(move || {
        let week = app.store.week(id)?;
        let known = app.known(week.row.client)?;
        let audit = app.judged(&known, &week);
        let format = match kind.as_str() {
            "slide" => figure::Format::Slide,
            "post" => figure::Format::Post,
            _ => figure::Format::Page,
        };
        let card = figure::Card { format, ..figure::Card::default() };
        let svg = figure::ledger(audit.as_ref().as_ref().map_err(Clone::clone)?, figure::Opened::Groups, &card).svg;
        super::movement::picture(&format!("week-{id}"), &kind, svg)
    })
    .await
}

/// A file to be saved.
pub fn file(kind: &str, name: &str, bytes: Vec<u8>) -> Response {
    let disposition = format!("attachment; filename=\"{name}\"");
    ([(header::CONTENT_TYPE, kind.to_string()), (header::CONTENT_DISPOSITION, disposition)], bytes).into_response()
}

/// How an entry is told in a sentence.
pub fn said(e: &Entry) -> String {
    let name = if e.status == Status::Unknown { &e.text } else { &e.name };
    format!("{name}, {} sets", text::short(e.sets_low, 1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_setting_is_proposed_in_words_with_its_unit() {
        let check = |kind: &str, edit: &str, want: &str| {
            let change = answer::Change { kind: kind.into(), ..Default::default() };
            let got = edit_said(&Proposal { edit: edit.into(), change, ..Default::default() });
            assert_eq!(got, want);
        };
        check(
            "setting",
            "Change Leg press on Friday: stance_x from 1.1 to 1.6",
            "Change Leg press on Friday: stance width from 1.1 to 1.6 × shoulder width",
        );
        check("setting", "Change Squat: heel_m from 0 to 0.04", "Change Squat: heels raised from 0 to 4 cm");
        check("setting", "Change Squat: unknown_key from 1 to 2", "Change Squat: unknown_key from 1 to 2");
        check("swap", "Swap a: b for c", "Swap a: b for c");
    }
}
