//! `new`: commented files to fill in.

use super::{End, say};
use crate::files;
use clap::ValueEnum;
use std::path::PathBuf;

/// A commented file to fill in: client or plan
#[derive(clap::Args, Debug)]
#[command(
    long_about = "Writes a commented file to fill in: a client (TOML) or a plan (CSV, opens in any spreadsheet). An \
                  existing file is never overwritten.",
    after_long_help = "Example:
  lengthwise new client --out mia.toml
  lengthwise new plan --out plan.csv
  lengthwise check mia.toml
  lengthwise audit plan.csv --client mia.toml"
)]
pub struct Args {
    /// What to write
    #[arg(value_enum)]
    kind: Kind,
    /// File to write; printed without it
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum Kind {
    /// Body, kit, days, aims, pains, screening
    Client,
    /// One row an exercise
    Plan,
}

/// A week of two days, invented, as a start.
const PLAN: &str = "\
Day,Exercise,Sets,Reps,RIR,Load,Note
Monday,Back squat,3,6-8,2,60 kg,
Monday,Seated leg curl,3,10-12,1,,
Monday,Bench press,3,8,2,50 kg,
Thursday,Romanian deadlift,3,8-10,2,70 kg,
Thursday,Lat pulldown,3,10,1,,
Thursday,Lateral raise,2-3,12-15,1,8 kg,
";

impl Args {
    pub fn run(&self) -> End {
        let text = match self.kind {
            Kind::Client => crate::desk::client_template(),
            Kind::Plan => PLAN.to_string(),
        };
        match &self.out {
            None => say(&text),
            Some(path) => {
                files::write_new(path, text.as_bytes())?;
                say(&format!("{} is ready to be filled in.\n", path.display()))
            }
        }
    }
}
