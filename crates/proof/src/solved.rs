//! Movements of a case table, each solved once, and what is read off them.
//!
//! A movement is written in one word, `back-squat{depth_knee_deg=120}`; a list of heads as `soleus;gastrocnemius-*`.

use crate::cases::{CaseError, Row};
use anatomy::heads::Variation;
use anatomy::skeleton::{Joint, Segment, Side};
use answer::Settings;
use library::{Ask, Library, Person, Study};
use mechanics::solve::{Criterion, Memory, Shares};
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use stimulus::contact::contact_forces_n;
pub use stimulus::moments::opposite_axis;
use stimulus::moments::{axis_moments, net_axis_moments};
use stimulus::range::Widths;
use units::{GRAVITY_M_S2, V3, rad};

/// Frames of a lift in every comparison.
const FRAMES: usize = 21;

/// Slope of a tibial implant's tray, back edge lower (common practice, 7 degrees).
const TRAY_SLOPE_DEG: f64 = 7.0;

/// Solved movements by the words a table uses.
pub struct Solved<'a> {
    pub library: &'a Library,
    studies: BTreeMap<String, Result<Study, String>>,
}

/// `movement{settings}` with further settings `key=value;key=value`, which win.
pub fn with_settings(words: &str, more: &str) -> String {
    match words.strip_suffix('}') {
        Some(open) => format!("{open};{more}}}"),
        None => format!("{words}{{{more}}}"),
    }
}

impl<'a> Solved<'a> {
    /// Solve every movement once in the average man, without draws. `postures`: a library with the postures of
    /// experiments, asked for what `library` does not know.
    pub fn new(
        library: &'a Library,
        postures: Option<&Library>,
        words: impl IntoIterator<Item = String>,
    ) -> Solved<'a> {
        let words: BTreeSet<String> = words.into_iter().filter(|w| !w.is_empty()).collect();
        let studies = words
            .into_par_iter()
            .map(|w| {
                let ask = Ask {
                    movement: w.clone(),
                    settings: Settings::new(),
                    person: Person::average_man(),
                    draws: 0,
                    seed: library::DEFAULT_SEED,
                    frames: FRAMES,
                    scene: false,
                };
                let id = w.split('{').next().unwrap_or(&w);
                let known = library.catalogue.movement(id).is_some();
                let from = if known { library } else { postures.unwrap_or(library) };
                let study = from.study(&ask, &Widths::NONE).map_err(|e| e.to_string());
                (w, study)
            })
            .collect();
        Solved { library, studies }
    }

    /// # Errors
    /// Why the movement could not be solved.
    pub fn study(&self, words: &str) -> Result<&Study, String> {
        match self.studies.get(words) {
            Some(Ok(s)) => Ok(s),
            Some(Err(e)) => Err(format!("{words}: {e}")),
            None => Err(format!("{words}: not solved")),
        }
    }

    /// Heads of a list: ids, group names, or `prefix-*`.
    ///
    /// # Errors
    /// A name that stands for no head.
    pub fn heads(&self, list: &str) -> Result<Vec<usize>, String> {
        heads_named(self.library, list)
    }

    /// Mean over heads, weighted by volume.
    pub fn mean(&self, heads: &[usize], value: impl Fn(usize) -> f64) -> f64 {
        let volume = |h: &usize| self.library.tables.heads[*h].volume_cm3;
        let sum: f64 = heads.iter().map(volume).sum();
        heads.iter().map(|h| value(*h) * volume(h)).sum::<f64>() / sum.max(1e-9)
    }

    /// What the convention (direct 1, indirect ½, else 0) says.
    pub fn convention(&self, study: &Study, heads: &[usize]) -> f64 {
        let list = self.library.catalogue.convention(&study.resolved.id).unwrap_or_default();
        self.mean(heads, |h| {
            let id = &self.library.tables.heads[h].id;
            list.iter().find(|(n, _)| n == id).map_or(0.0, |(_, v)| *v)
        })
    }

    /// A rule that sees joint angles alone: net shortening of the fibres over the lift × their mean length, in
    /// normalised lengths; 0 for a muscle that lengthens or is not asked.
    pub fn angle_rule(&self, study: &Study, heads: &[usize]) -> f64 {
        self.mean(heads, |h| {
            study.lengths[h].as_ref().map_or(0.0, |l| {
                let (Some(first), Some(last)) = (l.fibre.first(), l.fibre.last()) else { return 0.0 };
                let mean = l.fibre.iter().sum::<f64>() / l.fibre.len() as f64;
                (first - last).max(0.0) * mean
            })
        })
    }

    /// The same movement with muscles shared at a given load.
    pub fn at<'s>(&'s self, study: &'s Study, load: Option<f64>) -> Loaded<'s> {
        let own = study.solved.load.load;
        let load = load.unwrap_or(own);
        let shares = ((load - own).abs() > 1e-9).then(|| {
            let p = &study.solved.prepared;
            p.share(load, &study.solved.load.capacity, Criterion::Cubic, &study.model, &mut Memory::default())
        });
        Loaded { solved: self, study, load, shares }
    }
}

