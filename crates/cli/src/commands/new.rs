//! `new`: commented files to fill in.

use super::{End, say};
use clap::ValueEnum;
use desk::files;
use desk::problem::Problem;
use std::path::PathBuf;

/// A commented file to fill in: client, plan or movement
#[derive(clap::Args, Debug)]
#[command(
    long_about = "Writes a commented file to fill in: a client (TOML), a plan (CSV, opens in any spreadsheet) or a \
                  movement of your own (TOML), which begins as a copy of a family. An existing file is never \
                  overwritten.",
    after_long_help = "Example:
  lengthwise new client --out mia.toml
  lengthwise new plan --out plan.csv
  lengthwise check mia.toml
  lengthwise audit plan.csv --client mia.toml
  lengthwise new movement curl --out mine/my-curl.toml
  lengthwise check mine/my-curl.toml --figure my-curl.png
  lengthwise look my-curl --from mine"
)]
pub struct Args {
    /// What to write
    #[arg(value_enum)]
    kind: Kind,
    /// With movement: the family to begin from
    #[arg(value_name = "FAMILY")]
    family: Option<String>,
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
    /// A movement of your own, beginning as a copy of a family
    Movement,
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
        let text = match (self.kind, &self.family) {
            (Kind::Client, None) => desk::client_template(),
            (Kind::Plan, None) => PLAN.to_string(),
            (Kind::Movement, Some(family)) => desk::movement_template(family)?,
            (Kind::Movement, None) => {
                let problem = Problem::error("FAMILY", "which family does it begin from?");
                return Err(problem.remedy("lengthwise new movement curl; lengthwise movements lists families").into());
            }
            (_, Some(word)) => {
                let problem = Problem::error("FAMILY", format!("\"{word}\" is not needed here"));
                return Err(problem.remedy("only `new movement` begins from a family").into());
            }
        };
        match &self.out {
            None => say(&text),
            Some(path) => {
                if let Some(folder) = path.parent().filter(|f| !f.as_os_str().is_empty()) {
                    files::make_folder(folder)?;
                }
                files::write_new(path, text.as_bytes())?;
                say(&format!("{} is ready to be filled in.\n", path.display()))
            }
        }
    }
}
