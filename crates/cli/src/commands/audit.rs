//! `audit`: what a written week really trains.

use super::{End, answer, draw_into, mention};
use crate::args::{Output, Shared};
use crate::render;
use crate::terminal::{Ink, Progress};
use desk::files;
use desk::problem::{Problem, Report};
use desk::{AuditRequest, Desk, Drawn, PresentWeek, RebuildRequest, Week};
use std::path::PathBuf;

/// What a written week really trains, where the gaps are and why
#[derive(clap::Args, Debug)]
#[command(
    long_about = "Reads a week as coaches write it (xlsx, ods, csv, toml) and a client, and says per muscle head what the \
                  week really trains, where the gaps are and why, how long each day takes, and what to change first. Every \
                  assumption is listed; a row that was not understood is listed with the nearest names, never dropped.",
    after_long_help = "Example: a plan in a spreadsheet, and the same workbook back with the ledger:
  lengthwise new client --out mia.toml        (then fill it in)
  lengthwise audit plan.xlsx --client mia.toml
  lengthwise audit plan.xlsx --client mia.toml --week 3 --write audited.xlsx
  lengthwise audit plan.xlsx --client mia.toml --what-if thigh=46

Cautions stand above everything: where the client's file names a condition or a
pain, read them first. A gap line has head, joint, reason and number:
  Biceps femoris short head 0.1 of 6–10: it crosses only the knee, and no set
  of this week bends the knee against load.
A plan with several weeks: --week N judges one, --week mean their average."
)]
pub struct Args {
    /// The plan: .xlsx, .ods, .csv or .toml
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Which week of the file, or "mean"; the first one without it
    #[arg(long, value_name = "N", value_parser = week)]
    week: Option<Week>,
    /// Kit the proposals must keep to; the client's own without it
    #[arg(long, value_name = "ID|FILE")]
    kit: Option<String>,
    /// Writes plan, ledger and proposals into a new workbook
    #[arg(long, value_name = "OUT.xlsx")]
    write: Option<PathBuf>,
    /// Opens every head with every credit column
    #[arg(long)]
    all_heads: bool,
    /// What moves if the client were otherwise: KEY=VALUE, for instance thigh=46 (repeatable)
    #[arg(long, value_name = "KEY=VALUE")]
    what_if: Vec<String>,
    /// Shows every entry as it was read
    #[arg(long)]
    entries: bool,
    #[command(flatten)]
    shared: Shared,
    #[command(flatten)]
    output: Output,
}

fn week(text: &str) -> Result<Week, String> {
    match text {
        "mean" => Ok(Week::Mean),
        n => match n.parse() {
            Ok(n @ 1..) => Ok(Week::Number(n)),
            _ => Err("a week's number from 1, or mean".into()),
        },
    }
}

impl Args {
    /// The same week of a client who is otherwise: one week, for a mean has no rows to name.
    fn otherwise(&self, desk: &Desk, bytes: &[u8], name: &str) -> Result<::answer::WhatIf, Report> {
        let week = match self.week {
            Some(Week::Mean) => {
                let problem = Problem::error("--week", "--what-if is answered for one week, not for a mean");
                return Err(problem.remedy("name a week: --week 1").into());
            }
            Some(Week::Number(n)) => Some(n),
            None => None,
        };
        let present = PresentWeek::File { bytes, name };
        let request = RebuildRequest { present, week, kit: self.kit.as_deref(), ..RebuildRequest::default() };
        desk::what_if(desk, &request, &self.what_if, false, &mut |_| true)
    }

    pub fn run(&self) -> End {
        let (desk, warnings) = Desk::open(&self.shared.setup())?;
        mention(&warnings);
        let progress = Progress::start("Reading and judging the week");
        let bytes = files::read(&self.file)?;
        let name = super::file_name(&self.file);
        if !self.what_if.is_empty() {
            let told = self.otherwise(&desk, &bytes, &name)?;
            drop(progress);
            return answer(self.output.json, &told, || render::rebuild::what_if(&told, Ink::for_stdout()));
        }
        let request = AuditRequest { bytes: &bytes, name: &name, week: self.week, kit: self.kit.as_deref() };
        let audit = desk.audit(&request)?;
        draw_into(&self.output, || desk.figure(Drawn::Audit(&audit)))?;
        if let Some(path) = &self.write {
            files::write(path, &desk.workbook(&audit)?)?;
        }
        drop(progress);
        let detail = render::audit::Detail { all_heads: self.all_heads, entries: self.entries };
        answer(self.output.json, &audit, || render::audit::audit(&audit, detail, Ink::for_stdout()))
    }
}
