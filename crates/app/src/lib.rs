//! The pages of the local browser app. In: requests of a browser on this machine; out: pages, drawings and files made of
//! the desk's answers and the store's rows. Must never know: how a number is computed, how rows lie on the disk.
//!
//! [`router`] is the whole app without a socket: tests call it directly. [`serve`] puts it behind an address. Each
//! place of the product is one module of [`places`]; [`page`] is the frame around all of them.

mod answers;
mod ask;
pub mod assets;
mod form;
mod guard;
mod jobs;
mod login;
pub mod page;
pub mod places;
pub mod state;

pub use login::{Login, SHORTEST};
pub use state::App;

use axum::Router;
use axum::middleware::{from_fn_with_state, map_response};
use axum::routing::{get, post};
use std::net::SocketAddr;
use std::sync::Arc;

/// Every address of the app.
pub fn router(app: Arc<App>) -> Router {
    Router::new()
        .merge(assets::routes())
        .merge(places::routes())
        .route("/login", get(login::ask).post(login::enter))
        .route("/logout", post(login::leave))
        .fallback(page::not_found)
        .layer(map_response(page::in_our_words))
        .layer(from_fn_with_state(app.clone(), guard::guard))
        .with_state(app)
}

/// Serves until asked to stop with Ctrl-C. `ready` is told the address once the socket is bound.
pub async fn serve(app: Arc<App>, at: SocketAddr, ready: impl FnOnce(SocketAddr)) -> std::io::Result<()> {
    let listener = tokio::net::TcpListener::bind(at).await?;
    ready(listener.local_addr()?);
    let stop = async {
        // Without a signal handler the process is stopped by the system, which loses nothing.
        let _ = tokio::signal::ctrl_c().await;
    };
    // Wrong passwords are counted by machine.
    let pages = router(app).into_make_service_with_connect_info::<SocketAddr>();
    axum::serve(listener, pages).with_graceful_shutdown(stop).await
}
