//! The trials column.

use answer::{Credit, Range};
use evidence::bench::Bench;
use evidence::trials::{self, TrialCredit, Trials, pooled};
use library::{Ask, Library};
use std::sync::LazyLock;

static LIBRARY: LazyLock<Library> = LazyLock::new(|| Library::embedded().expect("the shipped data"));

/// Filled credits of a movement.
fn filled(movement: &str) -> (Vec<(String, Credit)>, Vec<answer::TrialShown>) {
    let mut credit = LIBRARY.credit(&Ask::middle(movement)).expect("solves");
    let heads = credit.heads.iter_mut().map(|h| (h.head.as_str(), &mut h.credit));
    let shown = Trials::shipped(&LIBRARY).fill(&LIBRARY, heads);
    (credit.heads.into_iter().map(|h| (h.head, h.credit)).collect(), shown)
}

/// Mannarino 2021 J Strength Cond Res 35:2677-2681: rows gave the elbow flexors 5.16 %, curls 11.06 %: ratio 0.47.
#[test]
fn a_ratio_is_the_published_one() {
    let bench = Bench::shipped(&LIBRARY);
    let all = trials::trials(&bench);
    let row = all.iter().find(|t| t.study == "mannarino-2021" && t.head == "brachialis").expect("a trial");
    assert!((row.ratio - 5.16 / 11.06).abs() < 0.005, "{row:?}");
    assert!(row.movement.starts_with("one-arm-dumbbell-row"));
    // Disputed data and second reports give none.
    assert!(all.iter().all(|t| !t.study.starts_with("barbalho") && !t.study.starts_with("wakahara-2017")));
}

#[test]
fn a_movement_with_trials_shows_them_and_one_without_shows_none() {
    let (heads, shown) = filled("seated-calf-raise");
    let gastrocnemius = &heads.iter().find(|h| h.0 == "gastrocnemius-medial-head").expect("the head").1;
    // Kinoshita 2023: 0.6 against 9.2 %; near calf raises of other studies pull upwards, but not to the convention.
    assert!(gastrocnemius.trials.is_some_and(|t| t < gastrocnemius.convention), "{gastrocnemius:?}");
    assert!(shown.iter().any(|t| t.study == "kinoshita-2023" && !t.sentence.is_empty() && !t.citation.is_empty()));
    assert!(shown.windows(2).all(|w| w[0].distance <= w[1].distance));
    let (heads, shown) = filled("wrist-curl");
    assert!(shown.is_empty() && heads.iter().all(|h| h.1.trials.is_none()), "{shown:?}");
}

#[test]
fn the_pooled_credit_lies_between_and_turns_to_what_is_sure() {
    let credit = Credit {
        mechanics: Range { low: 0.6, mid: 0.8, high: 1.0 },
        convention: 0.5,
        trials: None,
        pooled: Range::default(),
    };
    let check = |value: f64, sd: f64, want: f64| {
        let p = pooled(&credit, &TrialCredit { value, sd, trials: 1 }, 0.3);
        assert!((p.mid - want).abs() < 1e-6 && p.low <= p.mid && p.mid <= p.high, "{p:?} {want}");
    };
    // By hand: (0.8 + 0.5 + 0.2) / 3 with equal precisions; sure trials win; worthless ones leave ½ and ½.
    check(0.2, 0.3, 0.5);
    check(0.2, 1e-5, 0.2);
    check(0.2, 1e6, 0.65);
}
