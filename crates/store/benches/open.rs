//! Opening and listing a full practice: 60 clients with three years of weeks, 40 entries each.

use divan::{Bencher, black_box};
use store::{NewClient, Store, WeekContent};

fn main() {
    divan::main();
}

/// A folder with the practice; filled once.
fn practice() -> &'static std::path::Path {
    static FOLDER: std::sync::OnceLock<tempfile::TempDir> = std::sync::OnceLock::new();
    let dir = FOLDER.get_or_init(|| {
        let dir = tempfile::tempdir().expect("a folder");
        let (store, _) = Store::open(dir.path()).expect("a store");
        let entry: answer::Entry = serde_json::from_value(serde_json::json!({
            "sheet": "Plan", "row": 4, "col": 2, "day": "Monday", "week": 1, "text": "3x8 @2", "movement": "back-squat",
            "name": "Back squat", "settings": {"depth_knee_deg": 110.0}, "confidence": 1.0, "sets_low": 3.0, "sets_high": 3.0,
            "reps_low": 8.0, "reps_high": 8.0, "reps_unit": "reps", "rir": 2.0, "load": 80.0, "unit": "kg",
            "status": "certain", "assumptions": []
        }))
        .expect("an entry");
        let content = WeekContent { entries: vec![entry; 40], ..WeekContent::default() };
        for n in 0..60 {
            let name = format!("Client {n} (invented)");
            let client = store.add_client(&NewClient { name: &name, file: "demo = true\n" }).expect("a client");
            for w in 0..156 {
                store.add_week(client, &format!("Week {w}"), None, &content, "new").expect("a week");
            }
        }
        dir
    });
    dir.path()
}

#[divan::bench]
fn open_and_list(b: Bencher) {
    let folder = practice();
    b.bench(|| {
        let (store, _) = Store::open(folder).expect("a store");
        black_box((store.clients(false).expect("clients"), store.newest_weeks().expect("weeks")))
    });
}

#[divan::bench]
fn read_a_week(b: Bencher) {
    let (store, _) = Store::open(practice()).expect("a store");
    b.bench(|| black_box(store.week(77).expect("a week")));
}

#[divan::bench(sample_count = 20)]
fn save_a_week(b: Bencher) {
    let (store, _) = Store::open(practice()).expect("a store");
    let week = store.week(78).expect("a week");
    b.bench_local(|| {
        let seen = store.week(78).expect("a week").row.version;
        store.save_week(78, &week.content, seen, "edit").expect("saved")
    });
}
