//! What is stored comes back, whatever happens in between.

use answer::{Entry, Settings};
use proptest::prelude::*;
use rusqlite::Connection;
use std::path::Path;
use store::{FILE, LATEST, NewClient, Opened, Store, StoreError, WeekContent, inspect, restore};

const MIA: NewClient = NewClient { name: "Mia (invented)", file: "name = \"Mia (invented)\"\ndemo = true\n" };

/// A week told apart by one text.
fn content(word: &str) -> WeekContent {
    let entry = Entry { text: word.into(), ..serde_json::from_value(blank()).expect("a blank entry") };
    WeekContent { entries: vec![entry], ..WeekContent::default() }
}

fn blank() -> serde_json::Value {
    serde_json::json!({
        "sheet": "", "row": 1, "col": 1, "day": "Day 1", "week": 1, "text": "", "movement": null, "name": "",
        "settings": {}, "confidence": 1.0, "sets_low": 3.0, "sets_high": 3.0, "reps_low": null, "reps_high": null,
        "reps_unit": "reps", "rir": null, "load": null, "unit": null, "status": "certain", "assumptions": []
    })
}

fn word(c: &WeekContent) -> &str {
    &c.entries[0].text
}

fn open(folder: &Path) -> Store {
    Store::open(folder).expect("the store opens").0
}

/// A store with one client and one week.
fn one_week(folder: &Path) -> (Store, i64, i64) {
    let store = open(folder);
    let client = store.add_client(&MIA).expect("a client");
    let week = store.add_week(client, "Block 1", Some("2026-03-02"), &content("a"), "new").expect("a week");
    (store, client, week)
}

#[test]
fn what_is_saved_comes_back_after_closing() {
    let dir = tempfile::tempdir().expect("a folder");
    let (store, client, week) = one_week(dir.path());
    let mut settings = Settings::new();
    settings.insert("bench_deg".into(), answer::SettingValue::Number(30.0));
    store.remember_match("  Incline  DB ", "dumbbell-bench-press", &settings).expect("remembered");
    store.save_template("Three days", &content("t")).expect("a template");
    store.set_own_band("grow", Some((8.0, 12.0))).expect("a band");
    store.set_setting("noted", "yes").expect("a setting");
    drop(store);
    let store = open(dir.path());
    assert_eq!(store.client(client).expect("the client").file, MIA.file);
    assert_eq!(word(&store.week(week).expect("the week").content), "a");
    let matches = store.matches().expect("matches");
    assert_eq!((matches[0].typed.as_str(), &matches[0].settings), ("incline db", &settings));
    assert_eq!(word(&store.template(store.templates().expect("templates")[0].id).expect("it")), "t");
    assert_eq!(store.own_bands().expect("bands")[0].high, 12.0);
    assert_eq!(store.setting("noted").expect("settings").as_deref(), Some("yes"));
    assert!(store.set_own_band("grow", Some((9.0, 3.0))).is_err());
}

#[test]
fn a_save_over_a_newer_version_is_refused_and_changes_nothing() {
    let dir = tempfile::tempdir().expect("a folder");
    let (store, client, week) = one_week(dir.path());
    let seen = store.week(week).expect("the week").row.version;
    store.save_week(week, &content("first tab"), seen, "edit").expect("the first tab saves");
    let late = store.save_week(week, &content("second tab"), seen, "edit");
    assert!(matches!(late, Err(StoreError::Conflict { seen: s, stored, .. }) if s == seen && stored == seen + 1));
    assert_eq!(word(&store.week(week).expect("the week").content), "first tab");
    let v = store.client(client).expect("it").version;
    store.save_client(client, &MIA, v).expect("saved");
    assert!(matches!(store.save_client(client, &MIA, v), Err(StoreError::Conflict { .. })));
    assert!(matches!(store.week(99), Err(StoreError::Missing { what: "week", id: 99 })));
    assert!(matches!(store.add_week(99, "x", None, &content("x"), "new"), Err(StoreError::Missing { .. })));
    assert!(store.add_week(client, "x", Some("2.3.26"), &content("x"), "new").is_err());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    /// Undo and redo walk the same line as a plain list with a pointer.
    #[test]
    fn undo_and_redo_follow_a_simple_model(steps in proptest::collection::vec(0u8..4, 1..40)) {
        let dir = tempfile::tempdir().expect("a folder");
        let (store, _, week) = one_week(dir.path());
        let (mut line, mut at) = (vec!["a".to_string()], 0usize);
        for (n, step) in steps.into_iter().enumerate() {
            let seen = store.week(week).expect("the week").row.version;
            match step {
                0 => {
                    let done = store.undo(week, seen);
                    prop_assert_eq!(done.is_ok(), at > 0);
                    at = at.saturating_sub(1);
                }
                1 => {
                    let done = store.redo(week, seen);
                    prop_assert_eq!(done.is_ok(), at + 1 < line.len());
                    at = (at + 1).min(line.len() - 1);
                }
                _ => {
                    let text = format!("step {n}");
                    store.save_week(week, &content(&text), seen, "edit").expect("saved");
                    line.truncate(at + 1);
                    line.push(text);
                    at += 1;
                }
            }
            let now = store.week(week).expect("the week");
            prop_assert_eq!(word(&now.content), line[at].as_str());
            prop_assert_eq!(now.undo.is_some(), at > 0);
            prop_assert_eq!(now.redo.is_some(), at + 1 < line.len());
            prop_assert_eq!(store.history(week).expect("history").len(), line.len());
        }
    }
}

