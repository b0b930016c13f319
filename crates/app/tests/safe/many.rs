//! Many at once: twenty who read while one writes, and two who write the same week.

use crate::Open;
use std::sync::Arc;

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn twenty_readers_and_a_writer_meet_no_error() {
    const ROUNDS: usize = 15;
    let open = Arc::new(Open::new());
    let mut all = tokio::task::JoinSet::new();
    for reader in 0..20 {
        let open = open.clone();
        all.spawn(async move {
            for round in 0..ROUNDS {
                let to = ["/", "/client/1", "/week/1", "/week/1/history"][(reader + round) % 4];
                let got = open.get(to).await;
                assert_eq!(got.status.as_u16(), 200, "{to}: {}", got.page());
            }
        });
    }
    let writer = open.clone();
    all.spawn(async move {
        for round in 0..ROUNDS {
            let version = writer.app.store.week(1).expect("the week").row.version;
            let form =
                format!("version={version}&do=add&day=Monday&exercise=Back+squat&sets={}&reps=8&rir=2", 1 + round % 5);
            let got = writer.send("/week/1/edit", &form, &[]).await;
            assert_eq!(got.status.as_u16(), 303, "{}", got.page());
        }
    });
    while let Some(end) = all.join_next().await {
        end.expect("no reader and no writer fails");
    }
    assert_eq!(open.app.store.history(1).expect("history").len(), ROUNDS + 1, "every change is there");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn of_two_who_change_the_same_state_one_is_told() {
    let open = Arc::new(Open::new());
    let rows = |open: &Open| open.app.store.week(1).expect("the week").content.entries.len();
    let (before, version) = (rows(&open), open.app.store.week(1).expect("the week").row.version);
    let mut all = tokio::task::JoinSet::new();
    for n in 1..=8 {
        let open = open.clone();
        all.spawn(async move {
            let form = format!("version={version}&do=add&day=Monday&exercise=Back+squat&sets={n}&reps=8&rir=2");
            open.send("/week/1/edit", &form, &[]).await.status.as_u16()
        });
    }
    let mut ends = all.join_all().await;
    ends.sort_unstable();
    assert_eq!(ends, [303, 409, 409, 409, 409, 409, 409, 409]);
    assert_eq!(rows(&open), before + 1, "one change, and no other lost or doubled");
}
