//! The rules of the house hold in this tree. Each check has its own test of what it must find, beside its code.

use xtask::tree::Tree;
use xtask::{Problem, arrows, code, licences, tables};

fn check(problems: Result<Vec<Problem>, xtask::Failed>) {
    let problems = problems.expect("the check can be carried out");
    let lines: Vec<String> = problems.iter().map(Problem::to_string).collect();
    assert!(lines.is_empty(), "{}", lines.join("\n"));
}

#[test]
fn every_data_row_tells_where_it_comes_from() {
    check(tables::check(&Tree::here()));
}

#[test]
fn core_crates_touch_nothing_outside_and_files_are_short() {
    check(code::check(&Tree::here()));
}

#[test]
fn arrows_between_crates_go_one_way() {
    check(arrows::check(&Tree::here()));
}

#[test]
fn every_package_has_a_known_source_and_is_allowed() {
    let tree = Tree::here();
    let lists = licences::Lists::parse(&tree.text("deny.toml").expect("deny.toml")).expect("readable");
    check(licences::sources(&tree.text("Cargo.lock").expect("Cargo.lock"), &lists));
}
