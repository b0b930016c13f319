//! A week: every change, its undo, and what is refused.

use crate::{Answered, Open};

/// A client with a week of two days and three rows.
struct Planned {
    open: Open,
    id: i64,
}

impl Planned {
    async fn new() -> Planned {
        let open = Open::new();
        let client = [("form", "1"), ("name", "Rita (invented)"), ("days", "Monday, Thursday")];
        let client = open.post("/client/new", &client).await.number();
        let id = open.post(&format!("/client/{client}/week"), &[("name", "Block 1"), ("from", "")]).await.number();
        let planned = Planned { open, id };
        for (day, exercise) in
            [("Monday", "Back squat 3x8 @2"), ("Monday", "Bench press 3x8 @2"), ("Thursday", "Lat pulldown 3x10 @1")]
        {
            planned.now(&[("do", "add"), ("day", day), ("exercise", exercise)]).await.number();
        }
        planned
    }
    fn version(&self) -> i64 {
        self.open.app.store.week(self.id).expect("the week").row.version
    }
    /// A change of what is stored now.
    async fn now(&self, fields: &[(&str, &str)]) -> Answered {
        let version = self.version().to_string();
        self.seen(&version, fields).await
    }
    async fn seen(&self, version: &str, fields: &[(&str, &str)]) -> Answered {
        let sent: Vec<(&str, &str)> = [("version", version)].into_iter().chain(fields.iter().copied()).collect();
        self.open.post(&format!("/week/{}/edit", self.id), &sent).await
    }
    /// "Monday: Back squat 3x8; …" as stored.
    fn plan(&self) -> String {
        let entries = self.open.app.store.week(self.id).expect("the week").content.entries;
        let one = |e: &answer::Entry| {
            let name = if e.movement.is_some() { &e.name } else { &e.text };
            format!("{}: {name} {}x{}", e.day, e.sets_low, e.reps_low.unwrap_or_default())
        };
        entries.iter().map(one).collect::<Vec<_>>().join("; ")
    }
}

const START: &str = "Monday: Back squat, high bar 3x8; Monday: Bench press 3x8; Thursday: Pull-down, medium grip 3x10";

/// Every change leads to the plan expected, and one undo takes it back, one redo brings it again.
#[tokio::test]
async fn every_change_can_be_taken_back_and_brought_again() {
    let p = Planned::new().await;
    assert_eq!(p.plan(), START);
    let check = async |fields: &[(&str, &str)], expected: &str| {
        p.now(fields).await.number();
        assert_eq!(p.plan(), expected, "{fields:?}");
        p.now(&[("do", "undo")]).await.number();
        assert_eq!(p.plan(), START, "undo of {fields:?}");
        p.now(&[("do", "redo")]).await.number();
        assert_eq!(p.plan(), expected, "redo of {fields:?}");
        p.now(&[("do", "undo")]).await.number();
    };
    let moved = "Monday: Bench press 3x8; Thursday: Pull-down, medium grip 3x10; Thursday: Back squat, high bar 3x8";
    check(&[("do", "move"), ("at", "0"), ("to", "Thursday")], moved).await;
    let swapped = "Monday: Bench press 3x8; Monday: Back squat, high bar 3x8; Thursday: Pull-down, medium grip 3x10";
    check(&[("do", "down"), ("at", "0")], swapped).await;
    check(&[("do", "up"), ("at", "1")], swapped).await;
    check(&[("do", "remove"), ("at", "1")], "Monday: Back squat, high bar 3x8; Thursday: Pull-down, medium grip 3x10")
        .await;
    let five =
        [("do", "set"), ("at", "0"), ("exercise", "Back squat, high bar"), ("sets", "5"), ("reps", "6"), ("rir", "2")];
    check(&five, "Monday: Back squat, high bar 5x6; Monday: Bench press 3x8; Thursday: Pull-down, medium grip 3x10")
        .await;
    check(
        &[("do", "copy-day"), ("day", "Thursday"), ("to", "Friday"), ("client", &p.client())],
        &format!("{START}; Friday: Pull-down, medium grip 3x10"),
    )
    .await;
    check(&[("do", "remove-day"), ("day", "Monday")], "Thursday: Pull-down, medium grip 3x10").await;
    check(&[("do", "add"), ("day", "Monday"), ("exercise", "Quibbling zorp 3x10")], "Monday: Back squat, high bar 3x8; Monday: Bench press 3x8; Monday: Quibbling zorp 3x10 3x10; Thursday: Pull-down, medium grip 3x10").await;
}

