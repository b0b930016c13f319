//! Questions answered: what a movement trains, movements side by side, what one set gives every head.

mod references;
mod show;
mod spread;
mod traces;

use crate::reference::{DEFAULT_SEED, ReferenceTable, SOURCE_DRAWS};
use crate::{Ask, AskError, Library, Person};
use anatomy::body::{Body, BodyReport, BodySampler, BodySpec, BodySpread, BodyTables, Sex, Tape, Training};
use anatomy::heads::{MuscleModel, Variation};
use anatomy::skeleton::Joint;
use answer::{
    BodyNote, Class, Compare, Credit, ForceArrow, HeadCredit, HeadDifference, HeadLook, HeadRanges, LengthChange,
    Lever, Look, LookRanges, MomentLook, MomentRanges, MovementCredit, MovementRow, MuscleRow, Percentile, Range,
    Ribbon, SettingValue, Settings, Span,
};
use mechanics::solve::{Prepared, SetLoad};
use movement::build::{Plan, plan};
use movement::catalogue::{NamedMovement, SettingKind, Sides};
use movement::family::Problem;
use movement::names::{NameContext, nearest_words};
use movement::rep::Rep;
use movement::scene::scene;
use numerics::sample::Draws;
use rayon::prelude::*;
pub use spread::{Behind, World};
use spread::{Centre, Spread};
use std::collections::{BTreeMap, BTreeSet};
use stimulus::lengths::{HeadLengths, all_lengths};
use stimulus::measure::{Solved, hard_set, share};
use stimulus::range::{Bench, Scratch, Source, Widths, draw, variation};
use stimulus::shown::{Shown, ShownHead};
pub use traces::Trace;
use units::V3;

/// Whether balance found for one load holds for another, kg: 6 % of what stands on the feet, some 0.2 m from the middle
/// of the foot, moves its centre by a centimetre.
fn near(load_kg: f64, nominal_kg: f64, body: &Body) -> bool {
    (load_kg - nominal_kg).abs() <= 0.03 * (body.mass_kg + nominal_kg)
}

/// A posture that misses a required place by more than this does not keep balance, m.
const MISSED_M: f64 = 0.005;

/// How often posture and load are found anew before the last pair is taken.
const LOADS_TRIED: usize = 6;

/// A posture that misses a required place by more than this is no answer, m.
const OUT_OF_REACH_M: f64 = 0.15;

/// A movement found by name, with complete settings.
#[derive(Clone, Debug)]
pub struct Resolved {
    pub id: String,
    pub name: String,
    /// How the name was read, where it is not the movement's own; empty otherwise.
    pub read_as: String,
    pub settings: Settings,
    /// Keys the coach set himself.
    pub set: BTreeSet<String>,
    pub notes: Vec<String>,
}

/// A solved movement with everything an answer needs.
pub struct Study {
    pub resolved: Resolved,
    pub body: Body,
    pub plan: Plan,
    pub rep: Rep,
    pub solved: Solved,
    /// Stimulus relative to the reference, with its range.
    pub stimulus: Vec<Range>,
    /// The other numbers of the answer, with their ranges.
    pub shown: Shown<Range>,
    /// Half-widths of the range by source, per head; empty without draws.
    pub sources: Vec<Vec<(Source, f64)>>,
    /// What the ranges of the stimuli were made of.
    pub behind: Behind,
    /// Uncapped mid, for the mark "exceeds its reference".
    pub uncapped: Vec<f64>,
    pub lengths: Vec<Option<HeadLengths>>,
    pub model: MuscleModel,
}

