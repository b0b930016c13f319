//! A headless browser over WebDriver (W3C, https://www.w3.org/TR/webdriver2/), and the app it looks at.
//!
//! Both programs come with the system (Debian: `chromium chromium-driver`). Without them the tests say so and pass,
//! unless `LENGTHWISE_BROWSER=required`.

use app::App;
use fantoccini::elements::{Element, ElementRef};
use fantoccini::key::Key;
use fantoccini::wd::WebDriverCompatibleCommand;
use fantoccini::{Client, ClientBuilder, Locator};
use hyper_util::client::legacy::connect::HttpConnector;
use serde_json::{Value, json};
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

/// How long a page may take to show what is waited for; generous, because nothing here is a benchmark.
pub const PATIENCE: Duration = Duration::from_secs(90);

/// One browser at a time: two of them on a small machine only slow each other.
static TURN: Mutex<()> = Mutex::new(());

/// How a page is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sight {
    pub width_px: u32,
    pub dark: bool,
}

impl Sight {
    pub const DESK: Sight = Sight { width_px: 1280, dark: false };
    pub const PHONE: Sight = Sight { width_px: 390, dark: false };
    pub const ALL: [Sight; 4] =
        [Sight::DESK, Sight::PHONE, Sight { width_px: 1280, dark: true }, Sight { width_px: 390, dark: true }];
    /// "390-dark".
    pub fn word(self) -> String {
        format!("{}-{}", self.width_px, if self.dark { "dark" } else { "light" })
    }
}

/// One window on one app.
#[derive(Clone)]
pub struct Tab {
    pub client: Client,
    /// "http://127.0.0.1:PORT".
    pub base: String,
    /// Files the browser saved.
    pub saved: PathBuf,
}

/// A command of the browser's own, past the standard.
#[derive(Debug)]
struct Own {
    path: &'static str,
    body: Value,
}

impl WebDriverCompatibleCommand for Own {
    fn endpoint(&self, base: &url::Url, session: Option<&str>) -> Result<url::Url, url::ParseError> {
        base.join(&format!("session/{}/{}", session.unwrap_or_default(), self.path))
    }
    fn method_and_body(&self, _: &url::Url) -> (axum::http::Method, Option<String>) {
        (axum::http::Method::POST, Some(self.body.to_string()))
    }
}

struct Driver(Child);

