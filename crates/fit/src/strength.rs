//! The fit of length anchors, excursion divisors and effective tensions to isometric torques and operating lengths.
//!
//! Unknowns: per group of heads one shift of the anchor (shoulder heads: of the normalised length given to the middle
//! of their range) and one divisor; per region one tension. Largest torque of a posture as in the comparisons: every
//! muscle with a helpful arm fully active, other joints held: T = Σ max(0, ±r)·F₀·f_L(l), with the passive part of all
//! muscles where the published torque is a total. Fibre length l = anchor + ΔL/(fibre·divisor).
//!
//! The pull back: anchors to the carried sarcomere length or own estimate, divisors to 1.3, tensions to 28.5 N/cm².
//! Whole actions (axis and direction) are left out one by one.

use crate::sheet::{Problem, Sheet};
use crate::{Files, solve};
use anatomy::body::{Body, BodySpec, BodyTables, Sex, Training};
use anatomy::heads::{AnatomyTables, FibreLaw, HeadMask, MuscleModel, Variation, shoulder_anchors};
use anatomy::skeleton::{Joint, Row};
use proof::posture::{Axis, Stance, midline, stances};
use std::collections::{BTreeMap, BTreeSet};

pub const TORQUES: &str = "proof/torque-angle.csv";
const UNITS: &str = "anatomy/targets/strength-units.csv";
const LENGTHS: &str = "anatomy/targets/operating-lengths.csv";
/// Divisor before the fit, and its limits.
const DIVISOR: [f64; 3] = [1.3, 1.0, 3.0];
/// Spread of the logarithm of a divisor.
const DIVISOR_SD: f64 = 0.35;
/// Carried anchors outside these limits are known to be impossible and cut before the fit.
const ANCHOR_LIMITS: [f64; 2] = [0.55, 1.25];
/// Spread of an anchor: wide bounds, narrow bounds.
const ANCHOR_SD: [f64; 2] = [0.15, 0.08];
/// Spread of a tension as a part of its start.
const TENSION_SD: f64 = 0.2;
/// Largest shift of the length given to the middle of a shoulder head's range.
const CENTRE_BOUND: f64 = 0.15;
/// How much a torque counts against the pulls to the starts, which are own estimates; of eight weights and caps tried,
/// the pair with the most rows right among actions left out (121 of 214; weight 0.7 without a cap: 114).
const TORQUE_WEIGHT: f64 = 2.0;
/// Weighted deviation beyond which a torque loses its force: single studies disagree by several deviations.
const ROBUST: f64 = 2.0;
/// Fibres work between these lengths at the ends of the joints' ranges (own estimate), with this spread.
const WINDOW: [f64; 2] = [0.5, 1.4];
const WINDOW_SD: f64 = 0.08;
/// Ends of ranges in which the window is asked.
const ENDS: [&str; 9] = [
    "hip=-15..120/0/0 knee=70",
    "hip=60..120/35/0 knee=130",
    "hip=-15/35/0 ankle=-30..40",
    "knee=0..130 ankle=-30",
    "knee=0..130 ankle=40 hip=60",
    "shoulder=0/0..150/0 elbow=5 forearm=-60 wrist=-50 | shoulder=90/0..150/0 elbow=130 forearm=60 wrist=50",
    "shoulder=-90/40/0 elbow=5..130 | elbow=5 forearm=60 wrist=-50..50",
    "lumbar=-15..50/0/0 neck=-40/0/0 | lumbar=0/-20..20/0 neck=35/0/0 | lumbar=0/0/-30..30",
    "neck=-40..35/0/0 | neck=0/-30..30/0",
];

/// One head's part in the torque of one posture.
struct Term {
    head: usize,
    /// Arm in the wanted direction, both sides of the body where both pull, m.
    arm_m: f64,
    /// Force at optimal length per N/cm² of tension, N.
    force_n: f64,
    /// Change of path from the zero posture over fibre length.
    stretch: f64,
}

/// What is needed for a torque in one posture of one person.
struct Test {
    terms: Vec<Term>,
    mirrored: bool,
    passive: bool,
    per: f64,
}

#[derive(Clone, Copy, PartialEq)]
enum Kind {
    Mean,
    OverPeak,
    Ratio,
}

