//! What is moved together: the points and obstacles of one head, or of one strand where strands have names of their
//! own; of several heads where published numbers tell about them as a whole. Strands numbered with `#` are strips of
//! one attachment and keep their formation.

use crate::sheet::{Problem, Sheet};
use crate::skeleton_shift::Shift;
use anatomy::body::Body;
use anatomy::heads::{AnatomyTables, Bone, Head, MuscleModel, Variation};
use anatomy::path::Obstacle;
use units::V3;

pub const PATHS: &str = "anatomy/paths.csv";
pub const OBSTACLES: &str = "anatomy/obstacles.csv";
const AXES: [&str; 3] = ["x", "y", "z"];

/// One coordinate of a strand.
#[derive(Clone, Copy, Debug, PartialEq)]
enum What {
    Point { order: usize, axis: usize },
    Centre { after: usize, axis: usize },
    Radius { after: usize },
}

/// A coordinate with its place in the tables.
#[derive(Clone, Copy, Debug)]
struct Cell {
    head: usize,
    strand: usize,
    what: What,
    /// Row of `paths.csv` or `obstacles.csv`.
    row: usize,
    start_mm: f64,
}

/// One unknown: it moves one or more cells by the same distance.
#[derive(Clone, Debug)]
pub struct Unknown {
    cells: Vec<Cell>,
    /// Distance from the start at −1 and +1, mm.
    pub low_mm: f64,
    pub high_mm: f64,
}

impl Unknown {
    /// Distance from the start, mm, for a value in [−1, 1]: 0 at 0, the bounds at ±1.
    pub fn shift_mm(&self, value: f64) -> f64 {
        if value < 0.0 { -value * self.low_mm } else { value * self.high_mm }
    }
}

/// Heads or strands with their unknowns.
#[derive(Clone, Debug)]
pub struct Unit {
    pub unknowns: Vec<Unknown>,
    /// Tables with these heads (or strands) alone.
    tables: AnatomyTables,
    /// Points of every head's strands before any fit.
    starts: Vec<Vec<Vec<(Bone, V3)>>>,
}

/// A fitted cell for the log.
#[derive(Clone, Debug)]
pub struct Fitted {
    pub strand: String,
    pub what: String,
    pub start_mm: f64,
    pub low_mm: f64,
    pub high_mm: f64,
    pub value_mm: f64,
}

impl Unit {
    /// All units in the order of the heads. Heads without a bound in the tables have none. `together`: names that must
    /// share a unit.
    ///
    /// # Errors
    /// A number that is missing or unreadable in the columns of starts and bounds.
    pub fn all(
        tables: &AnatomyTables,
        paths: &Sheet,
        obstacles: &Sheet,
        together: &[Vec<String>],
    ) -> Result<Vec<Unit>, Problem> {
        let mut groups: Vec<Vec<Head>> = Vec::new();
        for part in parts(tables) {
            let mates = |g: &Vec<Head>| {
                let both = |t: &Vec<String>| t.contains(&part.id) && g.iter().any(|h| t.contains(&h.id));
                together.iter().any(both)
            };
            match groups.iter_mut().find(|g| mates(g)) {
                Some(g) => g.push(part),
                None => groups.push(vec![part]),
            }
        }
        let mut out = Vec::new();
        for heads in groups {
            let mut unknowns = Vec::new();
            for (i, head) in heads.iter().enumerate() {
                unknowns.extend(self::unknowns(i, head, paths, obstacles)?);
            }
            if !unknowns.is_empty() {
                let mut unit = Unit { unknowns, tables: only(tables, heads), starts: Vec::new() };
                unit.place(&vec![0.0; unit.unknowns.len()]);
                let points = |h: &Head| h.strands.iter().map(|s| s.points.clone()).collect();
                unit.starts = unit.tables.heads.iter().map(points).collect();
                out.push(unit);
            }
        }
        Ok(out)
    }

    pub fn heads(&self) -> &[Head] {
        &self.tables.heads
    }