impl Planned {
    fn client(&self) -> String {
        self.open.app.store.week(self.id).expect("the week").row.client.to_string()
    }
}

#[tokio::test]
async fn what_cannot_be_is_told_and_changes_nothing() {
    let p = Planned::new().await;
    let before = p.version();
    let check = async |fields: &[(&str, &str)], status: u16, words: &[&str]| {
        p.now(fields).await.says(status, words);
        assert_eq!((p.plan().as_str(), p.version()), (START, before), "{fields:?}");
    };
    check(&[("do", "dance")], 422, &["dance", "no change of a week"]).await;
    check(&[("do", "remove"), ("at", "7")], 422, &["not there any more"]).await;
    check(&[("do", "remove"), ("at", "x")], 422, &["at", "no number"]).await;
    check(&[("do", "move"), ("at", "0"), ("to", " ")], 422, &["no day is named"]).await;
    check(&[("do", "add"), ("day", "Monday"), ("exercise", "")], 422, &["nothing is written"]).await;
    check(&[("do", "add"), ("day", ""), ("exercise", "Bench press 3x8")], 422, &["no day is named"]).await;
    check(&[("do", "add-day"), ("day", "")], 422, &["needs a name"]).await;
    check(&[("do", "copy-day"), ("day", "Sunday"), ("to", "Friday"), ("client", "1")], 422, &["nothing to copy"]).await;
    check(&[("do", "redo")], 422, &["nothing to redo"]).await;
    check(&[("do", "state"), ("state", "99")], 422, &["nothing to go to"]).await;
    check(&[("do", "template"), ("name", "")], 422, &["name"]).await;
    check(&[("do", "rename"), ("name", "x"), ("starts", "yesterday")], 422, &["not a day"]).await;
    p.seen("", &[("do", "undo")]).await.says(422, &["version", "no number"]);
    assert_eq!(p.plan(), START);
}

#[tokio::test]
async fn a_second_window_is_told_what_happened_and_may_choose() {
    let p = Planned::new().await;
    let old = p.version().to_string();
    p.seen(&old, &[("do", "remove"), ("at", "1")]).await.number();
    let late = [("do", "add"), ("day", "Monday"), ("exercise", "Push-up 3x15")];
    let answered = p.seen(&old, &late).await;
    answered.says(409, &["changed this week meanwhile", "removed Bench press", "Push-up", "Make my change on top"]);
    assert_eq!(
        p.plan(),
        "Monday: Back squat, high bar 3x8; Thursday: Pull-down, medium grip 3x10",
        "nothing was overwritten"
    );
    // The form of that page carries the newer version and all that was sent.
    let page = answered.page();
    for (key, value) in late {
        assert!(page.contains(&format!("name=\"{key}\" value=\"{value}\"")), "{key}");
    }
    assert!(page.contains(&format!("name=\"version\" value=\"{}\"", p.version())));
    p.now(&late).await.number();
    assert!(p.plan().contains("Push-up"));
}

/// Settings stand inside the typed name and survive a change of another cell.
#[tokio::test]
async fn settings_are_read_out_of_the_name_and_kept() {
    let p = Planned::new().await;
    p.now(&[("do", "add"), ("day", "Monday"), ("exercise", "Incline 45 DB press 3x10 @1")]).await.number();
    let at = p.open.app.store.week(p.id).expect("it").content.entries.iter().position(|e| !e.settings.is_empty());
    let at = at.expect("an entry with a setting");
    let entry = |p: &Planned| p.open.app.store.week(p.id).expect("it").content.entries[at].clone();
    let before = entry(&p);
    let n = at.to_string();
    p.now(&[("do", "set"), ("at", &n), ("exercise", &before.name), ("sets", "4"), ("reps", "10"), ("rir", "1")])
        .await
        .number();
    let after = entry(&p);
    assert_eq!((after.sets_low, &after.settings, &after.movement), (4.0, &before.settings, &before.movement));
}