/// A published torque, share of a peak, or ratio.
pub struct Published {
    pub id: String,
    /// Axis and direction.
    pub action: String,
    /// The other action of a ratio.
    other: Option<String>,
    kind: Kind,
    here: Vec<Test>,
    there: Vec<Test>,
    pub posture: String,
    pub value: f64,
    pub sd: f64,
    pub used: bool,
}

/// One value of every unknown, spread over heads.
struct Values {
    anchor: Vec<f64>,
    divisor: Vec<f64>,
    tension: Vec<f64>,
}

/// A group with its unknowns.
struct Group {
    name: String,
    heads: Vec<usize>,
    bound: f64,
}

/// All that a fit needs.
pub struct Model {
    law: FibreLaw,
    groups: Vec<Group>,
    /// Name, start, low, high in N/cm².
    classes: Vec<(String, f64, f64, f64)>,
    class_of: Vec<usize>,
    /// Anchor before the fit, and for shoulder heads (centre, stretch of the middle of the range at divisor 1).
    anchor: Vec<f64>,
    centre: Vec<Option<(f64, f64)>>,
    pub rows: Vec<Published>,
    /// Head, stretch, wanted length, spread.
    lengths: Vec<(usize, f64, f64, f64)>,
    /// Head, smallest and largest stretch over the ends of ranges.
    window: Vec<(usize, f64, f64)>,
    current: Vec<f64>,
}

impl Model {
    /// Reads all tables.
    ///
    /// # Errors
    /// Every fault of the tables.
    pub fn read(files: &Files) -> Result<Model, Vec<Problem>> {
        let tables = crate::tables(files, "")?;
        Model::build(files, &tables).map_err(|p| vec![p])
    }

    fn build(files: &Files, tables: &AnatomyTables) -> Result<Model, Problem> {
        let man = Body { trained_share: 0.0, ..Body::average_man() };
        let n = tables.heads.len();
        let s = Sheet::find(files, UNITS)?;
        let mut groups = Vec::new();
        for i in 0..s.rows.len() {
            let heads = s
                .text(i, "heads")?
                .split(';')
                .map(|h| tables.head_index(h).ok_or_else(|| s.problem(i, "heads", format!("\"{h}\" is no head"))));
            groups.push(Group {
                name: s.text(i, "unit")?.into(),
                heads: heads.collect::<Result<_, _>>()?,
                bound: s.number(i, "anchor_bound")?,
            });
        }
        let s = Sheet::find(files, "anatomy/tension_classes.csv")?;
        let mut classes = Vec::new();
        for i in 0..s.rows.len() {
            let number = |c| s.number(i, c);
            let row = (number("unfitted_n_cm2")?, number("low_n_cm2")?, number("high_n_cm2")?);
            classes.push((s.text(i, "class")?.to_string(), row.0, row.1, row.2));
        }
        let class_of: Vec<usize> =
            tables.heads.iter().map(|h| classes.iter().position(|c| c.0 == h.tension_class).unwrap_or(0)).collect();
        let starts = Sheet::find(files, "anatomy/start/shoulder_anchors.csv")?;
        let mut start_centre = BTreeMap::new();
        for i in 0..starts.rows.len() {
            start_centre.insert(starts.text(i, "head")?.to_string(), starts.number(i, "range_centre")?);
        }
        let mut centre = vec![None; n];
        for a in shoulder_anchors(tables, &man) {
            let h = &tables.heads[a.head];
            let stretch = (h.range_centre.unwrap_or(1.0) - a.anchor_length) * h.excursion_divisor;
            let at = start_centre.get(&h.id).copied().or(h.range_centre).unwrap_or(1.0);
            centre[a.head] = Some((at, stretch));
        }
        let mut out = Model {
            law: tables.fibre_law,
            anchor: tables.heads.iter().map(|h| h.anchor_unfitted.clamp(ANCHOR_LIMITS[0], ANCHOR_LIMITS[1])).collect(),
            centre,
            groups,
            classes,
            class_of,
            rows: Vec::new(),
            lengths: Vec::new(),
            window: Vec::new(),
            current: Vec::new(),
        };
        out.current = out.values_of(tables);
        let people = People { tables, man: &man };
        out.read_rows(files, &people)?;
        let s = Sheet::find(files, LENGTHS)?;
        for i in 0..s.rows.len() {
            let places = stances(s.text(i, "posture")?).map_err(|e| s.problem(i, "posture", e))?;
            for name in s.text(i, "heads")?.split(';') {
                let h = tables.head_index(name);
                let h = h.ok_or_else(|| s.problem(i, "heads", format!("\"{name}\" is no head")))?;
                let stretch = people.stretches(&man, &places[0])[h];
                out.lengths.push((h, stretch, s.number(i, "length")?, s.number(i, "sd")?));
            }
        }
        let mut ends = vec![(0.0_f64, 0.0_f64); n];
        for posture in ENDS {
            let places = stances(posture).map_err(|e| s.problem(0, "ends of ranges", e))?;
            for p in &places {
                for (e, x) in ends.iter_mut().zip(people.stretches(&man, p)) {
                    *e = (e.0.min(x), e.1.max(x));
                }
            }
        }
        let free: BTreeSet<usize> = out.groups.iter().flat_map(|g| g.heads.iter().copied()).collect();
        out.window = free.into_iter().map(|h| (h, ends[h].0, ends[h].1)).collect();
        Ok(out)
    }