/// Heads of a list: ids, group names, or `prefix-*`, between semicolons.
///
/// # Errors
/// A name that stands for no head.
pub fn heads_named(library: &Library, list: &str) -> Result<Vec<usize>, String> {
    let tables = &library.tables;
    let mut out = Vec::new();
    for name in list.split(';').map(str::trim).filter(|n| !n.is_empty()) {
        let before = out.len();
        if let Some(prefix) = name.strip_suffix('*') {
            out.extend((0..tables.heads.len()).filter(|h| tables.heads[*h].id.starts_with(prefix)));
        } else {
            let ids = library.catalogue.heads(name);
            out.extend(ids.iter().filter_map(|id| tables.head_index(id)));
        }
        if out.len() == before {
            return Err(format!("\"{name}\" stands for no head"));
        }
    }
    Ok(out)
}

/// How far a solved posture is off what it was asked for, in words; `None` where it is as asked.
pub fn off_posture(study: &Study) -> Option<String> {
    let frames = &study.rep.frames;
    let far_m = frames.iter().map(|f| f.miss_m).fold(0.0, f64::max);
    let turned_rad = frames.iter().map(|f| f.miss_rad).fold(0.0, f64::max);
    (far_m > 0.02 || turned_rad > rad(3.0)).then(|| {
        let id = &study.resolved.id;
        format!("{id} misses its posture by {:.0} mm, {:.0} degrees", far_m * 1e3, turned_rad.to_degrees())
    })
}

/// Part of the lift that is looked at, as fractions of its frames.
#[derive(Clone, Copy, Debug)]
pub struct Window {
    pub from: f64,
    pub to: f64,
}

impl Window {
    pub const ALL: Window = Window { from: 0.0, to: 1.0 };

    /// `FROM-TO` of a cell, the whole lift where it is empty.
    ///
    /// # Errors
    /// Something else than two fractions in order.
    pub fn read(row: &Row, column: &str) -> Result<Window, CaseError> {
        let t = if row.has(column) { row.text(column)? } else { "" };
        if t.is_empty() {
            return Ok(Window::ALL);
        }
        let parts: Option<(f64, f64)> = t.split_once('-').and_then(|(a, b)| Some((a.parse().ok()?, b.parse().ok()?)));
        match parts {
            Some((from, to)) if (0.0..=1.0).contains(&from) && from <= to && to <= 1.0 => Ok(Window { from, to }),
            _ => Err(row.error(format!("`{column}` is \"{t}\", expected FROM-TO within 0 and 1"))),
        }
    }

    pub(crate) fn has(self, frame: usize, frames: usize) -> bool {
        let u = frame as f64 / (frames - 1).max(1) as f64;
        u >= self.from - 1e-9 && u <= self.to + 1e-9
    }
}

