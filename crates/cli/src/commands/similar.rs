//! `similar`: what does nearly the same.

use super::{End, answer, mention};
use crate::args::{Set, Shared, Wish, parse_wish};
use crate::render;
use crate::terminal::{Ink, Progress};
use desk::Desk;

/// Nearest movements by what they do to the heads, also with a joint spared
#[derive(clap::Args, Debug)]
#[command(
    long_about = "The movements nearest to this one by what a hard set gives each head. Distance: the sum of volume × \
                  |difference of credit| over all heads, divided by the sum of volume × the larger credit; 0 is the same, \
                  1 no head in common. Credits are those of the mechanics, middle values.",
    after_long_help = "Example: the bench is taken. What does the same with dumb-bells at home?
  lengthwise similar bench-press --kit home-db-24
Example: the client's shoulder aches in the press.
  lengthwise similar bench-press --spare shoulder

--spare keeps movements in which the joint carries at most half the moment, or
three quarters and turns half as far, and leaves out those that warn of the
place. It spares by numbers, not by diagnosis: pain that stays, spreads or
wakes the client belongs to a clinician."
)]
pub struct Args {
    /// Name, id or alias of a movement; settings may follow in braces
    #[arg(value_name = "MOVEMENT", value_parser = parse_wish)]
    movement: Wish,
    /// Only what can be done with this kit: an id, or a file of your own
    #[arg(long, value_name = "ID|FILE")]
    kit: Option<String>,
    /// A place to be spared: shoulder, lower back, knee ...
    #[arg(long, value_name = "PLACE")]
    spare: Option<String>,
    /// How many movements
    #[arg(long, value_name = "N", default_value_t = 8)]
    n: usize,
    #[command(flatten)]
    set: Set,
    #[command(flatten)]
    shared: Shared,
    /// Prints the answer as JSON (its shape: lengthwise schema)
    #[arg(long)]
    json: bool,
}

impl Args {
    pub fn run(&self) -> End {
        let (desk, warnings) = Desk::open(&self.shared.setup())?;
        mention(&warnings);
        let progress = Progress::start("Comparing movements");
        let wish = self.set.under(&self.movement);
        let similar = desk.similar(&wish, self.kit.as_deref(), self.spare.as_deref(), self.n)?;
        drop(progress);
        answer(self.json, &similar, || render::similar::similar(&similar, Ink::for_stdout()))
    }
}
