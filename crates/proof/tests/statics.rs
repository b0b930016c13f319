//! Every group of anatomy and statics against its published numbers: shares are printed with every miss. Goals stand in
//! `data/proof/goals.csv`, set before the comparison; those that are met are held here, the others are only printed.

use answer::ProofRow;
use library::Library;
use proof::groups::ALL;
use proof::{Share, Summary, prove, summaries};
use std::collections::BTreeSet;
use std::sync::OnceLock;

fn proof_rows() -> &'static (Vec<ProofRow>, Vec<Summary>) {
    static R: OnceLock<(Vec<ProofRow>, Vec<Summary>)> = OnceLock::new();
    R.get_or_init(|| {
        let library = Library::embedded().expect("the shipped data parses");
        let rows = prove(&library, ALL, &[]).expect("the case tables parse");
        let sums = summaries(ALL, &rows, &[]).expect("the goals parse");
        (rows, sums)
    })
}

fn share<'s>(group: &str, part: &str, all: &'s [Summary]) -> &'s Share {
    let s = all.iter().find(|s| s.group == group).unwrap_or_else(|| panic!("no group {group}"));
    std::iter::once(&s.all).chain(&s.fits).chain(&s.parts).find(|p| p.name == part).expect("such a part")
}

#[test]
fn shares_and_misses_are_printed() {
    let (rows, sums) = proof_rows();
    for s in sums {
        let line = |p: &Share| {
            let goal = p.goal.map_or(String::new(), |g| format!(", goal {:.0} %", g * 100.0));
            format!("{} of {} = {:.1} %{goal}", p.passed, p.rows, p.share() * 100.0)
        };
        println!("\n{}: {}: {}", s.group, s.title, line(&s.all));
        for p in s.fits.iter().chain(&s.parts) {
            println!("   {:32} {}", p.name, line(p));
        }
        for (rule, n) in &s.left_out {
            println!("   left out {n}: {rule}");
        }
        for r in rows.iter().filter(|r| r.group == s.group && !r.pass) {
            println!(
                "     miss {:36} {:>9.3} for {:>9.3} ± {:<7.3} {:8} {} [{}]",
                r.id,
                r.value.unwrap_or(f64::NAN),
                r.published,
                r.tolerance,
                r.unit,
                r.part,
                r.note
            );
        }
    }
}

#[test]
fn rows_are_complete_and_told_apart() {
    let (rows, sums) = proof_rows();
    assert_eq!(sums.len(), ALL.len(), "a group without rows");
    let mut ids = BTreeSet::new();
    for r in rows {
        assert!(ids.insert((&r.group, &r.id)), "{} {} stands twice", r.group, r.id);
        assert!(!r.source.is_empty() && !r.how.is_empty() && !r.unit.is_empty(), "{r:?}");
        assert!(r.tolerance >= 0.0 && r.published.is_finite(), "{r:?}");
        // A row without a number cannot pass.
        assert!(r.value.is_some() || !r.pass, "{r:?}");
    }
}

/// No group passes whatever it is given: with every published number moved by three tolerances, every row that had
/// passed fails, and no other number of the row changes.
#[test]
fn every_comparison_can_fail() {
    for r in proof_rows().0.iter().filter(|r| r.pass && r.tolerance > 0.0) {
        let moved = proof::cases::judged(
            r.clone(),
            &r.unit,
            r.value.expect("it passed"),
            r.published + 3.0 * r.tolerance,
            r.tolerance,
        );
        assert!(!moved.pass, "{} {}", r.group, r.id);
    }
}

#[test]
fn goals_that_are_met_stay_met() {
    let sums = &proof_rows().1;
    let check = |group: &str, part: &str| {
        let s = share(group, part, sums);
        assert!(s.goal.is_some(), "{group} {part} has no goal");
        assert!(s.meets_goal(), "{group} {part}: {} of {}, goal {:?}", s.passed, s.rows, s.goal);
    };
    check("textbook-statics", "all");
    check("general-libraries", "all");
    check("moment-arms", "fitted");
    check("torque-angle", "fitted");
}

/// Every miss of the shipped cases tells a cause, be it "no cause found"; a reason that speaks of no row at all is a
/// slip of the pen. Reasons whose misses have gone are printed, not refused: a table of anatomy may bring them back.
#[test]
fn every_miss_has_a_reason() {
    let rows = &proof_rows().0;
    let reasons = proof::reasons::shipped().expect("the reasons parse");
    let without: Vec<String> = rows
        .iter()
        .filter(|r| !r.pass && r.reason.is_empty())
        .map(|r| format!("{} {}: {:?} for {} ({}; {})", r.group, r.id, r.value, r.published, r.part, r.note))
        .collect();
    let nothing: Vec<usize> = reasons.iter().filter(|r| !rows.iter().any(|row| r.names(row))).map(|r| r.line).collect();
    let idle: Vec<usize> = reasons
        .iter()
        .filter(|r| !rows.iter().any(|row| !row.pass && row.reason == r.text && r.names(row)))
        .map(|r| r.line)
        .collect();
    println!("lines of data/proof/reasons.csv that explain no miss now: {idle:?}");
    assert!(nothing.is_empty(), "lines of data/proof/reasons.csv that speak of no row: {nothing:?}");
    assert!(without.is_empty(), "{} misses without a reason:\n{}", without.len(), without.join("\n"));
    assert!(rows.iter().all(|r| !r.pass || r.reason.is_empty()), "a row that passes has a reason");
    assert!(rows.iter().all(|r| !r.note.contains(proof::reasons::MARK)), "a cause left in a note");
}

