//! `check`: is this file right?

use super::{End, mention, say};
use desk::files;
use desk::problem::Problem;
use std::path::PathBuf;

/// Checks a client, plan or movement file and lists all problems at once
#[derive(clap::Args, Debug)]
#[command(
    long_about = "Checks a file and lists all its problems at once, each with its line or cell, what was expected and what \
                  to do. A .toml file with a [family] or a posture is a movement, one with days and exercises a plan, any \
                  other a client; .xlsx, .ods and .csv files are plans.",
    after_long_help = "Example:
  lengthwise check mia.toml && lengthwise audit plan.xlsx --client mia.toml
  lengthwise new movement curl --out my-curl.toml
  lengthwise check my-curl.toml --figure my-curl.png

A movement is solved in an average man, a small woman and a large man; what
nobody could do (a joint past its range, a place out of reach, a floating foot,
a bar through a thigh) is told with its line.

Ends with code 1 when something must be put right; warnings alone end with 0."
)]
pub struct Args {
    /// The file
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Draws a movement file, faults ringed; .svg or .png
    #[arg(long, value_name = "FILE", value_parser = crate::args::figure_file)]
    figure: Option<PathBuf>,
}

impl Args {
    pub fn run(&self) -> End {
        let bytes = files::read(&self.file)?;
        let checked = desk::check(&self.file, &bytes)?;
        if let Some(path) = &self.figure {
            let picture = checked.picture.as_ref().ok_or_else(|| {
                Problem::error("--figure", "only movement files are drawn").remedy("leave it out for clients and plans")
            })?;
            super::write_figure(path, &picture.svg)?;
        }
        say(&checked.summary)?;
        if checked.warnings.has_errors() {
            return Err(checked.warnings);
        }
        mention(&checked.warnings);
        Ok(())
    }
}
