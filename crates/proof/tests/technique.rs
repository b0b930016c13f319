//! Statements about technique: each can fail, every miss has a cause, bad tables are refused with their place.

use answer::TechniqueRow;
use library::Library;
use proof::Table;
use proof::technique::{CannotBe, judge, reasons_shipped, technique};
use std::sync::OnceLock;

const FACTS: &str = include_str!("../../../data/movements/technique_facts.csv");
const HEAD: &str =
    "id,movement,compare_to,setting_change,held_equal,statement,expected,confidence,source,angle_rule_fails,use,how\n";

fn library() -> &'static Library {
    static L: OnceLock<Library> = OnceLock::new();
    L.get_or_init(|| Library::embedded().expect("the shipped data"))
}

fn rows() -> &'static [TechniqueRow] {
    static R: OnceLock<Vec<TechniqueRow>> = OnceLock::new();
    R.get_or_init(|| technique(library()).expect("the shipped table"))
}

fn own(rows: &str) -> Result<Vec<TechniqueRow>, String> {
    let table = Table::parse("mine.csv", &format!("{HEAD}{rows}\n")).map_err(|e| e.to_string())?;
    judge(library(), &table).map_err(|e| e.to_string())
}

#[test]
fn every_miss_has_a_cause_and_no_cause_is_stale() {
    let bare: Vec<String> = rows()
        .iter()
        .flat_map(|r| {
            r.items.iter().filter(|i| !i.right && i.reason.is_empty()).map(|i| format!("{} {}", r.id, i.item))
        })
        .collect();
    assert!(bare.is_empty(), "no cause in technique_reasons.csv for {bare:?}");
    let stale: Vec<String> = reasons_shipped()
        .expect("the table of reasons")
        .iter()
        .filter(|q| !rows().iter().any(|r| r.items.iter().any(|i| q.explains(r, i))))
        .map(|q| format!("line {}: {} {} {}", q.line, q.id, q.item, q.ours))
        .collect();
    assert!(stale.is_empty(), "explains nothing any more: {stale:?}");
}

#[test]
fn what_cannot_be_said_is_wrong_and_says_why() {
    let classes = CannotBe::ALL.map(CannotBe::word);
    let mut seen = 0;
    for r in rows() {
        for i in r.items.iter().filter(|i| i.ours == proof::technique::CANNOT_SAY) {
            seen += 1;
            assert!(!i.right && !r.right && i.before.is_none(), "{}", r.id);
            assert!(!i.reason.is_empty() && !i.class.is_empty(), "{}", r.id);
        }
        for i in r.items.iter().filter(|i| i.before.is_some()) {
            assert!(!classes.contains(&i.class.as_str()), "{} has an answer and says it has none", r.id);
        }
    }
    assert!(seen > 0);
}

#[test]
fn a_statement_turned_round_is_wrong_where_it_was_right() {
    let turned = FACTS
        .replace(":up", ":UP")
        .replace(":down", ":up")
        .replace(":UP", ":down")
        .replace(":peak-earlier", ":PEAK")
        .replace(":peak-later", ":peak-earlier")
        .replace(":PEAK", ":peak-later");
    let turned = judge(library(), &Table::parse("turned.csv", &turned).expect("a table")).expect("rows");
    let right = |r: &TechniqueRow| r.items.iter().any(|i| !["same", "zero"].contains(&i.expected.as_str()));
    let mut checked = 0;
    for (a, b) in rows().iter().zip(&turned).filter(|(a, _)| a.right && right(a)) {
        assert!(!b.right, "{} is right whichever way it is said", a.id);
        checked += 1;
    }
    assert!(checked >= 20, "{checked}");
}

#[test]
fn statics_that_anyone_can_check_come_out() {
    let check = |change: &str, expected: &str, want: bool| {
        let got = own(&format!("x,dumbbell-curl,,{change},load,s,{expected},high,statics,no,test,own"))
            .unwrap_or_else(|e| panic!("{e}"));
        assert_eq!(got[0].right, want, "{change} {expected}: {:?}", got[0].items);
    };
    // Twice the weight in the hand is a larger moment at the elbow and leaves every length.
    check("load_kg 5>10", "moment:elbow.flexion:up;head-length:brachialis:same", true);
    check("load_kg 5>10", "moment:elbow.flexion:down", false);
    check("load_kg 5>5", "moment:elbow.flexion:same;head-load:brachialis:same", true);
    check("load_kg 5>10", "moment:elbow.flexion:zero", false);
}

#[test]
fn a_bad_table_is_refused_with_file_line_and_column() {
    let check = |row: &str, part: &str| {
        let e = own(row).expect_err(row);
        assert!(e.starts_with("mine.csv:2") && e.contains(part), "{e}");
    };
    let row = |movement: &str, to: &str, change: &str, expected: &str, angles: &str, purpose: &str| {
        format!("x,{movement},{to},{change},load,s,{expected},high,me,{angles},{purpose},own")
    };
    let good = "moment:knee.extension:up";
    check(&row("back-squt", "", "depth_knee_deg 90>120", good, "no", "test"), "`movement`: no movement \"back-squt\"");
    check(&row("back-squat", "box", "-", good, "no", "test"), "`compare_to`");
    check(&row("back-squat", "", "-", good, "no", "test"), "either a setting that changes or another movement");
    check(&row("back-squat", "", "depth_knee_deg 90", good, "no", "test"), "`setting_change`");
    check(&row("back-squat", "", "depth_knee_deg 90>120", "moment:knee:more", "no", "test"), "`expected`");
    check(&row("back-squat", "", "depth_knee_deg 90>120", "", "no", "test"), "nothing is expected");
    check(&row("back-squat", "", "depth_knee_deg 90>120", good, "perhaps", "test"), "`angle_rule_fails`");
    check(&row("back-squat", "", "depth_knee_deg 90>120", good, "no", "show"), "`use`");
    assert!(own("x,y").is_err_and(|e| e.contains("mine.csv")));
}

#[test]
fn an_unknown_setting_or_axis_is_said_not_guessed() {
    let check = |change: &str, expected: &str, class: CannotBe| {
        let row = format!("x,back-squat,,{change},load,s,{expected},high,me,no,test,own");
        let got = own(&row).unwrap_or_else(|e| panic!("{e}"));
        assert!(!got[0].right && got[0].items[0].class == class.word(), "{:?}", got[0].items);
    };
    check("strap no>yes", "moment:knee.extension:up", CannotBe::NoSetting);
    check("depth_knee_deg 90>120", "moment:elbow.flexion:up", CannotBe::NotModelled);
    check("depth_knee_deg 90>120", "head-load:brachialis:up", CannotBe::NotModelled);
    check("depth_knee_deg 90>120", "other:knee-side-moment:up", CannotBe::NotModelled);
    check("depth_knee_deg 90>999", "moment:knee.extension:up", CannotBe::NotSolved);
}
