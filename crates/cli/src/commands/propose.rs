//! `propose`: what to change first in a week.

use super::{End, answer};
use crate::args::Shared;
use crate::render;
use crate::terminal::{Ink, Progress};
use desk::{AuditRequest, Desk, ProposeRequest, Week, files};
use std::path::PathBuf;

/// What to change first in a written week, fewest edits first
#[derive(clap::Args, Debug)]
#[command(
    long_about = "Reads a week and a client, and says what to change first: another setting, a swap, sets added, taken \
                  away, done on another day or as a pair. Each change has its reason with a number, credited sets of \
                  every head before and after, sets on each joint, minutes, what it costs, and the signs on which to stop. \
                  Each builds on those above it. \"Change nothing\" is an answer.",
    after_long_help = "Example: look first, then take the first two and write the plan back in its own layout:
  lengthwise propose plan.xlsx --client mia.toml
  lengthwise propose plan.xlsx --client mia.toml --apply 2 --write plan-2.xlsx

What stays is named in the client's file: keep = [\"back-squat\"]; what is never
brought in: dislikes = [\"Burpee\"]."
)]
pub struct Args {
    /// The plan: .xlsx, .ods, .csv or .toml
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Which week of the file; the first one without it
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..))]
    week: Option<u32>,
    /// Kit the proposals must keep to; the client's own without it
    #[arg(long, value_name = "ID|FILE")]
    kit: Option<String>,
    /// How many proposals to take, from the first; all without it
    #[arg(long, value_name = "N")]
    apply: Option<u32>,
    /// Writes the plan with them in its own layout
    #[arg(long, value_name = "OUT.xlsx")]
    write: Option<PathBuf>,
    /// Prints the answer as JSON (its shape: lengthwise schema propose)
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    shared: Shared,
}

impl Args {
    pub fn run(&self) -> End {
        let (desk, warnings) = Desk::open(&self.shared.setup())?;
        super::mention(&warnings);
        let progress = Progress::start("Judging the week and its changes");
        let bytes = files::read(&self.file)?;
        let name = super::file_name(&self.file);
        let week = self.week.map(Week::Number);
        let plan = AuditRequest { bytes: &bytes, name: &name, week, kit: self.kit.as_deref() };
        let request = ProposeRequest { plan, apply: self.apply };
        let done = desk.propose(&request)?;
        if let Some(path) = &self.write {
            files::write(path, &desk.proposed_workbook(&request, &done)?)?;
        }
        drop(progress);
        answer(self.json, &done.answer, || render::propose::propose(&done.answer, Ink::for_stdout()))
    }
}
