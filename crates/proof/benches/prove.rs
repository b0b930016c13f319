//! All comparisons of anatomy and statics at once.

use divan::Bencher;
use library::Library;
use proof::{groups::ALL, prove};
use std::sync::OnceLock;

fn main() {
    divan::main();
}

fn library() -> &'static Library {
    static L: OnceLock<Library> = OnceLock::new();
    L.get_or_init(|| Library::embedded().expect("the shipped data parses"))
}

/// Each group alone.
#[divan::bench(args = ALL.iter().map(|g| g.name))]
fn group(bencher: Bencher, name: &str) {
    let group = ALL.iter().position(|g| g.name == name).expect("a group");
    bencher.bench(|| prove(library(), &ALL[group..=group], &[]));
}