/// The folder handed to the child that is killed.
const CHILD: &str = "STORE_TEST_FOLDER";

/// Not a test of its own: what the killed child does, writing words and telling each one that was acknowledged.
#[test]
fn child_writes_until_it_is_killed() {
    let Ok(folder) = std::env::var(CHILD) else { return };
    use std::io::Write;
    let store = open(Path::new(&folder));
    let week = 1;
    for n in 0.. {
        let seen = store.week(week).expect("the week").row.version;
        store.save_week(week, &content(&format!("word {n}")), seen, "edit").expect("saved");
        let mut out = std::io::stdout().lock();
        writeln!(out, "acknowledged word {n}").and_then(|()| out.flush()).expect("told");
    }
}

#[test]
fn two_hundred_kills_lose_nothing_acknowledged() {
    use std::io::{BufRead, BufReader};
    use std::process::{Command, Stdio};
    let dir = tempfile::tempdir().expect("a folder");
    drop(one_week(dir.path()));
    let mut seen_words = 0;
    for round in 0..200u32 {
        let mut child = Command::new(std::env::current_exe().expect("this test"))
            .args(["--exact", "child_writes_until_it_is_killed", "--nocapture"])
            .env(CHILD, dir.path())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("a child");
        let mut lines = BufReader::new(child.stdout.take().expect("its words")).lines();
        // Killed after a different number of words each round, some in the middle of a write.
        let mut last = None;
        for line in lines.by_ref().map_while(Result::ok) {
            if let Some(at) = line.find("acknowledged ") {
                last = Some(line[at + 13..].to_string());
                seen_words += 1;
                if seen_words % (1 + round % 7) == 0 {
                    break;
                }
            }
        }
        std::thread::sleep(std::time::Duration::from_micros(u64::from(round) * 97 % 3000));
        child.kill().expect("SIGKILL");
        child.wait().expect("it ends");
        // Words told after the last one read were acknowledged too.
        for line in lines.map_while(Result::ok) {
            if let Some(at) = line.find("acknowledged ") {
                last = Some(line[at + 13..].to_string());
            }
        }
        let store = open(dir.path());
        let now = store.week(1).expect("the week");
        let last = last.expect("at least one word");
        let number = |w: &str| w.trim_start_matches("word ").parse::<u64>().expect("a number");
        // A write may have been finished and not told any more; one that was told is there.
        assert!(number(word(&now.content)) >= number(&last), "round {round}: {last} lost, {}", word(&now.content));
    }
    assert!(seen_words >= 200);
}

#[test]
fn a_newer_file_is_shown_and_not_touched() {
    let dir = tempfile::tempdir().expect("a folder");
    let (store, client, week) = one_week(dir.path());
    drop(store);
    let raw = Connection::open(dir.path().join(FILE)).expect("the file");
    raw.pragma_update(None, "user_version", LATEST + 5).expect("a newer shape");
    drop(raw);
    let (store, found) = Store::open(dir.path()).expect("for reading");
    assert!(matches!(&found, Opened::ReadOnly(why) if why.contains("newer Lengthwise") && why.contains("update")));
    assert_eq!(word(&store.week(week).expect("the week").content), "a");
    let v = store.client(client).expect("it").version;
    assert!(matches!(store.save_client(client, &MIA, v), Err(StoreError::ReadOnly(_))));
}

