//! `rank`: what trains a head best.

use super::{End, answer, draw_into, mention};
use crate::args::{Output, Shared};
use crate::render;
use crate::terminal::{Ink, Progress};
use desk::{Desk, Drawn};

/// What trains this head best, with this kit, in this body
#[derive(clap::Args, Debug)]
#[command(
    long_about = "Movements ranked for one muscle head in this body, with the reason, the lengths covered and what is \
                  needed. With a kit only what can be done there.",
    after_long_help = "Example: a client trains at home with dumb-bells up to 24 kg. What is left for
the short head of the hamstrings?
  lengthwise rank biceps-femoris-short-head --kit home-db-24
Example: how should the bench and the cable stand for the upper chest?
  lengthwise rank pectoralis-major-clavicular-part --search

Heads: lengthwise muscles. A kit of your own is a text file:
  name = \"Mia's cellar\"
  equipment = [\"dumb-bell\", \"bench\", \"band\"]"
)]
pub struct Args {
    /// Id or coach's name of a muscle head
    #[arg(value_name = "HEAD")]
    head: String,
    /// Id of a shipped kit, or a file with a kit of your own
    #[arg(long, value_name = "ID|FILE")]
    kit: Option<String>,
    /// Searches each movement's set-up (bench, pulley, stance, grip, path) for the
    /// best one, in middle values
    #[arg(long, conflicts_with_all = ["figure", "draws", "seed"])]
    search: bool,
    /// Also shows movements that give it little, and everything left out
    #[arg(long)]
    all: bool,
    #[command(flatten)]
    shared: Shared,
    #[command(flatten)]
    output: Output,
}

impl Args {
    pub fn run(&self) -> End {
        let (desk, warnings) = Desk::open(&self.shared.setup())?;
        mention(&warnings);
        if self.search {
            let progress = Progress::start("Searching set-ups");
            let search = desk.search(&self.head, self.kit.as_deref())?;
            drop(progress);
            let ink = Ink::for_stdout();
            return answer(self.output.json, &search, || render::search::search(&search, self.all, ink));
        }
        let progress = Progress::start("Ranking movements");
        let rank = desk.rank(&self.head, self.kit.as_deref())?;
        draw_into(&self.output, || desk.figure(Drawn::Rank(&rank)))?;
        drop(progress);
        let ink = Ink::for_stdout();
        answer(self.output.json, &rank, || render::rank::rank(&rank, self.all, ink))
    }
}
