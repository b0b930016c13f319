//! `backup`: everything into one file.

use super::{End, say};
use crate::folder::{Data, help};
use app::state::report;
use desk::problem::Problem;
use desk::text::{WIDTH, wrap};
use std::path::PathBuf;
use store::{FILE, Inside, Opened, Store};

/// Everything you keep, copied into one file
#[derive(clap::Args, Debug)]
#[command(
    long_about = "Copies clients, weeks with their history, templates, bands and corrected names into one file. The app may \
                  be open meanwhile. The copy is looked through before this ends. An older file is never overwritten, \
                  and a damaged store is not copied as if it were sound. The file holds what you wrote about your \
                  clients, unencrypted: keep it where you would keep their files.",
    after_long_help = help("Example: one copy a week, on another disk
  lengthwise backup /media/usb/lengthwise-2026-03-02.db
  lengthwise restore /media/usb/lengthwise-2026-03-02.db")
)]
pub struct Args {
    /// File to write; must not be there yet
    #[arg(value_name = "FILE")]
    file: PathBuf,
    #[command(flatten)]
    data: Data,
}

impl Args {
    pub fn run(&self) -> End {
        let folder = self.data.folder()?;
        let place = folder.join(FILE);
        // Opening would make an empty store, and its copy would pass for a backup.
        if !place.exists() {
            let problem = Problem::error(place.display().to_string(), "there is nothing to back up yet");
            return Err(problem.remedy("name the folder of your data with --data DIR, or open the app once").into());
        }
        let (store, found) = Store::open(&folder).map_err(|e| report(&e))?;
        if let Opened::ReadOnly(why) = found {
            let problem = Problem::error("", why);
            let remedy = "nothing was written; to keep the file as it is, copy it with the tools of your system";
            return Err(problem.remedy(remedy).into());
        }
        store.backup(&self.file).map_err(|e| report(&e))?;
        let inside = store::inspect(&self.file).map_err(|e| report(&e))?;
        say_lines(&[format!("{} holds {}.", self.file.display(), contents(&inside))])
    }
}

/// Sentences, each wrapped on lines of its own.
pub fn say_lines(sentences: &[String]) -> End {
    let lines: Vec<String> = sentences.iter().flat_map(|s| wrap(s, WIDTH, "", "  ")).collect();
    say(&format!("{}\n", lines.join("\n")))
}

/// "5 clients and 40 weeks (320 kB), last changed 2026-03-02 09:30 UTC".
pub fn contents(inside: &Inside) -> String {
    let many = |n: i64, one: &str| format!("{n} {one}{}", if n == 1 { "" } else { "s" });
    let changed = inside.changed.as_deref().map_or_else(String::new, |when| {
        let when = when.trim_end_matches('Z').replace('T', " ");
        format!(", last changed {} UTC", when.get(..16).unwrap_or(&when))
    });
    let (clients, weeks) = (many(inside.clients, "client"), many(inside.weeks, "week"));
    format!("{clients} and {weeks} ({} kB){changed}", inside.bytes.div_ceil(1000))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_backup_holds_is_said_in_one_line() {
        let check = |clients, weeks, changed: Option<&str>, bytes, expected: &str| {
            let inside = Inside { clients, weeks, changed: changed.map(str::to_string), bytes };
            assert_eq!(contents(&inside), expected);
        };
        let when = Some("2026-03-02T09:30:12Z");
        check(1, 12, when, 320_001, "1 client and 12 weeks (321 kB), last changed 2026-03-02 09:30 UTC");
        check(0, 0, None, 4096, "0 clients and 0 weeks (5 kB)");
    }
}
