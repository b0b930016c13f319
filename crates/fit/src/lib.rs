//! Fits paths and strengths to published numbers. In: the tables of anatomy, tables of published lever arms, lines of
//! action, facts and torques; out: the same tables with better numbers, what was held out, and a page that tells all
//! of it. Must never know: movements, programmes, files, the clock.
//!
//! * [mod@targets]: what is fitted to;
//! * [mod@unit], [mod@skeleton_shift]: what may move, and how far;
//! * [mod@arms]: the fit of paths;
//! * [mod@strength]: the fit of lengths and tensions to torques;
//! * [mod@report]: the page;
//! * [mod@solve]: bounded least squares; [mod@sheet]: tables that are edited cell by cell.

pub mod arms;
pub mod report;
pub mod sheet;
pub mod skeleton_shift;
pub mod solve;
pub mod strength;
pub mod targets;
pub mod unit;

pub use sheet::{Problem, Sheet};

use anatomy::body::Body;
use anatomy::heads::AnatomyTables;
use targets::Targets;
use unit::Unit;

/// Tables as (name below `data/`, text).
pub type Files = Vec<(String, String)>;

/// Predictions of motions that the fit had not seen.
pub const HELD_OUT: &str = "anatomy/fit_held_out.csv";
/// Every fitted number with start, bound and the rows it saw.
pub const LOG: &str = "anatomy/fit_log.csv";

/// Muscle tables from files; those of `folder` (`start/`) instead of the current ones where it has them.
///
/// # Errors
/// Every fault of every table.
pub fn tables(files: &Files, folder: &str) -> Result<AnatomyTables, Vec<Problem>> {
    let mut list: Vec<(&str, &str)> = Vec::new();
    for name in AnatomyTables::FILES {
        let inside = format!("anatomy/{folder}{name}");
        let plain = format!("anatomy/{name}");
        let found = files.iter().find(|f| f.0 == inside).or_else(|| files.iter().find(|f| f.0 == plain));
        list.extend(found.map(|f| (f.0.as_str(), f.1.as_str())));
    }
    AnatomyTables::parse(&list).map_err(|problems| {
        let convert = |p: &anatomy::heads::Problem| Problem {
            file: p.file.clone(),
            line: p.line as usize,
            column: p.column.clone(),
            what: p.error.to_string(),
        };
        problems.iter().map(convert).collect()
    })
}

/// Tables of paths and obstacles, and their units.
struct Paths {
    paths: Sheet,
    obstacles: Sheet,
    units: Vec<Unit>,
}

impl Paths {
    fn read(files: &Files, tables: &AnatomyTables, together: &[Vec<String>]) -> Result<Paths, Problem> {
        let (paths, obstacles) = (Sheet::find(files, unit::PATHS)?, Sheet::find(files, unit::OBSTACLES)?);
        let units = Unit::all(tables, &paths, &obstacles, together)?;
        Ok(Paths { paths, obstacles, units })
    }
}

/// The landmarks: current tables with every path and obstacle at its start.
///
/// # Errors
/// Every fault of every table.
pub fn landmarks(files: &Files) -> Result<AnatomyTables, Vec<Problem>> {
    let one = |p: Problem| vec![p];
    let mut p = Paths::read(files, &tables(files, "")?, &[]).map_err(one)?;
    for u in &p.units {
        u.write(&vec![0.0; u.unknowns.len()], &mut p.paths, &mut p.obstacles).map_err(one)?;
    }
    let mut moved = files.clone();
    replace(&mut moved, unit::PATHS, p.paths.to_csv());
    replace(&mut moved, unit::OBSTACLES, p.obstacles.to_csv());
    tables(&moved, "")
}

/// Puts a table in the place of the one with the same name.
pub fn replace(files: &mut Files, name: &str, text: String) {
    match files.iter_mut().find(|f| f.0 == name) {
        Some(f) => f.1 = text,
        None => files.push((name.into(), text)),
    }
}

/// Targets whose heads are heads or strands of these tables.
///
/// # Errors
/// The first fault of the tables of targets.
pub fn targets(files: &Files, tables: &AnatomyTables, body: &Body) -> Result<Targets, Problem> {
    let known: Vec<String> = unit::everything(tables).into_iter().map(|h| h.id).collect();
    Targets::parse(files, body, &|name| known.iter().any(|k| k == name))
}

/// Heads about which a row tells as a whole, if paths make the arm.
pub fn together(targets: &Targets) -> Vec<Vec<String>> {
    let several = targets.arms.iter().filter(|a| a.asked.by_path() && a.asked.heads.len() > 1);
    several.map(|a| a.asked.heads.clone()).collect()
}

/// Fits the paths. Returns the tables that changed: paths, obstacles, the log and what was held out.
///
/// # Errors
/// Every fault of every table.
pub fn fit_arms(files: &Files) -> Result<Files, Vec<Problem>> {
    let one = |p: Problem| vec![p];
    let body = Body::average_man();
    let tables = tables(files, "")?;
    let targets = targets(files, &tables, &body).map_err(one)?;
    let mut p = Paths::read(files, &tables, &together(&targets)).map_err(one)?;
    let fit = arms::fit(&p.units, &body, &targets);
    let log = arms::write(&fit, &mut p.paths, &mut p.obstacles).map_err(one)?;
    Ok(vec![
        (unit::PATHS.into(), p.paths.to_csv()),
        (unit::OBSTACLES.into(), p.obstacles.to_csv()),
        (LOG.into(), report::log_csv(&log, &fit.units, &targets)),
        (HELD_OUT.into(), report::held_out_csv(&targets, &fit.held_out_mm, &fit.bones_held_out_mm)),
    ])
}

/// Fits anchors, divisors and tensions. Returns the tables that changed.
///
/// # Errors
/// Every fault of every table.
pub fn fit_strength(files: &Files) -> Result<Files, Vec<Problem>> {
    let model = strength::Model::read(files)?;
    let solution = model.solve();
    model.write(files, &tables(files, "")?, &solution).map_err(|p| vec![p])
}
