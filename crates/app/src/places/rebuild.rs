//! The whole week built anew inside the client's limits, with what proves how good it is.

use super::start::fields;
use crate::App;
use crate::answers::{Answer, Refused, back, blocking};
use crate::page::{Frame, Place, page};
use crate::places::client::flags;
use answer::Rebuild;
use axum::Router;
use axum::extract::{Form, Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use desk::problem::Problem;
use desk::{PresentWeek, RebuildRequest, text};
use maud::{Markup, html};
use std::sync::Arc;
use store::{WeekContent, WeekId};

pub fn routes() -> Router<Arc<App>> {
    Router::new()
        .route("/week/{id}/rebuild", get(ask).post(start))
        .route("/rebuild/{n}", get(show))
        .route("/rebuild/{n}/part", get(part))
        .route("/rebuild/{n}/stop", post(stop))
        .route("/rebuild/{n}/take", post(take))
}

type Rows = Form<Vec<(String, String)>>;

async fn ask(State(app): State<Arc<App>>, Path(id): Path<WeekId>) -> Answer {
    let week = app.store.week(id)?;
    let known = app.known(week.row.client)?;
    let minutes = known.client.minutes.map(|m| text::short(m, 0)).unwrap_or_default();
    let body = html! {
        p { "Every set, movement and day is chosen anew, for the aims of the client, inside kit, time, pains and stop signs. A bound says how much better any week could be." }
        form.card method="post" action={ "/week/" (id) "/rebuild" } {
            div.fields {
                label { "Days (names or a number)" input name="days" value=(known.client.days.join(", ")); }
                label { "Minutes of every day" input name="minutes" inputmode="decimal" value=(minutes); }
                label { "Movements that stay, one a line" textarea name="keep" rows="3" { (known.client.keep.join("\n")) } }
                label { "Movements it may not hold, one a line" textarea name="avoid" rows="3" { (known.client.dislikes.join("\n")) } }
                label { "Bands that must be reached, one a line" textarea name="must" rows="3" placeholder="Hamstrings" {} }
                label { "New movements at most" input name="most_new" inputmode="numeric" placeholder="any number"; }
            }
            button { "Build it anew" } " " a.button.quiet href={ "/week/" (id) } { "Back" }
        }
    };
    let about = html! { a href={ "/client/" (known.row.id) } { (known.row.name) } " · " a href={ "/week/" (id) } { (week.row.name) } };
    Ok(page(&Frame { place: Some(Place::Week), finding: "Build this week anew", about }, body).into_response())
}

async fn start(State(app): State<Arc<App>>, Path(id): Path<WeekId>, rows: Rows) -> Response {
    blocking(move || {
        let sent = fields(rows);
        let week = app.store.week(id)?;
        let known = app.known(week.row.client)?;
        let lines = |key: &str| -> Vec<String> {
            sent.get(key).split(['\n', ',']).map(|l| l.trim().to_string()).filter(|l| !l.is_empty()).collect()
        };
        let number = |key: &str| -> Result<Option<f64>, Refused> {
            match sent.get(key).trim() {
                "" => Ok(None),
                t => t
                    .replace(',', ".")
                    .parse()
                    .map(Some)
                    .map_err(|_| Problem::error(key, format!("\"{t}\" is no number")).into()),
            }
        };
        let (keep, avoid, must) = (lines("keep"), lines("avoid"), lines("must"));
        let (minutes, most_new) = (number("minutes")?, number("most_new")?.map(|n| n.max(0.0) as u32));
        let days = Some(sent.get("days").trim().to_string()).filter(|d| !d.is_empty());
        let desk = app.desk(Some(known.client), 0);
        let entries = week.content.entries;
        let n = app.jobs.start(id, week.row.version, move |job| {
            let present = if entries.is_empty() { PresentWeek::None } else { PresentWeek::Entries(entries) };
            let request = RebuildRequest {
                present,
                days: days.as_deref(),
                minutes,
                keep,
                avoid,
                must,
                most_new,
                ..RebuildRequest::default()
            };
            desk::rebuild(&desk, &request, &mut |p| {
                let far = if p.bound > 0.0 {
                    format!("{}: {:.1} of at most {:.1}", p.at, p.value, p.bound)
                } else {
                    p.at.to_string()
                };
                job.tell(far)
            })
        });
        back(&format!("/rebuild/{n}"))
    })
    .await
}

fn job(app: &App, n: u64) -> Result<Arc<crate::jobs::Job>, Refused> {
    app.jobs.get(n).ok_or_else(|| Refused {
        status: StatusCode::NOT_FOUND,
        report: Problem::error("", "this work is not known any more").remedy("start it again from the week").into(),
    })
}

async fn show(State(app): State<Arc<App>>, Path(n): Path<u64>) -> Answer {
    let job = job(&app, n)?;
    let week = app.store.week(job.week)?;
    let about = html! { a href={ "/week/" (job.week) } { (week.row.name) } };
    let finding = match job.done.get() {
        None => "Building the week anew …".to_string(),
        Some(Ok(r)) => r.finding.clone(),
        Some(Err(_)) => "No week was built".to_string(),
    };
    let body = html! { div id="rebuild" aria-live="polite" data-poll=[job.done.get().is_none().then(|| format!("/rebuild/{n}/part"))] { (inside(n, &job)) } };
    Ok(page(&Frame { place: Some(Place::Week), finding: &finding, about }, body).into_response())
}

async fn part(State(app): State<Arc<App>>, Path(n): Path<u64>) -> Answer {
    let job = job(&app, n)?;
    let finding = match job.done.get() {
        Some(Ok(r)) => Some(r.finding.as_str()),
        Some(Err(_)) => Some("No week was built"),
        None => None,
    };
    Ok(html! { @if let Some(f) = finding { template data-finding { (f) } } (inside(n, &job)) }.into_response())
}

fn inside(n: u64, job: &crate::jobs::Job) -> Markup {
    match job.done.get() {
        None => html! {
            p.note { "Working at: " (job.far()) ". This page follows; a large kit takes some seconds." }
            form method="post" action={ "/rebuild/" (n) "/stop" } { button.quiet { "Stop" } }
            p { a href={ "/rebuild/" (n) } { "Look again" } }
        },
        Some(Err(report)) => html! {
            ul.problems { @for p in &report.problems { li.stop { (p.place) " " (p.what) @if !p.remedy.is_empty() { br; span.grey { "What to do: " (p.remedy) } } } } }
            p { a href={ "/week/" (job.week) "/rebuild" } { "Change the wishes" } }
        },
        Some(Ok(r)) => answer(n, job, r),
    }
}

fn answer(n: u64, job: &crate::jobs::Job, r: &Rebuild) -> Markup {
    html! {
        (flags(&r.flags))
        @if let Some(c) = &r.clash {
            section.stop { h2 { "These wishes clash" } ul { @for w in &c.give_way { li { (w) } } }
                p.grey { @if c.proven { "No smaller number of changes frees them." } @else { "Fewer changes may do; this is what was found." } } }
            p { a href={ "/week/" (job.week) "/rebuild" } { "Change the wishes" } }
        }
        @if !r.days.is_empty() {
            p { "Worth " b { (text::number(r.proof.value, 1)) } " on its scale; no week inside these limits can have more than " b { (text::number(r.proof.bound, 1)) }
                " (" (text::number(100.0 * r.proof.gap, 1)) " % more at most)." @if let Some(p) = r.proof.present { " The present week has " (text::number(p, 1)) "." } }
            form.actions method="post" action={ "/rebuild/" (n) "/take" } {
                button { "Take this week" } span.grey { "Undo brings the old one back." }
                a href={ "/week/" (job.week) "/rebuild" } { "Change the wishes" } a href={ "/week/" (job.week) } { "Leave it" }
            }
            div.days { @for d in &r.days { section.card { h3 { (d.day) " " span.grey { (text::number(d.minutes.low, 0)) "–" (text::number(d.minutes.high, 0)) " min" } }
                ul.lines { @for l in &d.lines { li { b { (l.sets) " × " (l.name) } @if l.new { " " span.mark { "new" } } @else if l.was != l.sets { " " span.grey { "(was " (l.was) ")" } }
                    @if let (Some(lo), Some(hi)) = (l.reps_low, l.reps_high) { span.grey { ", " (text::short(lo, 0)) "–" (text::short(hi, 0)) " " (l.reps_unit) } }
                    @if !l.cautions.is_empty() { details { summary { "mind" } ul { @for c in &l.cautions { li { (c) } } } } }
                } } }
            } } }
            @if !r.changes.is_empty() { details.card { summary { (r.changes.len()) " changes" } ul.lines { @for c in &r.changes { li { (c) } } } } }
            section.card { h2 { "Heads" } div.scroll { table { thead { tr { th scope="col" { "Head" } th scope="col" { "Before" } th scope="col" { "After" } th scope="col" { "Asked for" } th scope="col" { "" } } }
                tbody { @for h in &r.heads { tr { th scope="row" { (figure::words::capital(&h.plain)) } td.n { (h.before.map_or("–".into(), |b| text::number(b, 1))) } td.n { (text::number(h.after, 1)) } td.n { (text::short(h.band.low, 1)) "–" (text::short(h.band.high, 1)) } td { (h.verdict) } } } }
            } } }
            @if !r.open.is_empty() { section.note { h2 { "What stays short, and why" } ul { @for o in &r.open { li { (o) } } } } }
        }
        @if !r.notes.is_empty() { details.card { summary { "How it was found" } ul { @for n in &r.notes { li { (n) } } } } }
    }
}

async fn stop(State(app): State<Arc<App>>, Path(n): Path<u64>) -> Answer {
    let job = job(&app, n)?;
    job.call_off();
    Ok(Redirect::to(&format!("/week/{}", job.week)).into_response())
}

async fn take(State(app): State<Arc<App>>, Path(n): Path<u64>) -> Answer {
    let job = job(&app, n)?;
    let Some(Ok(Rebuild { after: Some(after), days, .. })) = job.done.get() else {
        return Err(Problem::error("", "there is no rebuilt week to take").into());
    };
    let week = app.store.week(job.week)?;
    let mut entries = after.entries.clone();
    app.name_rows(&mut entries);
    let content = WeekContent {
        entries,
        messages: week.content.messages,
        pain_words: week.content.pain_words,
        days: days.iter().map(|d| d.day.clone()).collect(),
    };
    // A week that was edited meanwhile is not overwritten.
    app.store.save_week(job.week, &content, job.version, "built anew")?;
    back(&format!("/week/{}", job.week))
}
