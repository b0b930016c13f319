//! Answers of the whole chain through the binary.

use assert_cmd::Command;
use cli::render::text::{WIDTH, columns};
use serde_json::Value;

fn run(args: &[&str]) -> (i32, String, String) {
    let output = Command::cargo_bin("lengthwise").expect("built").args(args).output().expect("it starts");
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("UTF-8");
    (output.status.code().unwrap_or(-1), text(output.stdout), text(output.stderr))
}

fn answered(args: &[&str]) -> String {
    let (code, out, err) = run(args);
    assert_eq!(code, 0, "{args:?}: {err}");
    out
}

/// Text is narrow and plain; the JSON of the same question fits its schema.
fn check(args: &[&str], schema: &str) -> Value {
    for line in answered(args).lines() {
        assert!(columns(line) <= WIDTH && !line.contains('\u{1b}'), "{line}");
    }
    let json: Value = serde_json::from_str(&answered(&[args, &["--json"]].concat())).expect("JSON");
    let shape: Value = serde_json::from_str(&answered(&["schema", schema])).expect("JSON");
    let validator = jsonschema::validator_for(&shape).expect("a schema");
    let errors: Vec<String> = validator.iter_errors(&json).map(|e| e.to_string()).take(3).collect();
    assert!(errors.is_empty(), "{args:?}: {errors:?}");
    json
}

#[test]
fn lists_are_plain_lists() {
    let heads = check(&["muscles"], "muscles");
    assert!(heads.as_array().is_some_and(|rows| rows.iter().all(|r| r["joints"].is_array())));
    let all = check(&["movements"], "movements");
    let some = check(&["movements", "--kit", "home-db-24"], "movements");
    let count = |v: &Value| v.as_array().map_or(0, Vec::len);
    assert!(count(&some) > 0 && count(&some) < count(&all));
    check(&["movements", "--find", "squat"], "movements");
}

#[test]
fn a_look_names_the_setting_and_keeps_its_seed() {
    let args = ["look", "back-squat", "--set", "depth_knee_deg=120", "--draws", "4"];
    let json = check(&args, "look");
    assert_eq!(json["settings"]["depth_knee_deg"], 120.0);
    assert_eq!(answered(&args), answered(&args));
    let one_word = check(&["look", "back-squat{depth_knee_deg=120}", "--draws", "4"], "look");
    assert_eq!(one_word, json);
}

#[test]
fn variants_compare_and_movements_rank() {
    let json = check(&["compare", "back-squat", "back-squat{depth_knee_deg=60}", "--draws", "4"], "compare");
    assert_eq!(json["looks"].as_array().map(Vec::len), Some(2));
    check(&["rank", "vastus-lateralis", "--draws", "0"], "rank");
}

#[test]
fn figures_are_written_by_ending() {
    let folder = tempfile::tempdir().expect("a folder");
    for (file, start) in [("a.svg", &b"<svg"[..]), ("a.png", &b"\x89PNG"[..])] {
        let path = folder.path().join(file);
        answered(&["look", "back-squat", "--draws", "0", "--figure", &path.display().to_string()]);
        let bytes = std::fs::read(&path).expect("written");
        assert!(bytes.windows(start.len()).take(200).any(|w| w == start), "{file}");
    }
    let out = folder.path().join("pictures");
    answered(&["draw", "back-squat", "--out", &out.display().to_string()]);
    // Side, front, and the page that shows them.
    assert_eq!(std::fs::read_dir(&out).expect("made").count(), 3);
}

#[test]
fn a_new_plan_for_a_new_client_is_audited_and_written() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = |name: &str| folder.path().join(name).display().to_string();
    let (client, plan, book) = (at("mia.toml"), at("plan.csv"), at("out.xlsx"));
    answered(&["new", "client", "--out", &client]);
    answered(&["new", "plan", "--out", &plan]);
    let json = check(&["audit", &plan, "--client", &client, "--write", &book, "--draws", "2"], "audit");
    assert_eq!(json["entries"].as_array().map(Vec::len), Some(6));
    assert!(std::fs::read(&book).expect("written").starts_with(b"PK"));
    check(&["audit", &plan, "--all-heads", "--entries", "--draws", "0"], "audit");
}

