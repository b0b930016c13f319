//! Laws that hold for any week: more sets never lower a ledger, nothing is ever NaN, a row not understood changes no
//! credited set. Credits are INVENTED TEST DATA.

mod common;
use answer::{Audit, Entry, Status};
use common::*;
use programme::week::WeekChoice;
use programme::{Inputs, audit};
use proptest::prelude::*;

const IDS: [&str; 6] = ["back-squat", "hinge", "row", "curl", "bench-press", "push-down"];
const DAYS: [&str; 3] = ["Mon", "Wed", "Fri"];

fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![
        8 => 0.0..40.0f64,
        1 => Just(f64::NAN),
        1 => Just(f64::INFINITY),
        1 => Just(-5.0),
        1 => Just(1e300),
    ]
}

fn sane_entry() -> impl Strategy<Value = Entry> {
    (0..IDS.len(), 0..DAYS.len(), 0.0..9.0f64, 1.0..30.0f64, proptest::option::of(0.0..8.0f64)).prop_map(
        |(m, d, sets, reps, rir)| {
            let mut e = entry(&format!("{} | {} | 1 | 10", DAYS[d], IDS[m]), 2);
            (e.sets_low, e.sets_high, e.rir) = (sets, sets + 1.0, rir);
            (e.reps_low, e.reps_high) = (Some(reps), Some(reps + 2.0));
            e
        },
    )
}

fn wild_entry() -> impl Strategy<Value = Entry> {
    (sane_entry(), any_number(), any_number(), any_number(), any_number(), any_number()).prop_map(
        |(mut e, low, high, reps, rir, load)| {
            (e.sets_low, e.sets_high, e.reps_low, e.rir) = (low, high, Some(reps), Some(rir));
            (e.load, e.unit) = (Some(load), Some("%1RM".into()));
            e.extra.rest_s = Some(rir);
            e.extra.tempo_s = Some([load; 4]);
            e
        },
    )
}

fn audit_entries(entries: Vec<Entry>) -> Audit {
    let (client, rules, heads) = (client("training_years = 3\nminutes = 60"), rules(), heads());
    audit(Inputs {
        entries,
        messages: Vec::new(),
        pain_words: &[],
        client: &client,
        today: TODAY,
        heads: &heads,
        credits: &credit,
        candidates: &[],
        setting_options: &[],
        kit_lacks: &Default::default(),
        percentiles: Vec::new(),
        week: WeekChoice::First,
        rules: &rules,
    })
}

fn numbers(a: &Audit) -> Vec<f64> {
    let mut out = Vec::new();
    for r in &a.ledger {
        let c = &r.credited_sets;
        out.extend([c.pooled.low, c.pooled.mid, c.pooled.high, c.mechanics.low, c.mechanics.mid, c.mechanics.high]);
        out.extend([c.convention, r.long_length_share, r.largest_session]);
    }
    out
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn more_sets_never_lower_a_head(week in prop::collection::vec(sane_entry(), 1..12), which in 0usize..12, more in 0.0..6.0f64) {
        let before = audit_entries(week.clone());
        let mut fuller = week;
        let i = which % fuller.len();
        fuller[i].sets_low += more;
        fuller[i].sets_high += more;
        let after = audit_entries(fuller);
        for (b, a) in before.ledger.iter().zip(&after.ledger) {
            prop_assert!(a.credited_sets.pooled.mid >= b.credited_sets.pooled.mid - 1e-9, "{}", b.head);
            prop_assert!(a.credited_sets.pooled.low >= b.credited_sets.pooled.low - 1e-9);
            prop_assert!(a.credited_sets.convention >= b.credited_sets.convention - 1e-9);
        }
    }

    #[test]
    fn nothing_is_ever_nan_and_ranges_keep_their_order(week in prop::collection::vec(wild_entry(), 0..12)) {
        let a = audit_entries(week);
        prop_assert!(numbers(&a).iter().all(|v| v.is_finite() && *v >= 0.0));
        for r in &a.ledger {
            let p = r.credited_sets.pooled;
            prop_assert!(p.low <= p.mid + 1e-9 && p.mid <= p.high + 1e-9, "{:?}", p);
        }
        for g in &a.groups {
            prop_assert!(g.credited_sets.pooled.mid.is_finite());
        }
    }

    #[test]
    fn a_row_not_understood_changes_no_credited_set(week in prop::collection::vec(sane_entry(), 1..10), at in 0usize..10) {
        let before = audit_entries(week.clone());
        let mut with = week;
        let unknown = Entry { status: Status::Unknown, movement: None, sets_low: 4.0, sets_high: 4.0, ..with[0].clone() };
        let at = at % (with.len() + 1);
        with.insert(at, unknown);
        let after = audit_entries(with);
        prop_assert_eq!(numbers(&before), numbers(&after));
        prop_assert_eq!(after.totals.entries_unknown, 1);
        prop_assert_eq!(after.entries.len(), before.entries.len() + 1);
    }
}