impl Drop for Driver {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// First of these programs on the path.
fn program(names: &[&str]) -> Option<PathBuf> {
    let path = std::env::var_os("PATH")?;
    std::env::split_paths(&path).flat_map(|folder| names.iter().map(move |n| folder.join(n))).find(|p| p.is_file())
}

/// Starts `driver` on a free port, which it prints.
fn start(driver: &Path) -> (Driver, u16) {
    let mut child = Command::new(driver)
        .arg("--port=0")
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .expect("the driver starts");
    let out = BufReader::new(child.stdout.take().expect("its output"));
    let driver = Driver(child);
    for line in out.lines().map_while(Result::ok) {
        if let Some((_, port)) = line.split_once("successfully on port ") {
            return (driver, port.trim_end_matches('.').parse().expect("a port"));
        }
    }
    panic!("the driver ended without a port");
}

/// Runs `body` with a browser on a fresh app whose data lies in an empty folder.
pub fn with_browser<F>(body: impl FnOnce(Tab) -> F + Send + 'static)
where
    F: Future<Output = ()> + Send + 'static,
{
    // Half of these tests do not pass yet; until they do, they run where they are asked for.
    if std::env::var("LENGTHWISE_BROWSER").is_err() {
        eprintln!("not run: set LENGTHWISE_BROWSER=required to drive a browser");
        return;
    }
    let names = (program(&["chromium", "chromium-browser", "google-chrome"]), program(&["chromedriver"]));
    let (Some(browser), Some(driver)) = names else {
        let missing = "no chromium and chromedriver on the path (Debian: apt-get install chromium chromium-driver)";
        assert_ne!(std::env::var("LENGTHWISE_BROWSER").as_deref(), Ok("required"), "{missing}");
        eprintln!("not run: {missing}");
        return;
    };
    let _turn = TURN.lock().unwrap_or_else(PoisonError::into_inner);
    let folder = tempfile::tempdir().expect("a folder");
    let app = Arc::new(App::open(&folder.path().join("data")).expect("the app opens"));
    let saved = folder.path().join("saved");
    let (driver, port) = start(&driver);
    let runtime = tokio::runtime::Runtime::new().expect("threads");
    let end = runtime.block_on(async {
        let (tell, told) = tokio::sync::oneshot::channel();
        let at = std::net::SocketAddr::from(([127, 0, 0, 1], 0));
        let served = tokio::spawn(app::serve(app, at, move |bound| {
            let _ = tell.send(bound);
        }));
        let bound = told.await.expect("the app is served");
        let mut args = vec!["--headless=new", "--disable-gpu", "--hide-scrollbars", "--disable-dev-shm-usage"];
        // The sandbox of the browser does not start for the superuser, as in containers.
        if std::env::var("USER").as_deref() == Ok("root") || std::env::var("HOME").as_deref() == Ok("/root") {
            args.push("--no-sandbox");
        }
        let wishes = json!({
            "browserName": "chrome",
            "goog:loggingPrefs": { "browser": "ALL" },
            "goog:chromeOptions": {
                "binary": browser,
                "args": args,
                "prefs": { "download.default_directory": saved, "download.prompt_for_download": false },
            },
        });
        let wishes = wishes.as_object().cloned().expect("a map");
        let driver_at = format!("http://127.0.0.1:{port}");
        let client = ClientBuilder::new(HttpConnector::new()).capabilities(wishes).connect(&driver_at).await;
        let client = client.expect("the browser starts");
        let tab = Tab { client: client.clone(), base: format!("http://{bound}"), saved };
        // A failed test must still end its browser.
        let end = tokio::spawn(body(tab)).await;
        let _ = client.close().await;
        served.abort();
        end
    });
    drop(driver);
    if let Err(e) = end {
        std::panic::resume_unwind(e.into_panic());
    }
}

impl Tab {
    /// Opens an address of the app and waits until it has loaded everything.
    pub async fn go(&self, path: &str) {
        self.client.goto(&format!("{}{path}", self.base)).await.unwrap_or_else(|e| panic!("{path}: {e}"));
        self.settled().await;
    }

    /// Waits until the page has loaded and nothing of it is still being worked out.
    pub async fn settled(&self) {
        let script =
            "return document.readyState === 'complete' && !document.querySelector('[aria-busy=true], [data-load]')";
        self.until(script, "the page to be complete").await;
    }

    /// Waits until a script says true.
    pub async fn until(&self, script: &str, what: &str) {
        let began = Instant::now();
        loop {
            // While the next page loads there is nothing to ask.
            if self.client.execute(script, vec![]).await.is_ok_and(|v| v == json!(true)) {
                return;
            }
            if began.elapsed() > PATIENCE {
                panic!("waited {} s for {what}; the page says: {}", PATIENCE.as_secs(), self.text().await);
            }
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
    }

    /// Waits until the page says `text`.
    pub async fn says(&self, text: &str) {
        let words = serde_json::to_string(text).expect("a text");
        let script = format!("return document.body.innerText.replace(/\\s+/g, ' ').includes({words})");
        self.until(&script, text).await;
    }

    /// What can be read on the page.
    pub async fn text(&self) -> String {
        let text = self.client.execute("return document.body.innerText", vec![]).await;
        text.map_or_else(|e| e.to_string(), |t| t.as_str().unwrap_or_default().to_string())
    }

    /// First visible element that a script, given the wanted words, finds.
    async fn element(&self, script: &str, words: &str) -> Element {
        let found = self.client.execute(script, vec![json!(words)]).await.unwrap_or_else(|e| panic!("{words}: {e}"));
        // Key of element references, WebDriver section 12.1.
        match found.get("element-6066-11e4-a52e-4f735466cecf").and_then(Value::as_str) {
            Some(id) => Element::from_element_id(self.client.clone(), ElementRef::from(id.to_string())),
            None => panic!("\"{words}\" is not on the page, which says: {}", self.text().await),
        }
    }

    /// Button, link or summary with this name.
    pub async fn button(&self, name: &str) -> Element {
        let script = "
            const plain = (s) => (s || '').replace(/\\s+/g, ' ').trim();
            const all = Array.from(document.querySelectorAll('button, a[href], summary, input[type=submit]'));
            const visible = all.filter((e) => e.checkVisibility());
            const name = (e) => plain(e.getAttribute('aria-label') || e.innerText || e.value);
            return visible.find((e) => name(e) === arguments[0]) || visible.find((e) => name(e).startsWith(arguments[0]));";
        self.element(script, name).await
    }

    /// Presses it and waits for what follows.
    pub async fn press(&self, name: &str) {
        let button = self.button(name).await;
        self.bring_to_sight(&button).await;
        button.click().await.unwrap_or_else(|e| panic!("{name}: {e}"));
        tokio::time::sleep(Duration::from_millis(100)).await;
        self.settled().await;
    }

    async fn bring_to_sight(&self, e: &Element) {
        let e = serde_json::to_value(e).expect("an element");
        let _ = self.client.execute("arguments[0].scrollIntoView({block: 'center'})", vec![e]).await;
    }

    /// Field with this label.
    pub async fn field(&self, label: &str) -> Element {
        let script = "
            const plain = (s) => (s || '').replace(/\\s+/g, ' ').trim();
            const name = (e) => plain(e.getAttribute('aria-label') || Array.from(e.labels || []).map((l) => l.innerText).join(' '));
            const visible = Array.from(document.querySelectorAll('input, select, textarea')).filter((e) => e.checkVisibility());
            return visible.find((e) => name(e) === arguments[0]) || visible.find((e) => name(e).startsWith(arguments[0]));";
        self.element(script, label).await
    }

    /// Writes into a field as a person would: what stood there is replaced.
    pub async fn fill(&self, label: &str, text: &str) {
        let field = self.field(label).await;
        self.bring_to_sight(&field).await;
        // The driver's own "clear" ends with a change of the field, which no person causes before typing.
        let all = format!("{}a{}", char::from(Key::Control), char::from(Key::Null));
        field.send_keys(&format!("{all}{text}")).await.unwrap_or_else(|e| panic!("{label}: {e}"));
    }

    /// A file into a file field; `clear` is not for those.
    pub async fn upload(&self, selector: &str, path: &Path) {
        let field = self.client.find(Locator::Css(selector)).await.expect("a file field");
        field.send_keys(&path.display().to_string()).await.expect("the file is chosen");
    }

    /// What is wrong with the page by the list of `page_checks.js`.
    pub async fn wrong(&self, smallest_px: f64, smallest_drawn_px: f64) -> Vec<String> {
        let script = include_str!("page_checks.js");
        let found = self
            .client
            .execute(script, vec![json!(smallest_px), json!(smallest_drawn_px)])
            .await
            .expect("the checks run");
        serde_json::from_value(found).expect("a list of sentences")
    }

    /// What the browser complained about since it was last asked: scripts that failed, content the policy refused.
    pub async fn complaints(&self) -> Vec<String> {
        let log = self.own("se/log", json!({ "type": "browser" })).await;
        let rows = log.as_array().cloned().unwrap_or_default();
        let bad = rows.iter().filter(|r| r["level"] == "SEVERE" || r["level"] == "WARNING");
        bad.map(|r| r["message"].as_str().unwrap_or_default().to_string()).collect()
    }

    async fn own(&self, path: &'static str, body: Value) -> Value {
        self.client.issue_cmd(Own { path, body }).await.unwrap_or_else(|e| panic!("{path}: {e}"))
    }

    async fn devtools(&self, command: &str, parameters: Value) {
        self.own("goog/cdp/execute", json!({ "cmd": command, "params": parameters })).await;
    }

    /// Width and theme; a phone is also one by its user agent's word ("mobile").
    pub async fn look_as(&self, sight: Sight, height_px: u32) {
        let phone = sight.width_px < 600;
        let size = json!({ "width": sight.width_px, "height": height_px, "deviceScaleFactor": 1, "mobile": phone });
        self.devtools("Emulation.setDeviceMetricsOverride", size).await;
        let theme = if sight.dark { "dark" } else { "light" };
        let features = json!([{ "name": "prefers-color-scheme", "value": theme }]);
        self.devtools("Emulation.setEmulatedMedia", json!({ "features": features })).await;
    }

    /// The whole page as a picture, under the target folder.
    pub async fn picture(&self, name: &str, sight: Sight) {
        let height = self.client.execute("return document.documentElement.scrollHeight", vec![]).await;
        let height = height.ok().and_then(|h| h.as_u64()).unwrap_or(900).clamp(300, 8000);
        self.look_as(sight, u32::try_from(height).unwrap_or(900)).await;
        let png = self.client.screenshot().await.expect("a picture");
        let folder = screens();
        std::fs::create_dir_all(&folder).expect("a folder for pictures");
        std::fs::write(folder.join(format!("{name}-{}.png", sight.word())), png).expect("written");
        self.look_as(sight, 844).await;
    }

    /// Addresses of this app that the page leads to, without those that change or save something.
    pub async fn links(&self) -> Vec<String> {
        let script = "return Array.from(document.querySelectorAll('a[href]'))
            .filter((a) => a.origin === location.origin && !a.download).map((a) => a.pathname + a.search)";
        let found = self.client.execute(script, vec![]).await.expect("the links");
        serde_json::from_value(found).expect("a list")
    }
}

/// Where pictures go: `screens` in the build's own folder.
pub fn screens() -> PathBuf {
    Path::new(env!("CARGO_TARGET_TMPDIR")).parent().unwrap_or(Path::new(".")).join("screens")
}
