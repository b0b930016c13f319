//! Which muscle heads a comparison is about: those its case names; for a torque or a moment those that give a fair part
//! of it; for a load those that the convention calls direct work of the movement; else none.

use crate::cases::{CaseError, Row, Table};
use crate::groups::ALL;
use crate::model::Subject;
use crate::posture::{Axis, Stance, stances};
use crate::solved::{heads_named, opposite_axis};
use answer::ProofRow;
use library::Library;
use std::collections::BTreeMap;

/// A head that gives less than this part of a torque at full activation is not what a torque is about (own choice).
const LEAST_SHARE: f64 = 0.05;

/// Where the parts of a moment are told for a case that names no posture: joints half bent (own choice).
const MIDDLE: &str = "hip=45 knee=45 shoulder=45/45/0 elbow=60";

/// Heads of every shipped case.
pub struct Touched {
    /// By group and id; indices of heads, rising.
    by_case: BTreeMap<(&'static str, String), Vec<usize>>,
}

impl Touched {
    /// # Errors
    /// A case table that cannot be read, with line and column.
    pub fn new(library: &Library) -> Result<Touched, CaseError> {
        let man = Subject::table_man(library);
        let mut by_case: BTreeMap<(&'static str, String), Vec<usize>> = BTreeMap::new();
        for group in ALL {
            let table = Table::parse(&format!("data/proof/{}.csv", group.name), group.cases)?;
            for row in table.cases() {
                let mut found = heads_of_case(&man, &row)?;
                let known = by_case.entry((group.name, row.text("id")?.to_string())).or_default();
                known.append(&mut found);
                known.sort_unstable();
                known.dedup();
            }
        }
        Ok(Touched { by_case })
    }

    /// Indices of the heads a comparison is about; empty for what concerns no single muscle, and for rows of further
    /// tables.
    pub fn heads_of(&self, row: &ProofRow) -> &[usize] {
        let key = ALL.iter().find(|g| g.name == row.group).map(|g| (g.name, row.id.clone()));
        key.and_then(|k| self.by_case.get(&k)).map_or(&[], Vec::as_slice)
    }
}

fn heads_of_case(man: &Subject, row: &Row) -> Result<Vec<usize>, CaseError> {
    let mut out = Vec::new();
    let named = |column: &str| {
        heads_named(man.library, &row.optional(column).replace('+', ";")).map_err(|e| row.wrong(column, e))
    };
    // A torque has its direction, `+` or `-`, under `sign` or under `heads`.
    let direction = |column: &str| match row.optional(column) {
        "+" => Some(1.0),
        "-" => Some(-1.0),
        _ => None,
    };
    match direction("sign").or_else(|| direction("heads")) {
        Some(sign) => {
            let here = row.stances("posture")?;
            out.extend(movers(man, row.axis("axis")?, sign, here.first()));
            if !row.optional("axis_b").is_empty() || direction("sign_b").is_some() {
                let axis = if row.optional("axis_b").is_empty() { row.axis("axis")? } else { row.axis("axis_b")? };
                out.extend(movers(man, axis, direction("sign_b").unwrap_or(sign), here.first()));
            }
        }
        None => {
            out.extend(named("heads")?);
            // In a ranking the right side is only the field.
            if matches!(row.optional("op"), "above" | "below") {
                out.extend(named("heads_b")?);
            }
        }
    }
    out.extend(named("lost")?);
    for column in ["measure", "measure_b"] {
        out.extend(measured(man, row.optional(column), row.optional("movement")).map_err(|e| row.wrong(column, e))?);
    }
    Ok(out)
}

/// Heads of a measure as [`crate::solved::Loaded::measure`] reads it.
fn measured(man: &Subject, measure: &str, movement: &str) -> Result<Vec<usize>, String> {
    let (kind, rest) = measure.trim().split_once(' ').unwrap_or((measure.trim(), ""));
    Ok(match kind {
        "quotient" => {
            let (over, under) = rest.split_once(" : ").unwrap_or((rest, ""));
            [measured(man, over, movement)?, measured(man, under, movement)?].concat()
        }
        "activation" | "stimulus" | "length" | "force" | "rise" | "rise-ratio" => heads_named(man.library, rest)?,
        "share" | "tendon-arm" => heads_named(man.library, rest.split(" of ").next().unwrap_or(""))?,
        "moment" | "planar-moment" | "mean-moment" | "peak-place" => {
            let (axis, sign) = match Axis::parse(rest) {
                Ok(axis) => (axis, 1.0),
                Err(e) => (Axis::parse(&opposite_axis(rest).ok_or(e)?)?, -1.0),
            };
            movers(man, axis, sign, stances(MIDDLE)?.first())
        }
        "load" | "best-load" => {
            let id = movement.split('{').next().unwrap_or(movement);
            let work = man.library.catalogue.convention(id).unwrap_or_default();
            let direct = work.iter().filter(|(_, credit)| *credit >= 1.0);
            direct.filter_map(|(head, _)| man.library.tables.head_index(head)).collect()
        }
        _ => Vec::new(),
    })
}

/// Heads that give a fair part of a torque.
fn movers(man: &Subject, axis: Axis, sign: f64, stance: Option<&Stance>) -> Vec<usize> {
    let Some(stance) = stance else { return Vec::new() };
    (0..man.model.len()).filter(|h| man.torque_share(&[*h], axis, sign, stance) >= LEAST_SHARE).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn library() -> Library {
        Library::embedded().expect("the shipped data parses")
    }

    #[test]
    fn a_case_is_about_the_heads_it_names_or_those_that_turn_the_joint() {
        let library = library();
        let touched = Touched::new(&library).expect("the case tables parse");
        // (group, id, heads that must be there, a head that must not).
        let check = |group: &str, id: &str, wanted: &[&str], unwanted: &str| {
            let row = ProofRow { group: group.into(), id: id.into(), ..ProofRow::default() };
            let ids: Vec<&str> = touched.heads_of(&row).iter().map(|h| library.tables.heads[*h].id.as_str()).collect();
            assert!(wanted.iter().all(|w| ids.contains(w)) && !ids.contains(&unwanted), "{group} {id}: {ids:?}");
            if wanted.is_empty() {
                assert!(ids.is_empty(), "{group} {id}: {ids:?}");
            }
        };
        check("moment-arms", "recalled-hip-043", &["psoas-major", "iliacus"], "rectus-femoris");
        check("torque-angle", "lower-02", &["vastus-lateralis", "rectus-femoris"], "semitendinosus");
        check("torque-facts", "elbow-peak-60", &["brachialis", "biceps-brachii-long-head"], "anconeus");
        check("training-and-emg-facts", "leg-43", &["gluteus-maximus-middle-part"], "vastus-lateralis");
        check("exercise-moments", "hex-bar-lumbar", &["erector-spinae-longissimus"], "rectus-abdominis");
        check("strength-ratios", "band-barbell-curl", &["biceps-brachii-long-head"], "soleus");
        check("load-shares", "plantarflexion-soleus", &["soleus"], "gastrocnemius-medial-head");
        check("lesion-facts", "cuff-deltoid-spinal", &["supraspinatus", "deltoid-spinal-part"], "soleus");
        // In a ranking only the heads ranked count, not the field.
        check("shoulder-signs", "U01", &["deltoid-acromial-part", "deltoid-clavicular-part"], "teres-minor");
        check("anthropometry", "survey-male-shank", &[], "");
        check("contact-forces", "hip-one-leg-stance", &[], "");
    }
}
