//! The plan of a week as a grid of days, every cell to be changed in place.

use crate::App;
use crate::answers::Refused;
use crate::ask::{address, word};
use crate::state::Known;
use answer::{Audit, Entry, Status};
use desk::text;
use figure::setting_said;
use maud::{Markup, html};
use store::Week;

/// Days of a week in their order: as planned, then those that only entries name.
pub fn days(week: &Week) -> Vec<String> {
    let mut days = week.content.days.clone();
    for e in &week.content.entries {
        if !days.contains(&e.day) {
            days.push(e.day.clone());
        }
    }
    days
}

/// "48–55 min of 60" by day.
pub fn minutes_of(a: &Audit) -> Vec<(String, String)> {
    let short = |m: &answer::Minutes| {
        let range = format!("{:.0}–{:.0} min", m.low, m.high);
        m.available.map_or(range.clone(), |have| format!("{range} of {have:.0}"))
    };
    a.minutes.iter().map(|(day, m)| (day.clone(), short(m))).collect()
}

/// The whole plan with its toolbar.
pub fn plan(app: &App, known: &Known, week: &Week, audit: Option<&Audit>) -> Result<Markup, Refused> {
    let days = days(week);
    let minutes = audit.map(minutes_of).unwrap_or_default();
    let clients = app.store.clients(false)?;
    Ok(html! {
        section id="plan" aria-labelledby="plan-title" {
            div.bar-of-tools {
                h2 id="plan-title" { "The plan" }
                form.tools method="post" action={ "/week/" (week.row.id) "/edit" } data-swap {
                    input type="hidden" name="version" value=(week.row.version);
                    button.quiet name="do" value="undo" disabled[week.undo.is_none()] title=[week.undo.as_deref()] data-key="z" { "Undo" @if let Some(what) = &week.undo { span.grey { ": " (what) } } }
                    button.quiet name="do" value="redo" disabled[week.redo.is_none()] title=[week.redo.as_deref()] data-key="y" { "Redo" }
                }
                span.saved role="status" data-saved { "Saved" }
            }
            div.days {
                @for (n, day) in days.iter().enumerate() {
                    section.card.day aria-label=(day) data-day=(day) {
                        header { h3 { (day) } span.grey data-minutes=(day) { (minutes.iter().find(|(d, _)| d == day).map_or("", |(_, t)| t.as_str())) } }
                        @for (at, e) in week.content.entries.iter().enumerate().filter(|(_, e)| e.day == *day) { (entry(app, week, &days, at, e)) }
                        (add(week, day, n))
                    }
                }
            }
            details.card { summary { "Days, copies, templates, files" } (more(known, week, &days, &clients)) }
        }
        datalist id="movements" { @for m in &app.house.library.catalogue.movements { option value=(m.name) {} } }
    })
}

/// A number of a cell: "8", "6–10" as "6-10", empty where nothing is said.
fn pair(low: f64, high: f64) -> String {
    let one = |v: f64| text::short(v, 2);
    if low == high { one(low) } else { format!("{}-{}", one(low), one(high)) }
}

/// The cells of an entry as a coach would type them: sets, reps, RIR, load, rest.
pub fn cells(e: &Entry) -> [String; 5] {
    let unit = match e.reps_unit.as_str() {
        "s" => " s",
        "m" => " m",
        _ => "",
    };
    let reps = match (e.reps_low, e.reps_high) {
        (Some(l), Some(h)) => format!("{}{unit}", pair(l, h)),
        (Some(l), None) => format!("{}{unit}", text::short(l, 2)),
        _ => String::new(),
    };
    let load = match (e.load, e.unit.as_deref()) {
        (Some(l), Some("%1RM")) => format!("{} %", text::short(l, 1)),
        (Some(l), Some("bw")) => format!("BW+{}", text::short(l, 2)),
        (Some(l), unit) => format!("{} {}", text::short(l, 2), unit.unwrap_or("kg")),
        _ => String::new(),
    };
    let rir = e.rir.map(|r| text::short(r, 1)).unwrap_or_default();
    let rest = e.extra.rest_s.map(|r| text::short(r, 0)).unwrap_or_default();
    [pair(e.sets_low, e.sets_high), reps, rir, load, rest]
}