/// One movement at one load.
pub struct Loaded<'s> {
    solved: &'s Solved<'s>,
    pub study: &'s Study,
    pub load: f64,
    shares: Option<Shares>,
}

impl Loaded<'_> {
    pub fn shares(&self) -> &Shares {
        self.shares.as_ref().unwrap_or(&self.study.solved.shares)
    }

    pub fn library(&self) -> &Library {
        self.solved.library
    }

    /// Heads of a list, see [`Solved::heads`].
    ///
    /// # Errors
    /// A name that stands for no head.
    pub fn heads(&self, list: &str) -> Result<Vec<usize>, String> {
        self.solved.heads(list)
    }

    /// The largest mean moment about any axis, N·m.
    pub fn largest_mean_moment_nm(&self) -> f64 {
        let s = self.study;
        let all = net_axis_moments(&s.rep, &s.solved.prepared, self.shares(), self.load);
        all.iter().map(|m| m.mean().abs()).fold(0.0, f64::max)
    }

    fn over(&self, w: Window, value: impl Fn(usize) -> f64) -> Vec<f64> {
        let n = self.study.rep.frames.len();
        (0..n).filter(|t| w.has(*t, n)).map(value).collect()
    }

    /// A number read off the movement:
    ///
    /// * `activation HEADS` (0 to 1, mean), `stimulus HEADS` (relative to the reference movement, not capped), `length
    ///   HEADS` (normalised fibre length, mean), `excursion HEADS` (mm, longest minus shortest), `length-excursion HEADS` (the same of
    ///   the normalised length), `force HEADS` (N, peak of
    ///   the sum);
    /// * `moment AXIS`, `mean-moment AXIS` (N·m of the right side, peak or mean; mid-line axes: half of both sides),
    ///   `planar-moment AXIS` (peak without side forces between feet or hands, as an analysis in the sagittal plane
    ///   sees it), `peak-place AXIS` (where in the lift the moment peaks, 0 to 1);
    /// * `contact JOINT` (% body weight, peak), `compression JOINT` (N, peak along trunk or shank), `tray-shear` (shear
    ///   per axial force on a tibial tray where the force peaks), `forward-shear` (N, mean forward pull on the shank
    ///   along the tray), `knee-at-peak` (degrees of knee flexion where its force peaks);
    /// * `share HEADS of AXIS` (% of the muscles' moment; `… among HEADS`: of theirs), `tendon-arm HEADS of AXIS` (mm,
    ///   moment per force), `quotient MEASURE : MEASURE`, `load`, `best-load` (the load's unit).
    ///
    /// # Errors
    /// An unknown kind, axis, joint or head.
    pub fn measure(&self, text: &str, w: Window) -> Result<f64, String> {
        let (kind, rest) = text.trim().split_once(' ').unwrap_or((text.trim(), ""));
        let mean = |v: Vec<f64>| if v.is_empty() { 0.0 } else { v.iter().sum::<f64>() / v.len() as f64 };
        let peak = |v: Vec<f64>| v.into_iter().fold(f64::NEG_INFINITY, f64::max);
        let frames = &self.study.solved.prepared.frames;
        let a = &self.shares().activation;
        Ok(match kind {
            "quotient" => {
                let (over, under) = rest.split_once(" : ").ok_or("expected quotient MEASURE : MEASURE")?;
                let under = self.measure(under, w)?;
                self.measure(over, w)? / if under.abs() < 1e-3 { 1e-3 } else { under }
            }
            "load" => self.load,
            "best-load" => peak(self.over(w, |t| self.study.solved.load.capacity[t])),
            "activation" => {
                let heads = self.solved.heads(rest)?;
                mean(self.over(w, |t| self.solved.mean(&heads, |h| a[t][h])))
            }
            "stimulus" => {
                let heads = self.solved.heads(rest)?;
                let rules = &self.solved.library.rules;
                let reference = &self.solved.library.reference.mid;
                let law = &self.solved.library.tables.fibre_law;
                let free = law.active(rules.free_length) * rules.length_weight(rules.free_length);
                mean(self.over(w, |t| {
                    self.solved.mean(&heads, |h| {
                        let s = &frames[t].muscles.heads[h];
                        let raw = a[t][h] * s.active * rules.length_weight(s.fibre_norm);
                        raw / reference[h].unwrap_or(free).max(rules.reference_floor)
                    })
                }))
            }
            "length" => {
                let heads = self.solved.heads(rest)?;
                mean(self.over(w, |t| self.solved.mean(&heads, |h| frames[t].muscles.heads[h].fibre_norm)))
            }
            "excursion" | "length-excursion" => {
                let heads = self.solved.heads(rest)?;
                self.solved.mean(&heads, |h| {
                    let lengths = self.over(w, |t| match frames[t].muscles.heads[h] {
                        s if kind == "excursion" => s.length_m * 1e3,
                        s => s.fibre_norm,
                    });
                    let (low, high) =
                        lengths.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(*v), b.max(*v)));
                    high - low
                })
            }
            "force" => {
                let heads = self.solved.heads(rest)?;
                peak(self.over(w, |t| heads.iter().map(|&h| frames[t].muscles.heads[h].force_n(a[t][h])).sum()))
            }
            "moment" | "planar-moment" | "mean-moment" | "peak-place" => {
                let m = self.moment(rest, kind == "planar-moment")?;
                let n = m.len();
                match kind {
                    "moment" | "planar-moment" => peak(self.over(w, |t| m[t])),
                    "mean-moment" => mean(self.over(w, |t| m[t])),
                    _ => (0..n).max_by(|&i, &j| m[i].total_cmp(&m[j])).unwrap_or(0) as f64 / (n - 1) as f64,
                }
            }
            "contact" => {
                let f = self.contact(rest)?;
                let weight_n = self.study.body.mass_kg * GRAVITY_M_S2;
                100.0 * peak(self.over(w, |t| f[t].norm())) / weight_n
            }
            "compression" => {
                let f = self.contact(rest)?;
                let segment = if rest == "lumbar" { Segment::Thorax } else { Segment::Tibia(Side::Right) };
                peak(self.over(w, |t| self.study.rep.frames[t].figure.pose(segment).turn(&V3::y()).dot(&f[t]).abs()))
            }
            "tray-shear" | "forward-shear" => {
                let f = self.contact("knee")?;
                let on_tray = |t: usize| {
                    let pose = self.study.rep.frames[t].figure.pose(Segment::Tibia(Side::Right));
                    let local = pose.rotation.transpose() * f[t];
                    let (s, c) = rad(TRAY_SLOPE_DEG).sin_cos();
                    // Along the tray forward and up, across it.
                    (local.x * c + local.y * s, local.y * c - local.x * s, local.z)
                };
                if kind == "forward-shear" {
                    mean(self.over(w, |t| on_tray(t).0))
                } else {
                    let t = self.peak_frame(&f, w);
                    let (x, y, z) = on_tray(t);
                    x.hypot(z) / y.abs().max(1e-9)
                }
            }
            "knee-at-peak" => {
                let t = self.peak_frame(&self.contact("knee")?, w);
                frames[t].side.limbs.knee_flexion_rad.to_degrees()
            }
            "share" | "tendon-arm" => {
                let (heads, axis) = rest.split_once(" of ").ok_or("expected HEADS of AXIS")?;
                let heads = self.solved.heads(heads)?;
                let (axis, among) = axis.split_once(" among ").map_or((axis, None), |(a, l)| (a, Some(l)));
                let (row, sign) = axis_row(axis)?;
                let part = |t: usize, h: usize| {
                    let s = &frames[t].muscles.heads[h];
                    let force = s.force_n(a[t][h]);
                    (sign * s.arms_m[row] * force, force)
                };
                let all: Vec<usize> = match among {
                    Some(list) => self.solved.heads(list)?,
                    None => frames[0].muscles.evaluated.iter().collect(),
                };
                let total = |t: usize| all.iter().map(|&h| part(t, h).0.max(0.0)).sum::<f64>();
                let own = |t: usize| heads.iter().map(|&h| part(t, h).0).sum::<f64>();
                let pull = |t: usize| heads.iter().map(|&h| part(t, h).1).sum::<f64>();
                let sum = |f: &dyn Fn(usize) -> f64| self.over(w, f).into_iter().sum::<f64>();
                if kind == "share" {
                    100.0 * sum(&own) / sum(&total).max(1e-9)
                } else {
                    1e3 * sum(&own) / sum(&pull).max(1e-9)
                }
            }
            _ => return Err(format!("\"{kind}\" is nothing that can be read off a movement")),
        })
    }

    fn peak_frame(&self, f: &[V3], w: Window) -> usize {
        let n = f.len();
        (0..n).filter(|t| w.has(*t, n)).max_by(|&i, &j| f[i].norm().total_cmp(&f[j].norm())).unwrap_or(0)
    }

    /// Moment the muscles must give in a named direction, N·m per frame.
    pub(crate) fn moment(&self, axis: &str, planar: bool) -> Result<Vec<f64>, String> {
        let (rep, prepared) = (&self.study.rep, &self.study.solved.prepared);
        let found = if planar {
            axis_moments(rep, prepared, self.load)
        } else {
            net_axis_moments(rep, prepared, self.shares(), self.load)
        };
        if let Some(m) = found.iter().find(|m| m.axis == axis) {
            return Ok(m.values_nm.clone());
        }
        let opposite = opposite_axis(axis).ok_or_else(|| format!("\"{axis}\" is no axis"))?;
        found
            .iter()
            .find(|m| m.axis == opposite)
            .map(|m| m.values_nm.iter().map(|v| -v).collect())
            .ok_or_else(|| format!("the muscles do not balance {axis} here"))
    }

    /// Force across a joint per frame, N, world.
    fn contact(&self, joint: &str) -> Result<Vec<V3>, String> {
        let wanted = Joint::from_name(joint).ok_or_else(|| format!("\"{joint}\" is no joint"))?;
        let s = self.study;
        contact_forces_n(&s.rep, &s.solved.prepared, self.shares(), self.load, &s.model)
            .into_iter()
            .find(|(j, _)| *j == wanted)
            .map(|(_, f)| f)
            .ok_or_else(|| format!("the muscles do not balance the {joint} here"))
    }
}