#[test]
fn comparisons_are_shown_row_by_row_and_tables_of_ones_own_are_judged() {
    let all = check(&["proof", "--group", "shoulder-bounds"], "proof");
    let count = all.as_array().map_or(0, Vec::len);
    assert!(count > 20 && all[0]["group"] == "shoulder-bounds" && all[0]["source"].is_string());
    let dir = tempfile::tempdir().expect("a folder");
    let from = dir.path().to_str().expect("UTF-8");
    let path = dir.path().join("shoulder-bounds.csv");
    let head = "id,heads,axis,posture,low_mm,high_mm,source,how\n";
    let own = format!("{head}mine,supraspinatus,shoulder.abduction,shoulder=0/20/0,1,60,own fence,own-estimate\n");
    std::fs::write(&path, own).expect("written");
    let more = check(&["proof", "--group", "shoulder-bounds", "--from", from], "proof");
    assert_eq!(more.as_array().map_or(0, Vec::len), count + 1);
    std::fs::write(&path, format!("{head}mine,supraspinatus,shoulder.abduction,shoulder=0/20/0,1,high,s,h\n"))
        .expect("written");
    let (code, _, err) = run(&["proof", "--from", from]);
    assert!(code == 1 && err.contains("shoulder-bounds.csv:2") && err.contains("`high_mm` is \"high\""), "{err}");
    let (code, _, err) = run(&["proof", "--group", "arms"]);
    assert!(code == 1 && err.contains("moment-arms"), "{err}");
}

#[test]
fn every_coach_group_says_how_sure_it_is() {
    let all = check(&["sure"], "sure");
    let groups = all["groups"].as_array().expect("groups");
    let listed: std::collections::BTreeSet<String> = serde_json::from_str::<Value>(&answered(&["muscles", "--json"]))
        .expect("JSON")
        .as_array()
        .expect("heads")
        .iter()
        .filter_map(|h| h["group"].as_str().filter(|g| !g.is_empty()).map(str::to_string))
        .collect();
    let told: std::collections::BTreeSet<String> =
        groups.iter().filter_map(|g| g["group"].as_str().map(str::to_string)).collect();
    assert!(listed.is_subset(&told), "{listed:?} {told:?}");
    let one = check(&["sure", "hamstrings"], "sure");
    assert_eq!(one["groups"].as_array().map(Vec::len), Some(1));
    assert!(one["groups"][0]["sentence"].as_str().is_some_and(|s| s.starts_with("Hamstrings")));
    let (code, _, err) = run(&["sure", "Hamstring"]);
    assert!(code == 1 && err.contains("Hamstrings"), "{err}");
}

#[test]
fn faults_technique_nearest_and_set_ups_are_answered() {
    let faults = check(&["faults", "back-squat", "--draws", "4"], "faults");
    assert!(faults["faults"].as_array().is_some_and(|rows| rows.len() >= 3));
    let (code, _, err) = run(&["faults", "nope"]);
    assert!(code == 1 && err.contains("nearest"), "{err}");

    let all = check(&["technique"], "technique");
    let misses = check(&["technique", "--misses"], "technique");
    let count = |v: &Value| v.as_array().map_or(0, Vec::len);
    let wrong = all.as_array().expect("rows").iter().filter(|r| r["right"] == false).count();
    assert!(count(&all) > 100 && count(&misses) == wrong, "{} {}", count(&misses), wrong);
    for key in ["id", "expected", "ours", "right", "angle_rule_fails", "use"] {
        assert!(!all[0][key].is_null(), "{key}");
    }

    let near = check(&["similar", "bench-press", "--n", "3", "--kit", "home-db-24"], "similar");
    assert!(near["rows"].as_array().is_some_and(|rows| rows.len() == 3));
    check(&["similar", "bench-press", "--spare", "left shoulder"], "similar");
    let (code, _, err) = run(&["similar", "bench-press", "--spare", "flank"]);
    assert!(code == 1 && err.contains("flank"), "{err}");

    let search = check(&["rank", "vastus-lateralis", "--search", "--kit", "home-db-24"], "search");
    assert!(search["rows"].as_array().is_some_and(|rows| !rows.is_empty()));
    let (code, _, err) = run(&["rank", "vastus", "--search"]);
    assert!(code == 1 && err.contains("vastus"), "{err}");
}

#[test]
fn statements_of_ones_own_are_judged_and_bad_ones_told_with_their_line() {
    let dir = tempfile::tempdir().expect("a folder");
    let path = dir.path().join("mine.csv");
    let head = "id,movement,compare_to,setting_change,held_equal,statement,expected,confidence,source,angle_rule_fails,use,how";
    let file = path.to_str().expect("UTF-8");
    let write = |row: &str| std::fs::write(&path, format!("{head}\n{row}\n")).expect("written");
    write("x,dumbbell-curl,,load_kg 5>10,-,heavier is heavier,moment:elbow.flexion:up,high,statics,no,test,own");
    let own = check(&["technique", "--from", file], "technique");
    assert!(own.as_array().is_some_and(|rows| rows.len() == 1 && rows[0]["right"] == true), "{own}");
    write("x,dumbbell-curl,,load_kg 5>10,-,heavier,moment:elbow.flexion:more,high,statics,no,test,own");
    let (code, _, err) = run(&["technique", "--from", file]);
    assert!(code == 1 && err.contains("mine.csv:2") && err.contains("`expected`"), "{err}");
}