    fn read_rows(&mut self, files: &Files, people: &People) -> Result<(), Problem> {
        let s = Sheet::find(files, TORQUES)?;
        for i in 0..s.rows.len() {
            if !s.text(i, "left_out")?.is_empty() {
                continue;
            }
            let axis = |column: &str| {
                let name = s.text(i, column)?;
                Axis::parse(name).map(|a| (name.to_string(), a)).map_err(|e| s.problem(i, column, e))
            };
            let sign = |column: &str| s.one_of(i, column, &[("+", 1.0), ("-", -1.0)]);
            let places = |column: &str| stances(s.text(i, column)?).map_err(|e| s.problem(i, column, e));
            let kind = s.text(i, "kind")?;
            let (name, a) = axis("axis")?;
            let direction = sign("sign")?;
            let passive = s.text(i, "passive")? == "yes";
            let per_kg = kind == "torque-per-kg";
            let bodies = people.bodies(s.text(i, "person")?).map_err(|e| s.problem(i, "person", e))?;
            let tests = |axis: Axis, sign: f64, places: &[Stance]| {
                let all = bodies.iter().flat_map(|b| places.iter().map(move |p| (b, p)));
                all.map(|(b, p)| people.test(b, axis, sign, p, passive, per_kg)).collect::<Vec<Test>>()
            };
            let here = tests(a, direction, &places("posture")?);
            let (kind, there, other) = match kind {
                "shape" => (Kind::OverPeak, tests(a, direction, &places("posture_b")?), None),
                "ratio" => {
                    let b = if s.text(i, "axis_b")?.is_empty() { (name.clone(), a) } else { axis("axis_b")? };
                    let sb = if s.text(i, "sign_b")?.is_empty() { direction } else { sign("sign_b")? };
                    (Kind::Ratio, tests(b.1, sb, &places("posture_b")?), Some(action(&b.0, sb)))
                }
                _ => (Kind::Mean, Vec::new(), None),
            };
            self.rows.push(Published {
                id: s.text(i, "id")?.into(),
                action: action(&name, direction),
                other,
                kind,
                here,
                there,
                posture: s.text(i, "posture")?.into(),
                value: s.number(i, "value")?,
                sd: s.number(i, "tolerance")?,
                used: s.one_of(i, "fitted", &[("yes", true), ("no", false)])?,
            });
        }
        Ok(())
    }

    fn count(&self) -> usize {
        2 * self.groups.len() + self.classes.len()
    }

    fn is_shoulder(&self, g: &Group) -> bool {
        self.centre[g.heads[0]].is_some()
    }

    fn anchor_bound(&self, g: &Group) -> f64 {
        if self.is_shoulder(g) { CENTRE_BOUND } else { g.bound }
    }

    fn divisor(x: f64) -> f64 {
        let [start, low, high] = DIVISOR;
        (start.ln() + if x < 0.0 { -x * (low / start).ln() } else { x * (high / start).ln() }).exp()
    }

