//! Every form of the app with every error it can meet, without a socket or a browser.

mod client;
mod import;
mod week;

use app::App;
use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{Request, StatusCode, header};
use std::sync::Arc;
use tower::ServiceExt;

/// The app on a folder of its own, with the demo clients of a first start.
pub struct Open {
    pub app: Arc<App>,
    router: Router,
    _folder: tempfile::TempDir,
}

/// What came back.
pub struct Answered {
    pub status: StatusCode,
    /// Where the browser is sent.
    pub to: String,
    pub kind: String,
    pub bytes: Vec<u8>,
}

impl Answered {
    pub fn page(&self) -> String {
        String::from_utf8_lossy(&self.bytes).into_owned()
    }
    /// Words of the page without its marks.
    pub fn text(&self) -> String {
        let mut out = String::new();
        let mut inside = false;
        for c in self.page().chars() {
            match c {
                '<' => inside = true,
                '>' => {
                    inside = false;
                    out.push(' ');
                }
                _ if !inside => out.push(c),
                _ => {}
            }
        }
        out.split_whitespace().collect::<Vec<_>>().join(" ")
    }
    #[track_caller]
    pub fn says(&self, status: u16, words: &[&str]) -> &Answered {
        let text = self.text();
        assert_eq!(self.status, status, "{text}");
        for w in words {
            assert!(text.contains(w), "should say {w:?}: {text}");
        }
        self
    }
    /// Number at the end of the address the browser is sent to.
    #[track_caller]
    pub fn number(&self) -> i64 {
        assert_eq!(self.status, StatusCode::SEE_OTHER, "{}", self.text());
        let path = self.to.split('#').next().unwrap_or_default();
        path.rsplit('/').next().and_then(|n| n.parse().ok()).unwrap_or_else(|| panic!("no number in {}", self.to))
    }
}

impl Default for Open {
    fn default() -> Open {
        Open::new()
    }
}

impl Open {
    pub fn new() -> Open {
        let folder = tempfile::tempdir().expect("a folder");
        let app = Arc::new(App::open(&folder.path().join("data")).expect("the app opens"));
        Open { router: app::router(app.clone()), app, _folder: folder }
    }

    async fn ask(&self, request: Request<Body>) -> Answered {
        let answer = self.router.clone().oneshot(request).await.expect("an answer");
        let header = |name| answer.headers().get(name).and_then(|v| v.to_str().ok()).unwrap_or_default().to_string();
        let (status, to, kind) = (answer.status(), header(header::LOCATION), header(header::CONTENT_TYPE));
        let bytes = to_bytes(answer.into_body(), 64 << 20).await.expect("a body").to_vec();
        Answered { status, to, kind, bytes }
    }

    pub async fn get(&self, path: &str) -> Answered {
        let request = Request::get(path).header(header::HOST, "127.0.0.1:4044").body(Body::empty());
        self.ask(request.expect("a request")).await
    }

    /// Sends a form as a browser on this machine does.
    pub async fn post(&self, path: &str, fields: &[(&str, &str)]) -> Answered {
        let pairs: Vec<String> = fields.iter().map(|(k, v)| format!("{}={}", escaped(k), escaped(v))).collect();
        let request = Request::post(path)
            .header(header::HOST, "127.0.0.1:4044")
            .header(header::ORIGIN, "http://127.0.0.1:4044")
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .body(Body::from(pairs.join("&")));
        self.ask(request.expect("a request")).await
    }

    /// Sends a file as the import form does.
    pub async fn upload(&self, name: &str, bytes: &[u8], client: &str) -> Answered {
        const MARK: &str = "----lengthwise-test-part";
        let mut body = format!(
            "--{MARK}\r\nContent-Disposition: form-data; name=\"client\"\r\n\r\n{client}\r\n--{MARK}\r\nContent-Disposition: \
             form-data; name=\"plan\"; filename=\"{name}\"\r\nContent-Type: application/octet-stream\r\n\r\n"
        )
        .into_bytes();
        body.extend_from_slice(bytes);
        body.extend_from_slice(format!("\r\n--{MARK}--\r\n").as_bytes());
        let request = Request::post("/import")
            .header(header::HOST, "127.0.0.1:4044")
            .header(header::ORIGIN, "http://127.0.0.1:4044")
            .header(header::CONTENT_TYPE, format!("multipart/form-data; boundary={MARK}"))
            .body(Body::from(body));
        self.ask(request.expect("a request")).await
    }
}

/// A text for a form's body: everything but letters and digits escaped.
fn escaped(text: &str) -> String {
    let one = |b: u8| if b.is_ascii_alphanumeric() { char::from(b).to_string() } else { format!("%{b:02X}") };
    text.bytes().map(one).collect()
}

#[tokio::test]
async fn the_note_of_the_first_start_is_shown_until_it_is_read() {
    let open = Open::new();
    open.get("/").await.says(200, &["Before you start", "diagnoses nothing", "4 clients", "(invented)"]);
    assert_eq!(open.post("/noted", &[]).await.to, "/");
    assert!(!open.get("/").await.text().contains("Before you start"));
}

#[tokio::test]
async fn an_address_that_is_not_there_is_told() {
    let open = Open::new();
    for path in ["/nonsense", "/client/99", "/week/99", "/week/99/history", "/week/99/workbook", "/client/99/text"] {
        let answered = open.get(path).await;
        assert_eq!(answered.status, StatusCode::NOT_FOUND, "{path}: {}", answered.text());
        assert!(answered.page().contains("<h1>"), "{path} is a page of the app");
    }
    for path in ["/client/abc", "/week/abc", "/week/1/ledger.exe", "/import/abc"] {
        let status = open.get(path).await.status;
        assert!(status.is_client_error(), "{path}: {status}");
    }
}
