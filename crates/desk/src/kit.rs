//! What stands in a gym: a shipped kit by its id, or a file of the coach's own.

use crate::files;
use crate::problem::{Problem, Report};
use movement::catalogue::{Catalogue, Kit, KitItem};
use serde::Deserialize;
use std::path::Path;

/// A kit and where it comes from.
pub struct GivenKit {
    pub kit: Kit,
    /// Known to the library by its id.
    pub shipped: bool,
}

/// A coach's own kit file.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct OwnKit {
    name: String,
    equipment: Vec<String>,
}

/// A kit by id, or out of a file when such a file exists or the word looks like one.
pub fn read(id_or_file: &str, catalogue: &Catalogue) -> Result<GivenKit, Report> {
    if let Some(kit) = catalogue.kit(id_or_file) {
        return Ok(GivenKit { kit: kit.clone(), shipped: true });
    }
    let path = Path::new(id_or_file);
    if path.is_file() || files::extension(path) == "toml" {
        return own(path, catalogue).map(|kit| GivenKit { kit, shipped: false });
    }
    let ids: Vec<&str> = catalogue.kits.iter().map(|k| k.id.as_str()).collect();
    let nearest = super::nearest(id_or_file, &ids);
    let nearest = if nearest.is_empty() { ids.iter().map(|s| s.to_string()).collect() } else { nearest };
    let problem = Problem::error("--kit", format!("no kit called \"{id_or_file}\", and no file of that name"));
    Err(problem.nearest(nearest).into())
}

fn own(path: &Path, catalogue: &Catalogue) -> Result<Kit, Report> {
    let text = files::read_text(path)?;
    let place = path.display().to_string();
    let own: OwnKit = toml::from_str(&text).map_err(|e| {
        let line = e.span().map_or(1, |s| 1 + text[..s.start.min(text.len())].matches('\n').count());
        let expected = "name = \"…\" and equipment = [\"dumb-bell\", \"bench\"]";
        Report::from(Problem::error(format!("{place}:{line}"), e.message()).expected(expected))
    })?;
    let known = equipment(catalogue);
    let unknown = own.equipment.iter().filter(|e| !known.contains(&e.as_str()));
    let problems: Vec<Problem> = unknown
        .map(|e| Problem::error(&place, format!("no equipment called \"{e}\"")).nearest(super::nearest(e, &known)))
        .collect();
    if !problems.is_empty() {
        return Err(Report::of(problems));
    }
    Ok(of_items(&own.name, &own.equipment))
}

/// Every equipment word of the list of movements.
pub fn equipment(catalogue: &Catalogue) -> Vec<&str> {
    let mut known: Vec<&str> =
        catalogue.movements.iter().flat_map(|m| m.equipment.iter().map(String::as_str)).collect();
    known.sort_unstable();
    known.dedup();
    known
}

/// A kit of plain equipment words.
pub fn of_items(name: &str, equipment: &[String]) -> Kit {
    let item =
        |e: &String| KitItem { item: e.clone(), provides: vec![e.clone()], loads_kg: Vec::new(), note: String::new() };
    Kit { id: String::new(), name: name.into(), items: equipment.iter().map(item).collect() }
}