    fn tension(&self, class: usize, x: f64) -> f64 {
        let (_, start, low, high) = &self.classes[class];
        start + if x < 0.0 { -x * (low - start) } else { x * (high - start) }
    }

    fn values(&self, x: &[f64]) -> Values {
        let n = self.anchor.len();
        let g = self.groups.len();
        let mut out = Values {
            anchor: self.current[..n].to_vec(),
            divisor: self.current[n..2 * n].to_vec(),
            tension: (0..self.classes.len()).map(|c| self.tension(c, x[2 * g + c])).collect(),
        };
        for (k, group) in self.groups.iter().enumerate() {
            let shift = x[k] * self.anchor_bound(group);
            for &h in &group.heads {
                out.divisor[h] = Self::divisor(x[g + k]);
                out.anchor[h] = match self.centre[h] {
                    Some((centre, stretch)) => centre + shift - stretch / out.divisor[h],
                    None => self.anchor[h] + shift,
                };
            }
        }
        out
    }

    /// Values of the tables as they stand: anchors, divisors, tensions by class.
    fn values_of(&self, tables: &AnatomyTables) -> Vec<f64> {
        let mut out: Vec<f64> = tables.heads.iter().map(|h| h.anchor_length).collect();
        out.extend(tables.heads.iter().map(|h| h.excursion_divisor));
        for (c, class) in self.classes.iter().enumerate() {
            let head = self.class_of.iter().position(|&k| k == c);
            out.push(head.map_or(class.1, |h| tables.heads[h].tension_n_cm2));
        }
        out
    }

    /// What some tables say about every row.
    pub fn said(&self, tables: &AnatomyTables) -> Vec<f64> {
        let v = self.values_of(tables);
        let n = self.anchor.len();
        let values = Values { anchor: v[..n].to_vec(), divisor: v[n..2 * n].to_vec(), tension: v[2 * n..].to_vec() };
        self.rows.iter().map(|r| self.row(r, &values)).collect()
    }

    fn torque(&self, t: &Test, v: &Values) -> f64 {
        let mut sum = 0.0;
        for term in &t.terms {
            let h = term.head;
            let l = v.anchor[h] + term.stretch / v.divisor[h];
            let force = term.force_n * v.tension[self.class_of[h]];
            let arm = if t.mirrored { term.arm_m.abs() } else { term.arm_m };
            sum += arm.max(0.0) * force * self.law.active(l);
            if t.passive && !t.mirrored {
                sum += term.arm_m * force * self.law.passive(l);
            }
        }
        sum.max(0.0) * t.per
    }

    fn row(&self, r: &Published, v: &Values) -> f64 {
        let mean = |list: &[Test]| list.iter().map(|t| self.torque(t, v)).sum::<f64>() / list.len() as f64;
        match r.kind {
            Kind::Mean => mean(&r.here),
            Kind::OverPeak => mean(&r.here) / r.there.iter().map(|t| self.torque(t, v)).fold(1e-9, f64::max),
            Kind::Ratio => mean(&r.here) / mean(&r.there).max(1e-9),
        }
    }

    /// Fits all unknowns without the rows of some actions.
    fn fit(&self, out: &BTreeSet<String>) -> Vec<f64> {
        let g = self.groups.len();
        let seen =
            |r: &&Published| r.used && !out.contains(&r.action) && r.other.as_ref().is_none_or(|o| !out.contains(o));
        let rows: Vec<&Published> = self.rows.iter().filter(seen).collect();
        let mut residuals = |x: &[f64], r: &mut Vec<f64>| {
            r.clear();
            let v = self.values(x);
            r.extend(
                rows.iter().map(|row| solve::robust(TORQUE_WEIGHT * (self.row(row, &v) - row.value) / row.sd, ROBUST)),
            );
            for &(h, stretch, want, sd) in &self.lengths {
                r.push((v.anchor[h] + stretch / v.divisor[h] - want) / sd);
            }
            for &(h, low, high) in &self.window {
                let (short, long) = (v.anchor[h] + low / v.divisor[h], v.anchor[h] + high / v.divisor[h]);
                r.push(((WINDOW[0] - short).max(0.0) + (long - WINDOW[1]).max(0.0)) / WINDOW_SD);
            }
            for (k, group) in self.groups.iter().enumerate() {
                let bound = self.anchor_bound(group);
                r.push(x[k] * bound / ANCHOR_SD[usize::from(bound < 0.3)]);
                r.push((Self::divisor(x[g + k]) / DIVISOR[0]).ln() / DIVISOR_SD);
            }
            for (c, class) in self.classes.iter().enumerate() {
                r.push((self.tension(c, x[2 * g + c]) / class.1 - 1.0) / TENSION_SD);
            }
        };
        solve::minimise(&vec![0.0; self.count()], &mut residuals).at
    }

