//! The fit on the shipped tables: it is deterministic, stays inside its bounds, and tells faults with their place.

use fit::{Files, Sheet};

/// Tables of the working tree below `data/`.
fn files() -> Files {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../data");
    let mut out = Files::new();
    for folder in ["anatomy/", "anatomy/start/", "anatomy/targets/", "proof/"] {
        for entry in std::fs::read_dir(root.join(folder)).expect("a folder of tables") {
            let path = entry.expect("a file").path();
            if path.extension().is_some_and(|e| e == "csv") {
                let name = path.file_name().expect("a name").to_string_lossy().into_owned();
                out.push((format!("{folder}{name}"), std::fs::read_to_string(&path).expect("a readable table")));
            }
        }
    }
    out
}

fn table(files: &Files, name: &str) -> Sheet {
    Sheet::find(files, name).expect("a written table")
}

/// A fit knows its targets and starts alone: fitting what was fitted changes no byte, and no value leaves its bounds.
#[test]
fn a_second_fit_changes_nothing_and_bounds_hold() {
    let mut first = files();
    for (name, text) in fit::fit_arms(&first).expect("the shipped tables") {
        fit::replace(&mut first, &name, text);
    }
    let again = fit::fit_arms(&first).expect("fitted tables");
    for (name, text) in &again {
        assert!(first.contains(&(name.clone(), text.clone())), "{name} changed in a second fit");
    }
    let log = table(&again, fit::LOG);
    for row in 0..log.rows.len() {
        let number = |column| log.number(row, column).expect("a number");
        let (low, value, high) = (number("low_mm"), number("value_mm"), number("high_mm"));
        assert!(low - 0.051 <= value && value <= high + 0.051, "{:?}", log.rows[row]);
    }
}

/// What a fold leaves out is not seen: published rows of one motion may be changed at will, and the same motion's
/// held-out prediction stays as it was.
#[test]
fn a_held_out_motion_is_not_seen() {
    let plain = files();
    let mut wrong = plain.clone();
    let name = "proof/moment-arms.csv";
    let mut arms = table(&plain, name);
    let mut ids = Vec::new();
    for row in 0..arms.rows.len() {
        let is = |column, text| arms.text(row, column) == Ok(text);
        if is("heads", "teres-major") && is("axis", "shoulder.flexion") && is("left_out", "") {
            ids.push(arms.text(row, "id").expect("an id").to_string());
            arms.set(row, "arm_mm", "77".into()).expect("the column");
        }
    }
    assert!(ids.len() >= 5, "{ids:?}");
    fit::replace(&mut wrong, name, arms.to_csv());
    let held_out = |files: &Files| table(&fit::fit_arms(files).expect("a fit"), fit::HELD_OUT);
    let (a, b) = (held_out(&plain), held_out(&wrong));
    for id in ids {
        let of = |s: &Sheet| s.rows.iter().find(|r| r[0] == id).map(|r| r[1].clone());
        assert_eq!(of(&a), of(&b), "{id}");
    }
}

#[test]
fn faults_are_named_with_their_place() {
    let check = |name: &str, from: &str, to: &str, want: &str| {
        let mut broken = files();
        let text = broken.iter().find(|f| f.0 == name).expect("the table").1.replacen(from, to, 1);
        fit::replace(&mut broken, name, text);
        let problems = fit::fit_arms(&broken).expect_err("a fault");
        assert!(problems.iter().any(|p| p.to_string().contains(want)), "{problems:?}");
    };
    check("anatomy/targets/one-sided.csv", "least", "perhaps", "expected one of: least, most");
    check("anatomy/targets/superseded.csv", "recalled-", "unheard-", "there is no published row unheard-");
    check("anatomy/obstacles.csv", ",24.0,18.0,28.0,", ",44.0,18.0,28.0,", "44 outside 18 to 28");
}