/// A hinge axis by its directed name: row and sign.
fn axis_row(axis: &str) -> Result<(usize, f64), String> {
    use anatomy::skeleton::Row;
    Ok(match axis {
        "elbow.flexion" => (Row::ElbowFlexion.index(), 1.0),
        "elbow.extension" => (Row::ElbowFlexion.index(), -1.0),
        "knee.flexion" => (Row::KneeFlexion.index(), 1.0),
        "knee.extension" => (Row::KneeFlexion.index(), -1.0),
        "ankle.plantarflexion" => (Row::AnklePlantarflexion.index(), 1.0),
        "forearm.supination" => (Row::ForearmPronation.index(), -1.0),
        "hip.extension" => (Row::HipZ.index(), -1.0),
        "hip.flexion" => (Row::HipZ.index(), 1.0),
        _ => return Err(format!("\"{axis}\" is no axis whose shares can be told")),
    })
}

/// The muscles of a study with some heads gone.
pub fn without(study: &Study, library: &Library, lost: &[usize]) -> anatomy::heads::MuscleModel {
    let mut v = Variation::none();
    v.strength_factor = (0..library.tables.heads.len()).map(|h| if lost.contains(&h) { 0.0 } else { 1.0 }).collect();
    anatomy::heads::MuscleModel::new(&library.tables, &study.body, &v)
}
