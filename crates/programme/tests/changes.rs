//! Laws of proposals: each applied to the entries gives the ledger it showed, taken back it restores the plan, and none
//! breaks a hard limit. Credits are INVENTED TEST DATA.

mod common;
use answer::{Audit, Entry};
use common::*;
use programme::week::WeekChoice;
use programme::{Client, Inputs, apply_change, audit};
use proptest::prelude::*;

/// Of credited sets: sums of the same numbers in another order.
const SAME: f64 = 1e-6;
const IDS: [&str; 8] =
    ["back-squat", "hinge", "row", "curl", "bench-press", "push-down", "leg-extension", "overhead-extension"];
const DAYS: [&str; 3] = ["Mon", "Wed", "Fri"];

fn judge(client: &Client, entries: Vec<Entry>) -> Audit {
    let (rules, heads, movements) = (rules(), heads(), movements());
    audit(Inputs {
        entries,
        messages: Vec::new(),
        pain_words: &[],
        client,
        today: TODAY,
        heads: &heads,
        credits: &credit,
        candidates: &movements,
        setting_options: &[],
        kit_lacks: &Default::default(),
        percentiles: Vec::new(),
        week: WeekChoice::First,
        rules: &rules,
    })
}

fn week() -> impl Strategy<Value = Vec<Entry>> {
    let entry = (0..IDS.len(), 0..DAYS.len(), 1u32..7)
        .prop_map(|(m, d, sets)| entry(&format!("{} | {} | {sets} | 10 | rir 2", DAYS[d], IDS[m]), 2));
    prop::collection::vec(entry, 1..9)
}

const CLIENTS: [&str; 5] = [
    "training_years = 3\nminutes = 40\n[aims]\nHamstrings = \"focus\"\nrest = \"grow\"",
    "training_years = 3\nminutes = 25\n[aims]\nTriceps = \"focus\"\nrest = \"keep\"\n[[pains]]\nplace = \"elbow\"\nscore = 4",
    "training_years = 3\n[[pains]]\nplace = \"left knee\"\nscore = 7\n[aims]\nrest = \"grow\"",
    "training_years = 3\nenergy_deficit = 600\nminutes = 60\nkeep = [\"back-squat\"]\ndislikes = [\"seated-leg-curl\"]",
    "age_years = 15\nminutes = 45",
];

/// Minutes of a day, middle of its range.
fn mid(a: &Audit, day: &str) -> f64 {
    a.minutes.get(day).map_or(0.0, |m| 0.5 * (m.low + m.high))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(80))]

    #[test]
    fn a_proposal_does_what_it_says_and_can_be_taken_back(entries in week(), who in 0..CLIENTS.len()) {
        let (client, rules) = (client(CLIENTS[who]), rules());
        let first = judge(&client, entries);
        let mut plan = first.entries.clone();
        for p in &first.proposals {
            let before = plan.clone();
            let was = judge(&client, before.clone());
            let undo = apply_change(&mut plan, &p.change, &rules).expect("the row is there");
            let is = judge(&client, plan.clone());
            for (head, told) in p.before.iter().map(|(h, v)| ((&was, h), v)).chain(p.after.iter().map(|(h, v)| ((&is, h), v))) {
                let found = row(head.0, head.1).credited_sets.pooled.mid;
                prop_assert!((found - told).abs() < SAME, "{}: {} {told} v {found}", p.edit, head.1);
            }
            let total = |a: &Audit| DAYS.iter().map(|d| mid(a, d)).sum::<f64>();
            prop_assert!((total(&is) - total(&was) - p.minutes).abs() < SAME, "{}: {} min", p.edit, p.minutes);
            // Hard limits: minutes of a day, eleven credited sets a session, sets of a new movement, what stays, what is disliked.
            for day in DAYS {
                let limit = client.minutes_on(day).unwrap_or(f64::INFINITY);
                prop_assert!(mid(&is, day) <= limit.max(mid(&was, day)) + SAME, "{}: {day} {}", p.edit, mid(&is, day));
            }
            for (b, a) in was.ledger.iter().zip(&is.ledger).filter(|(_, a)| a.verdict != "no aim") {
                prop_assert!(a.largest_session <= b.largest_session.max(11.0) + SAME, "{}: {}", p.edit, a.head);
            }
            // A day holds a movement once more often only where it did already, and no row is brought beyond five sets.
            let twice = |plan: &[Entry], day: &str, id: &str| {
                plan.iter().filter(|e| e.day == day && e.movement.as_deref() == Some(id)).count()
            };
            for e in &plan {
                let id = e.movement.as_deref().unwrap_or_default();
                let most = twice(&before, &e.day, id).max(1);
                prop_assert!(twice(&plan, &e.day, id) <= most, "{}: {id} on {}", p.edit, e.day);
            }
            let longest = |plan: &[Entry]| plan.iter().map(|e| e.sets_high).fold(0.0, f64::max);
            prop_assert!(longest(&plan) <= longest(&before).max(5.0) + SAME, "{}", p.edit);
            prop_assert!(p.change.movement != "seated-leg-curl" || client.dislikes.is_empty(), "{}", p.edit);
            let kept = |plan: &[Entry]| plan.iter().filter(|e| e.name == "back-squat" || e.movement.as_deref() == Some("back-squat")).map(|e| e.sets_high).sum::<f64>();
            prop_assert!(client.keep.is_empty() || kept(&plan) >= kept(&before), "{}", p.edit);
            let mut back = plan.clone();
            undo.apply(&mut back);
            prop_assert_eq!(&back, &before);
        }
    }
}

