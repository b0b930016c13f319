//! Is a file right? Client, plan or movement, told apart by ending and content.

use super::{audit, client};
use crate::files;
use crate::problem::{Level, Problem, Report};
use crate::text::{Page, many};
use answer::Status;
use programme::client_names::{KnownNames, unknown_names};
use sheet::plan::PlanOptions;
use std::path::Path;

/// What was found in a file that can be used.
pub struct Checked {
    /// What the file is and holds, with a line end.
    pub summary: String,
    pub warnings: Report,
    /// Postures of a movement file.
    pub picture: Option<figure::Drawing>,
}

/// Checks a file by its name and bytes.
pub fn check(path: &Path, bytes: &[u8]) -> Result<Checked, Report> {
    let name = path.display().to_string();
    if files::extension(path) != "toml" {
        return plan(&name, bytes);
    }
    let text = files::text(&name, bytes.to_vec())?;
    match toml::from_str::<toml::Table>(&text) {
        Ok(t) if t.contains_key("day") => plan(&name, bytes),
        Ok(t) if t.contains_key("lift") || t.contains_key("hold") => family(&name, &text),
        // No TOML at all: a movement's fields tell it from a client's file.
        Err(_) if ["lift", "balanced", "hold"].iter().any(|w| has_field(&text, w)) => family(&name, &text),
        _ => {
            let (client, warnings) = client::read(&text, &name)?;
            client_names(&text, &name)?;
            let missing = client.missing();
            let mut page = Page::default();
            page.prose(&format!("{name}: a client, {}", client.summary(client::today())));
            missing.iter().for_each(|m| page.item(&format!("not said: {m}")));
            Ok(Checked { summary: page.text, warnings, picture: None })
        }
    }
}

/// Days, aims, places of pain, kit and movements that nothing answers to.
fn client_names(text: &str, name: &str) -> Result<(), Report> {
    let desk = super::Desk::plain()?;
    let (rules, heads) = (audit::rules()?, audit::heads(&desk)?);
    let catalogue = &desk.library().catalogue;
    let kits: Vec<&str> = catalogue.kits.iter().map(|k| k.id.as_str()).collect();
    let items: Vec<&str> = catalogue.kits.iter().flat_map(|k| &k.items).map(|i| i.item.as_str()).collect();
    let equipment = [super::kit::equipment(catalogue), items].concat();
    let movements: Vec<&str> = catalogue.movements.iter().flat_map(|m| [m.id.as_str(), m.name.as_str()]).collect();
    let known = KnownNames { rules: &rules, heads: &heads, kits: &kits, equipment: &equipment, movements: &movements };
    let problems = unknown_names(text, name, &known);
    if problems.is_empty() { Ok(()) } else { Err(Report::of(problems.iter().map(client::problem).collect())) }
}

/// Whether a line gives this field or opens a table of this name.
fn has_field(text: &str, field: &str) -> bool {
    text.lines().any(|l| {
        let l = l.trim_start().trim_start_matches('[');
        l.strip_prefix(field).is_some_and(|rest| rest.trim_start().starts_with(['=', ']']))
    })
}

fn plan(name: &str, bytes: &[u8]) -> Result<Checked, Report> {
    let desk = super::Desk::plain()?;
    let plan = audit::read_plan(bytes, name, desk.library().names(), &PlanOptions::default())?;
    let count = |s: Status| plan.entries.iter().filter(|e| e.status == s).count();
    let mut page = Page::default();
    page.prose(&format!(
        "{name}: a plan of {}, {} read as written, {} with an assumption, {} not counted, {} not understood",
        many(plan.weeks.max(1) as usize, "week", "weeks"),
        many(count(Status::Certain), "entry", "entries"),
        count(Status::Assumed),
        count(Status::Ignored),
        count(Status::Unknown)
    ));
    let mut report = Report::default();
    for e in plan.entries.iter().filter(|e| e.status == Status::Unknown) {
        let sheet = if e.sheet.is_empty() { String::new() } else { format!("{}!", e.sheet) };
        let place = format!("{name}, {sheet}{}", sheet::read::cell_name(u64::from(e.row) - 1, u64::from(e.col) - 1));
        let nearest = e.extra.nearest.iter().map(|(n, _)| n.clone()).collect();
        report.problems.push(Problem::warning(place, format!("\"{}\" is not understood", e.text)).nearest(nearest));
    }
    for m in &plan.messages {
        let place = if m.place.is_empty() { name.to_string() } else { format!("{name}, {}", m.place) };
        let level = if m.level == "note" { Level::Note } else { Level::Warning };
        report.problems.push(Problem { level, ..Problem::error(place, m.text.clone()) });
    }
    if count(Status::Certain) + count(Status::Assumed) == 0 {
        report.problems.push(
            Problem::error(name, "no exercise with sets was found").remedy(
                "put one exercise on each row with its sets and repetitions; lengthwise new plan shows a start",
            ),
        );
        return Err(report);
    }
    Ok(Checked { summary: page.text, warnings: report, picture: None })
}

/// Most faults drawn on one sheet.
const MOST_DRAWN: usize = 6;

fn family(name: &str, text: &str) -> Result<Checked, Report> {
    let found = library::Library::check_file(text, name).map_err(|problems| {
        let placed = |p: &movement::family::Problem| {
            let place = if p.line == 0 { p.file.clone() } else { format!("{}:{}:{}", p.file, p.line, p.column) };
            Problem::error(place, p.text.clone())
        };
        Report::of(problems.iter().map(placed).collect())
    })?;
    let mut page = Page::default();
    let verdict = if found.problems.is_empty() {
        "readable, and three bodies (an average man, a small woman, a large man) can do it"
    } else {
        "readable, but not yet a movement that people can do"
    };
    page.prose(&format!("{name}: a movement file, {verdict}"));
    found.notes.iter().for_each(|f| page.item(f));
    let picture = picture(name, &found);
    if found.problems.is_empty() {
        return Ok(Checked { summary: page.text, warnings: Report::default(), picture });
    }
    let placed = |p: &library::FileProblem| {
        let place = if p.line == 0 { name.to_string() } else { format!("{name}:{}:{}", p.line, p.column) };
        Problem::error(place, p.text.clone()).remedy(p.remedy)
    };
    Ok(Checked { summary: page.text, warnings: Report::of(found.problems.iter().map(placed).collect()), picture })
}

/// The faults with their places ringed; a sound movement in its three postures.
fn picture(name: &str, found: &library::FileCheck) -> Option<figure::Drawing> {
    let views: Vec<figure::FaultView> = (found.faults.iter().take(MOST_DRAWN))
        .map(|f| figure::FaultView {
            title: &f.movement,
            text: &f.text,
            scene: &f.scene,
            frame: f.frame,
            point: &f.point,
        })
        .collect();
    if views.is_empty() {
        let (title, scene) = found.sound.as_ref()?;
        let options = figure::SheetOptions {
            theme: &figure::LIGHT,
            views: &[figure::View::Side, figure::View::Front],
            columns: 1,
            cell_px: 220.0,
        };
        return Some(figure::contact_sheet(title, &[(title.as_str(), Ok(scene))], &options));
    }
    Some(figure::fault_card(&format!("What is wrong in {name}"), &views, &figure::LIGHT))
}