    /// Names of the heads, joined.
    pub fn name(&self) -> String {
        self.tables.heads.iter().map(|h| h.id.as_str()).collect::<Vec<_>>().join("+")
    }

    /// Places of heads that all belong to this unit, with their share of the force.
    pub fn shares(&self, heads: &[String]) -> Option<Vec<(usize, f64)>> {
        shares(&self.tables.heads, heads)
    }

    /// Whether the paths run over trunk and arm, not over the leg.
    pub fn on_the_arm(&self) -> bool {
        self.tables.heads[0].path_joint() != Some(anatomy::skeleton::Joint::Hip)
    }

    /// The head's muscle model with the unknowns at these values in [−1, 1].
    pub fn model(&mut self, body: &Body, values: &[f64]) -> MuscleModel {
        self.place(values);
        MuscleModel::new(&self.tables, body, &Variation::none())
    }

    fn place(&mut self, values: &[f64]) {
        for (u, v) in self.unknowns.iter().zip(values) {
            for c in &u.cells {
                let value_m = 1e-3 * (c.start_mm + u.shift_mm(*v));
                let strand = &mut self.tables.heads[c.head].strands[c.strand];
                match c.what {
                    What::Point { order, axis } => strand.points[order].1[axis] = value_m,
                    What::Centre { after, axis } => {
                        if let Some(o) = strand.obstacles.iter_mut().find(|o| o.0 == after) {
                            match &mut o.2 {
                                Obstacle::Sphere { centre_m, .. } | Obstacle::Cylinder { centre_m, .. } => {
                                    centre_m[axis] = value_m;
                                }
                            }
                        }
                    }
                    What::Radius { after } => {
                        if let Some(o) = strand.obstacles.iter_mut().find(|o| o.0 == after) {
                            match &mut o.2 {
                                Obstacle::Sphere { radius_m, .. } | Obstacle::Cylinder { radius_m, .. } => {
                                    *radius_m = value_m;
                                }
                            }
                        }
                    }
                }
            }
        }
    }

    /// The unit about starts that a shared shift of the bones has moved.
    pub fn moved(&self, shift: &Shift) -> Unit {
        let mut out = self.clone();
        for c in out.unknowns.iter_mut().flat_map(|u| &mut u.cells) {
            if let What::Point { order, axis } = c.what {
                let (bone, start_m) = self.starts[c.head][c.strand][order];
                c.start_mm = 1e3 * shift.point(bone, &start_m)[axis];
            }
        }
        out
    }

    /// Writes the values into the tables, to 0.1 mm, and tells what they are.
    ///
    /// # Errors
    /// A missing column.
    pub fn write(&self, values: &[f64], paths: &mut Sheet, obstacles: &mut Sheet) -> Result<Vec<Fitted>, Problem> {
        let mut out = Vec::new();
        for (u, v) in self.unknowns.iter().zip(values) {
            for c in &u.cells {
                let value_mm = c.start_mm + u.shift_mm(*v);
                let text = format!("{value_mm:.1}");
                let what = match c.what {
                    What::Point { order, axis } => {
                        paths.set(c.row, &format!("{}_mm", AXES[axis]), text)?;
                        format!("point {order} {}", AXES[axis])
                    }
                    What::Centre { after, axis } => {
                        obstacles.set(c.row, &format!("centre_{}_mm", AXES[axis]), text)?;
                        format!("obstacle after {after} centre {}", AXES[axis])
                    }
                    What::Radius { after } => {
                        obstacles.set(c.row, "radius_mm", text)?;
                        format!("obstacle after {after} radius")
                    }
                };
                out.push(Fitted {
                    strand: self.tables.heads[c.head].strands[c.strand].name.clone(),
                    what,
                    start_mm: c.start_mm,
                    low_mm: c.start_mm + u.low_mm,
                    high_mm: c.start_mm + u.high_mm,
                    value_mm,
                });
            }
        }
        Ok(out)
    }
}

/// Tables with these heads alone.
pub fn only(tables: &AnatomyTables, heads: Vec<Head>) -> AnatomyTables {
    let mut out = tables.clone();
    out.heads = heads;
    out
}

