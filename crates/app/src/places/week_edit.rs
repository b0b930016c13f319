//! Every change of a week. Each is one named state of its history, so that undo takes back exactly one.

use super::start::fields;
use super::week::said;
use super::week_plan::{cells, days};
use crate::App;
use crate::answers::{Answer, Fields, Refused, back, blocking};
use crate::page::{Frame, Place, page};
use crate::state::{Known, Row};
use answer::Entry;
use axum::extract::{Form, Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use desk::problem::Problem;
use maud::html;
use std::sync::Arc;
use store::{StoreError, Version, Week, WeekContent, WeekId};

pub async fn edit(State(app): State<Arc<App>>, Path(id): Path<WeekId>, rows: Form<Vec<(String, String)>>) -> Response {
    blocking(move || {
        let sent = fields(rows);
        let week = app.store.week(id)?;
        let known = app.known(week.row.client)?;
        match change(&app, &known, &week, &sent) {
            Err(Refused { status: StatusCode::CONFLICT, .. }) => Ok(conflict(&week, &sent)),
            other => other,
        }
    })
    .await
}

/// What was stored meanwhile, what was sent, and the choice.
fn conflict(week: &Week, sent: &Fields) -> Response {
    let body = html! {
        p { "This week was changed in another tab or by another person after you opened it. Nothing of yours was saved, nothing of theirs was lost." }
        p { "The last change there: " b { (week.undo.as_deref().unwrap_or("the first state")) } "." }
        p { "Yours: " b { (sent.get("do")) " " (sent.get("exercise")) } }
        p.actions {
            a.button href={ "/week/" (week.row.id) } { "Look at the newer week" }
        }
        form method="post" action={ "/week/" (week.row.id) "/edit" } {
            @for (key, value) in sent.0.iter().filter(|(k, _)| k != "version") { input type="hidden" name=(key) value=(value); }
            input type="hidden" name="version" value=(week.row.version);
            button.quiet { "Make my change on top of it" }
        }
    };
    let frame = Frame {
        place: Some(Place::Week),
        finding: "Somebody else changed this week meanwhile",
        about: html! { (week.row.name) },
    };
    (StatusCode::CONFLICT, page(&frame, body)).into_response()
}

fn change(app: &App, known: &Known, week: &Week, sent: &Fields) -> Answer {
    let id = week.row.id;
    let seen: Version = sent.number("version")?;
    // The last "do" is the button that was pressed; a hidden one before it is what Enter means.
    let what = sent.all("do").last().unwrap_or_default();
    let mut content = week.content.clone();
    let place = |content: &WeekContent| -> Result<usize, Refused> {
        let at: usize = sent.number("at")?;
        if at < content.entries.len() {
            Ok(at)
        } else {
            Err(StoreError::Invalid("this row is not there any more".into()).into())
        }
    };
    let mut show = String::new();
    let done = match what {
        "undo" => return app.store.undo(id, seen).map_err(Refused::from).and_then(|_| back(&format!("/week/{id}"))),
        "redo" => return app.store.redo(id, seen).map_err(Refused::from).and_then(|_| back(&format!("/week/{id}"))),
        "state" => {
            app.store.go_to_state(id, sent.number("state")?, seen)?;
            return back(&format!("/week/{id}"));
        }
        "set" => {
            let at = place(&content)?;
            let new = entry_of(app, known, sent, Some(&content.entries[at]))?;
            if same(&content.entries[at], &new) {
                return back(&format!("/week/{id}#e{at}"));
            }
            show = format!("#e{at}");
            let said = format!("changed {}", said(&new));
            content.entries[at] = new;
            said
        }
        "add" => {
            let new = entry_of(app, known, sent, None)?;
            let said = format!("added {}", said(&new));
            let at = content.entries.iter().rposition(|e| e.day == new.day).map_or(content.entries.len(), |at| at + 1);
            show = format!("#e{at}");
            content.entries.insert(at, new);
            said
        }
        "remove" => {
            let at = place(&content)?;
            format!("removed {}", said(&content.entries.remove(at)))
        }
        "move" => {
            let at = place(&content)?;
            let to = sent.get("to").trim();
            if to.is_empty() {
                return Err(Problem::error("to", "no day is named").into());
            }
            let mut moved = content.entries.remove(at);
            moved.day = to.to_string();
            let before: Option<usize> = sent.get("before").parse().ok();
            let end = content.entries.iter().rposition(|e| e.day == to).map_or(content.entries.len(), |at| at + 1);
            let at =
                before.map(|b| if b > at { b - 1 } else { b }).filter(|b| *b <= content.entries.len()).unwrap_or(end);
            show = format!("#e{at}");
            let said = format!("moved {} to {to}", said(&moved));
            content.entries.insert(at, moved);
            said
        }
        "up" | "down" => {
            let at = place(&content)?;
            let day = &content.entries[at].day;
            let mut others = content.entries.iter().enumerate().filter(|(_, e)| e.day == *day).map(|(n, _)| n);
            let other = if what == "up" { others.take_while(|n| *n < at).last() } else { others.find(|n| *n > at) };
            let Some(other) = other else { return back(&format!("/week/{id}#e{at}")) };
            content.entries.swap(at, other);
            show = format!("#e{other}");
            format!("moved {} {what}", said(&content.entries[other]))
        }
        "add-day" => {
            let day = sent.get("day").trim().to_string();
            if day.is_empty() {
                return Err(Problem::error("day", "a day needs a name").expected("Saturday").into());
            }
            content.days = days(week);
            if !content.days.contains(&day) {
                content.days.push(day.clone());
            }
            format!("added {day}")
        }
        "remove-day" => {
            let day = sent.get("day");
            content.days = days(week).into_iter().filter(|d| d != day).collect();
            content.entries.retain(|e| e.day != day);
            format!("removed {day}")
        }
        "copy-day" => return copy_day(app, week, sent, seen),
        "copy-week" => {
            let new = app.store.copy_week(id, sent.number("client")?, sent.get("name"))?;
            return back(&format!("/week/{new}"));
        }
        "rename" => {
            let starts = Some(sent.get("starts")).filter(|s| !s.is_empty());
            app.store.rename_week(id, sent.get("name"), starts, seen)?;
            return back(&format!("/week/{id}"));
        }
        "template" => {
            app.store.save_template(sent.get("name"), &content)?;
            return back(&format!("/week/{id}"));
        }
        "away" => {
            app.store.put_away_week(id, true)?;
            return back(&format!("/client/{}", week.row.client));
        }
        "apply" => {
            let audit = app.judged(known, week);
            let audit = audit.as_ref().as_ref().map_err(Clone::clone)?;
            let first =
                audit.proposals.first().ok_or_else(|| StoreError::Invalid("there is no proposal any more".into()))?;
            // Proposals count rows as the judgement does; their order is that of the week.
            programme::apply_change(&mut content.entries, &first.change, &app.rules)
                .map_err(|e| Refused::from(StoreError::Invalid(e)))?;
            format!("applied: {}", super::week::edit_said(first))
        }
        other => return Err(Problem::error("do", format!("\"{other}\" is no change of a week")).into()),
    };
    app.store.save_week(id, &content, seen, &done)?;
    back(&format!("/week/{id}{show}"))
}

/// The same row, whatever was assumed while reading it again.
fn same(old: &Entry, new: &Entry) -> bool {
    old.movement == new.movement && old.settings == new.settings && cells(old) == cells(new)
}

/// The row of a form, read by the reader of plans. A row that is changed keeps what the form does not show.
fn entry_of(app: &App, known: &Known, sent: &Fields, old: Option<&Entry>) -> Result<Entry, Refused> {
    let cell = |key: &str| sent.get(key).trim().to_string();
    let row = Row {
        day: old.map_or_else(|| cell("day"), |o| o.day.clone()),
        exercise: cell("exercise"),
        sets: cell("sets"),
        reps: cell("reps"),
        rir: cell("rir"),
        load: cell("load"),
        rest: cell("rest"),
        notes: cell("notes"),
    };
    // The reader of sheets would put it on a day of its own.
    if row.day.trim().is_empty() {
        return Err(Problem::error("day", "no day is named").into());
    }
    let mut new = app.read_row(&known.client, &row)?;
    if let Some(old) = old {
        (new.sheet, new.row, new.col, new.week) = (old.sheet.clone(), old.row, old.col, old.week);
        new.extra.tempo_s = new.extra.tempo_s.or(old.extra.tempo_s);
        new.extra.pair = new.extra.pair.or_else(|| old.extra.pair.clone());
        new.extra.each_side |= old.extra.each_side;
        // The name field shows the movement alone; its settings stay unless the movement changes or new ones are typed.
        if new.movement == old.movement {
            let typed = std::mem::take(&mut new.settings);
            new.settings.clone_from(&old.settings);
            new.settings.extend(typed);
        }
    }
    Ok(new)
}

fn copy_day(app: &App, week: &Week, sent: &Fields, seen: Version) -> Answer {
    let (day, to) = (sent.get("day"), sent.get("to").trim());
    let rows: Vec<Entry> = week
        .content
        .entries
        .iter()
        .filter(|e| e.day == day)
        .map(|e| Entry { day: to.to_string(), ..e.clone() })
        .collect();
    if rows.is_empty() || to.is_empty() {
        return Err(Problem::error(day, "there is nothing to copy, or no day to copy to").into());
    }
    let client: store::ClientId = sent.number("client")?;
    let said = format!("copied {day} to {to}");
    if client == week.row.client {
        let mut content = week.content.clone();
        content.days = days(week);
        if !content.days.iter().any(|d| d == to) {
            content.days.push(to.to_string());
        }
        content.entries.extend(rows);
        app.store.save_week(week.row.id, &content, seen, &said)?;
        return back(&format!("/week/{}", week.row.id));
    }
    // Into the newest week of the other client, or a new one.
    let newest = app.store.weeks(client)?.first().map(|w| w.id);
    let id = match newest {
        Some(id) => {
            let other = app.store.week(id)?;
            let mut content = other.content.clone();
            content.days = days(&other);
            if !content.days.iter().any(|d| d == to) {
                content.days.push(to.to_string());
            }
            content.entries.extend(rows);
            app.store.save_week(id, &content, other.row.version, &said)?;
            id
        }
        None => {
            let content = WeekContent { entries: rows, days: vec![to.to_string()], ..WeekContent::default() };
            app.store.add_week(client, "New week", None, &content, &said)?
        }
    };
    back(&format!("/week/{id}"))
}
