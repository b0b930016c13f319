//! `sure`: how far the numbers of a coach group can be trusted.

use super::{End, answer};
use crate::render;
use crate::terminal::{Ink, Progress};

/// How sure are we? What agrees, what misses and why, group by group
#[derive(clap::Args, Debug)]
#[command(
    long_about = "How far the numbers of each coach group can be trusted: how many of the comparisons with published \
                  numbers that touch its heads agree, where the program misses and the cause we believe, how the \
                  numbers of its heads are known, and one sentence for a client. Everything is counted from the \
                  comparisons of \"proof\" and the data tables; nothing is typed by hand.",
    after_long_help = "Example: what can I tell a client about hamstrings?
  lengthwise sure Hamstrings

Without a group: one line for each. A share rests on the rows that did not steer
the program's own tables; under five rows it says \"few comparisons\". Every miss
with its reason: lengthwise proof --misses."
)]
pub struct Args {
    /// A coach group, for instance Glutes; all of them without one
    #[arg(value_name = "GROUP")]
    group: Option<String>,
    /// Prints JSON
    #[arg(long)]
    json: bool,
}

impl Args {
    pub fn run(&self) -> End {
        let progress = Progress::start("Comparing with published numbers");
        let sure = desk::sure(self.group.as_deref())?;
        drop(progress);
        answer(self.json, &sure, || render::sure::sure(&sure, self.group.is_some(), Ink::for_stdout()))
    }
}
