//! Pages of a full practice: 60 clients with three years of weeks, 40 entries each (invented).

use app::App;
use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::Request;
use divan::{Bencher, black_box};
use std::path::Path;
use std::sync::{Arc, OnceLock};
use store::NewClient;
use tower::ServiceExt;

fn main() {
    divan::main();
}

/// A folder with the practice; filled once.
fn practice() -> &'static Path {
    static FOLDER: OnceLock<tempfile::TempDir> = OnceLock::new();
    let dir = FOLDER.get_or_init(|| {
        let dir = tempfile::tempdir().expect("a folder");
        let app = App::open(dir.path()).expect("the app opens");
        let mut content = app.store.week(1).expect("a demo week").content;
        content.entries = content.entries.iter().cycle().take(40).cloned().collect();
        let file = app.store.client(1).expect("a demo client").file;
        for n in 0..60 {
            let name = format!("Client {n} (invented)");
            let client = app.store.add_client(&NewClient { name: &name, file: &file }).expect("a client");
            for w in 0..156 {
                app.store.add_week(client, &format!("Week {w}"), None, &content, "new").expect("a week");
            }
        }
        dir
    });
    dir.path()
}

fn runtime() -> tokio::runtime::Runtime {
    tokio::runtime::Runtime::new().expect("threads")
}

/// One page, whole.
async fn page(router: &Router, to: &str) -> usize {
    let request = Request::get(to).header("host", "localhost").body(Body::empty()).expect("a request");
    let answer = router.clone().oneshot(request).await.expect("an answer");
    assert!(answer.status().is_success(), "{to}: {}", answer.status());
    to_bytes(answer.into_body(), 64 << 20).await.expect("a body").len()
}

/// From nothing to the first page, as after a double click (goal: under 1 s).
#[divan::bench(sample_count = 5)]
fn start_to_first_page(b: Bencher) {
    let (folder, runtime) = (practice(), runtime());
    b.bench_local(|| {
        let router = app::router(Arc::new(App::open(folder).expect("the app opens")));
        runtime.block_on(page(&router, "/"))
    });
}

/// A page that was shown before.
fn again(b: Bencher, to: &str) {
    let (folder, runtime) = (practice(), runtime());
    let router = app::router(Arc::new(App::open(folder).expect("the app opens")));
    runtime.block_on(page(&router, to));
    b.bench_local(|| black_box(runtime.block_on(page(&router, to))));
}

/// Goal: under 15 ms.
#[divan::bench(sample_count = 30)]
fn movement_again(b: Bencher) {
    again(b, "/movement?m=back-squat");
}

/// A week with 40 entries, judged before (goal: under 30 ms).
#[divan::bench(sample_count = 30)]
fn week_of_forty_again(b: Bencher) {
    let (folder, runtime) = (practice(), runtime());
    let app = Arc::new(App::open(folder).expect("the app opens"));
    let newest = app.store.newest_weeks().expect("weeks");
    let to = format!("/week/{}", newest.iter().map(|w| w.id).max().expect("a week"));
    let router = app::router(app);
    runtime.block_on(page(&router, &format!("{to}/judged")));
    b.bench_local(|| black_box(runtime.block_on(page(&router, &to))));
}

/// The same, not judged yet: the plan comes first, the ledger follows.
#[divan::bench(sample_count = 5)]
fn week_of_forty_first_look(b: Bencher) {
    let (folder, runtime) = (practice(), runtime());
    let router = app::router(Arc::new(App::open(folder).expect("the app opens")));
    b.bench_local(|| black_box(runtime.block_on(page(&router, "/week/300"))));
}
