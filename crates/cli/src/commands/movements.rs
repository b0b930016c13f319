//! `movements`: the lifts that are known.

use super::{End, answer};
use crate::render;
use desk::Desk;

/// Every movement, by family, kit or part of its name
#[derive(clap::Args, Debug)]
#[command(
    long_about = "Every movement the program knows, by family. JSON also lists each movement's settings.",
    after_long_help = "Example: what can be pressed in a hotel room?
  lengthwise movements --find press --kit home-db-24"
)]
pub struct Args {
    /// Only this family
    #[arg(long, value_name = "F")]
    family: Option<String>,
    /// Only what can be done with this kit: an id, or a file of your own
    #[arg(long, value_name = "ID|FILE")]
    kit: Option<String>,
    /// Only movements whose name or id contains this
    #[arg(long, value_name = "TEXT")]
    find: Option<String>,
    /// Prints JSON: a list of movements with their settings
    #[arg(long)]
    json: bool,
}

impl Args {
    pub fn run(&self) -> End {
        let mut rows = Desk::plain()?.movements(self.kit.as_deref())?;
        if let Some(family) = &self.family {
            super::draw::keep_family(&mut rows, family)?;
        }
        if let Some(text) = &self.find {
            let plain = |t: &str| t.to_lowercase().replace('-', " ");
            let wanted = plain(text);
            rows.retain(|r| plain(&r.id).contains(&wanted) || plain(&r.name).contains(&wanted));
        }
        answer(self.json, &rows, || render::lists::movements(&rows))
    }
}
