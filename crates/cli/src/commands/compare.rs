//! `compare`: movements or variants side by side.

use super::{End, answer, draw_into, mention};
use crate::args::{Output, Set, Shared, Wish, parse_wish};
use crate::render;
use crate::terminal::{Ink, Progress};
use desk::{Desk, Drawn};

/// Movements or variants side by side: what matters, what does not
#[derive(clap::Args, Debug)]
#[command(
    long_about = "Movements, or variants of one movement, side by side. A difference matters when neither \
                  middle value lies in the other's range and the change is at least 0.1; everything else is said not to \
                  matter.",
    after_long_help = "Example: is the seated leg curl worth the walk to the other machine?
  lengthwise compare lying-leg-curl seated-leg-curl

Example: does elbow drift spoil the push-down?
  lengthwise compare push-down 'push-down{drift_deg=40}'

Change is last minus first. --set applies to every movement named."
)]
pub struct Args {
    /// Two or more movements; settings may follow in braces
    #[arg(required = true, num_args = 2.., value_name = "MOVEMENT", value_parser = parse_wish)]
    movements: Vec<Wish>,
    /// Also shows heads that get little from all of them
    #[arg(long)]
    all_heads: bool,
    #[command(flatten)]
    set: Set,
    #[command(flatten)]
    shared: Shared,
    #[command(flatten)]
    output: Output,
}

impl Args {
    pub fn run(&self) -> End {
        let (desk, warnings) = Desk::open(&self.shared.setup())?;
        mention(&warnings);
        let progress = Progress::start("Working the lifts out");
        let wishes: Vec<Wish> = self.movements.iter().map(|w| self.set.under(w)).collect();
        let compare = desk.compare(&wishes, self.output.figure.is_some())?;
        draw_into(&self.output, || desk.figure(Drawn::Compare(&compare)))?;
        drop(progress);
        let ink = Ink::for_stdout();
        answer(self.output.json, &compare, || render::compare::compare(&compare, self.all_heads, ink))
    }
}
