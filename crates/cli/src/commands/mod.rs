//! One file a command. Each knows its arguments, its help with a worked example, and the order of its steps.

pub mod audit;
pub mod backup;
pub mod check;
pub mod compare;
pub mod completions;
pub mod draw;
pub mod evidence;
pub mod faults;
pub mod lay_out;
pub mod look;
pub mod movements;
pub mod muscles;
pub mod new;
pub mod open;
pub mod proof;
pub mod propose;
pub mod rank;
pub mod rebuild;
pub mod restore;
pub mod scenario;
pub mod schema;
pub mod similar;
pub mod sources;
pub mod sure;
pub mod technique;

use crate::args::Output;
use crate::exit::Exit;
use crate::terminal::{print, warn};
use clap::{Parser, Subcommand};
use desk::problem::Report;
use desk::{files, json};
use serde::Serialize;
use std::path::Path;

/// What exercises and whole weeks really train, muscle head by muscle head
#[derive(Parser, Debug)]
#[command(
    name = "lengthwise",
    version,
    max_term_width = 80,
    long_about = "What exercises and whole weeks really train, muscle head by muscle head, computed from the mechanics of \
                  this lift in this body. Numbers are estimates with a range, written 11.0 (9.1–12.6).",
    after_long_help = "Without a command the app opens in your browser. In a terminal start here:
  lengthwise look back-squat
  lengthwise compare seated-leg-curl lying-leg-curl
  lengthwise rank biceps-femoris-short-head --kit home-db-24
  lengthwise audit plan.xlsx --client mia.toml

Exit codes:
  0  answered
  1  something is wrong with the input: a file, a name, a setting, a body
  2  the command line is wrong
  3  a fault of the program

Text has no colour when piped or with NO_COLOR set. Nothing here is medical advice."
)]
pub struct Cli {
    #[command(subcommand)]
    command: Option<Question>,
}

#[derive(Subcommand, Debug)]
enum Question {
    Open(open::Args),
    Look(look::Args),
    Compare(compare::Args),
    Rank(rank::Args),
    Similar(similar::Args),
    Faults(faults::Args),
    Audit(audit::Args),
    Rebuild(rebuild::Args),
    Propose(propose::Args),
    LayOut(lay_out::Args),
    Scenario(scenario::Args),
    Muscles(muscles::Args),
    Movements(movements::Args),
    Draw(draw::Args),
    Sources(sources::Args),
    Proof(proof::Args),
    Sure(sure::Args),
    Technique(technique::Args),
    Evidence(evidence::Args),
    New(new::Args),
    Check(check::Args),
    Backup(backup::Args),
    Restore(restore::Args),
    Schema(schema::Args),
    Completions(completions::Args),
}

impl Cli {
    /// Answers the question and says how it went.
    pub fn run(self) -> Exit {
        let end = match self.command.unwrap_or_else(|| Question::Open(open::Args::default())) {
            Question::Open(a) => a.run(),
            Question::Look(a) => a.run(),
            Question::Compare(a) => a.run(),
            Question::Rank(a) => a.run(),
            Question::Similar(a) => a.run(),
            Question::Faults(a) => a.run(),
            Question::Audit(a) => a.run(),
            Question::Rebuild(a) => a.run(),
            Question::Propose(a) => a.run(),
            Question::LayOut(a) => a.run(),
            Question::Scenario(a) => a.run(),
            Question::Muscles(a) => a.run(),
            Question::Movements(a) => a.run(),
            Question::Draw(a) => a.run(),
            Question::Sources(a) => a.run(),
            Question::Proof(a) => a.run(),
            Question::Sure(a) => a.run(),
            Question::Technique(a) => a.run(),
            Question::Evidence(a) => a.run(),
            Question::New(a) => a.run(),
            Question::Check(a) => a.run(),
            Question::Backup(a) => a.run(),
            Question::Restore(a) => a.run(),
            Question::Schema(a) => a.run(),
            Question::Completions(a) => a.run(),
        };
        match end {
            Ok(()) => Exit::Done,
            Err(report) => {
                warn(&report.to_string());
                if report.internal { Exit::Internal } else { Exit::Input }
            }
        }
    }
}

/// Name of a file without its folder, for messages.
fn file_name(path: &Path) -> String {
    path.file_name().map_or_else(|| path.display().to_string(), |n| n.to_string_lossy().into())
}

/// How a command ends when it cannot answer.
pub type End = Result<(), Report>;

/// Prints text; a full disk behind a redirection is reported.
fn say(text: &str) -> End {
    print(text).map_err(|e| desk::problem::Problem::error("standard output", format!("cannot be written: {e}")).into())
}

/// JSON when asked for, else text.
fn answer<T: Serialize + ?Sized>(json: bool, value: &T, text: impl FnOnce() -> String) -> End {
    if json { say(&json::text(value)?) } else { say(&text()) }
}

/// Warnings that stand beside a usable answer.
fn mention(report: &Report) {
    if !report.problems.is_empty() {
        warn(&report.to_string());
    }
}

/// Writes the figure asked for, if any.
fn draw_into(out: &Output, svg: impl FnOnce() -> Result<String, Report>) -> End {
    out.figure.as_deref().map_or(Ok(()), |path| write_figure(path, &svg()?))
}

/// An SVG text as .svg or .png, by the file's ending.
fn write_figure(path: &Path, svg: &str) -> End {
    match files::extension(path).as_str() {
        "png" => files::write(path, &desk::png(svg)?),
        _ => files::write(path, svg.as_bytes()),
    }
}
