//! `technique`: statements of experts beside ours.

use super::{End, answer, mention};
use crate::render;
use crate::terminal::{Ink, Progress};
use std::path::PathBuf;

/// What experts say about technique, beside what we compute
#[derive(clap::Args, Debug)]
#[command(
    long_about = "Statements of experts about technique, each run and set beside ours: which way a joint moment, the load \
                  on a head, its length or the weight of a hard set turns. A row is right only when all its items are; \
                  what cannot be said counts as wrong. Rows to test and rows to discuss are counted apart, and so are \
                  rows in which a rule that sees joint angles alone must fail.",
    after_long_help = "Example: where do you disagree with the books, and why?
  lengthwise technique --misses

Statements of your own, in a table like data/movements/technique_facts.csv:
  lengthwise technique --from mine/statements.csv
With --from FILE only the rows of that file are run. How each item is read off a
lift stands in docs/technique.md."
)]
pub struct Args {
    /// A table of statements of your own, run instead of the shipped one
    #[arg(long, value_name = "FILE")]
    from: Option<PathBuf>,
    /// Only rows in which we disagree or cannot say
    #[arg(long)]
    misses: bool,
    /// Prints the rows as JSON
    #[arg(long)]
    json: bool,
}

impl Args {
    pub fn run(&self) -> End {
        let progress = Progress::start("Running the statements");
        let (all, warnings) = desk::technique(self.from.as_deref())?;
        drop(progress);
        mention(&warnings);
        let misses: Vec<_> = all.iter().filter(|r| !r.right).cloned().collect();
        let shown = if self.misses { &misses } else { &all };
        answer(self.json, shown, || render::technique::technique(&all, shown, Ink::for_stdout()))
    }
}
