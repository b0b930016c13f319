//! `rebuild`: the best week inside a client's limits, with its proof.

use super::{End, answer, draw_into, mention};
use crate::args::{Output, Shared};
use crate::render;
use crate::terminal::{Ink, Progress};
use desk::files;
use desk::{Desk, Drawn, PresentWeek, RebuildRequest};
use std::path::PathBuf;

/// The best week for a client, with the proof how good it is
#[derive(clap::Args, Debug)]
#[command(
    long_about = "Builds the week that serves the client's aims best inside their limits: days and minutes, kit, pains and \
                  cautions, what is to stay and what is not wanted. With a plan it changes as little as it can; without \
                  one it builds from the client alone. The answer comes with a bound: no week inside the same limits can \
                  be worth more than that. Where wishes clash it names the fewest that must give way, and by how much.",
    after_long_help = "Example:
  lengthwise rebuild plan.xlsx --client mia.toml
  lengthwise rebuild plan.xlsx --client mia.toml --keep \"back squat\" --new 2
  lengthwise rebuild --client mia.toml --days Monday,Thursday --minutes 30
  lengthwise rebuild plan.xlsx --client mia.toml --must Hamstrings \\
    --write new.xlsx

What never gives way: what a caution or a pain bars, the most credited sets of a
head in one session, few sets of what is new, no jump of a head's dose.
What gives way by its worth: the aims. --must turns an aim into a demand.
A question of another body, kit or pain: --what-if thigh=46 (repeatable; also
stature, mass, any tape measure, kit, days, minutes, pain=\"left knee 6\")."
)]
pub struct Args {
    /// The present week: .xlsx, .ods, .csv or .toml; without it a week from the client alone
    #[arg(value_name = "PLAN")]
    plan: Option<PathBuf>,
    /// Which week of the file; the first one without it
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..))]
    week: Option<u32>,
    /// Kit the week must keep to; the client's own without it
    #[arg(long, value_name = "ID|FILE")]
    kit: Option<String>,
    /// Days by name, "Monday,Thursday", or their number
    #[arg(long, value_name = "DAYS")]
    days: Option<String>,
    /// Minutes of every day; the client's own without it
    #[arg(long, value_name = "MIN", allow_negative_numbers = true)]
    minutes: Option<f64>,
    /// A movement of the plan that stays as it is (repeatable)
    #[arg(long, value_name = "MOVEMENT")]
    keep: Vec<String>,
    /// A movement the week may not hold (repeatable)
    #[arg(long, value_name = "MOVEMENT")]
    avoid: Vec<String>,
    /// A coach group or head whose band must be reached, or NAME=SETS (repeatable)
    #[arg(long, value_name = "NAME")]
    must: Vec<String>,
    /// Most movements that may come in anew
    #[arg(long = "new", value_name = "N")]
    most_new: Option<u32>,
    /// Writes the rebuilt week, its ledger and its proof into a new workbook
    #[arg(long, value_name = "OUT.xlsx")]
    write: Option<PathBuf>,
    /// What moves if the client were otherwise: KEY=VALUE (repeatable)
    #[arg(long, value_name = "KEY=VALUE")]
    what_if: Vec<String>,
    #[command(flatten)]
    shared: Shared,
    #[command(flatten)]
    output: Output,
}

impl Args {
    pub fn run(&self) -> End {
        let (desk, warnings) = Desk::open(&self.shared.setup())?;
        mention(&warnings);
        let progress = Progress::start("Building the week");
        let bytes = self.plan.as_ref().map(|p| files::read(p)).transpose()?;
        let name = self.plan.as_ref().map_or_else(String::new, |p| {
            p.file_name().map_or_else(|| p.display().to_string(), |n| n.to_string_lossy().into())
        });
        let request = RebuildRequest {
            present: bytes.as_ref().map_or(PresentWeek::None, |bytes| PresentWeek::File { bytes, name: &name }),
            week: self.week,
            kit: self.kit.as_deref(),
            days: self.days.as_deref(),
            minutes: self.minutes,
            keep: self.keep.clone(),
            avoid: self.avoid.clone(),
            must: self.must.clone(),
            most_new: self.most_new,
            ..RebuildRequest::default()
        };
        if !self.what_if.is_empty() {
            let told = desk::what_if(&desk, &request, &self.what_if, true, &mut |_| true)?;
            drop(progress);
            return answer(self.output.json, &told, || render::rebuild::what_if(&told, Ink::for_stdout()));
        }
        let built = desk::rebuild(&desk, &request, &mut |_| true)?;
        if let Some(after) = &built.after {
            draw_into(&self.output, || desk.figure(Drawn::Audit(after)))?;
        }
        if let Some(path) = &self.write {
            files::write(path, &desk::rebuilt_workbook(&built)?)?;
        }
        drop(progress);
        answer(self.output.json, &built, || render::rebuild::rebuild(&built, Ink::for_stdout()))
    }
}
