//! `restore`: back to a backup.

use super::End;
use super::backup::{contents, say_lines};
use crate::folder::{Data, help};
use app::state::report;
use std::path::PathBuf;

/// Puts a backup in the place of your data
#[derive(clap::Args, Debug)]
#[command(
    long_about = "Puts a file that `lengthwise backup` wrote in the place of your data. The file is looked through first: a \
                  damaged one, or one of a newer program, changes nothing. What was there before is kept beside it under \
                  another name, so a restore can be taken back by restoring that. End the app before.",
    after_long_help = help("Example: look what is in it before, then restore
  lengthwise restore lengthwise-2026-03-02.db --look
  lengthwise restore lengthwise-2026-03-02.db")
)]
pub struct Args {
    /// The backup
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Says what is in the backup and changes nothing
    #[arg(long)]
    look: bool,
    #[command(flatten)]
    data: Data,
}

impl Args {
    pub fn run(&self) -> End {
        let inside = store::inspect(&self.file).map_err(|e| report(&e))?;
        if self.look {
            let holds = format!("{} holds {}.", self.file.display(), contents(&inside));
            return say_lines(&[holds, "Nothing was changed.".into()]);
        }
        let folder = self.data.folder()?;
        let kept = store::restore(&folder, &self.file).map_err(|e| report(&e))?;
        let before = match kept {
            Some(path) => format!("What was there before is kept as {}.", path.display()),
            None => "There was nothing there before.".to_string(),
        };
        say_lines(&[format!("{} now holds {}.", folder.display(), contents(&inside)), before])
    }
}
