//! `draw`: postures of movements into a folder.

use super::{End, mention, say};
use crate::args::{Set, Shared, Wish, parse_wish};
use crate::desk::Desk;
use crate::files;
use crate::problem::{Problem, Report};
use crate::render::text::many;
use crate::terminal::{Progress, warn};
use answer::{MovementRow, Settings};
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
    let plain = |t: &str| t.to_lowercase().replace([' ', '_'], "-");
    let Some(found) = known.iter().find(|k| plain(k) == plain(family)).map(|k| k.to_string()) else {
        let nearest = crate::desk::nearest(family, &known);
        let problem = Problem::error("--family", format!("no family called \"{family}\"")).nearest(nearest);
        return Err(problem.remedy("lengthwise movements lists them").into());
    };
    rows.retain(|r| r.family == found);
    Ok(())
}

/// A movement on the page of all pictures.
struct Shown {
    row: MovementRow,
    /// View and file name.
    files: Vec<(&'static str, String)>,
}

/// A page that shows the pictures by family, side and front beside each other; nothing to fetch from elsewhere.
fn index(shown: &[Shown]) -> String {
    use figure::svg::escape;
    let mut families: Vec<&str> = shown.iter().map(|s| s.row.family.as_str()).collect();
    families.sort_unstable();
    families.dedup();
    let mut page = String::from(
        "<!doctype html><html lang=\"en\"><head><meta charset=\"utf-8\"><meta name=\"viewport\" \
         content=\"width=device-width, initial-scale=1\"><title>Movements</title><style>\
         body{margin:0;padding:16px;background:#fbfaf6;color:#1d2836;font:16px/1.45 system-ui,sans-serif}\
         nav a{margin-right:14px;color:inherit}h2{margin:32px 0 8px}\
         .row{display:grid;grid-template-columns:repeat(auto-fill,minmax(min(100%,640px),1fr));gap:16px}\
         figure{margin:0;padding:8px;background:#fff;border:1px solid #ddd9cf;border-radius:8px}\
         figcaption{font-weight:600}figcaption small{font-weight:400;color:#5d6674}\
         .pair{display:grid;grid-template-columns:1fr 1fr;gap:4px}img{width:100%;height:auto}\
         </style></head><body><h1>Movements</h1><nav>",
    );
    for f in &families {
        page += &format!("<a href=\"#{0}\">{0}</a> ", escape(f));
    }
    page += "</nav>";
    for f in &families {
        page += &format!("<h2 id=\"{0}\">{0}</h2><div class=\"row\">", escape(f));
        for s in shown.iter().filter(|s| s.row.family == *f) {
            page += &format!(
                "<figure><figcaption>{} <small>{}</small></figcaption><div class=\"pair\">",
                escape(&s.row.name),
                escape(&s.row.id)
            );
            for (view, file) in &s.files {
                page += &format!(
                    "<img loading=\"lazy\" src=\"{}\" alt=\"{} from the {view}, three moments\">",
                    escape(file),
                    escape(&s.row.name)
                );
            }
            page += "</div></figure>";
        }
        page += "</div>";
    }
    page + "</body></html>\n"
}

/// A name that is safe as a file's.
fn file_name(movement: &str) -> String {
    let letters = movement.chars().map(|c| if c.is_alphanumeric() || c == '-' || c == '_' { c } else { '-' });
    letters.take(100).collect()
}

impl Args {
    pub fn run(&self) -> End {
        let (desk, warnings) = Desk::open(&self.shared)?;
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
        let mut shown: Vec<Shown> = Vec::new();
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
                    shown.push(Shown { row: desk.movement_row(&id), files });
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
        files::write(&self.out.join("index.html"), index(&shown).as_bytes())?;
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