fn entry(app: &App, week: &Week, days: &[String], at: usize, e: &Entry) -> Markup {
    let [sets, reps, rir, load, rest] = cells(e);
    let name = if e.status == Status::Unknown || e.movement.is_none() { &e.text } else { &e.name };
    let cell = |key: &str, label: &str, value: &str, wide: &str| {
        html! {
            label { span { (label) } input name=(key) value=(value) size=(wide) autocomplete="off" aria-label={ (label) " of " (name) }; }
        }
    };
    html! {
        form.entry id={ "e" (at) } method="post" action={ "/week/" (week.row.id) "/edit" } data-swap data-auto draggable="true" data-at=(at) {
            input type="hidden" name="version" value=(week.row.version);
            input type="hidden" name="at" value=(at);
            input type="hidden" name="do" value="set";
            div.name {
                input name="exercise" value=(name) list="movements" aria-label="Exercise";
                @if let Some(id) = &e.movement { a href=(address("/movement", [("m", word(id, &e.settings)), ("client", week.row.client.to_string())])) { "look" } }
            }
            @if !e.settings.is_empty() { p.settings { @for (i, (k, v)) in e.settings.iter().enumerate() { @if i > 0 { ", " } (setting_said(k, v)) } } }
            div.cells { (cell("sets", "Sets", &sets, "3")) (cell("reps", "Reps", &reps, "5")) (cell("rir", "RIR", &rir, "3")) (cell("load", "Load", &load, "6")) (cell("rest", "Rest, s", &rest, "4")) }
            @if e.status == Status::Unknown {
                p.wrong { "Not understood, so it counts nowhere." (app.nearest(e)) }
            }
            @if !e.assumptions.is_empty() { p.grey.small { (e.assumptions.join("; ")) } }
            div.moves {
                button.quiet name="do" value="set" { "Save" }
                label.inline { span.unseen { "Move to day" } select name="to" { @for d in days { option value=(d) selected[*d == e.day] { (d) } } } }
                button.quiet name="do" value="move" { "Move" }
                button.quiet name="do" value="up" aria-label={ "Move " (name) " up" } { "↑" }
                button.quiet name="do" value="down" aria-label={ "Move " (name) " down" } { "↓" }
                button.quiet name="do" value="remove" aria-label={ "Remove " (name) } { "Remove" }
            }
        }
    }
}

fn add(week: &Week, day: &str, n: usize) -> Markup {
    html! {
        form.add method="post" action={ "/week/" (week.row.id) "/edit" } data-swap {
            input type="hidden" name="version" value=(week.row.version);
            input type="hidden" name="day" value=(day);
            label.unseen for={ "add" (n) } { "Add an exercise to " (day) }
            input id={ "add" (n) } name="exercise" list="movements" placeholder="Add: Incline 30 DB press 3x8 @2" autocomplete="off" required;
            button name="do" value="add" { "Add" }
        }
    }
}

fn more(known: &Known, week: &Week, days: &[String], clients: &[store::ClientRow]) -> Markup {
    let id = week.row.id;
    let version = week.row.version;
    html! {
        form.row method="post" action={ "/week/" (id) "/edit" } {
            input type="hidden" name="version" value=(version);
            label { "New day" input name="day" placeholder="Saturday"; }
            button name="do" value="add-day" { "Add day" }
        }
        form.row method="post" action={ "/week/" (id) "/edit" } {
            input type="hidden" name="version" value=(version);
            label { "Copy day" select name="day" { @for d in days { option { (d) } } } }
            label { "to" input name="to" placeholder="Saturday" required; }
            label { "of" select name="client" { @for c in clients { option value=(c.id) selected[c.id == known.row.id] { (c.name) } } } }
            button name="do" value="copy-day" { "Copy" }
            button.quiet name="do" value="remove-day" { "Remove this day" }
        }
        form.row method="post" action={ "/week/" (id) "/edit" } {
            input type="hidden" name="version" value=(version);
            label { "Copy the whole week to" select name="client" { @for c in clients { option value=(c.id) selected[c.id == known.row.id] { (c.name) } } } }
            label { "as" input name="name" value={ (week.row.name) " (copy)" }; }
            button name="do" value="copy-week" { "Copy" }
        }
        form.row method="post" action={ "/week/" (id) "/edit" } {
            input type="hidden" name="version" value=(version);
            label { "Name" input name="name" value=(week.row.name); }
            label { "First day" input type="date" name="starts" value=[week.row.starts.as_deref()]; }
            button.quiet name="do" value="rename" { "Rename" }
            button.quiet name="do" value="template" { "Keep as a template of this name" }
            button.quiet name="do" value="away" { "Put away" }
        }
        p.actions {
            a href={ "/week/" (id) "/rebuild" } { "Build this week anew" }
            a href={ "/week/" (id) "/history" } { "History" }
            a href={ "/week/" (id) "/compare" } { "Compare with another week" }
            a href={ "/week/" (id) "/workbook" } { "Workbook (.xlsx)" }
            a href={ "/week/" (id) "/ledger.svg" } { "Ledger as SVG" }
            a href={ "/week/" (id) "/ledger.png" } { "Ledger as PNG" }
        }
    }
}
