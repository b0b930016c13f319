//! `evidence`: training studies beside what is predicted.

use super::{End, answer, mention, say};
use crate::render;
use crate::terminal::{Ink, Progress};
use clap::Subcommand;
use std::path::PathBuf;

/// Training studies beside what is predicted of them
#[derive(clap::Args, Debug)]
#[command(
    args_conflicts_with_subcommands = true,
    long_about = "Predicts every contrast of the shipped training studies (which arm, which muscle grew more, as much, or not at \
                  all) and prints how often that is right, class by class, beside two trivial rules on the same rows: counting \
                  sets 1, ½ and 0, and net shortening times mean length. The figure that counts is the one on halves of the \
                  studies that were not looked at. Rows at odds with other studies and second reports on the same people are \
                  counted apart. A miss stays a miss and says what we believe its cause is.",
    after_long_help = "Examples:
  lengthwise evidence
  lengthwise evidence --study kubo-2019 --figure kubo.svg
  lengthwise evidence --misses

A study of your own is one file; docs/evidence_format.md shows it, and
  lengthwise schema study
prints its JSON Schema. Studies in a folder are judged alone, with the shipped
calibration, so that nothing was chosen on them:
  lengthwise evidence --from mine

Two tables, one of results and one of contrasts, become such files with
  lengthwise evidence import studies.csv contrasts.csv --out mine
and whatever could not be mapped is listed with line and column.

What a study measured in a group is an estimate of a mean; a client may differ.
Nothing here is medical advice."
)]
pub struct Args {
    #[command(subcommand)]
    task: Option<Task>,
    /// Folder with studies of your own, judged alone with the shipped calibration
    #[arg(long, value_name = "DIR")]
    from: Option<PathBuf>,
    /// Shows the rows and results of this study
    #[arg(long, value_name = "ID")]
    study: Option<String>,
    /// Shows every contrast
    #[arg(long)]
    rows: bool,
    /// Shows the contrasts that are missed, with the cause we believe
    #[arg(long)]
    misses: bool,
    /// Prints the answer as JSON (its shape: lengthwise schema evidence)
    #[arg(long)]
    json: bool,
    /// Also draws measured against predicted growth; .svg or .png
    #[arg(long, value_name = "FILE", value_parser = crate::args::figure_file)]
    figure: Option<PathBuf>,
}

#[derive(Subcommand, Debug)]
enum Task {
    Import(Import),
}

/// Turns a table of results and a table of contrasts into one file a study
#[derive(clap::Args, Debug)]
#[command(after_long_help = "Example:
  lengthwise evidence import studies.csv contrasts.csv --out mine
  lengthwise evidence --from mine

Columns: docs/evidence_format.md. The movements of a condition come from a
table of readings where it has them, else from the condition's name and the
description, matched as in a plan. How many of both agree is printed.")]
pub struct Import {
    /// Table of results, one row a measured change
    #[arg(value_name = "STUDIES")]
    studies: PathBuf,
    /// Table of contrasts
    #[arg(value_name = "CONTRASTS")]
    contrasts: PathBuf,
    /// Folder for the files, made where it is missing
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
    /// Table with the movements of conditions (study_id, condition, movements)
    #[arg(long, value_name = "FILE")]
    readings: Option<PathBuf>,
    /// Uses no readings: every movement is found by its name
    #[arg(long, conflicts_with = "readings")]
    by_name: bool,
}

impl Args {
    pub fn run(&self) -> End {
        if let Some(Task::Import(import)) = &self.task {
            return import.run();
        }
        let progress = Progress::start("Predicting training studies");
        let (mut evidence, warnings) = desk::evidence(self.from.as_deref())?;
        drop(progress);
        mention(&warnings);
        if let Some(path) = &self.figure {
            super::write_figure(path, &desk::study_picture(&evidence, self.study.as_deref())?)?;
        }
        if let Some(id) = &self.study {
            desk::keep_study(&mut evidence, id)?;
        }
        if self.misses {
            evidence.rows.retain(|r| !r.right);
        }
        let shown = render::evidence::Shown { rows: self.rows || self.misses, study: self.study.is_some() };
        answer(self.json, &evidence, || render::evidence::evidence(&evidence, shown, Ink::for_stdout()))
    }
}

impl Import {
    fn run(&self) -> End {
        let done =
            desk::import_studies(&self.studies, &self.contrasts, self.readings.as_deref(), self.by_name, &self.out)?;
        mention(&done.unmapped);
        say(&render::evidence::imported(&done))
    }
}
