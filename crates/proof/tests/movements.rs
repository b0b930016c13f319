//! Comparisons of whole movements: every group is judged, its shares and misses are printed, and what is met is kept.

use answer::ProofRow;
use library::Library;
use proof::{Group, groups};
use std::collections::BTreeMap;
use std::sync::OnceLock;

fn library() -> &'static Library {
    static L: OnceLock<Library> = OnceLock::new();
    L.get_or_init(|| Library::embedded().expect("the shipped data parses"))
}

/// Rows of a group, shares and misses printed.
fn rows(group: &Group) -> Vec<ProofRow> {
    let rows = (group.judge)(
        library(),
        &proof::Table::parse(&format!("data/proof/{}.csv", group.name), group.cases).expect(group.name),
    )
    .unwrap_or_else(|e| panic!("{e}"));
    let share = |part: &[&ProofRow]| {
        let pass = part.iter().filter(|r| r.pass).count();
        format!("{pass} of {} ({:.0} %)", part.len(), 100.0 * pass as f64 / part.len().max(1) as f64)
    };
    println!("\n{}: {}", group.name, share(&rows.iter().collect::<Vec<_>>()));
    let mut parts: BTreeMap<&str, Vec<&ProofRow>> = BTreeMap::new();
    for r in &rows {
        parts.entry(&r.part).or_default().push(r);
    }
    for (part, of) in parts.iter().filter(|_| parts.len() > 1) {
        println!("  {part}: {}", share(of));
    }
    let simple = |rule: &str| rows.iter().filter(|r| r.note.contains(&format!("{rule} right"))).count();
    let asked = rows.iter().filter(|r| r.note.contains("convention ")).collect::<Vec<_>>();
    if !asked.is_empty() {
        println!(
            "  of the {} rows that simple rules can answer: forces {}, joint angles alone {}, convention {}",
            asked.len(),
            asked.iter().filter(|r| r.pass).count(),
            simple("joint angles alone"),
            simple("convention")
        );
    }
    for r in &rows {
        let value = r.value.map_or("none".to_string(), |v| format!("{v:.3}"));
        let mark = if r.pass { "  inside" } else { "  MISS  " };
        println!("{mark} {}: {value}, published {:.3} ± {:.3} {}; {}", r.id, r.published, r.tolerance, r.unit, r.note);
    }
    rows
}

fn pass(rows: &[ProofRow]) -> usize {
    rows.iter().filter(|r| r.pass).count()
}

#[test]
fn forces_turn_the_answer_where_joint_angles_cannot() {
    let rows = rows(&groups::joint_angle_proof::GROUP);
    assert!(rows.len() >= 25, "{} cases", rows.len());
    for r in &rows {
        assert!(r.note.contains("joint angles alone: no difference"), "{}: {}", r.id, r.note);
    }
    assert!(pass(&rows) * 100 >= 80 * rows.len(), "{} of {}", pass(&rows), rows.len());
}

/// Fifteen cases; a case counts when all its rows do.
#[test]
fn joint_forces_agree_with_instrumented_implants() {
    let rows = rows(&groups::contact_forces::GROUP);
    let mut cases: BTreeMap<&str, bool> = BTreeMap::new();
    for r in &rows {
        *cases.entry(&r.part).or_insert(true) &= r.pass;
    }
    let met = cases.values().filter(|v| **v).count();
    println!("cases: {met} of {}", cases.len());
    assert_eq!(cases.len(), 15);
    assert!(met >= 11, "{met} of 15");
}

#[test]
fn the_other_groups_are_judged() {
    for g in groups::ALL {
        if matches!(g.name, "joint-angle-proof" | "contact-forces") {
            continue;
        }
        rows(g);
    }
}
