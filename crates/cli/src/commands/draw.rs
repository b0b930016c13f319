//! `draw`: postures of movements into a folder.

use super::{End, mention, say};
use crate::args::{Set, Shared, Wish, parse_wish};
use crate::render::text::many;
use crate::terminal::{Progress, warn};
use answer::{MovementRow, Settings};
use desk::Desk;
use desk::files;
use desk::problem::Report;
use figure::{Indexed, html_index};
use std::path::PathBuf;

/// Draws movements from the side and the front into a folder
#[derive(clap::Args, Debug)]
#[command(
    long_about = "Draws movements in this body from the side and from the front at start, middle and turn, one pair of \
                  files a movement, and a page index.html that shows them all by family. A movement that cannot be \
                  drawn is named at the end with the reason; the others are drawn all the same.",
    after_long_help = "Example: pictures of the client's own squat and of every leg curl:
  lengthwise draw back-squat --client mia.toml --out pictures
  lengthwise draw --family leg-curl --out pictures --png"
)]
#[command(group = clap::ArgGroup::new("what").required(true).args(["movements", "family", "all"]))]
pub struct Args {
    /// Movements to draw; settings may follow in braces
    #[arg(value_name = "MOVEMENT", value_parser = parse_wish)]
    movements: Vec<Wish>,
    /// Every movement of a family
    #[arg(long, value_name = "F")]
    family: Option<String>,
    /// Every movement
    #[arg(long)]
    all: bool,
    /// Folder for the pictures; made when it is not there
    #[arg(long, value_name = "DIR", required = true)]
    out: PathBuf,
    /// Writes .png instead of .svg
    #[arg(long)]
    png: bool,
    #[command(flatten)]
    set: Set,
    #[command(flatten)]
    shared: Shared,
}

/// Keeps the rows of a family; an unknown family is named with the known ones near it.
pub(super) fn keep_family(rows: &mut Vec<MovementRow>, family: &str) -> End {
    let mut known: Vec<&str> = rows.iter().map(|r| r.family.as_str()).collect();
    known.sort_unstable();
    known.dedup();
    let found = desk::known_family("--family", family, &known)?;
    rows.retain(|r| r.family == found);
    Ok(())
}

/// A name that is safe as a file's.
fn file_name(movement: &str) -> String {
    let letters = movement.chars().map(|c| if c.is_alphanumeric() || c == '-' || c == '_' { c } else { '-' });
    letters.take(100).collect()
}

impl Args {
    pub fn run(&self) -> End {
        let (desk, warnings) = Desk::open(&self.shared.setup())?;
        mention(&warnings);
        let wishes: Vec<Wish> = if self.movements.is_empty() {
            let mut rows = desk.movements(None)?;
            if let Some(family) = &self.family {
                keep_family(&mut rows, family)?;
            }
            rows.into_iter().map(|r| Wish { movement: r.id, settings: Settings::new() }).collect()
        } else {
            self.movements.clone()
        };
        files::make_folder(&self.out)?;
        let progress = Progress::start("Drawing");
        let ending = if self.png { "png" } else { "svg" };
        let (mut drawn, mut failed) = (0, Report::default());
        let mut shown: Vec<Indexed> = Vec::new();
        for wish in &wishes {
            match desk.postures(&self.set.under(wish)) {
                Ok((id, views)) => {
                    let mut files = Vec::new();
                    for (view, svg) in views {
                        let name = format!("{}-{view}.{ending}", file_name(&id));
                        super::write_figure(&self.out.join(&name), &svg)?;
                        files.push((view, name));
                        drawn += 1;
                    }
                    let row = desk.movement_row(&id);
                    shown.push(Indexed { group: row.family, name: row.name, id: row.id, files });
                }
                Err(mut report) => {
                    failed.internal |= report.internal;
                    for p in report.problems.iter_mut().filter(|p| p.place.is_empty()) {
                        p.place.clone_from(&wish.movement);
                    }
                    failed.problems.append(&mut report.problems);
                }
            }
        }
        drop(progress);
        files::write(&self.out.join("index.html"), html_index("Movements", &shown, &figure::LIGHT).as_bytes())?;
        say(&format!("{} in {}; index.html shows them all\n", many(drawn, "picture", "pictures"), self.out.display()))?;
        if failed.problems.is_empty() {
            return Ok(());
        }
        if drawn > 0 {
            warn(&format!(
                "{} not drawn:\n",
                many(failed.problems.len(), "problem; a movement was", "problems; movements were")
            ));
        }
        Err(failed)
    }
}
