//! Movement: what does this lift, done this way, train in this body?

use crate::App;
use crate::page::{Frame, Place, page, problems};
use axum::Router;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use desk::wish::parse_wish;
use figure::{Frames, Options, View, finding, posture_svg};
use maud::{PreEscaped, html};
use std::collections::BTreeMap;
use std::sync::Arc;

pub fn routes() -> Router<Arc<App>> {
    Router::new().route("/movement", get(show))
}

async fn show(State(app): State<Arc<App>>, Query(query): Query<BTreeMap<String, String>>) -> Response {
    let asked = query.get("m").map_or("back-squat", String::as_str);
    let wish = match parse_wish(asked) {
        Ok(wish) => wish,
        Err(what) => return problems(StatusCode::BAD_REQUEST, &desk::problem::Problem::error("movement", what).into()),
    };
    let desk = app.desk(None, 0);
    let look = match desk.looks(&[wish], true) {
        Ok(mut looks) if looks.len() == 1 => looks.remove(0),
        Ok(_) => return crate::page::no_such_page(),
        Err(report) => return problems(StatusCode::NOT_FOUND, &report),
    };
    let drawing = look.scene.as_ref().map(|s| posture_svg(s, View::Side, Frames::Three, &Options::default()).svg);
    let about = html! { (look.name) " · for " b { (look.body.who) } };
    let body = html! {
        section.card { @if let Some(svg) = &drawing { (PreEscaped(svg)) } }
    };
    page(&Frame { place: Some(Place::Movement), finding: &finding(&look), about }, body).into_response()
}
