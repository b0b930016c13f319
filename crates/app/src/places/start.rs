//! The first page: the note of a first start, then every client with their newest week.

use crate::App;
use crate::answers::{Answer, Fields, back};
use crate::page::{Frame, Place, page};
use axum::Router;
use axum::extract::{Form, State};
use axum::response::IntoResponse;
use axum::routing::{get, post};
use maud::{Markup, html};
use std::collections::BTreeMap;
use std::sync::Arc;
use store::{ClientId, Opened};

pub fn routes() -> Router<Arc<App>> {
    Router::new().route("/", get(show)).route("/noted", post(noted))
}

/// Setting that remembers that the note was read.
const NOTED: &str = "first-start-note";

/// What the tool is and is not; the coach says once that it was read.
pub fn note() -> Markup {
    html! {
        p { "Lengthwise works out from mechanics what every lift gives every muscle head, adds it up over a week and proposes "
            "changes. Numbers are estimates with ranges, not promises." }
        ul {
            li { "It diagnoses nothing and treats nothing. Pain, illness, pregnancy, youth, heart and blood pressure: what a "
                 "physician, midwife or physiotherapist says goes before anything here, and so do your local rules." }
            li { "Stop signs stand beside advice. Act on them before any number." }
            li { "Your data stays in one file on this machine. Nothing is sent anywhere." }
        }
    }
}

async fn noted(State(app): State<Arc<App>>) -> Answer {
    app.store.set_setting(NOTED, "read")?;
    back("/")
}

/// What is open for a client: the gate before training, and the finding of the newest week where it is judged already.
struct OpenFor {
    gate: String,
    /// The gate asks for somebody else's word.
    urgent: bool,
    week: Option<String>,
}

/// `None` where the client file cannot be read.
fn open_for(app: &App, id: ClientId, newest: Option<&store::WeekRow>) -> Option<OpenFor> {
    let known = app.known(id).ok()?;
    let gate = programme::screening::screen(&known.client, &[], &[], desk::today(), &app.rules);
    let week = newest.and_then(|w| app.store.week(w.id).ok()).and_then(|w| app.judged_already(&known, &w));
    Some(OpenFor {
        gate: super::client::gate_said(&gate.flags),
        urgent: gate.flags.first().is_some_and(|f| matches!(f.level.as_str(), "stop" | "clearance" | "refer")),
        week: week.and_then(|w| w.as_ref().as_ref().ok().map(figure::audit_finding)),
    })
}

async fn show(State(app): State<Arc<App>>) -> Answer {
    let clients = app.store.clients(false)?;
    let newest = app.store.newest_weeks()?;
    let unread = app.store.setting(NOTED)?.is_none();
    let open: BTreeMap<ClientId, OpenFor> = clients
        .iter()
        .filter_map(|c| Some((c.id, open_for(&app, c.id, newest.iter().find(|w| w.client == c.id))?)))
        .collect();
    let waiting = open.values().filter(|o| o.urgent).count();
    let clear = match waiting {
        0 => "nothing to clear first".to_string(),
        1 => "one needs a clinician's word first".to_string(),
        n => format!("{n} need a clinician's word first"),
    };
    let finding = match clients.len() {
        0 => "No clients yet: begin with one of your own".to_string(),
        1 => format!("One client, {clear}"),
        n => format!("{n} clients, {clear}"),
    };
    let body = html! {
        @match &app.opened {
            Opened::ReadOnly(why) => p.stop role="alert" { (why) },
            Opened::Migrated { backup, .. } => {
                p.note { "The data was brought to a newer shape. The file as it was is kept: " (backup.display().to_string()) }
            },
            _ => {},
        }
        @if unread {
            section.card.first aria-labelledby="first" {
                h2 id="first" { "Before you start" }
                (note())
                form method="post" action="/noted" { button { "I have read this" } }
            }
        }
        p.actions {
            a.button href="/client/new" { "New client" }
            a.button.quiet href="/import" { "Read a plan from a file" }
        }
        ul.clients {
            @for c in &clients {
                @let week = newest.iter().find(|w| w.client == c.id);
                li.card {
                    h2 { a href={ "/client/" (c.id) } { (c.name) } }
                    @match week {
                        Some(w) => p { a href={ "/week/" (w.id) } { (w.name) } span.grey { " · changed " (day(&w.changed)) } },
                        None => p.grey { "No week yet. " a href={ "/client/" (c.id) "#weeks" } { "Write one" } },
                    }
                    @match open.get(&c.id) {
                        Some(o) => {
                            p class=(if o.urgent { "gate urgent" } else { "gate" }) { (figure::words::capital(&o.gate)) "." }
                            @if let Some(week) = &o.week { p.grey { (week) } }
                        }
                        None => p.wrong { "The client file cannot be read; open the client to see why." },
                    }
                }
            }
        }
        p { a href="/clients/away" { "Clients put away" } }
    };
    Ok(page(&Frame { place: Some(Place::Client), finding: &finding, about: html! { "Who is this?" } }, body)
        .into_response())
}

/// "2026-03-01T09:30:00Z" → "2026-03-01".
pub fn day(at: &str) -> &str {
    at.get(..10).unwrap_or(at)
}

/// Reads a form as fields in their order.
pub fn fields(Form(rows): Form<Vec<(String, String)>>) -> Fields {
    Fields(rows)
}
