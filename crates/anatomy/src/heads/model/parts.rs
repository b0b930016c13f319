//! The numbers behind the heads of a person, so that another program can be fed with them.

use super::*;

/// What one head is made of, scaled to the person.
#[derive(Clone, Debug)]
pub struct HeadParts<'a> {
    /// Paths over pelvis 0 and femur 1, with their share of the head's force.
    pub leg: &'a [(Path, f64)],
    /// Paths over thorax 0, clavicle 1, scapula 2 and humerus 3.
    pub arm: &'a [(Path, f64)],
    /// Whether an arm path crosses the sternoclavicular, acromioclavicular, glenohumeral joint.
    pub crosses: [bool; 3],
    /// Factor on the lever arms of each hinge table of the head, in the table's order; no unit.
    pub hinge_scales: Vec<f64>,
    /// Normalised fibre length in the zero posture.
    pub anchor: f64,
    /// Normalised fibre length per metre of path, 1/m.
    pub per_length: f64,
    pub max_force_n: f64,
}

impl MuscleModel {
    /// What a head is made of in this person.
    pub fn parts(&self, tables: &AnatomyTables, body: &Body, head: usize) -> HeadParts<'_> {
        let h = &self.heads[head];
        HeadParts {
            leg: &h.leg,
            arm: &h.arm,
            crosses: h.crosses,
            hinge_scales: tables.heads[head].hinges.iter().map(|t| hinge_scale(body, t.row.joint())).collect(),
            anchor: h.anchor,
            per_length: h.per_length,
            max_force_n: h.max_force_n,
        }
    }
}