impl Library {
    fn bench(&self) -> Bench<'_> {
        Bench { tables: &self.tables, spreads: &self.spreads, stops: &self.stops, rules: &self.rules }
    }

    /// Find a movement and complete its settings.
    ///
    /// # Errors
    /// Unknown names with the nearest ones; settings out of range.
    pub fn resolve(&self, name: &str, settings: &Settings) -> Result<Resolved, AskError> {
        let mut notes = Vec::new();
        let mut read_as = String::new();
        let mut own = Settings::new();
        let id = if self.catalogue.movement(name).is_some() {
            name.to_string()
        } else if name.contains('{') {
            let (id, s) = self
                .catalogue
                .one_word(name)
                .map_err(|p| AskError::Problem(p.iter().map(|q| q.to_string()).collect::<Vec<_>>().join("\n")))?;
            own.extend(s);
            id
        } else {
            let m = self.names().find(name, &NameContext::default());
            match m.best {
                // As in a sheet: a name that may mean several movements is taken for the likeliest, and said so.
                Some(b) => {
                    notes.extend(m.assumptions);
                    let ours = self.catalogue.movement(&b.id).map_or("", |m| m.name.as_str());
                    if let Some(at) = notes.iter().position(|n| n.contains(&format!("read as {ours}"))) {
                        read_as = notes.remove(at);
                    } else if !ours.replace('-', " ").eq_ignore_ascii_case(&name.trim().replace('-', " ")) {
                        read_as = format!("“{}” read as {ours}", name.trim());
                    }
                    own.extend(b.settings);
                    b.id
                }
                None => {
                    let nearest = m.nearest.into_iter().map(|n| n.0).take(5).collect();
                    return Err(AskError::UnknownMovement { name: name.into(), nearest });
                }
            }
        };
        let named = self.named(&id)?;
        own.extend(settings.iter().map(|(k, v)| (k.clone(), v.clone())));
        let mut complete = self.defaults(named);
        let mut set = BTreeSet::new();
        for (k, v) in own {
            let checked = self.catalogue.check_setting(&named.family, &k, &v.to_string());
            match checked {
                Ok(v) => {
                    set.insert(k.clone());
                    complete.insert(k, v);
                }
                Err(e) => return Err(AskError::Problem(format!("{id}: {e}"))),
            }
        }
        Ok(Resolved { id, name: named.name.clone(), read_as, settings: complete, set, notes })
    }

    fn named(&self, id: &str) -> Result<&NamedMovement, AskError> {
        self.catalogue.movement(id).ok_or_else(|| AskError::UnknownMovement {
            name: id.into(),
            nearest: nearest_words(id, self.catalogue.movements.iter().map(|m| m.id.as_str()), 4),
        })
    }

    /// Defaults of the family with the movement's own settings on top.
    fn defaults(&self, named: &NamedMovement) -> Settings {
        let mut out = Settings::new();
        for s in self.catalogue.settings_for(&named.family) {
            if let Some(d) = &s.default {
                out.insert(s.key.clone(), d.clone());
            }
        }
        out.extend(named.settings.iter().map(|(k, v)| (k.clone(), v.clone())));
        out
    }

    /// What the tables can use of a person.
    fn spec(&self, person: &Person) -> Result<BodySpec, AskError> {
        let sex = if person.female { Sex::Female } else { Sex::Male };
        let mut spec = BodySpec::new(sex, person.stature_m, person.mass_kg);
        spec.age_years = person.age_years;
        spec.training = match person.training_years {
            None => Training::Unknown,
            Some(y) if y <= 0.0 => Training::Untrained,
            Some(years) => Training::Trained { years },
        };
        for (name, length_m) in &person.tape_m {
            let tape = Tape::from_id(name).map_err(|e| AskError::Problem(e.to_string()))?;
            spec.tape_m.insert(tape, *length_m);
        }
        Ok(spec)
    }

    /// Body of a person, with the percentile of every proportion given.
    ///
    /// # Errors
    /// Measures no person has, with what is possible.
    pub fn body_report(&self, person: &Person) -> Result<BodyReport, AskError> {
        Body::new(&self.spec(person)?, BodyTables::shipped()).map_err(|e| AskError::Problem(e.to_string()))
    }

    /// Body of a person.
    ///
    /// # Errors
    /// As [`Library::body_report`].
    pub fn body(&self, person: &Person) -> Result<Body, AskError> {
        Ok(self.body_report(person)?.body)
    }

    /// Percentiles of the proportions a person gave.
    ///
    /// # Errors
    /// As [`Library::body_report`].
    pub fn percentiles(&self, person: &Person) -> Result<Vec<Percentile>, AskError> {
        Ok(self
            .body_report(person)?
            .percentiles
            .into_iter()
            .map(|p| Percentile {
                what: p.what,
                value: p.value,
                unit: p.unit.into(),
                percentile: p.percentile,
                source: p.source.into(),
            })
            .collect())
    }

    /// Plan of a resolved movement in a body.
    pub fn plan(&self, r: &Resolved, body: &Body) -> Result<Plan, AskError> {
        self.placed_plan(r, body)?
            .map_err(|p| AskError::Problem(p.iter().map(|q| q.to_string()).collect::<Vec<_>>().join("\n")))
    }

    /// Every problem of a movement's expressions, told with the file they come from.
    pub(crate) fn problems_of_plan(&self, ask: &Ask, path: &str) -> Result<(), Vec<Problem>> {
        let whole = |e: AskError| vec![Problem { file: path.into(), line: 0, column: 0, text: e.to_string() }];
        let resolved = self.resolve(&ask.movement, &ask.settings).map_err(whole)?;
        let body = self.body(&ask.person).map_err(whole)?;
        match self.placed_plan(&resolved, &body).map_err(whole)? {
            Ok(_) => Ok(()),
            Err(list) => Err(list.into_iter().map(|p| Problem { file: path.into(), ..p }).collect()),
        }
    }

    fn placed_plan(&self, r: &Resolved, body: &Body) -> Result<Result<Plan, Vec<Problem>>, AskError> {
        let named = self.named(&r.id)?;
        let family = self.family(&named.family)?;
        let mut scope = r.settings.clone();
        // What the movement is done with and on how many sides, for the family file.
        let first = named.equipment.first().cloned().unwrap_or_default();
        scope.insert("equipment".into(), SettingValue::Word(first));
        scope.insert("one_sided".into(), SettingValue::Number(f64::from(named.sides != Sides::Bilateral)));
        Ok(plan(family, &r.id, &scope, &r.set, body, &self.ranges))
    }

    /// Solve a plan; where balance depends on the load, posture and load are found together.
    fn settle(
        &self,
        plan: &mut Plan,
        body: &Body,
        model: &MuscleModel,
        frames: usize,
        scratch: &mut Scratch,
    ) -> (Rep, Solved) {
        let mut at = plan.balance_load_kg();
        let mut like: Option<Rep> = None;
        // The heaviest load so far that can be balanced and lifted, and the lightest at which the body folded.
        let mut held: Option<(f64, Rep, (Prepared, SetLoad))> = None;
        let mut folded: Option<f64> = None;
        let mut attempt = 0;
        let (rep, (prepared, load)) = loop {
            if let Some(kg) = at {
                plan.set_balance_load_kg(kg);
            }
            let rep = plan.rep_near(body, frames, &mut scratch.posture, like.as_ref());
            let set = hard_set(&rep, body, model, &self.stops, &self.rules, &mut scratch.mechanics);
            let Some(kg) = at else { break (rep, set) };
            let load_kg = set.1.load;
            // Beyond some load nobody keeps balance as the family wants it, and the body folds into another posture: balance
            // ends the set there, whatever the muscles could do. The load at which it does is found by halving.
            let misses = rep.frames.iter().any(|f| f.miss_m > MISSED_M);
            if (load_kg < 0.5 * kg || misses || !set.1.impossible.is_empty()) && held.is_some() {
                folded = Some(kg);
            } else if folded.is_some() {
                held = Some((kg, rep, set));
            } else if attempt == LOADS_TRIED || set.1.unlimited || near(load_kg, kg, body) {
                break (rep, set);
            } else {
                // The load depends little on the posture; where it depends much, a second whole step overshoots.
                let step = if attempt == 0 { 1.0 } else { 0.5 };
                let next = (kg + step * (load_kg - kg)).max(1.0);
                // A much other load leans the body much otherwise: the search begins anew.
                like = ((next - kg).abs() < 0.2 * kg).then(|| rep.clone());
                held = (load_kg > kg).then_some((kg, rep, set));
                at = Some(next);
                attempt += 1;
            }
            if let Some(high) = folded
                && let Some((low, rep, (prepared, mut load))) = held.take()
            {
                if high - low < 0.1 * low {
                    plan.set_balance_load_kg(low);
                    load.end_by_balance(low);
                    break (rep, (prepared, load));
                }
                like = None;
                at = Some(0.5 * (low + high));
                held = Some((low, rep, (prepared, load)));
            }
        };
        let criterion = mechanics::solve::Criterion::Cubic;
        let solved = share(prepared, load, criterion, model, &self.rules, &mut scratch.mechanics);
        (rep, solved)
    }

    /// Solve a movement with its range.
    ///
    /// # Errors
    /// Unknown movement or setting, a posture that cannot be reached, a load on a joint that cannot carry it.
    pub fn study(&self, ask: &Ask, widths: &Widths) -> Result<Study, AskError> {
        let resolved = self.resolve(&ask.movement, &ask.settings)?;
        let body = self.body(&ask.person)?;
        let mut plan = self.plan(&resolved, &body)?;
        let mut scratch = Scratch::default();
        let model = MuscleModel::new(&self.tables, &body, &Variation::none());
        let (rep, solved) = self.settle(&mut plan, &body, &model, ask.frames, &mut scratch);
        if let Some((at, part, depth)) = plan.anchor_in_body(&rep, &body) {
            return Err(AskError::Problem(format!(
                "{}: the pulley at {:.2} m ahead, {:.2} m high and {:.2} m to the right lies {:.0} mm inside the {part}; \
                 change pulley_dist_m, pulley_h_m or pulley_side",
                resolved.id,
                at.x,
                at.y,
                at.z,
                depth * 1e3
            )));
        }
        let worst = rep.frames.iter().map(|f| f.miss_m).fold(0.0, f64::max);
        if worst > OUT_OF_REACH_M {
            let f = rep.frames.iter().max_by(|a, b| a.miss_m.total_cmp(&b.miss_m));
            let name = f.map_or("a requirement", |f| plan.requirement(f.miss_m_of));
            return Err(AskError::Problem(format!(
                "{}: out of reach for a body of {:.2} m: the {name} is missed by {:.0} mm (at most {:.0} mm is \
                 accepted); choose a smaller range or another setting",
                resolved.id,
                body.stature_m,
                worst * 1e3,
                OUT_OF_REACH_M * 1e3
            )));
        }
        let mid_of = self.denominators(&self.reference.mid);
        let uncapped: Vec<f64> = solved.raw.iter().zip(&mid_of).map(|(r, d)| r / d).collect();
        let lengths = all_lengths(&self.tables.heads, &solved.prepared.frames);
        let centre = Centre {
            resolved: &resolved,
            plan: &plan,
            rep: &rep,
            body: &body,
            model: &model,
            solved: &solved,
            lengths: &lengths,
        };
        let Spread { stimulus, shown, sources, behind } = self.spread(ask, &centre, widths, &mut scratch)?;
        Ok(Study { resolved, body, plan, rep, solved, stimulus, shown, sources, behind, uncapped, lengths, model })
    }

    /// Movements side by side.
    ///
    /// # Errors
    /// As [`Library::look`].
    pub fn compare(&self, asks: &[Ask]) -> Result<Compare, AskError> {
        let studies: Vec<Study> = asks.iter().map(|a| self.study(a, &Widths::default())).collect::<Result<_, _>>()?;
        let looks: Vec<Look> = studies.iter().zip(asks).map(|(s, a)| self.look_of(s, a)).collect();
        let mut ids: Vec<&HeadLook> = Vec::new();
        for l in &looks {
            for h in &l.heads {
                if !ids.iter().any(|q| q.id == h.id) {
                    ids.push(h);
                }
            }
        }
        let mut differences: Vec<HeadDifference> = ids
            .iter()
            .map(|h| {
                let stimulus: Vec<Range> = looks
                    .iter()
                    .map(|l| l.heads.iter().find(|q| q.id == h.id).map_or(Range::default(), |q| q.stimulus))
                    .collect();
                let (first, last) = (stimulus[0], stimulus[stimulus.len() - 1]);
                let change = last.mid - first.mid;
                let matters = change.abs() >= answer::MATTERS_FROM && first.apart(last);
                let marks = h.own_marks();
                let ends = (studies.first(), studies.last(), self.tables.head_index(&h.id));
                let change_range = match ends {
                    (Some(a), Some(b), Some(head)) => a.behind.change(&b.behind, head, &self.rules),
                    _ => Range::point(change),
                };
                let (id, plain) = (h.id.clone(), h.plain.clone());
                HeadDifference { id, plain, stimulus, change, change_range, matters, marks }
            })
            .filter(|d| d.stimulus.iter().any(|s| s.mid >= 0.05))
            .collect();
        differences.sort_by(|a, b| b.change.abs().total_cmp(&a.change.abs()).then(a.id.cmp(&b.id)));
        Ok(Compare { schema: "lengthwise.compare/1".into(), looks, differences })
    }

    /// What one hard set gives every head.
    ///
    /// # Errors
    /// As [`Library::look`].
    pub fn credit(&self, ask: &Ask) -> Result<MovementCredit, AskError> {
        let resolved = self.resolve(&ask.movement, &ask.settings)?;
        let named = self.named(&resolved.id)?;
        let base = MovementCredit {
            movement: resolved.id.clone(),
            name: resolved.name.clone(),
            settings: resolved.settings.clone(),
            setup_s: named.setup_s,
            equipment: named.equipment.clone(),
            cautions: named.cautions.clone(),
            ..MovementCredit::default()
        };
        let mut look = match self.look(&Ask { scene: false, ..ask.clone() }) {
            Ok(l) => l,
            Err(_) if self.family(&named.family).is_err() => return Ok(self.convention_only(base)),
            Err(e) => return Err(e),
        };
        let number = |k: &str, d: f64| match resolved.settings.get(k) {
            Some(SettingValue::Number(n)) => *n,
            _ => d,
        };
        let rep_s = number("tempo_down_s", 2.0) + number("tempo_pause_s", 0.0) + number("tempo_up_s", 1.2);
        let moving: BTreeSet<String> =
            look.moments.iter().filter(|m| m.peak_nm > 3.0).map(|m| m.axis.clone()).collect();
        let joints: BTreeSet<&str> = moving.iter().filter_map(|a| a.split('.').next()).collect();
        let multi = joints.len() > 1;
        let mut joint_peak_nm: BTreeMap<String, f64> = BTreeMap::new();
        for m in &look.moments {
            let joint = m.axis.split('.').next().unwrap_or_default().to_string();
            let peak = joint_peak_nm.entry(joint).or_default();
            *peak = peak.max(m.peak_nm);
        }
        let heads = look
            .heads
            .drain(..)
            .map(|h| HeadCredit {
                head: h.id,
                credit: h.credit,
                long: h.long_share >= 0.5,
                opposition: h.opposition,
                by_joint_mm: h.length_change_mm.by_joint,
            })
            .collect();
        Ok(MovementCredit {
            heads,
            multi_joint: multi,
            rep_s,
            limiting_joint: look.limiting_joint,
            cautions: look.cautions,
            stop_signs: look.stop_signs,
            loaded_axes: moving.into_iter().collect(),
            joint_peak_nm,
            ..base
        })
    }

    /// A named movement whose mechanics are not written yet: the convention column alone, said so.
    fn convention_only(&self, base: MovementCredit) -> MovementCredit {
        let heads = self
            .convention(&base.movement)
            .into_iter()
            .map(|(head, c)| HeadCredit {
                head,
                credit: Credit { mechanics: Range::default(), convention: c, trials: None, pooled: Range::point(c) },
                ..HeadCredit::default()
            })
            .collect::<Vec<_>>();
        MovementCredit {
            multi_joint: heads.len() > 4,
            rep_s: 3.2,
            limiting_joint: "not computed: convention only".into(),
            heads,
            ..base
        }
    }

    pub fn muscles(&self) -> Vec<MuscleRow> {
        self.tables
            .heads
            .iter()
            .enumerate()
            .map(|(i, h)| MuscleRow {
                id: h.id.clone(),
                latin: h.latin.clone(),
                plain: h.plain.clone(),
                group: self.group_of[i].clone(),
                joints: h.joints.iter().map(|j| j.id().to_string()).collect(),
                two_joint: h.two_joint,
                volume_cm3: h.volume_cm3,
            })
            .collect()
    }

    /// Movements whose mechanics are written and checked.
    pub fn movements(&self) -> Vec<MovementRow> {
        self.catalogue
            .movements
            .iter()
            .filter(|m| self.checked.contains(&m.id))
            .map(|m| MovementRow {
                id: m.id.clone(),
                name: m.name.clone(),
                family: m.family.clone(),
                equipment: m.equipment.clone(),
                settings: m.settings.clone(),
            })
            .collect()
    }
}
