//! The places of the product, one module each. A module owns its addresses.

pub mod movement;

use crate::App;
use axum::Router;
use axum::response::Redirect;
use axum::routing::get;
use std::sync::Arc;

pub fn routes() -> Router<Arc<App>> {
    Router::new().route("/", get(|| async { Redirect::to("/movement") })).merge(movement::routes())
}