fn check(client_text: &str, plan: &str, wanted: &str, unwanted: &str) {
    let a = audit_of(client_text, plan);
    let edits: Vec<&str> = a.proposals.iter().map(|p| p.edit.as_str()).collect();
    assert!(wanted.is_empty() || edits.iter().any(|e| e.contains(wanted)), "{wanted}: {edits:#?} {:#?}", a.notes);
    assert!(unwanted.is_empty() || edits.iter().all(|e| !e.contains(unwanted)), "{unwanted}: {edits:#?}");
}

#[test]
fn a_day_that_is_too_long_is_made_to_fit() {
    // Two single-joint movements of unlike muscles: their rests overlap when they are done in turn.
    check(
        "training_years = 3\nminutes = 15\n[aims]\nrest = \"keep\"",
        "Mon | leg-extension | 4 | 10 | rir 2\nMon | curl | 4 | 10 | rir 2",
        "as a pair",
        "Add",
    );
    let a = audit_of(
        "training_years = 3\nminutes = 15\n[aims]\nrest = \"keep\"",
        "Mon | leg-extension | 4 | 10 | rir 2\nMon | curl | 4 | 10 | rir 2",
    );
    assert!(a.proposals[0].minutes < 0.0 && a.proposals[0].reason.contains("min of 15"), "{:?}", a.proposals[0]);
}

#[test]
fn more_than_asked_for_is_taken_away_and_what_stays_stays() {
    let plan = "Mon | bench-press | 8 | 8 | rir 2\nFri | bench-press | 8 | 8 | rir 2";
    check(
        "training_years = 3\n[aims]\nChest = \"keep\"\nTriceps = \"keep\"\nrest = \"leave\"",
        plan,
        "",
        "from Bench press",
    );
    check(
        "training_years = 3\nenergy_deficit = true\n[aims]\nChest = \"keep\"\nTriceps = \"keep\"\nrest = \"leave\"",
        plan,
        "from Bench press",
        "Add",
    );
    check(
        "training_years = 3\nenergy_deficit = true\nkeep = [\"bench-press\"]\n[aims]\nChest = \"keep\"\nTriceps = \"keep\"\nrest = \"leave\"",
        plan,
        "",
        "Bench press",
    );
}

#[test]
fn a_watched_joint_is_loaded_less_and_its_stop_signs_stand_beside() {
    let text = "training_years = 3\n[aims]\n\"Biceps side of the arm\" = \"keep\"\nLats = \"grow\"\nrest = \"leave\"\n[[pains]]\nplace = \"elbow\"\nscore = 5";
    let a = audit_of(
        text,
        "Mon | row | 9 | 8 | rir 2\nThu | row | 9 | 8 | rir 2\nMon | curl | 6 | 10 | rir 2\nThu | curl | 6 | 10 | rir 2",
    );
    let fewer: Vec<_> = a.proposals.iter().filter(|p| p.kind == "fewer").collect();
    assert!(
        fewer.iter().any(|p| p.edit.contains("Curl") && p.reason.contains("elbow, which hurts")),
        "{:#?}",
        a.proposals
    );
    assert!(a.proposals.iter().all(|p| !p.change.kind.is_empty()));
    assert!(a.proposals.iter().all(|p| p.kind != "add" || !p.joint_sets.iter().any(|j| j.joint == "elbow")));
}

#[test]
fn a_focus_head_never_pays_for_what_is_wanted_less() {
    let (client, rules) = (client("training_years = 3\n[aims]\nGlutes = \"focus\"\nrest = \"grow\""), rules());
    let first = judge(
        &client,
        vec![entry("Mon | back-squat | 6 | 8 | rir 2", 2), entry("Fri | back-squat | 6 | 8 | rir 2", 3)],
    );
    let mut plan = first.entries.clone();
    let glutes = |a: &Audit| row(a, "gluteus-maximus-inferior-part").credited_sets.pooled.mid;
    for p in &first.proposals {
        let was = glutes(&judge(&client, plan.clone()));
        apply_change(&mut plan, &p.change, &rules).expect("the row is there");
        let is = glutes(&judge(&client, plan.clone()));
        assert!(is >= was - SAME || is > 10.0, "{}: {was} to {is}", p.edit);
    }
}

#[test]
fn a_row_that_is_not_there_is_told() {
    let mut entries = vec![entry("Mon | curl | 3 | 10", 2)];
    let change = answer::Change { kind: "fewer".into(), entry: Some(4), sets: 1.0, ..answer::Change::default() };
    let said = apply_change(&mut entries, &change, &rules()).expect_err("no such row");
    assert!(said.contains("1 rows") && said.contains("fewer"), "{said}");
    let change = answer::Change { kind: "twist".into(), entry: Some(0), ..answer::Change::default() };
    assert!(apply_change(&mut entries, &change, &rules()).is_err_and(|e| e.contains("twist")));
}
