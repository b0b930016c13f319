//! `look`: what a movement, done this way, trains in this body.

use super::{End, answer, draw_into, mention};
use crate::args::{Output, Set, Shared, Wish, parse_wish};
use crate::render;
use crate::terminal::{Ink, Progress};
use desk::{Desk, Drawn};

/// What a movement, done this way, trains in this body
#[derive(clap::Args, Debug)]
#[command(
    long_about = "What a movement, done this way, trains in this body: every muscle head with the size of the stimulus of \
                  one hard set, the lengths it works at, and the joints that help or cancel each other.",
    after_long_help = "Example: does a deeper squat change anything for this client?
  lengthwise look back-squat --client mia.toml
  lengthwise look 'back-squat{depth_knee_deg=130}' --client mia.toml
Example: why does the squat give the rectus femoris so little?
  lengthwise look back-squat --why rectus-femoris

Read the first line first: it is the finding. ■■■■ prime, ■■■□ strong,
■■□□ some, ■□□□ little. \"hip +25, knee −37\" means the hip makes the muscle
25 mm longer over the lift while the knee makes it 37 mm shorter.

Put movement{key=value,key=value} in quotes, or the shell takes it apart.
Settings of a movement: lengthwise movements --find NAME --json"
)]
pub struct Args {
    /// Name, id or alias of a movement; settings may follow in braces
    #[arg(required = true, value_name = "MOVEMENT", value_parser = parse_wish)]
    movements: Vec<Wish>,
    /// Says for one head what drives its verdict and what would change it
    #[arg(long, value_name = "HEAD", conflicts_with_all = ["all_heads", "figure"])]
    why: Option<String>,
    /// Also shows heads that get little
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
        let progress = Progress::start("Working the lift out");
        if let Some(head) = &self.why {
            return self.why(&desk, head, progress);
        }
        let scene = self.output.figure.is_some();
        let wishes: Vec<Wish> = self.movements.iter().map(|w| self.set.under(w)).collect();
        let looks = desk.looks(&wishes, scene)?;
        draw_into(&self.output, || desk.figure(Drawn::Looks(&looks)))?;
        drop(progress);
        let ink = Ink::for_stdout();
        let text = || {
            let texts: Vec<String> = looks.iter().map(|l| render::look::look(l, self.all_heads, ink)).collect();
            texts.join("\n")
        };
        match looks.as_slice() {
            [one] => answer(self.output.json, one, text),
            more => answer(self.output.json, more, text),
        }
    }

    fn why(&self, desk: &Desk, head: &str, progress: Progress) -> End {
        let whys = self.movements.iter().map(|w| desk.why(&self.set.under(w), head)).collect::<Result<Vec<_>, _>>()?;
        drop(progress);
        let ink = Ink::for_stdout();
        let text = || whys.iter().map(|w| render::why::why(w, ink)).collect::<Vec<_>>().join("\n");
        match whys.as_slice() {
            [one] => answer(self.output.json, one, text),
            more => answer(self.output.json, more, text),
        }
    }
}
