//! `sources`: where every number comes from.

use super::{End, answer};
use crate::render;

/// Where the numbers come from
#[derive(clap::Args, Debug)]
#[command(
    long_about = "Where the numbers come from. Without an id: every data file with how its rows are known (looked up, from \
                  memory, own estimate, common practice). With an id: every row that names it, with its source.",
    after_long_help = "Example: who says that 6 to 10 sets are enough, and what is behind the soleus?
  lengthwise sources grow
  lengthwise sources soleus"
)]
pub struct Args {
    /// A muscle head, movement, setting, band or row code
    #[arg(value_name = "ID")]
    id: Option<String>,
    /// Prints JSON
    #[arg(long)]
    json: bool,
}

impl Args {
    pub fn run(&self) -> End {
        let sources = desk::sources(self.id.as_deref())?;
        answer(self.json, &sources, || render::sources::sources(&sources))
    }
}
