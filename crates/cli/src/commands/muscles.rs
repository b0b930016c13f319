//! `muscles`: the heads that are known.

use super::{End, answer};
use crate::render;
use desk::Desk;

/// Every muscle head with the joints it crosses
#[derive(clap::Args, Debug)]
#[command(
    long_about = "Every muscle head the program knows: coach's name, id, Latin name, joints it crosses, volume.",
    after_long_help = "Example: which heads of the calf cross the knee as well?
  lengthwise muscles --find gastrocnemius"
)]
pub struct Args {
    /// Only heads whose name, Latin name, id or group contains this
    #[arg(long, value_name = "TEXT")]
    find: Option<String>,
    /// Prints JSON: a list of heads
    #[arg(long)]
    json: bool,
}

impl Args {
    pub fn run(&self) -> End {
        let mut rows = Desk::plain()?.muscles()?;
        if let Some(text) = &self.find {
            let wanted = text.to_lowercase();
            let has = |t: &str| t.to_lowercase().contains(&wanted);
            rows.retain(|r| has(&r.id) || has(&r.plain) || has(&r.latin) || has(&r.group));
        }
        answer(self.json, &rows, || render::lists::muscles(&rows))
    }
}
