//! What a coach asks of movements, muscles and evidence, without a socket or a browser: answers, slips, files, links.

use app::App;
use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{Request, StatusCode, header};
use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::sync::Arc;
use tower::ServiceExt;

/// The app on a folder of its own, with the demo clients of a first start.
struct Open {
    router: Router,
    _folder: tempfile::TempDir,
}

struct Answered {
    status: StatusCode,
    to: String,
    kind: String,
    bytes: Vec<u8>,
}

impl Open {
    fn new() -> Open {
        let folder = tempfile::tempdir().expect("a folder");
        let app = App::open(folder.path()).unwrap_or_else(|e| panic!("{e}"));
        Open { router: app::router(Arc::new(app)), _folder: folder }
    }

    async fn get(&self, path: &str) -> Answered {
        let request = Request::get(path).header(header::HOST, "127.0.0.1:4044").body(Body::empty()).expect("a request");
        let answer = self.router.clone().oneshot(request).await.expect("an answer");
        let text = |key: header::HeaderName| {
            answer.headers().get(key).and_then(|v| v.to_str().ok()).unwrap_or_default().to_string()
        };
        let (status, to, kind) = (answer.status(), text(header::LOCATION), text(header::CONTENT_TYPE));
        let bytes = to_bytes(answer.into_body(), 64 << 20).await.expect("a body").to_vec();
        Answered { status, to, kind, bytes }
    }

    /// An address → status and what its page says.
    async fn check(&self, path: &str, status: u16, says: &[&str]) -> Answered {
        let answer = self.get(path).await;
        let text = answer.text();
        assert_eq!(answer.status, status, "{path}: {text}");
        for words in says {
            assert!(text.contains(words), "{path} should say {words:?}: {text}");
        }
        answer
    }
}

impl Answered {
    fn page(&self) -> String {
        String::from_utf8_lossy(&self.bytes).into_owned()
    }

    /// Words of the page without its marks.
    fn text(&self) -> String {
        let page = self.page();
        let parts = page.split('<').map(|part| part.split_once('>').map_or(part, |(_, words)| words));
        parts.collect::<Vec<_>>().join(" ").split_whitespace().collect::<Vec<_>>().join(" ")
    }

    fn heading(&self) -> String {
        let page = self.page();
        let start = page.find("<h1>").map_or(0, |at| at + 4);
        page[start..].split("</h1>").next().unwrap_or_default().to_string()
    }

