//! Loads and lay-outs against published formulas and tables. Clients and plans are INVENTED TEST DATA.

mod common;
use common::*;
use programme::client::DoneSet;
use programme::lay_out::MOST_WEEKS;
use programme::loads::{Curve, epley_one_rep_kg, next_load, range_for, reading, reps_after_step};
use programme::{LayOutInputs, LoadRules, lay_out, parse_client};
use proptest::prelude::*;

/// Tables below are rounded to one decimal.
const ROUNDED: f64 = 0.06;

fn loads() -> LoadRules {
    LoadRules::parse(
        include_str!("../../../data/programme/load_curves.csv"),
        include_str!("../../../data/programme/progression.csv"),
    )
    .expect("the shipped tables parse")
}

#[test]
fn worked_values_of_epley() {
    // Epley 1985, Poundage chart: 1RM = w (1 + r/30).
    for (reps, one) in [(2.0, 106.67), (5.0, 116.67), (8.0, 126.67), (10.0, 133.33), (12.0, 140.0), (20.0, 166.67)] {
        assert!((epley_one_rep_kg(100.0, reps) - one).abs() < 0.01);
    }
    // 80 kg x 8 called 2 in reserve, truly 5: 106.7 v 114.7 kg, +7.5 %.
    let (called, real) = (epley_one_rep_kg(80.0, 10.0), epley_one_rep_kg(80.0, 13.0));
    assert!((called - 106.7).abs() < ROUNDED && (real - 114.7).abs() < ROUNDED);
    assert!((100.0 * (real / called - 1.0) - 7.5).abs() < ROUNDED);
}

#[test]
fn steps_and_the_ranges_they_leave() {
    // Repetitions left of 12 after a step, from the inverse of Epley (k = 30), by hand: (1 + 12/30)/(1 + p) = 1 + r/30.
    let check = |from: f64, to: f64, left: f64, low: f64, high: f64, spans: bool| {
        let step = to / from - 1.0;
        assert!((reps_after_step(12.0, 0.0, step, 30.0) - left).abs() < ROUNDED, "{from} to {to}");
        let range = range_for((8.0, 12.0), 0.0, step, 30.0, 20.0);
        assert_eq!((range.low, range.high, range.spans), (low, high, spans), "{from} to {to}: {range:?}");
    };
    check(4.0, 5.0, 3.6, 8.0, 18.0, true);
    check(6.0, 8.0, 1.5, 8.0, 20.0, false);
    check(10.0, 12.0, 5.0, 6.0, 14.0, true);
    check(20.0, 22.0, 8.2, 8.0, 12.0, true);
    check(30.0, 32.0, 9.4, 8.0, 12.0, true);
    check(100.0, 102.5, 11.0, 8.0, 12.0, true);
}

#[test]
fn a_curve_finds_the_published_mean_of_two_lifts() {
    // Nuzzo 2024: 80 and 70 % of 1RM give 8.8 and 14.1 repetitions on the bench, 13.1 and 19.0 on the leg press.
    let n = loads().numbers;
    let check = |k: (f64, f64), rows: [(f64, f64); 2]| {
        let set = |(pct, reps): (f64, f64)| DoneSet { load_kg: pct, reps, to_failure: true, ..DoneSet::default() };
        let readings = rows.map(|r| reading(&set(r), &n));
        let curve = Curve::fit(&readings, k).expect("two readings");
        // Epley reads 103 and 115 % here; the own curve stays within 4 % of 100.
        assert!((curve.one_rep_kg.0 - 100.0).abs() < 4.0, "{curve:?}");
        assert!(curve.one_rep_kg.1 > 0.5 && curve.one_rep_range().low < 100.0 && curve.one_rep_range().high > 100.0);
    };
    check(n.k_other, [(80.0, 8.8), (70.0, 14.1)]);
    check(n.k_leg_press, [(80.0, 13.1), (70.0, 19.0)]);
}

#[test]
fn a_called_reserve_counts_less_than_failure() {
    let n = loads().numbers;
    let called = reading(&DoneSet { load_kg: 80.0, reps: 8.0, rir: Some(2.0), ..DoneSet::default() }, &n);
    let failed = reading(&DoneSet { load_kg: 80.0, reps: 13.0, to_failure: true, ..DoneSet::default() }, &n);
    assert!(called.sd > failed.sd && called.reps > 10.0);
    let both = Curve::fit(&[called, failed], n.k_other).expect("two readings");
    let one = Curve::fit(&[called], n.k_other).expect("one reading");
    assert!(both.one_rep_kg.0 > one.one_rep_kg.0 && both.one_rep_kg.1 < one.one_rep_kg.1);
    assert!(Curve::fit(&[], n.k_other).is_none());
}

fn laid(
    client_text: &str,
    plan: &str,
    steps: &[f64],
    weeks: u32,
    easy: &[u32],
    rule: &str,
) -> Result<answer::LayOut, String> {
    let (client, rules, loads) = (client(client_text), rules(), loads());
    let entries: Vec<answer::Entry> = plan.lines().enumerate().map(|(i, l)| entry(l, i as u32 + 2)).collect();
    lay_out(LayOutInputs {
        entries: &entries,
        messages: Vec::new(),
        pain_words: &[],
        client: &client,
        today: TODAY,
        credits: &credit,
        steps_kg: &|_| steps.to_vec(),
        rules: &rules,
        loads: &loads,
        weeks,
        easy: easy.to_vec(),
        rule,
    })
}