#[tokio::test]
async fn weeks_are_copied_named_compared_and_put_away() {
    let p = Planned::new().await;
    let copy = p.now(&[("do", "copy-week"), ("client", &p.client()), ("name", "Block 2")]).await.number();
    assert_ne!(copy, p.id);
    p.now(&[("do", "template"), ("name", "Two days")]).await.number();
    p.open.get(&format!("/client/{}", p.client())).await.says(200, &["Block 2", "template: Two days"]);
    p.now(&[("do", "rename"), ("name", "Block one"), ("starts", "2026-03-02")]).await.number();
    p.open.get(&format!("/week/{}", p.id)).await.says(200, &["Block one"]);
    p.now(&[("do", "remove"), ("at", "1")]).await.number();
    let compare = format!("/week/{}/compare", p.id);
    p.open.get(&compare).await.says(200, &["Which two weeks?", "Block 2"]);
    p.open.get(&format!("{compare}?with={copy}")).await.says(200, &["Difference", "Middle chest"]);
    p.open.get(&format!("/week/{}/history", p.id)).await.says(200, &["removed Bench press", "Go to it"]);
    p.now(&[("do", "away")]).await;
    assert!(!p.open.get(&format!("/client/{}", p.client())).await.text().contains("Block one"));
}

/// The demo weeks are judged, improved by their first proposal, brought back by undo, and leave as files.
#[tokio::test]
async fn a_week_is_judged_improved_taken_back_and_saved_as_files() {
    let open = Open::new();
    for c in open.app.store.clients(false).expect("clients") {
        let week = open.app.store.weeks(c.id).expect("weeks")[0].clone();
        let entries = || open.app.store.week(week.id).expect("it").content.entries;
        let unknown: Vec<String> = entries().iter().filter(|e| e.movement.is_none()).map(|e| e.text.clone()).collect();
        assert!(unknown.is_empty(), "{}: demo rows that are not understood: {unknown:?}", c.name);
        let judged = format!("/week/{}/judged", week.id);
        let first = open.get(&judged).await;
        first.says(200, &["Credited sets a week", "Proposals"]);
        let (before, version) = (entries(), week.version.to_string());
        let applied = open.post(&format!("/week/{}/edit", week.id), &[("version", &version), ("do", "apply")]).await;
        if first.page().contains("value=\"apply\"") {
            applied.number();
            assert_ne!(entries(), before, "{}", c.name);
            assert_ne!(open.get(&judged).await.text(), first.text());
            let version = open.app.store.week(week.id).expect("it").row.version.to_string();
            open.post(&format!("/week/{}/edit", week.id), &[("version", &version), ("do", "undo")]).await.number();
        }
        assert_eq!(entries(), before, "{}", c.name);
        for (end, kind, starts) in [
            ("workbook", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", &b"PK"[..]),
            ("ledger.svg", "image/svg+xml", b"<svg"),
            ("ledger.png", "image/png", b"\x89PNG"),
            ("ledger.slide", "image/png", b"\x89PNG"),
            ("ledger.post", "image/png", b"\x89PNG"),
        ] {
            let file = open.get(&format!("/week/{}/{end}", week.id)).await;
            assert!(
                file.status == 200 && file.kind == kind && file.bytes.starts_with(starts),
                "{end}: {}",
                file.status
            );
            // Width and height stand at bytes 16 to 24 of a PNG (ISO/IEC 15948, IHDR).
            let size = |at: usize| {
                u32::from_be_bytes([file.bytes[at], file.bytes[at + 1], file.bytes[at + 2], file.bytes[at + 3]])
            };
            match end {
                "ledger.slide" => assert_eq!((size(16), size(20)), (1920, 1080)),
                "ledger.post" => assert_eq!((size(16), size(20)), (1080, 1350)),
                _ => {}
            }
        }
    }
}
