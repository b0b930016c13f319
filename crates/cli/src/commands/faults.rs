//! `faults`: what common faults of a movement change.

use super::{End, answer, mention};
use crate::args::{Set, Shared, Wish, parse_wish};
use crate::render;
use crate::terminal::{Ink, Progress};
use desk::Desk;

/// Common faults of a movement: what changes, and whether it matters
#[derive(clap::Args, Debug)]
#[command(
    long_about = "Every common fault of a movement, solved anew: the setting as it should be against the setting as it \
                  drifts. A head matters when neither middle value lies in the other's range and the change is at \
                  least 0.1; a joint moment when the same holds for its range and it changes by a tenth and 3 N·m. Beside it \
                  stands what coaches expect, and whether we agree.",
    after_long_help = "Example: the knees travel back when the client rises. Worth a word?
  lengthwise faults back-squat

Heads are compared at the hard load of each way of lifting; \"same load\" leaves
the weight as it was. A fault whose setting the movement does not have is left
out, and said so. Nothing here says that a fault hurts or that it is safe."
)]
pub struct Args {
    /// Name, id or alias of a movement; settings may follow in braces
    #[arg(value_name = "MOVEMENT", value_parser = parse_wish)]
    movement: Wish,
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
        let progress = Progress::start("Working the faults out");
        let faults = desk.faults(&self.set.under(&self.movement))?;
        drop(progress);
        answer(self.json, &faults, || render::faults::faults(&faults, Ink::for_stdout()))
    }
}
