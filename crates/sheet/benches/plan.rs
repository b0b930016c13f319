//! Understanding a week of 100 rows.

use divan::Bencher;
use movement::catalogue::{Catalogue, CatalogueText};
use movement::names::NameIndex;
use sheet::grid::{Book, Cell, Grid, Value};
use sheet::plan::{PlanOptions, read_week};
use std::sync::Arc;

fn index() -> NameIndex {
    let text = CatalogueText {
        movements: include_str!("../../../data/movements/movements.csv"),
        family_settings: include_str!("../../../data/movements/family_settings.csv"),
        kits: include_str!("../../../data/movements/kits.csv"),
        load_bands: include_str!("../../../data/movements/load_bands.csv"),
        sheet_shorthand: include_str!("../../../data/movements/sheet_shorthand.csv"),
        ambiguous_terms: include_str!("../../../data/movements/ambiguous_terms.csv"),
        head_groups: include_str!("../../../data/anatomy/head_groups.csv"),
    };
    NameIndex::new(Arc::new(Catalogue::parse(&text).expect("the library's own tables")))
}

#[divan::bench]
fn week_of_100_rows(bencher: Bencher) {
    let index = index();
    let cell = |t: String| Cell { value: Value::Text(t), span: (1, 1) };
    let head = ["Exercise", "Sets", "Reps", "RIR", "Load (kg)", "Rest", "Notes"].map(|t| cell(t.into())).to_vec();
    let aliases = index.catalogue().movements.iter().filter_map(|m| m.aliases.first());
    let rows = aliases.take(100).map(|name| {
        let rest = ["3", "8-10", "2", "82,5", "2-3 min", "slow on the way down"].map(|t| cell(t.into()));
        std::iter::once(cell(name.clone())).chain(rest).collect::<Vec<_>>()
    });
    let grid = Grid { name: "Week".into(), rows: std::iter::once(head).chain(rows).collect() };
    let book = Book { sheets: vec![grid], notes: vec![] };
    bencher.bench(|| read_week(&book, &index, &PlanOptions::default()));
}

fn main() {
    divan::main();
}
