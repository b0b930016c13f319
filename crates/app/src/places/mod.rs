//! The places of the product, one module each. A module owns its addresses.

pub mod about;
pub mod client;
pub mod evidence;
pub mod export;
pub mod find;
pub mod import;
pub mod movement;
mod movement_parts;
pub mod muscle;
pub mod rebuild;
pub mod start;
pub mod week;
mod week_edit;
mod week_plan;

use crate::App;
use axum::Router;
use std::sync::Arc;

pub fn routes() -> Router<Arc<App>> {
    Router::new()
        .merge(start::routes())
        .merge(client::routes())
        .merge(week::routes())
        .merge(import::routes())
        .merge(movement::routes())
        .merge(muscle::routes())
        .merge(evidence::routes())
        .merge(find::routes())
        .merge(about::routes())
        .merge(export::routes())
        .merge(rebuild::routes())
}
