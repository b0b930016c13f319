//! `lay-out`: loads and repetitions over several weeks.

use super::{End, answer};
use crate::args::Shared;
use crate::render;
use crate::terminal::{Ink, Progress};
use desk::{AuditRequest, Desk, LayOutRequest, files};
use std::path::PathBuf;

/// Loads and repetitions of a plan over several weeks
#[derive(clap::Args, Debug)]
#[command(
    long_about = "Reads a plan and a client and lays several weeks out: sets, repetitions, reserve and a load that can \
                  really be set. The range of repetitions comes from the client's load steps: where a step is too coarse \
                  for a range, this is said with the range that fits. Loads come from sets that were done ([[done_sets]] \
                  in the client's file), else from the plan. A forecast: each step waits for its trigger.",
    after_long_help = "Example: six weeks, the fifth easy, back in the plan's own layout:
  lengthwise lay-out plan.xlsx --client mia.toml --weeks 6 --easy 5 --write six-weeks.xlsx

Load steps stand in the client's file: [loads_kg] dumb-bell = \"2 to 30 by 2\".
Rules: double (repetitions up to the top of the range, then the next load),
two-for-two, repetitions (the load stays)."
)]
pub struct Args {
    /// The plan: .xlsx, .ods, .csv or .toml
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// How many weeks
    #[arg(long, value_name = "N", default_value_t = 6)]
    weeks: u32,
    /// A week that is easy (may be repeated); without it easy weeks come by need
    #[arg(long, value_name = "N")]
    easy: Vec<u32>,
    /// How loads and repetitions move
    #[arg(long, value_name = "RULE", default_value = "double")]
    rule: String,
    /// Kit whose loads are used; the client's own without it
    #[arg(long, value_name = "ID|FILE")]
    kit: Option<String>,
    /// Writes the weeks in the plan's own layout
    #[arg(long, value_name = "OUT.xlsx")]
    write: Option<PathBuf>,
    /// Prints the answer as JSON (its shape: lengthwise schema lay-out)
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    shared: Shared,
}

impl Args {
    pub fn run(&self) -> End {
        let (desk, warnings) = Desk::open(&self.shared.setup())?;
        super::mention(&warnings);
        let progress = Progress::start("Laying the weeks out");
        let bytes = files::read(&self.file)?;
        let name = super::file_name(&self.file);
        let plan = AuditRequest { bytes: &bytes, name: &name, week: None, kit: self.kit.as_deref() };
        let request = LayOutRequest { plan, weeks: self.weeks, easy: &self.easy, rule: &self.rule };
        let out = desk.lay_out(&request)?;
        if let Some(path) = &self.write {
            files::write(path, &desk.laid_out_workbook(&request, &out)?)?;
        }
        drop(progress);
        answer(self.json, &out, || render::lay_out::lay_out(&out, Ink::for_stdout()))
    }
}