    /// Addresses of ours that the page leads to.
    fn links(&self) -> Vec<String> {
        let page = self.page();
        page.split("href=\"/")
            .skip(1)
            .filter_map(|rest| Some(format!("/{}", rest.split_once('"')?.0.replace("&amp;", "&"))))
            .collect()
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_movement_is_answered_with_figure_settings_and_heads() {
    let open = Open::new();
    let squat = open.check("/movement?m=back-squat", 200, &["Depth: knee bent", "A hard set:", "prime", "Mind"]).await;
    assert!(squat.heading().contains("Back squat"), "{}", squat.heading());
    let page = squat.page();
    for part in ["<svg", "type=\"range\"", "name=\"set.depth_knee_deg\"", "data-scrub"] {
        assert!(page.contains(part), "{part}");
    }
    // A slip of the pen is read, and said.
    open.check("/movement?m=bak+squat", 200, &["Back squat"]).await;
    // For a client the body is the client's.
    open.check("/movement?m=back-squat&client=1", 200, &["180 cm, 82 kg"]).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_slider_changes_title_or_table() {
    let open = Open::new();
    let of = async |depth: f64| {
        let path = format!("/movement/parts?m=back-squat&set.depth_knee_deg={depth}&ranges=0");
        open.check(&path, 200, &["What each head gets from one hard set"]).await
    };
    let (deep, quarter) = (of(120.0).await, of(60.0).await);
    for part in ["data-part=\"title\"", "data-part=\"posture\"", "data-part=\"answer\""] {
        assert!(deep.page().contains(part), "{part}");
    }
    assert_ne!(deep.text(), quarter.text());
    assert_eq!(deep.text(), of(120.0).await.text());
}

#[tokio::test(flavor = "multi_thread")]
async fn a_slip_is_told_in_plain_words_with_its_status() {
    let open = Open::new();
    for (path, status, says) in [
        ("/movement?m=zzzz", 422, "no movement called"),
        ("/movement?m=back-squat%7B", 422, "is not written as"),
        ("/movement?m=back-squat&set.nonsense=3", 422, "nonsense"),
        ("/movement?m=back-squat&set.depth_knee_deg=9999", 422, "depth_knee_deg"),
        ("/movement?m=back-squat&client=99", 404, "no client with number 99"),
        ("/movement?m=back-squat&client=abc", 422, "is no number of a client"),
        ("/movement/why?m=back-squat&h=nope", 422, "no muscle head called"),
        ("/movement/figure?m=back-squat&kind=exe", 422, "is no kind of picture"),
        ("/movement/similar?m=back-squat&spare=tail", 422, "tail"),
        ("/muscle?h=nope", 422, "no muscle head called"),
        ("/muscle?h=soleus&kit=nokit", 422, "no kit called"),
        ("/client/99", 404, "no client with number 99"),
        ("/week/99", 404, "no week with number 99"),
        ("/week/abc", 404, "No such page"),
        ("/client/abc", 404, "No such page"),
        ("/nothing", 404, "No such page"),
        ("/import/7", 422, "choose it again"),
        ("/week/1/edit", 405, "That cannot be asked here"),
    ] {
        let answer = open.check(path, status, &[says, "Lengthwise informs"]).await;
        // Words of the command line help nobody here.
        let text = answer.text();
        assert!(!text.contains("--") && !text.contains("lengthwise movements"), "{path}: {text}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn the_question_box_finds_movements_heads_groups_and_clients() {
    let open = Open::new();
    for (typed, to) in [
        ("incline+30+db+press", "/movement?m=dumbbell-incline-press%7Bbench_deg%3D30%7D"),
        ("soleus", "/muscle?h=soleus"),
        ("hamstrings", "/muscle?group=Hamstrings"),
    ] {
        assert_eq!(open.check(&format!("/find?q={typed}"), 303, &[]).await.to, to, "{typed}");
    }
    open.check("/find?q=soelus", 200, &["did you mean", "Deep calf"]).await;
    open.check("/find?q=arms+first", 200, &["Demo C", "client"]).await;
    open.check("/find?q=xqzw", 200, &["Nothing is called “xqzw”"]).await;
    open.check("/find?q=", 200, &["What are you looking for?"]).await;
    let suggested = open.get("/find/suggest?q=hams").await;
    let list: Vec<BTreeMap<String, String>> = serde_json::from_slice(&suggested.bytes).expect("a list");
    assert!(list.iter().any(|s| s["name"] == "Hamstrings" && s["kind"] == "muscle group"), "{list:?}");
}

/// Width and height in the head of a PNG file (PNG specification, third edition, 11.2.1: IHDR).
fn png_size(bytes: &[u8]) -> (u32, u32) {
    assert_eq!(&bytes[..8], b"\x89PNG\r\n\x1a\n", "signature");
    let number = |at: usize| u32::from_be_bytes(bytes[at..at + 4].try_into().expect("four bytes"));
    (number(16), number(20))
}

#[tokio::test(flavor = "multi_thread")]
async fn figures_leave_as_files_of_their_size_with_their_stop_signs() {
    let open = Open::new();
    let file = async |kind: &str| open.get(&format!("/movement/figure?m=back-squat&kind={kind}")).await;
    let svg = file("svg").await;
    assert_eq!(svg.kind, "image/svg+xml");
    assert!(svg.page().starts_with("<svg") && svg.text().contains("Stop and ask for help"), "{}", svg.text());
    assert_eq!(png_size(&file("slide").await.bytes), (1920, 1080));
    assert_eq!(png_size(&file("post").await.bytes), (1080, 1350));
    let gif = file("gif").await;
    assert_eq!((gif.kind.as_str(), &gif.bytes[..6]), ("image/gif", &b"GIF89a"[..]));
}

#[tokio::test(flavor = "multi_thread")]
async fn the_start_says_what_is_open_for_each_client() {
    let open = Open::new();
    let start = open.check("/", 200, &["A word from the doctor or midwife comes first", "Before you start"]).await;
    assert_eq!(start.heading(), "4 clients, 2 need a clinician's word first");
    open.check("/about", 200, &["diagnoses nothing", "lengthwise.db"]).await;
}

/// Leads of every page are followed, a few of each kind: none ends nowhere, and no page asks for anything from
/// elsewhere or carries what the policy of the pages forbids.
#[tokio::test(flavor = "multi_thread")]
#[ignore = "takes minutes where others build; run by name"]
async fn every_lead_goes_somewhere_and_nothing_comes_from_elsewhere() {
    const EACH: usize = 2;
    let open = Open::new();
    let mut waiting: VecDeque<(String, String)> = VecDeque::from([(String::new(), "/".to_string())]);
    let (mut seen, mut kinds) = (BTreeSet::new(), BTreeMap::<String, usize>::new());
    while let Some((from, path)) = waiting.pop_front() {
        let bare = path.split('#').next().unwrap_or_default().to_string();
        let kind = bare.split('?').next().unwrap_or_default().replace(|c: char| c.is_ascii_digit(), "n");
        let count = kinds.entry(kind).or_default();
        // Rankings take seconds each; the page of one head is asked for elsewhere.
        if *count >= EACH || bare.starts_with("/muscle?h=") || !seen.insert(bare.clone()) {
            continue;
        }
        *count += 1;
        let answer = open.get(&bare).await;
        assert!(answer.status.is_success() || answer.status.is_redirection(), "{from} → {bare}: {}", answer.status);
        if !answer.kind.starts_with("text/html") {
            continue;
        }
        let page = answer.page();
        for forbidden in [" style=\"", " onclick=", "src=\"http", "href=\"http", "javascript:", "url(http"] {
            assert!(!page.contains(forbidden), "{bare} carries {forbidden}");
        }
        assert!(!page.contains("<script>"), "{bare} carries a script of its own");
        waiting.extend(answer.links().into_iter().map(|to| (bare.clone(), to)));
    }
    assert!(seen.len() > 25, "{seen:?}");
}