    /// Fits with everything, then without each action.
    pub fn solve(&self) -> Solution {
        let at = self.fit(&BTreeSet::new());
        let actions: BTreeSet<String> = self.rows.iter().map(|r| r.action.clone()).collect();
        let mut held_out = vec![f64::NAN; self.rows.len()];
        for action in actions {
            let x = self.fit(&BTreeSet::from([action.clone()]));
            let v = self.values(&x);
            for (h, r) in held_out.iter_mut().zip(&self.rows).filter(|(_, r)| r.action == action) {
                *h = self.row(r, &v);
            }
        }
        Solution { at, held_out }
    }
}

impl Model {
    /// Writes a solution into the tables that carry it, and a log.
    ///
    /// Trained strengths keep their newtons: a factor falls as the table's force rises, never below 1, since training
    /// weakens nobody.
    ///
    /// # Errors
    /// A missing column or number.
    pub fn write(&self, files: &Files, tables: &AnatomyTables, s: &Solution) -> Result<Files, Problem> {
        let v = self.values(&s.at);
        let g = self.groups.len();
        let mut log = Vec::new();
        let mut note = |unit: &str, what: &str, start: f64, low: f64, high: f64, x: f64, value: f64| {
            let near = if x.abs() > 0.98 { "yes" } else { "no" };
            let numbers = [start, low, high, value].map(|n| format!("{n:.3}"));
            let mut row = vec![unit.to_string(), what.to_string()];
            row.extend(numbers);
            row.extend([near.to_string(), "all rows of torque-angle.csv with fitted = yes".into(), "fitted".into()]);
            log.push(row);
        };
        for (k, group) in self.groups.iter().enumerate() {
            let bound = self.anchor_bound(group);
            let what = if self.is_shoulder(group) { "shift of the middle of the range" } else { "shift of the anchor" };
            note(&group.name, what, 0.0, -bound, bound, s.at[k], s.at[k] * bound);
            let x = s.at[g + k];
            note(&group.name, "divisor", DIVISOR[0], DIVISOR[1], DIVISOR[2], x, Self::divisor(x));
        }
        let mut heads = Sheet::find(files, "anatomy/heads.csv")?;
        let mut anchors = Sheet::find(files, "anatomy/shoulder_anchors.csv")?;
        let mut strength = Sheet::find(files, "anatomy/strength.csv")?;
        let mut classes = Sheet::find(files, "anatomy/tension_classes.csv")?;
        for (c, class) in self.classes.iter().enumerate() {
            note(&class.0, "tension, N/cm2", class.1, class.2, class.3, s.at[2 * g + c], v.tension[c]);
            classes.set(c, "tension_n_cm2", format!("{:.1}", v.tension[c]))?;
        }
        let mut moved = tables.clone();
        for (h, head) in moved.heads.iter_mut().enumerate() {
            let c = self.class_of[h];
            let old_force_n = head.table_force_n();
            head.tension_n_cm2 = (v.tension[c] * 10.0).round() / 10.0;
            let ratio = old_force_n / head.table_force_n();
            for row in (0..strength.rows.len()).filter(|&r| strength.rows[r][0] == head.id).collect::<Vec<_>>() {
                strength.set(row, "table_force_n", format!("{:.1}", head.table_force_n()))?;
                for column in ["factor_trained_a", "factor_trained_b"] {
                    let factor = (strength.number(row, column)? * ratio).max(1.0);
                    strength.set(row, column, format!("{factor:.3}"))?;
                }
            }
            for row in (0..heads.rows.len()).filter(|&r| heads.rows[r][0] == head.id).collect::<Vec<_>>() {
                heads.set(row, "excursion_divisor", format!("{:.2}", v.divisor[h]))?;
                if self.centre[h].is_none() {
                    heads.set(row, "anchor_length", format!("{:.3}", v.anchor[h]))?;
                }
            }
            if let Some((_, stretch)) = self.centre[h] {
                for row in (0..anchors.rows.len()).filter(|&r| anchors.rows[r][0] == head.id).collect::<Vec<_>>() {
                    let divisor = (v.divisor[h] * 100.0).round() / 100.0;
                    let centre = v.anchor[h] + stretch / v.divisor[h];
                    anchors.set(row, "range_centre", format!("{centre:.3}"))?;
                    let rounded = (centre * 1e3).round() / 1e3;
                    anchors.set(row, "anchor_length", format!("{:.3}", rounded - stretch / divisor))?;
                }
            }
        }
        let header = ["unit", "what", "start", "low", "high", "value", "at_bound", "saw", "how"];
        let held: Vec<Vec<String>> =
            (self.rows.iter().zip(&s.held_out)).map(|(r, h)| vec![r.id.clone(), format!("{h:.4}")]).collect();
        Ok(vec![
            ("anatomy/heads.csv".into(), heads.to_csv()),
            ("anatomy/shoulder_anchors.csv".into(), anchors.to_csv()),
            ("anatomy/strength.csv".into(), strength.to_csv()),
            ("anatomy/tension_classes.csv".into(), classes.to_csv()),
            (LOG.into(), crate::sheet::to_csv(&header, &log)),
            (HELD_OUT.into(), crate::sheet::to_csv(&["id", "held_out"], &held)),
        ])
    }
}