#[test]
fn a_damaged_file_is_told_and_never_overwritten() {
    let check = |damage: &dyn Fn(&mut Vec<u8>)| {
        let dir = tempfile::tempdir().expect("a folder");
        let (store, ..) = one_week(dir.path());
        store.backup(&dir.path().join("whole.db")).expect("a backup");
        drop(store);
        for tail in ["-wal", "-shm"] {
            let _ = std::fs::remove_file(dir.path().join(format!("{FILE}{tail}")));
        }
        let path = dir.path().join(FILE);
        std::fs::copy(dir.path().join("whole.db"), &path).expect("one file");
        let mut bytes = std::fs::read(&path).expect("bytes");
        damage(&mut bytes);
        std::fs::write(&path, &bytes).expect("damaged");
        match Store::open(dir.path()) {
            Ok((store, Opened::ReadOnly(why))) => {
                assert!(why.contains("damaged") && why.contains("restore"), "{why}");
                assert!(store.add_client(&MIA).is_err());
            }
            Ok((_, found)) => panic!("opened as {found:?}"),
            Err(e) => assert!(e.to_string().contains("restore"), "{e}"),
        }
        assert_eq!(std::fs::read(&path).expect("still there"), bytes, "the damaged file was changed");
        // The way out that the message names.
        let kept = restore(dir.path(), &dir.path().join("whole.db")).expect("restored").expect("the old file is kept");
        assert_eq!(std::fs::read(kept).expect("kept aside"), bytes);
        assert_eq!(open(dir.path()).clients(false).expect("clients").len(), 1);
    };
    check(&|b| b.truncate(b.len() / 2));
    check(&|b| b.truncate(100));
    check(&|b| b[..64].fill(b'x'));
    check(&|b| {
        let n = b.len();
        b[n / 3..2 * n / 3].fill(0xA5);
    });
}

#[test]
fn every_earlier_shape_is_brought_forward_with_a_copy_of_it() {
    for shape in 1..LATEST {
        let dir = tempfile::tempdir().expect("a folder");
        let text = std::fs::read_to_string(format!("{}/tests/shapes/shape_{shape}.sql", env!("CARGO_MANIFEST_DIR")));
        let raw = Connection::open(dir.path().join(FILE)).expect("a file");
        raw.execute_batch(&text.expect("a fixture of every shape")).expect("the old tables");
        drop(raw);
        let (store, found) = Store::open(dir.path()).expect("it opens");
        let Opened::Migrated { from, backup } = found else { panic!("{found:?}") };
        assert_eq!((from, backup.exists()), (shape, true));
        let clients = store.clients(true).expect("clients");
        assert_eq!(clients[0].name, "Mia (invented)");
        assert_eq!(word(&store.week(1).expect("the week").content), "a");
        store.set_own_band("grow", Some((6.0, 10.0))).expect("the new tables are there");
    }
}

#[test]
fn restoring_something_else_is_refused() {
    let dir = tempfile::tempdir().expect("a folder");
    let (store, ..) = one_week(dir.path());
    let other = dir.path().join("plan.xlsx");
    std::fs::write(&other, b"PK not a database at all, but long enough to be read as one").expect("a file");
    let told = restore(dir.path(), &other).expect_err("refused").to_string();
    assert!(told.contains("plan.xlsx") && told.contains("no backup of Lengthwise"), "{told}");
    assert!(store.backup(&other).is_err(), "an older file is not overwritten");
    assert_eq!(store.clients(false).expect("unchanged").len(), 1);
}

#[test]
fn nothing_is_restored_under_a_program_that_has_the_store_open() {
    let dir = tempfile::tempdir().expect("a folder");
    let (store, client, _) = one_week(dir.path());
    let backup = dir.path().join("whole.db");
    store.backup(&backup).expect("a backup");
    store.put_away_client(client, true).expect("a change after the backup");
    let told = restore(dir.path(), &backup).expect_err("refused").to_string();
    assert!(told.contains("has it open") && told.contains("end that one first"), "{told}");
    assert!(store.client(client).expect("it").put_away, "nothing was changed");
    store.put_away_client(client, false).expect("the open store still writes");
    drop(store);
    let inside = inspect(&backup).expect("a sound backup");
    assert_eq!((inside.clients, inside.weeks, inside.changed.is_some()), (1, 1, true));
    assert_eq!(inside.bytes, std::fs::metadata(&backup).expect("a file").len());
    assert!(restore(dir.path(), &backup).expect("restored").is_some_and(|kept| kept.exists()));
}

#[test]
fn twenty_readers_and_a_writer_meet_no_error() {
    let dir = tempfile::tempdir().expect("a folder");
    let (store, client, week) = one_week(dir.path());
    let store = &store;
    std::thread::scope(|s| {
        for _ in 0..20 {
            s.spawn(move || {
                for _ in 0..50 {
                    assert!(!store.week(week).expect("the week").content.entries.is_empty());
                    assert_eq!(store.weeks(client).expect("weeks").len(), 1);
                }
            });
        }
        s.spawn(move || {
            for n in 0..50 {
                let seen = store.week(week).expect("the week").row.version;
                store.save_week(week, &content(&n.to_string()), seen, "edit").expect("saved");
            }
        });
    });
}

#[test]
fn a_folder_that_cannot_be_made_is_named() {
    let dir = tempfile::tempdir().expect("a folder");
    let taken = dir.path().join("taken");
    std::fs::write(&taken, b"a file").expect("a file");
    let told = Store::open(&taken.join("data")).err().expect("refused").to_string();
    assert!(told.contains("taken") && told.contains("--data DIR"), "{told}");
}
