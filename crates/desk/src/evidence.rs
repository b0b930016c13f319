//! Training studies beside what is predicted of them.

use crate::files;
use crate::problem::{Problem, Report};
use ::evidence::import::{ConditionFound, Imported, Source, import};
use ::evidence::{bench, data, format};
use answer::Evidence;
use library::Library;
use std::path::Path;

/// The shipped studies with the halves that were not looked at; with a folder the studies of that folder alone, judged
/// with the shipped calibration. What could not be used comes as warnings and under `unmapped`.
pub fn evidence(from: Option<&Path>) -> Result<(Evidence, Report), Report> {
    let library = Library::embedded().map_err(|e| Report::internal(format!("the shipped data: {e}")))?;
    let Some(folder) = from else { return Ok((evidence_of(&library)?, Report::default())) };
    let files = files::folder(folder)?;
    let evidence = bench::of_files(&library, &files).map_err(Report::internal)?;
    if evidence.studies.is_empty() {
        let place = folder.display().to_string();
        let none = Problem::error(place, "the folder holds no study that could be read");
        let mut report = warnings(&evidence);
        report.problems.push(none.expected("a .toml file a study").remedy("docs/evidence_format.md shows one"));
        return Err(report);
    }
    let warnings = warnings(&evidence);
    Ok((evidence, warnings))
}

/// The shipped studies, for a library that is open already.
pub fn evidence_of(library: &Library) -> Result<Evidence, Report> {
    bench::shipped(library).map_err(Report::internal)
}

fn warnings(e: &Evidence) -> Report {
    let mut out = Report::default();
    for u in &e.unmapped {
        out.problems.push(Problem::warning(u.place.clone(), format!("{}: {}", u.what, u.reason)));
    }
    out
}

/// One study's results beside what is predicted, as SVG; without a name all studies that measured percent.
pub fn study_picture(e: &Evidence, study: Option<&str>) -> Result<String, Report> {
    let wanted: Vec<&answer::EvidenceStudy> = e.studies.iter().filter(|s| study.is_none_or(|id| s.id == id)).collect();
    if let (Some(id), true) = (study, wanted.is_empty()) {
        return Err(unknown_study(e, id));
    }
    let none = || {
        let what = "no picture: no result of these studies has both a measured change in percent and a prediction";
        Report::from(Problem::error("--figure", what))
    };
    figure::study_card(&wanted, &figure::Card::default()).map(|d| d.svg).ok_or_else(none)
}

fn unknown_study(e: &Evidence, id: &str) -> Report {
    let known: Vec<&str> = e.studies.iter().map(|s| s.id.as_str()).collect();
    Problem::error("--study", format!("there is no study \"{id}\"")).nearest(crate::nearest(id, &known)).into()
}

/// Leaves one study and its rows.
pub fn keep_study(e: &mut Evidence, study: &str) -> Result<(), Report> {
    if !e.studies.iter().any(|s| s.id == study) {
        return Err(unknown_study(e, study));
    }
    e.studies.retain(|s| s.id == study);
    e.rows.retain(|r| r.study == study);
    e.unmapped.retain(|u| u.study == study);
    Ok(())
}

/// What came of an import, for the text of the command.
pub struct ImportDone {
    /// Files written.
    pub files: Vec<String>,
    pub conditions: Vec<ConditionFound>,
    /// Conditions whose movements by name are those of the table of readings, and how many have a reading.
    pub agree: (usize, usize),
    pub results: usize,
    pub contrasts: usize,
    /// What could not be mapped, with place.
    pub unmapped: Report,
}

/// Turns a table of results and a table of contrasts into one file a study in `out`. Readings of conditions: the shipped
/// ones, or those of a table; `by_name`: none, so that every movement is found by its name.
pub fn import_studies(
    results: &Path,
    contrasts: &Path,
    readings: Option<&Path>,
    by_name: bool,
    out: &Path,
) -> Result<ImportDone, Report> {
    let library = Library::embedded().map_err(|e| Report::internal(format!("the shipped data: {e}")))?;
    let (r, c) = (files::read_text(results)?, files::read_text(contrasts)?);
    let read = match (readings, by_name) {
        (_, true) => None,
        (Some(path), _) => Some((path.display().to_string(), files::read_text(path)?)),
        (None, _) => Some(("the shipped readings".to_string(), data::READINGS.to_string())),
    };
    let (rn, cn) = (results.display().to_string(), contrasts.display().to_string());
    let made: Imported = import(
        &library,
        Source { file: &rn, text: &r },
        Source { file: &cn, text: &c },
        read.as_ref().map(|(file, text)| Source { file, text }),
    );
    let mut unmapped = Report::default();
    for i in &made.issues {
        unmapped.problems.push(Problem::warning(i.place(), format!("{}: {}", i.what, i.text)));
    }
    if made.studies.is_empty() {
        unmapped.problems.push(Problem::error(rn, "no study could be read").remedy("see docs/evidence_format.md"));
        return Err(unmapped);
    }
    files::make_folder(out)?;
    let mut written = Vec::new();
    for s in &made.studies {
        let path = out.join(format!("{}.toml", file_name(&s.id)));
        let text = format::write(s).map_err(Report::internal)?;
        files::write(&path, text.as_bytes())?;
        written.push(path.display().to_string());
    }
    let judged: Vec<bool> = made.conditions.iter().filter_map(ConditionFound::agree).collect();
    Ok(ImportDone {
        files: written,
        agree: (judged.iter().filter(|a| **a).count(), judged.len()),
        results: made.studies.iter().map(|s| s.result.len()).sum(),
        contrasts: made.studies.iter().map(|s| s.contrast.len()).sum(),
        conditions: made.conditions,
        unmapped,
    })
}

/// A study's id as the name of a file: no way out of the folder.
fn file_name(id: &str) -> String {
    let plain = |c: char| if c.is_alphanumeric() || c == '-' || c == '_' { c } else { '-' };
    id.chars().map(plain).take(80).collect()
}