/// Every coach group of the table of groups is told, with its comparisons, and the counts add up.
#[test]
fn every_coach_group_is_judged() {
    let library = Library::embedded().expect("the shipped data parses");
    let sure = proof::sure::sure(&library, &proof_rows().0).expect("the tables parse");
    let wanted: BTreeSet<&String> = library.groups_of.iter().flatten().collect();
    assert_eq!(sure.groups.iter().map(|g| &g.group).collect::<BTreeSet<_>>(), wanted);
    for g in &sure.groups {
        println!("{}", g.sentence);
        assert_eq!(g.kinds.iter().map(|k| k.rows).sum::<usize>(), g.all.rows, "{}", g.group);
        assert_eq!(g.misses.iter().map(|m| m.rows).sum::<usize>(), g.all.rows - g.all.inside, "{}", g.group);
        assert!(g.sentence.starts_with(&g.group) && !g.heads.is_empty(), "{g:?}");
    }
}

#[test]
fn the_order_of_rows_does_not_depend_on_threads() {
    let library = Library::embedded().expect("the shipped data parses");
    let pool = rayon::ThreadPoolBuilder::new().num_threads(1).build().expect("a pool");
    let one = pool.install(|| prove(&library, ALL, &[]).expect("the case tables parse"));
    assert!(one == proof_rows().0);
}

/// A further table in the shape of a shipped one: (file name, text) and the rows or the error expected.
fn check(file: &str, text: &str, expected: Result<usize, &str>) {
    let library = Library::embedded().expect("the shipped data parses");
    let group: Vec<proof::Group> = ALL
        .iter()
        .filter(|g| g.name == proof::named(file))
        .map(|g| proof::Group { cases: "id,source,how,left_out\nnone,s,h,empty on purpose\n", ..*g })
        .collect();
    match (prove(&library, &group, &[(file.into(), text.into())]), expected) {
        (Ok(rows), Ok(n)) => assert_eq!(rows.len(), n, "{file}: {rows:?}"),
        (Err(e), Err(part)) => assert!(e.to_string().contains(part), "{file}: {e}"),
        (got, want) => panic!("{file}: {got:?} instead of {want:?}"),
    }
}

#[test]
fn further_tables_are_judged_or_refused_with_their_place() {
    let arms = "id,heads,axis,posture,statistic,arm_mm,tolerance_mm,source,how\n";
    let row = |cells: &str| format!("{arms}mine,{cells},own measurement,looked-up\n");
    check("mine/moment-arms.csv", &row("soleus,ankle.plantarflexion,ankle=0,mean,45,8"), Ok(1));
    check("mine/arms.csv", "", Err("mine/arms.csv:0: no such table; known: "));
    check(
        "moment-arms.csv",
        &row("soles,ankle.plantarflexion,ankle=0,mean,45,8"),
        Err("moment-arms.csv:2: `heads`: \"soles\" is no muscle head"),
    );
    check("moment-arms.csv", &row("soleus,ankle.up,ankle=0,mean,45,8"), Err(":2: `axis`: \"ankle.up\" is no axis"));
    check("moment-arms.csv", &row("soleus,ankle.plantarflexion,foot=0,mean,45,8"), Err(":2: `posture`: \"foot\""));
    check("moment-arms.csv", &row("soleus,ankle.plantarflexion,ankle=0,mean,far,8"), Err("`arm_mm` is \"far\""));
    check("moment-arms.csv", &row("soleus,ankle.plantarflexion,ankle=0,mean,45,-8"), Err("expected a number above 0"));
    check("moment-arms.csv", "id,heads\nmine,soleus\n", Err("column `axis` is missing"));
    check("moment-arms.csv", "id,heads\nmine\n", Err("moment-arms.csv:2"));
    check(
        "torque-angle.csv",
        "id,kind,axis,sign,posture,value,tolerance,person,source,how\nmine,torque,knee.flexion,up,knee=60,200,40,,s,h\n",
        Err("`sign`: \"up\", expected + or -"),
    );
    check(
        "torque-angle.csv",
        "id,kind,axis,sign,posture,value,tolerance,person,source,how\nmine,torque,knee.flexion,-,knee=60,200,40,F 9 60,s,h\n",
        Err("`person`: person \"F 9 60\": stature 9.00 m is not possible"),
    );
    check(
        "shoulder-signs.csv",
        "id,quantity,heads,axis,posture,statistic,op,limit,heads_b,axis_b,posture_b,source,how\n\
         a,arm,soleus,ankle.plantarflexion,ankle=0,mean,above,0,,,,s,h\n\
         a,arm,soleus,ankle.plantarflexion,ankle=0,mean,below,0,,,,s,h\n",
        Ok(1),
    );
    check(
        "shoulder-signs.csv",
        "id,quantity,heads,axis,posture,statistic,op,limit,heads_b,axis_b,posture_b,source,how\n\
         a,weight,soleus,ankle.plantarflexion,ankle=0,mean,above,0,,,,s,h\n",
        Err("`quantity`: \"weight\", expected absent, arm"),
    );
}
