//! What a stranger can try from outside: other names, other sites, other machines, hostile files, odd addresses, and many
//! requests at once. Everything goes through the whole router, without a socket.

mod doors;
mod files;
mod many;
mod pages;

use app::{App, Login};
use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{HeaderMap, Request, StatusCode};
use std::sync::Arc;
use tower::ServiceExt;

/// Host of a request where a test is not about hosts.
const HOST: &str = "127.0.0.1:4044";
const PASSWORD: &str = "correct horse battery";

/// The app on a folder of its own, with the demo clients of a first start.
struct Open {
    app: Arc<App>,
    router: Router,
    folder: tempfile::TempDir,
}

struct Answered {
    status: StatusCode,
    headers: HeaderMap,
    bytes: Vec<u8>,
}

impl Answered {
    fn header(&self, name: &str) -> &str {
        self.headers.get(name).and_then(|v| v.to_str().ok()).unwrap_or_default()
    }
    fn page(&self) -> String {
        String::from_utf8_lossy(&self.bytes).into_owned()
    }
}

impl Open {
    fn new() -> Open {
        Open::of(None)
    }

    fn of(password: Option<&str>) -> Open {
        let folder = tempfile::tempdir().expect("a folder");
        let mut app = App::open(&folder.path().join("data")).expect("the app opens");
        if let Some(password) = password {
            app = app.behind(Login::new(password).expect("long enough"));
        }
        let app = Arc::new(app);
        Open { router: app::router(app.clone()), app, folder }
    }

    /// Asks with the fields given; a host is added where none is among them.
    async fn ask(&self, method: &str, to: &str, fields: &[(&str, &str)], body: impl Into<Body>) -> Answered {
        let mut request = Request::builder().method(method).uri(to);
        if !fields.iter().any(|(k, _)| *k == "host") {
            request = request.header("host", HOST);
        }
        for (k, v) in fields {
            request = request.header(*k, *v);
        }
        let request = request.body(body.into()).expect("a request");
        let answer = self.router.clone().oneshot(request).await.expect("an answer");
        let (status, headers) = (answer.status(), answer.headers().clone());
        let bytes = to_bytes(answer.into_body(), 64 << 20).await.expect("a body").to_vec();
        Answered { status, headers, bytes }
    }

    async fn get(&self, to: &str) -> Answered {
        self.ask("GET", to, &[], "").await
    }

    /// Sends a form as our own page does.
    async fn send(&self, to: &str, form: &str, more: &[(&str, &str)]) -> Answered {
        let mut fields =
            vec![("origin", "http://127.0.0.1:4044"), ("content-type", "application/x-www-form-urlencoded")];
        fields.extend(more);
        self.ask("POST", to, &fields, form.to_string()).await
    }

    /// Sends a file as the import page does.
    async fn upload(&self, name: &str, bytes: &[u8]) -> Answered {
        let mut body = format!(
            "--cut\r\nContent-Disposition: form-data; name=\"plan\"; filename=\"{name}\"\r\n\
             Content-Type: application/octet-stream\r\n\r\n"
        )
        .into_bytes();
        body.extend_from_slice(bytes);
        body.extend_from_slice(b"\r\n--cut--\r\n");
        let fields = [("origin", "http://127.0.0.1:4044"), ("content-type", "multipart/form-data; boundary=cut")];
        self.ask("POST", "/import", &fields, body).await
    }

    fn clients(&self) -> usize {
        self.app.store.clients(true).expect("clients").len()
    }
}
