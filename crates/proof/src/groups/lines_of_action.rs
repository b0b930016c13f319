//! Published directions of pull on the humerus against the model's, as the angle between them.

use crate::cases::{CaseError, Table, judged};
use crate::model::Subject;
use answer::ProofRow;
use library::Library;
use units::{V3, deg, rad};

pub const NAME: &str = "lines-of-action";
pub const CASES: &str = include_str!("../../../../data/proof/lines-of-action.csv");

pub fn judge(library: &Library, table: &Table) -> Result<Vec<ProofRow>, CaseError> {
    let man = Subject::table_man(library);
    table
        .cases()
        .map(|row| {
            let head = man.heads(row.text("heads")?).map_err(|e| row.wrong("heads", e))?[0][0];
            let stance = row.stances("posture")?[0];
            let frame = man.frame(&stance);
            let scapula = stance.side(&man.body).girdle_pose.scapula.rotation;
            // Blade axes at rest, thorax axes: along the blade sideways, normal to it forward, up.
            let turn = rad(row.number("blade_deg")?);
            let along = V3::new(turn.sin(), 0.0, turn.cos());
            let normal = V3::new(turn.cos(), 0.0, -turn.sin());
            let pull = scapula.transpose() * frame.heads[head].pull_on_humerus;
            let ours = V3::new(pull.dot(&along), pull.dot(&normal), pull.y).normalize();
            let published = V3::new(row.number("sideways")?, row.number("forward")?, row.number("up")?);
            if published.norm() < 0.5 {
                return Err(row.error("`sideways`, `forward`, `up` are no direction, expected a unit vector"));
            }
            let angle = deg(ours.dot(&published.normalize()).clamp(-1.0, 1.0).acos());
            Ok(judged(row.comparison(NAME)?, "°", angle, 0.0, row.number("tolerance_deg")?))
        })
        .collect()
}
