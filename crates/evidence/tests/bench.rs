//! The shipped studies: every row counted once, causes of misses, figures that can fail.

use answer::{Evidence, EvidenceRow};
use evidence::bench::{Bench, Calibration};
use evidence::{data, reasons};
use library::Library;
use std::sync::LazyLock;

static LIBRARY: LazyLock<Library> = LazyLock::new(|| Library::embedded().expect("the shipped data"));
static SHIPPED: LazyLock<Evidence> = LazyLock::new(|| evidence::bench::shipped(&LIBRARY).expect("calibrated"));

#[test]
fn every_shipped_row_is_used_and_counted_once() {
    let issues: Vec<String> = SHIPPED.unmapped.iter().map(|u| format!("{} {} {}", u.place, u.what, u.reason)).collect();
    assert!(issues.is_empty(), "{issues:#?}");
    let counted: usize = SHIPPED.classes.iter().map(|c| c.n).sum();
    assert_eq!(counted, SHIPPED.rows.iter().filter(|r| r.apart.is_empty()).count());
    assert_eq!(SHIPPED.classes_of_all.iter().map(|c| c.n).sum::<usize>(), SHIPPED.rows.len());
    let contrasts: usize = data::STUDIES.iter().map(|(_, t)| t.matches("[[contrast]]").count()).sum();
    assert_eq!(contrasts, SHIPPED.rows.len());
    // No growth by kind and null by strength: no growth.
    assert!(SHIPPED.rows.iter().all(|r| (r.expected == "left~0") == (r.class == "no-growth")));
}

#[test]
fn shares_are_those_of_the_rows() {
    let check = |of: &dyn Fn(&EvidenceRow) -> bool, class: &str, share: f64| {
        let rows: Vec<&EvidenceRow> = SHIPPED.rows.iter().filter(|r| r.apart.is_empty() && r.class == class).collect();
        let right = rows.iter().filter(|r| of(r)).count() as f64 / rows.len() as f64;
        assert!((right - share).abs() < 1e-12, "{class}: {right} {share}");
    };
    for c in &SHIPPED.classes {
        check(&|r| r.right, &c.class, c.right);
        check(&|r| r.rule_convention.right, &c.class, c.rule_convention_right);
        check(&|r| r.rule_shortening.right, &c.class, c.rule_shortening_right);
        assert!(c.low <= c.right + 1e-9 && c.right <= c.high + 1e-9, "{} {} {} {}", c.class, c.low, c.right, c.high);
        let u = c.unseen.expect("halves");
        assert!(u.splits >= 190 && u.low <= u.high, "{}: {} splits", c.class, u.splits);
    }
}

/// A prediction that knows nothing must do worse: sides swapped, significant rows turn from right to wrong.
#[test]
fn swapped_sides_are_predicted_wrong() {
    let swapped: Vec<(String, String)> = data::STUDIES
        .iter()
        .map(|(p, t)| {
            let turned: Vec<String> = t
                .lines()
                .map(|l| match (l.strip_prefix("left = "), l.strip_prefix("right = ")) {
                    (Some(rest), _) if t_has_right(t, l) => format!("right = {rest}"),
                    (_, Some(rest)) => format!("left = {rest}"),
                    _ => l.to_string(),
                })
                .collect();
            (p.to_string(), turned.join("\n"))
        })
        .collect();
    let bench = Bench::new(&LIBRARY, &swapped);
    let calibration = Calibration::parse(data::CALIBRATION).expect("calibrated");
    let turned = bench.evidence(&calibration, None);
    let share = |e: &Evidence| e.classes.iter().find(|c| c.class == "significant").map_or(0.0, |c| c.right);
    assert!(share(&turned) <= 1.0 - share(&SHIPPED) + 1e-9, "{} {}", share(&turned), share(&SHIPPED));
}

/// Whether the contrast with this left line has a right line: the next one.
fn t_has_right(text: &str, left: &str) -> bool {
    let mut lines = text.lines();
    lines.any(|l| l == left) && lines.next().is_some_and(|l| l.starts_with("right = "))
}

#[test]
fn every_miss_has_a_cause_and_no_cause_is_stale() {
    let table = reasons::parse(data::REASONS);
    assert!(table.iter().all(|q| reasons::CAUSES.contains(&q.cause.as_str())), "an unknown cause");
    let misses: Vec<&EvidenceRow> = SHIPPED.rows.iter().filter(|r| !r.right).collect();
    let bare: Vec<String> = misses
        .iter()
        .filter(|r| !table.iter().any(|q| q.explains(&r.study, &r.contrast)))
        .map(|r| format!("{}: {}", r.study, r.contrast))
        .collect();
    assert!(bare.is_empty(), "no row of reasons.csv for {bare:#?}");
    let stale: Vec<String> = table
        .iter()
        .filter(|q| !misses.iter().any(|r| q.explains(&r.study, &r.contrast)))
        .map(|q| format!("line {}: {} {}", q.line, q.study, q.contrast))
        .collect();
    assert!(stale.is_empty(), "explains nothing any more: {stale:#?}");
}

#[test]
fn the_same_studies_give_the_same_bytes() {
    let again = evidence::bench::shipped(&LIBRARY).expect("calibrated");
    let text = |e: &Evidence| serde_json::to_string(e).expect("serialisable");
    assert!(text(&again) == text(&SHIPPED));
}

/// Sato 2021 Front Physiol 12:734509, Kinoshita 2023 Front Physiol 14:1272106, Kubo 2019 Eur J Appl Physiol 119:1933:
/// published directions that the mechanics must keep.
#[test]
fn famous_directions_hold() {
    let check = |study: &str, contrast: &str| {
        let row = SHIPPED.rows.iter().find(|r| r.study == study && r.contrast == contrast).expect(contrast);
        assert!(row.right, "{row:?}");
    };
    check("sato-2021", "curl-extended:elbow-flexors against curl-flexed:elbow-flexors");
    check(
        "kinoshita-2023",
        "standing-calf-raise:gastrocnemius-medial-head against seated-calf-raise:gastrocnemius-medial-head",
    );
    check("kubo-2019", "full-squat:vastus-lateralis against full-squat:rectus-femoris");
    check("kubo-2019", "full-squat:biceps-femoris-short-head");
}
