//! `scenario`: a coach's question with its client and plan, answered by the other commands.

use super::{End, answer};
use crate::render;
use crate::terminal::{Ink, Progress};
use desk::{Scenario, files};
use std::path::PathBuf;

/// A coach's question with its client and plan, answered by the other commands
#[derive(clap::Args, Debug)]
#[command(
    long_about = "Reads a file that holds a coach's question, names a client's file and a plan, and lists the commands that \
                  answer it; runs them in order and prints what they say. It knows nothing of its own: each answer is that \
                  of the command shown above it.",
    after_long_help = "Example:
  lengthwise scenario examples/scenarios/07-long-head-of-the-triceps/scenario.toml

The file:
  title = \"Long head lags\"
  question = \"Twelve sets of push-downs a week, and the long head lags. Why?\"
  client = \"client.toml\"
  plan = \"plan.csv\"
  [[ask]]
  command = \"propose\"
  [[ask]]
  command = \"compare\"
  words = [\"triceps-pushdown\", \"overhead-rope-extension\"]"
)]
pub struct Args {
    /// The question's file
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Random draws behind each range; 0 gives middle values only, at once
    #[arg(long, value_name = "N", default_value_t = desk::DRAWS)]
    draws: usize,
    /// Prints the answers as JSON, one a command
    #[arg(long)]
    json: bool,
}

impl Args {
    pub fn run(&self) -> End {
        let text = files::read_text(&self.file)?;
        let place = self.file.display().to_string();
        let folder = self.file.parent().map(PathBuf::from).unwrap_or_default();
        let scenario = Scenario::read(&text, &place)?;
        let progress = Progress::start("Answering");
        let read = |name: &str| files::read(&folder.join(name));
        let answers = scenario.answer(desk::House::embedded()?.into(), &read, self.draws)?;
        drop(progress);
        if self.json {
            return answer(true, &answers.iter().map(|a| a.json()).collect::<Result<Vec<_>, _>>()?, String::new);
        }
        super::say(&render::scenario::scenario(&scenario, &answers, Ink::for_stdout()))
    }
}