const BELLS: [f64; 15] = [2.0, 4.0, 6.0, 8.0, 10.0, 12.0, 14.0, 16.0, 18.0, 20.0, 22.0, 24.0, 26.0, 28.0, 30.0];
const CURLER: &str =
    "training_years = 0.5\n[[done_sets]]\nmovement = \"curl\"\nload_kg = 10\nreps = 12\nto_failure = true";

#[test]
fn coarse_steps_are_said_and_loads_can_be_set() {
    let out = laid(CURLER, "Mon | curl | 3 | 8-12 | rir 2", &BELLS, 8, &[4], "double").expect("laid out");
    let row = &out.rows[0];
    assert!(row.range_reason.contains("8–12 is not possible"), "{}", row.range_reason);
    let mut load = 0.0;
    for w in &row.weeks {
        let kg = w.load_kg.expect("a load");
        assert!(BELLS.contains(&kg) && kg >= load, "{w:?}");
        assert!(w.reps_low >= 1.0 && w.reps_high <= row.reps_high, "{w:?}");
        load = kg;
    }
    assert!(row.weeks[3].sets < row.weeks[2].sets && row.weeks[3].load_kg == row.weeks[2].load_kg);
    assert!(row.weeks[7].load_kg > row.weeks[0].load_kg || row.weeks[7].reps_low > row.weeks[0].reps_low, "{row:#?}");
    let fixed = laid(CURLER, "Mon | curl | 3 | 8-12 | rir 2", &BELLS, 8, &[], "repetitions").expect("laid out");
    assert!(fixed.rows[0].weeks.iter().all(|w| w.load_kg == fixed.rows[0].weeks[0].load_kg));
}

#[test]
fn the_gate_holds_loads_and_a_stop_lays_nothing_out() {
    let held = format!("pregnancy_weeks = 20\n{CURLER}");
    let out = laid(&held, "Mon | curl | 3 | 8-12 | rir 1", &BELLS, 6, &[], "double").expect("laid out");
    assert!(out.rows[0].weeks.iter().all(|w| w.load_kg == out.rows[0].weeks[0].load_kg && w.rir >= 3.0), "{out:#?}");
    let stop = laid("conditions = [\"unstable angina\"]", "Mon | curl | 3 | 8 | rir 1", &BELLS, 6, &[], "double")
        .expect("an answer");
    assert!(stop.rows.is_empty() && stop.weeks == 0 && stop.flags[0].level == "stop");
    let deficit = format!("energy_deficit = 600\n{CURLER}");
    let out = laid(&deficit, "Mon | curl | 3 | 8-12 | rir 1", &BELLS, 6, &[], "double").expect("laid out");
    assert!(out.rows[0].weeks.iter().all(|w| w.load_kg == out.rows[0].weeks[0].load_kg));
}

#[test]
fn drifted_effort_is_told_with_its_number() {
    let text = "[[done_sets]]\nmovement = \"bench-press\"\nload_kg = 80\nreps = 8\nrir = 2\n[[done_sets]]\nmovement = \"bench-press\"\nload_kg = 80\nreps = 13\nto_failure = true";
    let out = laid(text, "Mon | bench-press | 3 | 8 | rir 2", &[], 4, &[], "double").expect("laid out");
    let row = &out.rows[0];
    assert_eq!(row.called_and_shown_rir, Some((2.0, 5.0)));
    assert!(row.notes.iter().any(|n| n.contains("106.7 v 114.7") && n.contains("+7.5 %")), "{:?}", row.notes);
}

#[test]
fn what_cannot_be_laid_out_is_said() {
    let check = |weeks: u32, easy: &[u32], rule: &str, word: &str| {
        let said = laid("", "Mon | curl | 3 | 8", &BELLS, weeks, easy, rule).expect_err("not laid out");
        assert!(said.contains(word), "{said}");
    };
    check(0, &[], "double", "0 weeks");
    check(MOST_WEEKS + 1, &[], "double", "weeks");
    check(4, &[5], "double", "easy week 5");
    check(4, &[], "dapre", "needs what each session gave");
    check(4, &[], "magic", "not in the table");
    let found = parse_client("name = \"A\"\n[loads_kg]\ndumb-bell = \"30 to 2 by 2\"\ncable = [5, -3]", "c.toml")
        .expect_err("bad loads");
    let text: Vec<String> = found.iter().map(ToString::to_string).collect();
    assert!(text.len() == 2 && text[0].contains("2 to 30 by 2") && text[1].contains("-3"), "{text:?}");
}

proptest! {
    #[test]
    fn a_range_that_spans_its_step_does(step in 0.01..0.6f64, k in 20.0..60.0f64, rir in 0.0..4.0f64) {
        let r = range_for((8.0, 12.0), rir, step, k, 20.0);
        prop_assert!(r.low < r.high && r.high <= 20.0 && !r.why.is_empty());
        prop_assert_eq!(r.spans, reps_after_step(r.high, rir, step, k) >= r.low - 1e-3, "{:?}", r);
    }
    #[test]
    fn the_next_load_is_the_smallest_above(load in 0.0..40.0f64) {
        match next_load(load, &BELLS) {
            Some(up) => prop_assert!(up > load && BELLS.iter().all(|b| *b <= load + 1e-9 || *b >= up)),
            None => prop_assert!(load >= 30.0 - 1e-9),
        }
    }
}