/// Every fitted strength number with start and bounds.
pub const LOG: &str = "anatomy/fit_log_strength.csv";
/// Published torques as predicted without their action.
pub const HELD_OUT: &str = "anatomy/fit_held_out_torque.csv";

/// The part of the page about torques.
///
/// # Errors
/// Every fault of every table.
pub fn page(files: &Files) -> Result<String, Vec<Problem>> {
    let model = Model::read(files)?;
    let now_tables = crate::tables(files, "")?;
    let first_tables = crate::tables(files, "start/")?;
    let first = Model::build(&first_files(files), &first_tables).map_err(|p| vec![p])?.said(&first_tables);
    let now = model.said(&now_tables);
    let mut held_out = vec![f64::NAN; now.len()];
    if let Ok(s) = Sheet::find(files, HELD_OUT) {
        for row in 0..s.rows.len() {
            let id = s.text(row, "id").map_err(|p| vec![p])?;
            if let Some(i) = model.rows.iter().position(|r| r.id == id) {
                held_out[i] = s.number(row, "held_out").map_err(|p| vec![p])?;
            }
        }
    }
    let mut out = String::from(
        "\n## Isometric torques\n\nRows of `data/proof/torque-angle.csv`: share nearer than one standard deviation, \
         mean z = (model - published)/SD. *Held out*: predicted by a fit that saw no torque about this axis in this \
         direction. Untrained people; paths as they stand.\n\n| action | rows | used | first tables | now | held out |\n\
         |---|--:|---|--:|--:|--:|\n",
    );
    let cell = |list: &[f64], keep: &dyn Fn(&Published) -> bool| {
        let z: Vec<f64> = (model.rows.iter().zip(list))
            .filter(|(r, v)| keep(r) && v.is_finite())
            .map(|(r, v)| (v - r.value) / r.sd)
            .collect();
        if z.is_empty() {
            return "–".to_string();
        }
        let within = z.iter().filter(|z| z.abs() <= 1.0).count();
        let percent = 100.0 * within as f64 / z.len() as f64;
        format!("{percent:.0} % ({within}/{}), z {:+.1}", z.len(), z.iter().sum::<f64>() / z.len() as f64)
    };
    let mut line = |name: &str, used: &str, keep: &dyn Fn(&Published) -> bool| {
        let n = model.rows.iter().filter(|r| keep(r)).count();
        let cells = [&first, &now, &held_out].map(|l| cell(l, keep));
        out += &format!("| {name} | {n} | {used} | {} |\n", cells.join(" | "));
    };
    line("all used, torques", "yes", &|r| r.used && r.kind == Kind::Mean);
    line("all used, shares of the peak", "yes", &|r| r.used && r.kind == Kind::OverPeak);
    line("all not used", "no", &|r| !r.used);
    let actions: BTreeSet<&str> = model.rows.iter().map(|r| r.action.as_str()).collect();
    for a in actions {
        for (used, word) in [(true, "yes"), (false, "no")] {
            if model.rows.iter().any(|r| r.action == a && r.used == used) {
                line(a, word, &|r| r.action == a && r.used == used);
            }
        }
    }
    Ok(out)
}

