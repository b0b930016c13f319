//! `check`: is this file right?

use super::{End, mention, say};
use crate::desk;
use crate::files;
use std::path::PathBuf;

/// Checks a client, plan or movement file and lists all problems at once
#[derive(clap::Args, Debug)]
#[command(
    long_about = "Checks a file and lists all its problems at once, each with its line or cell, what was expected and what \
                  to do. A .toml file with a [family] or a posture is a movement, one with days and exercises a plan, any \
                  other a client; .xlsx, .ods and .csv files are plans.",
    after_long_help = "Example:
  lengthwise check mia.toml && lengthwise audit plan.xlsx --client mia.toml

Ends with code 1 when something must be put right; warnings alone end with 0."
)]
pub struct Args {
    /// The file
    #[arg(value_name = "FILE")]
    file: PathBuf,
}

impl Args {
    pub fn run(&self) -> End {
        let bytes = files::read(&self.file)?;
        let checked = desk::check(&self.file, &bytes)?;
        mention(&checked.warnings);
        say(&checked.summary)
    }
}
