//! A whole audit with proposals. Credits are INVENTED: 82 heads, 60 movements, numbers from a counter; the cost of computing
//! a real credit is not part of this.

use answer::{Credit, Entry, HeadCredit, MovementCredit, Range, Settings, Status};
use programme::week::{HeadFacts, WeekChoice};
use programme::{Client, Date, Inputs, RuleTexts, Rules, audit};

macro_rules! data {
    ($name:literal) => {
        include_str!(concat!("../../../data/programme/", $name))
    };
}

const TEXTS: RuleTexts<'static> = RuleTexts {
    constants: data!("constants.csv"),
    bands: data!("bands.csv"),
    load_reps: data!("load_reps.csv"),
    groups: data!("groups.csv"),
    safety: data!("safety.csv"),
    restrictions: data!("restrictions.csv"),
    pain_places: data!("pain_places.csv"),
    head_actions: data!("head_actions.csv"),
    axis_words: data!("axis_words.csv"),
};

fn main() {
    divan::main();
}

fn heads(rules: &Rules) -> Vec<HeadFacts> {
    (0..82)
        .map(|i| HeadFacts {
            head: format!("head-{i}"),
            plain: format!("head {i}"),
            groups: vec![rules.groups[i % rules.groups.len()].group.clone()],
            volume_cm3: 50.0 + i as f64,
            joints: vec!["knee".into()],
            low_confidence: false,
        })
        .collect()
}

fn movement(n: usize) -> MovementCredit {
    let head = |h: usize| {
        let mid = ((n * 37 + h * 11) % 101) as f64 / 100.0;
        let mid = if mid > 0.9 { mid } else { mid * 0.05 };
        let pooled = Range { low: mid * 0.8, mid, high: (mid * 1.2).min(1.0) };
        HeadCredit {
            head: format!("head-{h}"),
            credit: Credit { mechanics: pooled, convention: mid.round(), trials: None, pooled },
            long: h.is_multiple_of(2),
            ..HeadCredit::default()
        }
    };
    MovementCredit {
        movement: format!("movement-{n}"),
        name: format!("Movement {n}"),
        heads: (0..82).map(head).collect(),
        multi_joint: n.is_multiple_of(2),
        setup_s: 40.0,
        rep_s: 4.0,
        loaded_axes: vec!["knee.extension".into()],
        ..MovementCredit::default()
    }
}

#[divan::bench(args = [false, true])]
fn thirty_rows(bencher: divan::Bencher, proposals: bool) {
    let rules = Rules::parse(&TEXTS).expect("the shipped rules parse");
    let heads = heads(&rules);
    let movements: Vec<MovementCredit> = (0..60).map(movement).collect();
    let entries: Vec<Entry> = (0..30)
        .map(|i| Entry {
            day: ["Mon", "Tue", "Thu", "Fri"][i / 8].into(),
            week: 1,
            movement: Some(format!("movement-{}", i % 20)),
            name: format!("Movement {}", i % 20),
            sets_low: 1.0,
            sets_high: 1.0,
            reps_low: Some(10.0),
            reps_high: Some(12.0),
            reps_unit: "reps".into(),
            rir: Some(2.0),
            status: Status::Certain,
            ..Entry::default()
        })
        .collect();
    let client = Client { name: "Bench client (invented)".into(), training_years: Some(3.0), ..Client::default() };
    let source = |id: &str, _: &Settings| {
        let n: usize = id.trim_start_matches("movement-").parse().map_err(|_| "no number".to_string())?;
        movements.get(n).cloned().ok_or_else(|| "no such movement".to_string())
    };
    let run = || {
        audit(Inputs {
            entries: entries.clone(),
            messages: Vec::new(),
            pain_words: &[],
            client: &client,
            today: Date { year: 2026, month: 3, day: 1 },
            heads: &heads,
            credits: &source,
            candidates: if proposals { &movements } else { &[] },
            setting_options: &[],
            kit_lacks: &Default::default(),
            percentiles: Vec::new(),
            week: WeekChoice::First,
            rules: &rules,
        })
    };
    assert!(!proposals || run().proposals.len() >= 3, "the search has something to do");
    bencher.bench(run);
}