/// The files with the tables of `start/` in the place of the current ones.
fn first_files(files: &Files) -> Files {
    let mut out = files.clone();
    for (name, text) in files {
        if let Some(table) = name.strip_prefix("anatomy/start/") {
            crate::replace(&mut out, &format!("anatomy/{table}"), text.clone());
        }
    }
    out
}

/// Unknowns in [−1, 1], and every row predicted without its action.
pub struct Solution {
    pub at: Vec<f64>,
    pub held_out: Vec<f64>,
}

fn action(axis: &str, sign: f64) -> String {
    format!("{axis} {}", if sign > 0.0 { "+" } else { "-" })
}

struct People<'a> {
    tables: &'a AnatomyTables,
    man: &'a Body,
}

impl People<'_> {
    /// Untrained people: empty for the table's man, or `M 1.78 75; F 1.65 62`.
    fn bodies(&self, text: &str) -> Result<Vec<Body>, String> {
        text.split(';').map(|t| self.body(t.trim())).collect()
    }

    fn body(&self, text: &str) -> Result<Body, String> {
        if text.is_empty() {
            return Ok(self.man.clone());
        }
        let wrong = || format!("\"{text}\", expected sex, stature in m and mass in kg, for instance F 1.65 62");
        let words: Vec<&str> = text.split_whitespace().collect();
        let [sex, stature, mass] = words[..] else { return Err(wrong()) };
        let sex = match sex {
            "M" => Sex::Male,
            "F" => Sex::Female,
            _ => return Err(wrong()),
        };
        let number = |t: &str| t.parse::<f64>().map_err(|_| wrong());
        let spec = BodySpec { training: Training::Untrained, ..BodySpec::new(sex, number(stature)?, number(mass)?) };
        let report = Body::new(&spec, BodyTables::shipped()).map_err(|e| e.to_string())?;
        Ok(Body { trained_share: 0.0, ..report.body })
    }

    fn test(&self, body: &Body, axis: Axis, sign: f64, place: &Stance, passive: bool, per_kg: bool) -> Test {
        let model = MuscleModel::new(self.tables, body, &Variation::none());
        let mut frame = model.frame();
        let side = place.side(body);
        model.evaluate(&side, HeadMask::all(model.len()), &mut frame);
        let sides = if midline(axis) { 2.0 } else { 1.0 };
        let turn = matches!(axis, Axis::Hinge(Row::LumbarRotation | Row::NeckRotation));
        let spine = matches!(axis, Axis::Hinge(r) if matches!(r.joint(), Joint::Neck | Joint::Lumbar));
        let mut terms = Vec::new();
        for (head, (state, table)) in frame.heads.iter().zip(&self.tables.heads).enumerate() {
            let arm_m = sign * sides * axis.arm_m(place, &side, state);
            if arm_m != 0.0 {
                // Per N/cm² of tension.
                let force_n = state.max_force_n / table.tension_n_cm2;
                let stretch = (state.fibre_norm - table.anchor_length) * table.excursion_divisor;
                terms.push(Term { head, arm_m, force_n, stretch });
            }
        }
        Test { terms, mirrored: turn && spine, passive, per: if per_kg { 1.0 / body.mass_kg } else { 1.0 } }
    }

    /// Change of path over fibre length of every head.
    fn stretches(&self, body: &Body, place: &Stance) -> Vec<f64> {
        let model = MuscleModel::new(self.tables, body, &Variation::none());
        let mut frame = model.frame();
        model.evaluate(&place.side(body), HeadMask::all(model.len()), &mut frame);
        let heads = frame.heads.iter().zip(&self.tables.heads);
        heads.map(|(s, t)| (s.fibre_norm - t.anchor_length) * t.excursion_divisor).collect()
    }
}
