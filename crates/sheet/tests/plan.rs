//! Five invented plans in five coaches' hands, written before the reader (`files/plans/make_plans.py`), with the
//! expected fate of every cell; and rows of notation.

mod plan_help;

use answer::{SettingValue, Status};
use plan_help::{INDEX, show_entry};
use sheet::grid::Book;
use sheet::plan::{Fate, PlanOptions, PlanRead, place, read_week, text};
use sheet::read::read_book;
use std::path::PathBuf;

fn files() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/files/plans")
}

fn book(file: &str) -> Book {
    let bytes = std::fs::read(files().join(file)).expect("a plan file");
    read_book(&bytes, file).expect("a readable plan")
}

/// Every cell of `file` meets the fate that NAME.expected.csv states, and no cell is left over.
fn check(file: &str) -> PlanRead {
    let book = book(file);
    let plan = read_week(&book, &INDEX, &PlanOptions::default());
    let stem = file.split('.').next().expect("a name");
    let expected = std::fs::read_to_string(files().join(format!("{stem}.expected.csv"))).expect("expectations");
    let mut wrong = Vec::new();
    let mut met = 0;
    for record in csv::Reader::from_reader(expected.as_bytes()).records() {
        let record = record.expect("a row");
        let (sheet, cell, want) = (&record[0], &record[1], &record[3]);
        let at = |row: u32, col: u32| place("", row as usize - 1, col as usize - 1) == format!("!{cell}");
        let fate = plan.cells.iter().find(|c| (c.sheet == sheet || book.sheets.len() == 1) && at(c.row, c.col));
        let got = match fate.map(|c| c.fate) {
            None => "no fate".to_string(),
            Some(Fate::Entry(i)) => show_entry(&plan.entries[i], want),
            Some(Fate::Part) => "part".into(),
            Some(Fate::Name) => "name".into(),
            Some(Fate::Head) => "head".into(),
            Some(Fate::Day) => "day".into(),
            Some(Fate::Week) => "week".into(),
            Some(Fate::Client) => "client".into(),
        };
        if got == want {
            met += 1;
        } else {
            wrong.push(format!("{sheet}!{cell} “{}”\n  want {want}\n  got  {got}", &record[2]));
        }
    }
    println!("{file}: {met} cells as expected, {} not", wrong.len());
    assert_eq!(wrong, Vec::<String>::new(), "{}", wrong.join("\n"));
    assert_eq!(plan.cells.len(), met, "cells beyond the expected ones");
    check_nothing_vanishes(&book, &plan);
    plan
}

/// Every cell that is not empty has a fate, and every entry stands at a cell.
fn check_nothing_vanishes(book: &Book, plan: &PlanRead) {
    let mut filled = 0;
    for sheet in &book.sheets {
        for row in &sheet.rows {
            filled += row.iter().filter(|c| !text(&c.value).is_empty()).count();
        }
    }
    assert_eq!(filled, plan.cells.len());
    for c in &plan.cells {
        if let Fate::Entry(i) = c.fate {
            let e = &plan.entries[i];
            assert_eq!((&e.sheet, e.row, e.col), (&c.sheet, c.row, c.col));
        }
    }
    let standing: std::collections::BTreeSet<_> =
        plan.cells.iter().filter(|c| matches!(c.fate, Fate::Entry(_))).map(|c| (&c.sheet, c.row, c.col)).collect();
    assert!(plan.entries.iter().all(|e| standing.contains(&(&e.sheet, e.row, e.col))));
    for e in &plan.entries {
        match e.status {
            Status::Certain => assert!(e.assumptions.is_empty() && e.movement.is_some(), "{e:?}"),
            _ => assert!(!e.assumptions.is_empty() || e.status == Status::Unknown, "{e:?}"),
        }
    }
}

#[test]
fn stacked_days() {
    let plan = check("stacked_days.xlsx");
    let flags: Vec<(&str, &str)> = plan.pain_flags.iter().map(|f| (f.place.as_str(), f.word.as_str())).collect();
    assert_eq!(flags, [("Program!G17", "aches")]);
    assert!(plan.messages.iter().any(|m| m.level == "question" && m.place == "Program!A11"), "{:?}", plan.messages);
    assert!(plan.messages.iter().any(|m| m.text.contains("kg") && m.text.contains("lb")));
}

#[test]
fn days_as_columns() {
    check("days_as_columns.xlsx");
}

#[test]
fn weeks_as_columns() {
    let plan = check("weeks_as_columns.xlsx");
    assert_eq!((plan.weeks, plan.week_chosen), (4, 1));
    let options = PlanOptions { week: Some(3), ..Default::default() };
    assert_eq!(read_week(&book("weeks_as_columns.xlsx"), &INDEX, &options).week_chosen, 3);
}

#[test]
fn sheet_per_day() {
    let plan = check("sheet_per_day.xlsx");
    let get = |k: &str| plan.client_fields.iter().find(|f| f.key == k).map(|f| (f.value.as_str(), f.place.as_str()));
    assert_eq!(get("Body mass"), Some(("64,5 kg", "Client!A4")));
    let places: Vec<&str> = plan.pain_flags.iter().map(|f| f.place.as_str()).collect();
    assert_eq!(places, ["Client!B6", "Push!E5"]);
}

#[test]
fn percent_semicolon() {
    check("percent_semicolon.csv");
}

#[test]
fn stated_degrees_become_a_setting() {
    let plan = read_week(&book("days_as_columns.xlsx"), &INDEX, &PlanOptions::default());
    let e = plan.entries.iter().find(|e| e.text.starts_with("Incline DB press 30")).expect("the press");
    assert!(e.settings.get("bench_deg").is_none_or(|v| *v == SettingValue::Number(30.0)));
}
