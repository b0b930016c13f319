//! Building the index and finding 400 names: the library's own and misspelt ones.

use divan::{Bencher, black_box};
use movement::catalogue::{Catalogue, CatalogueText};
use movement::names::{NameContext, NameIndex};
use std::sync::Arc;

fn catalogue() -> Arc<Catalogue> {
    let text = CatalogueText {
        movements: include_str!("../../../data/movements/movements.csv"),
        family_settings: include_str!("../../../data/movements/family_settings.csv"),
        kits: include_str!("../../../data/movements/kits.csv"),
        load_bands: include_str!("../../../data/movements/load_bands.csv"),
        sheet_shorthand: include_str!("../../../data/movements/sheet_shorthand.csv"),
        ambiguous_terms: include_str!("../../../data/movements/ambiguous_terms.csv"),
        head_groups: include_str!("../../../data/anatomy/head_groups.csv"),
    };
    Arc::new(Catalogue::parse(&text).expect("the library's own tables"))
}

#[divan::bench]
fn parse_tables(bencher: Bencher) {
    bencher.bench(catalogue);
}

#[divan::bench]
fn build_index(bencher: Bencher) {
    let catalogue = catalogue();
    bencher.bench(|| NameIndex::new(black_box(catalogue.clone())));
}

#[divan::bench]
fn find_400_plain_names(bencher: Bencher) {
    let index = NameIndex::new(catalogue());
    let names: Vec<String> = index.catalogue().movements.iter().take(400).map(|m| m.name.clone()).collect();
    bencher.bench(|| names.iter().filter(|n| index.find(n, &NameContext::default()).best.is_some()).count());
}

#[divan::bench]
fn find_400_misspelt_names(bencher: Bencher) {
    let index = NameIndex::new(catalogue());
    // The third letter dropped and a foreign word added.
    let slip = |n: &str| n.char_indices().filter(|(i, _)| *i != 2).map(|(_, c)| c).collect::<String>() + " strict";
    let names: Vec<String> = index.catalogue().movements.iter().take(400).map(|m| slip(&m.name)).collect();
    bencher.bench(|| names.iter().filter(|n| index.find(n, &NameContext::default()).best.is_some()).count());
}

fn main() {
    divan::main();
}
