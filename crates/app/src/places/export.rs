//! Export: show it. Everything that can be saved as a file, client by client.

use crate::App;
use crate::answers::Answer;
use crate::page::{Frame, Place, page};
use axum::Router;
use axum::extract::State;
use axum::response::IntoResponse;
use axum::routing::get;
use maud::html;
use std::sync::Arc;

pub fn routes() -> Router<Arc<App>> {
    Router::new().route("/export", get(show))
}

async fn show(State(app): State<Arc<App>>) -> Answer {
    let clients = app.store.clients(false)?;
    let weeks = app.store.newest_weeks()?;
    let body = html! {
        section.card { h2 { "A client's newest week" }
            ul.lines { @for c in &clients { li {
                b { (c.name) } br;
                @match weeks.iter().find(|w| w.client == c.id) {
                    Some(w) => span.actions {
                        span.grey { (w.name) ":" }
                        a href={ "/week/" (w.id) "/workbook" } { "workbook back to the client (.xlsx)" }
                        a href={ "/week/" (w.id) "/ledger.svg" } { "ledger (SVG)" }
                        a href={ "/week/" (w.id) "/ledger.png" } { "ledger (PNG)" }
                        a href={ "/week/" (w.id) "/ledger.slide" } { "slide 1920 × 1080" }
                        a href={ "/week/" (w.id) "/ledger.post" } { "post 1080 × 1350" }
                    },
                    None => span.grey { "no week yet" },
                }
                span.actions { a href={ "/client/" (c.id) "/text" } { "client file (.toml)" } }
            } } }
        }
        section.card { h2 { "A movement or a muscle" }
            p { "Open it under " a href="/movement" { "Movement" } " or " a href="/muscle" { "Muscle" } ": under every figure stand SVG, PNG, slide, post and, for a rep, a moving picture." }
        }
        section.card { h2 { "Everything" }
            p { "A copy of the whole data: " code { "lengthwise backup FILE" } ". It is consistent even while the app is open." }
        }
    };
    let about = html! { "Show it" };
    Ok(page(&Frame { place: Some(Place::Export), finding: "What can be saved as a file", about }, body).into_response())
}