/// Heads with paths, those with named strands taken apart.
fn parts(tables: &AnatomyTables) -> Vec<Head> {
    let mut out = Vec::new();
    for head in tables.heads.iter().filter(|h| !h.strands.is_empty()) {
        if head.strands.len() < 2 || head.strands.iter().all(|s| s.name.contains('#')) {
            out.push(head.clone());
        } else {
            out.extend(head.strands.iter().map(|s| alone(head, &s.name)));
        }
    }
    out
}

/// Every head and every named strand, by name.
pub fn everything(tables: &AnatomyTables) -> Vec<Head> {
    let named = parts(tables).into_iter().filter(|p| tables.head_index(&p.id).is_none());
    tables.heads.iter().cloned().chain(named).collect()
}

/// Places of heads in a list with their share of the force; `None` when one is missing.
pub fn shares(list: &[Head], heads: &[String]) -> Option<Vec<(usize, f64)>> {
    let places: Vec<usize> =
        heads.iter().map(|h| list.iter().position(|l| l.id == *h)).collect::<Option<Vec<usize>>>()?;
    let force: f64 = places.iter().map(|&i| list[i].table_force_n()).sum();
    Some(places.into_iter().map(|i| (i, list[i].table_force_n() / force)).collect())
}

/// A head made of one of its strands, with the strand's name.
pub fn alone(head: &Head, strand: &str) -> Head {
    let mut out = head.clone();
    out.id = strand.to_string();
    out.strands.retain(|s| s.name == strand);
    out.strands.iter_mut().for_each(|s| s.share = 1.0);
    out
}

fn unknowns(head_index: usize, head: &Head, paths: &Sheet, obstacles: &Sheet) -> Result<Vec<Unknown>, Problem> {
    let mut out: Vec<Unknown> = Vec::new();
    let mut add = |cell: Cell, low_mm: f64, high_mm: f64| {
        if high_mm - low_mm <= 0.0 {
            return;
        }
        match out.iter_mut().find(|u| u.cells[0].what == cell.what) {
            Some(u) => u.cells.push(cell),
            None => out.push(Unknown { cells: vec![cell], low_mm, high_mm }),
        }
    };
    for (strand, s) in head.strands.iter().enumerate() {
        for row in 0..paths.rows.len() {
            if paths.text(row, "strand")? != s.name {
                continue;
            }
            let Some(bound) = paths.maybe(row, "bound_mm")? else { continue };
            let order = paths.number(row, "order")? as usize;
            for axis in 0..3 {
                let start_mm = paths.number(row, &format!("start_{}_mm", AXES[axis]))?;
                add(Cell { head: head_index, strand, what: What::Point { order, axis }, row, start_mm }, -bound, bound);
            }
        }
        for row in 0..obstacles.rows.len() {
            if obstacles.text(row, "strand")? != s.name {
                continue;
            }
            let Some(low) = obstacles.maybe(row, "radius_low_mm")? else { continue };
            let high = obstacles.number(row, "radius_high_mm")?;
            let after = obstacles.number(row, "after_order")? as usize;
            let start_mm = obstacles.number(row, "start_radius_mm")?;
            if !(low..=high).contains(&start_mm) {
                return Err(obstacles.problem(row, "start_radius_mm", format!("{start_mm} outside {low} to {high}")));
            }
            add(
                Cell { head: head_index, strand, what: What::Radius { after }, row, start_mm },
                low - start_mm,
                high - start_mm,
            );
            let bound = obstacles.number(row, "centre_bound_mm")?;
            for axis in 0..3 {
                // A cylinder is endless: its centre may not slide along the axis.
                if obstacles.maybe(row, &format!("axis_{}", AXES[axis]))?.is_some_and(|a| a.abs() > 0.9) {
                    continue;
                }
                let start_mm = obstacles.number(row, &format!("start_{}_mm", AXES[axis]))?;
                add(
                    Cell { head: head_index, strand, what: What::Centre { after, axis }, row, start_mm },
                    -bound,
                    bound,
                );
            }
        }
    }
    Ok(out)
}
