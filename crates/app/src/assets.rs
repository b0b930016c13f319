//! Style, scripts and the font, compiled in. An address carries a mark of the content, so that a browser may keep it
//! for good.

use axum::Router;
use axum::extract::Path;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::sync::LazyLock;

/// Colours of the figures as variables; of the same roles as every drawing.
static THEME: LazyLock<String> = LazyLock::new(figure::theme::css);

/// Name, media type, content.
static FILES: LazyLock<Vec<(&str, &str, &[u8])>> = LazyLock::new(|| {
    vec![
        ("theme.css", "text/css; charset=utf-8", THEME.as_bytes()),
        ("regular.otf", "font/otf", figure::font::REGULAR),
        ("semibold.otf", "font/otf", figure::font::SEMIBOLD),
        ("movement.js", "text/javascript; charset=utf-8", include_bytes!("../assets/movement.js")),
        ("style.css", "text/css; charset=utf-8", include_bytes!("../assets/style.css")),
        ("app.js", "text/javascript; charset=utf-8", include_bytes!("../assets/app.js")),
    ]
});

pub fn routes<S: Clone + Send + Sync + 'static>() -> Router<S> {
    Router::new().route("/static/{mark}/{name}", get(file))
}

/// Address of a file: `/static/MARK/NAME`.
pub fn address(name: &str) -> String {
    let content = FILES.iter().find(|(n, _, _)| *n == name).map_or(&[][..], |(_, _, c)| c);
    let mut hasher = DefaultHasher::new();
    content.hash(&mut hasher);
    format!("/static/{:016x}/{name}", hasher.finish())
}

async fn file(Path((_, name)): Path<(String, String)>) -> Response {
    match FILES.iter().find(|(n, _, _)| *n == name) {
        Some((_, kind, content)) => {
            ([(header::CONTENT_TYPE, *kind), (header::CACHE_CONTROL, "public, max-age=31536000, immutable")], *content)
                .into_response()
        }
        None => StatusCode::NOT_FOUND.into_response(),
    }
}
