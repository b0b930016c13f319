//! `schema`: the shape of a JSON answer.

use super::{End, say};
use clap::builder::PossibleValuesParser;
use desk::json;
use desk::problem::{Problem, Report};

/// The JSON Schema of an answer
#[derive(clap::Args, Debug)]
#[command(
    long_about = "Prints the JSON Schema of a command's answer. Answers carry name and version of their shape in the field \
                  \"schema\"; muscles, movements and proof are plain lists. look with several movements prints a list of looks.",
    after_long_help = "Example:
  lengthwise look back-squat --json > look.json
  lengthwise schema look > look.schema.json"
)]
pub struct Args {
    /// The answer
    #[arg(value_name = "NAME", value_parser = PossibleValuesParser::new(json::NAMES.map(|(name, _)| name)))]
    name: String,
}

impl Args {
    pub fn run(&self) -> End {
        let schema = json::schema(&self.name).ok_or_else(|| Report::from(Problem::error("NAME", "no such answer")))?;
        say(&json::text(&schema)?)
    }
}
