//! What the tool is, what it is not, and where its data lies.

use crate::App;
use crate::answers::Answer;
use crate::page::{Frame, page};
use axum::Router;
use axum::extract::State;
use axum::response::IntoResponse;
use axum::routing::get;
use maud::html;
use std::sync::Arc;

pub fn routes() -> Router<Arc<App>> {
    Router::new().route("/about", get(show))
}

async fn show(State(app): State<Arc<App>>) -> Answer {
    let body = html! {
        section.card { (super::start::note()) }
        section.card {
            h2 { "What it does not know" }
            ul {
                li { "No growth is predicted in millimetres. A credit says how much tension a head gets from a hard set." }
                li { "How people share a load among muscles is an assumption (least sum of cubed activation). Trust lengths, lever arms and ranges first." }
                li { "Shoulder blade, rotator cuff and neck carry the mark “low confidence”." }
                li { "Elastic tendons, speed of shortening and fatigue over a set are not modelled." }
                li { a href="/evidence" { "Every comparison with published numbers, and every miss" } }
            }
        }
        section.card {
            h2 { "Your data" }
            p { "One file: " code { (app.store.path().display().to_string()) } }
            p { "Make a copy with " code { "lengthwise backup FILE" } " and put one back with " code { "lengthwise restore FILE" } "." }
        }
    };
    let about = html! { "Lengthwise " (env!("CARGO_PKG_VERSION")) };
    Ok(page(
        &Frame { place: None, finding: "It informs a coach; it diagnoses nothing and treats nothing", about },
        body,
    )
    .into_response())
}
