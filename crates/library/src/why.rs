//! Why a movement does what it does to one head, and what would change the verdict.
//!
//! The sharing of the load is the minimum of a convex cost, so each row of moments has a price λ and a head with
//! moments c is active by Σ λ c alone: the terms of that sum, added up per joint, are what each joint asks of it.

use crate::desk::Study;
use crate::{Ask, AskError, Library};
use anatomy::skeleton::{Joint, ROWS, Row};
use answer::{Class, SettingValue, Settings, Span, Why, WhyFlip, WhyJoint, WhyLength, WhyPartner, WhySteady};
use mechanics::solve::{Criterion, Memory};
use mechanics::system::{ContactFreedom, required_rows};
use movement::catalogue::{SettingKind, SettingSpec};
use movement::names::nearest_words;
use rayon::prelude::*;
use stimulus::measure::solve;
use stimulus::moments::frame_moments;
use stimulus::range::Widths;

/// Values tried on each side of a setting, and halvings of the step that changes the class.
const STEPS: usize = 4;
const HALVINGS: usize = 4;
/// Settings that state the usual value of a free contact force: unless the coach fixes them they are unknowns, so a step
/// of their value would compare a free contact with a fixed one.
const CONTACT: [&str; 3] = ["foot_out_ratio", "foot_shear_ratio", "hand_out_ratio"];
/// A joint that asks for less has no call of its own, N·m.
const SMALL_NM: f64 = 3.0;
/// Partners shown.
const PARTNERS: usize = 5;

impl Library {
    /// Why a movement does what it does to a head.
    ///
    /// # Errors
    /// As [`Library::study`]; an unknown head with the nearest names; a head whose joints the movement does not load.
    pub fn why(&self, ask: &Ask, head: &str) -> Result<Why, AskError> {
        let Some(h) = self.find_head(head) else {
            let names = self.tables.heads.iter().flat_map(|h| [h.id.as_str(), h.plain.as_str()]);
            return Err(AskError::UnknownHead { name: head.into(), nearest: nearest_words(head, names, 4) });
        };
        let study = self.study(ask, &Widths::default())?;
        let look = self.look_of(&study, &Ask { scene: false, ..ask.clone() });
        let id = &self.tables.heads[h].id;
        let found = look.heads.iter().find(|q| q.id == *id).filter(|_| study.lengths[h].is_some());
        let Some(row) = found else {
            let joints: Vec<&str> = self.tables.heads[h].joints.iter().map(|j| j.id()).collect();
            return Err(AskError::Problem(format!(
                "{}: its {} is supported or held in {}, so the mechanics says nothing about it",
                self.tables.heads[h].plain,
                joints.join(" and "),
                study.resolved.name
            )));
        };
        let phase_index = self.earns_most(&study, h);
        let joints = self.asked_by(&study, h, phase_index);
        let partners = joints.first().map_or_else(Vec::new, |j| self.partners(&study, h, j));
        let (flips, steady) = self.flips(ask, &study, h, row.class);
        let mut why = Why {
            schema: "lengthwise.why/1".into(),
            movement: look.movement.clone(),
            name: look.name.clone(),
            settings: look.settings.clone(),
            body: look.body.clone(),
            head: id.clone(),
            plain: row.plain.clone(),
            class: row.class,
            stimulus: row.stimulus,
            finding: String::new(),
            activation: row.activation,
            phase: phase_index as f64 / (study.rep.frames.len() - 1) as f64,
            length: self.length_part(&study, h, row.length),
            joints,
            partners,
            fixed_contact: self.with_fixed_contact(&study, h),
            flips,
            steady,
            marks: row.marks.clone(),
        };
        why.finding = finding(&why);
        Ok(why)
    }

    /// What a head earns in a frame.
    fn earned(&self, s: &Study, h: usize, t: usize) -> f64 {
        let q = &s.solved.prepared.frames[t].muscles.heads[h];
        s.solved.shares.activation[t][h] * q.active * self.rules.length_weight(q.fibre_norm)
    }

    /// Frame in which the head earns most; for a silent head the one in which it is called most.
    fn earns_most(&self, s: &Study, h: usize) -> usize {
        let called = |t: usize| {
            let q = &s.solved.prepared.frames[t].muscles.heads[h];
            (0..ROWS).map(|k| s.solved.shares.prices[t][k] * q.arms_m[k]).sum::<f64>()
        };
        let most = |value: &dyn Fn(usize) -> f64| {
            let order = |a: &usize, b: &usize| value(*a).total_cmp(&value(*b)).then(b.cmp(a));
            (0..s.rep.frames.len()).max_by(order).unwrap_or(0)
        };
        let best = most(&|t| self.earned(s, h, t));
        if self.earned(s, h, best) > 1e-6 { best } else { most(&called) }
    }

    /// What each joint asks of the head: terms of Σ λ c, added over the lift.
    fn asked_by(&self, s: &Study, h: usize, at: usize) -> Vec<WhyJoint> {
        let load = s.solved.load.load;
        let mut pulls: Vec<(Joint, f64)> = Vec::new();
        let frames = &s.solved.prepared.frames;
        // Frames count by what the head earns in them: beyond capacity, prices are as large as the stiffness of the
        // solver and would drown the rest. A silent head is judged by all frames alike.
        let earned: Vec<f64> = (0..frames.len()).map(|t| self.earned(s, h, t)).collect();
        let silent = earned.iter().all(|e| *e < 1e-6);
        for (t, f) in frames.iter().enumerate() {
            let q = &f.muscles.heads[h];
            let pull = |row: Row| s.solved.shares.prices[t][row.index()] * q.arms_m[row.index()];
            let size: f64 = Row::ALL.into_iter().map(|r| pull(r).abs()).sum();
            if size < 1e-15 {
                continue;
            }
            let weight = if silent { 1.0 } else { earned[t] } / size;
            for row in Row::ALL.into_iter().filter(|r| pull(*r) != 0.0) {
                match pulls.iter_mut().find(|p| p.0 == row.joint()) {
                    Some(p) => p.1 += weight * pull(row),
                    None => pulls.push((row.joint(), weight * pull(row))),
                }
            }
        }
        let all: f64 = pulls.iter().map(|p| p.1.abs()).sum();
        let frame = &s.solved.prepared.frames[at];
        let rows = required(s, at, load);
        let named = frame_moments(&s.rep, &s.solved.prepared, at, load);
        let lengths = s.lengths[h].as_ref();
        let mut out: Vec<WhyJoint> = pulls
            .into_iter()
            .map(|(joint, pull)| {
                let of_joint = || Row::ALL.into_iter().filter(move |r| r.joint() == joint);
                let size = of_joint().map(|r| rows[r.index()].powi(2)).sum::<f64>().sqrt();
                let arm = of_joint().map(|r| rows[r.index()] * frame.muscles.heads[h].arms_m[r.index()]).sum::<f64>();
                let prefix = format!("{}.", joint.id());
                let axis = named
                    .iter()
                    .filter(|(axis, _)| axis.starts_with(&prefix))
                    .max_by(|a, b| a.1.total_cmp(&b.1))
                    .map_or_else(|| joint.id().to_string(), |(axis, _)| (*axis).to_string());
                WhyJoint {
                    joint: joint.id().into(),
                    pull: if all > 0.0 { pull / all } else { 0.0 },
                    moment_nm: size,
                    axis,
                    arm_m: if size > 1e-9 { arm / size } else { 0.0 },
                    change_mm: lengths.map_or(0.0, |l| l.change_at_m(joint) * 1e3),
                }
            })
            .collect();
        out.sort_by(|a, b| b.pull.total_cmp(&a.pull).then(a.joint.cmp(&b.joint)));
        out
    }

    /// Heads that answer the same call of a joint: moments in the direction of its prices.
    fn partners(&self, s: &Study, h: usize, joint: &WhyJoint) -> Vec<WhyPartner> {
        let mut parts = vec![0.0; self.tables.heads.len()];
        let frames = s.solved.prepared.frames.iter().enumerate();
        for (t, f) in frames {
            let prices = &s.solved.shares.prices[t];
            let of_joint = || Row::ALL.into_iter().filter(|r| r.joint().id() == joint.joint);
            let size = of_joint().map(|r| prices[r.index()].powi(2)).sum::<f64>().sqrt();
            if size < 1e-15 {
                continue;
            }
            for (k, part) in parts.iter_mut().enumerate() {
                let q = &f.muscles.heads[k];
                let arm = of_joint().map(|r| prices[r.index()] * q.arms_m[r.index()]).sum::<f64>() / size;
                *part += (arm * q.max_force_n * q.active * s.solved.shares.activation[t][k]).max(0.0);
            }
        }
        let all: f64 = parts.iter().sum();
        let mut order: Vec<usize> = (0..parts.len()).filter(|&k| k == h || parts[k] > 0.02 * all).collect();
        order.sort_by(|&a, &b| parts[b].total_cmp(&parts[a]).then(a.cmp(&b)));
        let place = order.iter().position(|&k| k == h).unwrap_or(0);
        let shown = order.iter().enumerate().filter(|(i, _)| *i < PARTNERS || *i == place).map(|(_, &k)| k);
        shown
            .map(|k| WhyPartner {
                head: self.tables.heads[k].id.clone(),
                plain: self.tables.heads[k].plain.clone(),
                share: if all > 0.0 { parts[k] / all } else { 0.0 },
            })
            .collect()
    }

    fn length_part(&self, s: &Study, h: usize, span: Span) -> WhyLength {
        let (mut weight, mut force, mut sum) = (0.0, 0.0, 0.0);
        for (f, a) in s.solved.prepared.frames.iter().zip(&s.solved.shares.activation) {
            let q = &f.muscles.heads[h];
            // A silent head is judged by its lengths alone.
            let a = a[h].max(1e-3);
            sum += a;
            force += a * q.active;
            weight += a * self.rules.length_weight(q.fibre_norm);
        }
        WhyLength { span, force_share: force / sum, weight: weight / sum }
    }

    /// Stimulus when feet and hands push exactly as usual; `None` where no contact is free.
    fn with_fixed_contact(&self, s: &Study, h: usize) -> Option<f64> {
        s.rep.frames.iter().any(|f| f.free.iter().any(|c| c.contact_choice)).then(|| {
            let fixed = solve(
                &s.rep,
                &s.body,
                &s.model,
                &self.stops,
                &self.rules,
                Criterion::Cubic,
                ContactFreedom::Fixed,
                &mut Memory::default(),
            );
            let mid = self.denominators(&self.reference.mid);
            (fixed.raw[h] / mid[h]).min(self.rules.stimulus_cap)
        })
    }

    /// Smallest change of each setting that changes the class, the smallest part of its range first.
    fn flips(&self, ask: &Ask, s: &Study, h: usize, class: Class) -> (Vec<WhyFlip>, Vec<WhySteady>) {
        let Some(family) = self.catalogue.movement(&s.resolved.id).map(|m| m.family.clone()) else {
            return (Vec::new(), Vec::new());
        };
        let shown = self.shown_settings(&s.resolved);
        let specs: Vec<&SettingSpec> = self
            .catalogue
            .settings_for(&family)
            .into_iter()
            .filter(|p| shown.contains_key(&p.key))
            .filter(|p| !CONTACT.contains(&p.key.as_str()) || s.resolved.set.contains(&p.key))
            .collect();
        let tried: Vec<Tried> = specs
            .par_iter()
            .filter_map(|spec| {
                let now = s.resolved.settings.get(&spec.key)?;
                let stimulus = |v: SettingValue| self.stimulus_with(ask, s, h, &spec.key, v);
                let present = s.stimulus[h].mid;
                let mut tried = match (&spec.kind, now) {
                    (SettingKind::Number { unit, min, max }, SettingValue::Number(now)) => along(
                        &spec.key,
                        unit,
                        *now,
                        *min,
                        *max,
                        &|v| stimulus(SettingValue::Number(v)).map(|s| (self.class_of(h, s), s)),
                        class,
                    ),
                    (SettingKind::Choice { options }, SettingValue::Word(now)) => among(
                        &spec.key,
                        now,
                        options,
                        &|v| stimulus(SettingValue::Word(v.into())).map(|s| (self.class_of(h, s), s)),
                        class,
                    ),
                    _ => return None,
                };
                if tried.span.is_some() {
                    widen(&mut tried.span, present);
                }
                Some(tried)
            })
            .collect();
        let mut flips: Vec<(f64, WhyFlip)> = tried.iter().flat_map(|t| t.flips.clone()).collect();
        flips.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.setting.cmp(&b.1.setting)));
        let steady = tried
            .into_iter()
            .filter(|t| t.flips.is_empty())
            .filter_map(|t| Some(WhySteady { setting: t.key, span: t.span? }))
            .collect();
        (flips.into_iter().map(|f| f.1).collect(), steady)
    }

    fn class_of(&self, h: usize, stimulus: f64) -> Class {
        self.rules.class(stimulus, self.is_cuff(&self.tables.heads[h].id))
    }

    fn stimulus_with(&self, ask: &Ask, s: &Study, h: usize, key: &str, value: SettingValue) -> Option<f64> {
        let mut settings: Settings = s
            .resolved
            .settings
            .iter()
            .filter(|(k, _)| s.resolved.set.contains(*k))
            .map(|(k, v)| (k.clone(), v.clone()))
            .collect();
        settings.insert(key.into(), value);
        let ask = Ask { movement: s.resolved.id.clone(), settings, draws: 0, scene: false, ..ask.clone() };
        let study = self.study(&ask, &Widths::NONE).ok()?;
        (!study.solved.load.unlimited).then(|| study.stimulus[h].mid)
    }
}

/// One setting, tried.
struct Tried {
    key: String,
    /// Change as a part of the range, and what it does.
    flips: Vec<(f64, WhyFlip)>,
    span: Option<Span>,
}

type Judge<'a> = &'a dyn Fn(f64) -> Option<(Class, f64)>;

/// Walks from the present value to both ends of the range.
fn along(key: &str, unit: &str, now: f64, min: f64, max: f64, judge: Judge, class: Class) -> Tried {
    let mut out = Tried { key: key.into(), flips: Vec::new(), span: None };
    for end in [max, min] {
        let mut inside = now;
        for k in 1..=STEPS {
            let v = now + (end - now) * k as f64 / STEPS as f64;
            if (v - now).abs() < 1e-9 {
                break;
            }
            // Beyond what this body can do.
            let Some((c, s)) = judge(v) else { break };
            widen(&mut out.span, s);
            if c == class {
                inside = v;
                continue;
            }
            let mut beyond = (v, c, s);
            for _ in 0..HALVINGS {
                let middle = 0.5 * (inside + beyond.0);
                match judge(middle) {
                    Some((c, s)) if c != class => beyond = (middle, c, s),
                    Some(_) => inside = middle,
                    None => break,
                }
            }
            // Where the verdict turns back at once, the rounded value may already lie beyond: then with more digits.
            let turned = |v: &f64| judge(*v).is_some_and(|(c, _)| c != class);
            let rounded = [1.0, 0.1, 0.01].map(|part| outward(beyond.0, now, part * (max - min)).clamp(min, max));
            let to = rounded.into_iter().find(turned).unwrap_or(beyond.0);
            let flip = WhyFlip {
                setting: key.into(),
                unit: unit.into(),
                from: SettingValue::Number(now),
                to: SettingValue::Number(to),
                class: beyond.1,
                stimulus: beyond.2,
            };
            out.flips.push(((beyond.0 - now).abs() / (max - min), flip));
            break;
        }
    }
    out
}

/// Tries every other word.
fn among(
    key: &str,
    now: &str,
    options: &[String],
    judge: &dyn Fn(&str) -> Option<(Class, f64)>,
    class: Class,
) -> Tried {
    let mut out = Tried { key: key.into(), flips: Vec::new(), span: None };
    for word in options.iter().filter(|o| o.as_str() != now) {
        let Some((c, s)) = judge(word) else { continue };
        widen(&mut out.span, s);
        if c != class {
            let flip = WhyFlip {
                setting: key.into(),
                unit: String::new(),
                from: SettingValue::Word(now.into()),
                to: SettingValue::Word(word.clone()),
                class: c,
                stimulus: s,
            };
            // A word is a larger change than any step of a number.
            out.flips.push((1.0, flip));
        }
    }
    out
}

fn widen(span: &mut Option<Span>, s: f64) {
    let q = span.get_or_insert(Span { min: s, max: s });
    q.min = q.min.min(s);
    q.max = q.max.max(s);
}

/// No more digits than the search found, a hundredth of the range; rounded away from the present value.
fn outward(v: f64, now: f64, range: f64) -> f64 {
    let unit = 10f64.powf((range / 100.0).log10().floor());
    if v > now { (v / unit).ceil() * unit } else { (v / unit).floor() * unit }
}

/// Moments by row of a frame, all blocks, N·m.
fn required(s: &Study, t: usize, load: f64) -> [f64; ROWS] {
    let p = &s.solved.prepared;
    let mut out = [0.0; ROWS];
    for block in p.blocks.iter().chain(p.second.iter().map(|q| &q.0)) {
        let rows = required_rows(&s.rep, block, &p.frames[t], load);
        for row in &block.rows {
            out[row.index()] = rows[row.index()];
        }
    }
    out
}

/// The verdict with its main reason.
fn finding(w: &Why) -> String {
    let gets = match w.class {
        Class::Little | Class::Some => "gets",
        Class::Strong | Class::Prime => "is",
    };
    let verdict = format!(
        "{} {gets} {} ({:.2} of its reference movement) in {}",
        w.plain,
        w.class.word(),
        w.stimulus.mid,
        w.name
    );
    let ask = w.joints.iter().find(|j| j.pull > 0.0);
    let hold = w.joints.iter().rev().find(|j| j.pull < 0.0);
    let words = |j: &WhyJoint| j.axis.replace('.', " ");
    let reason = match (ask, hold) {
        // What the load asks is little or the other way: the head holds what the others do to the joint beside.
        (Some(a), _) if a.arm_m < 0.0 || a.moment_nm < SMALL_NM => format!(
            "the load asks little of it; it balances what the other muscles do to the {} beside their own work",
            a.joint
        ),
        (Some(a), Some(b)) => format!(
            "{} asks for it, but the {} takes {:.0} % of that call away, because it must make {} and the head works \
             against that",
            words(a),
            b.joint,
            (-b.pull / a.pull * 100.0).min(100.0),
            words(b)
        ),
        (Some(a), None) if w.length.weight * w.length.force_share < 0.55 => format!(
            "{} asks for it, at lengths where it has {:.0} % of its force",
            words(a),
            w.length.force_share * 100.0
        ),
        (Some(a), None) => format!("{} asks for it", words(a)),
        (None, Some(b)) => format!("the {} must make {}, and the head works against that", b.joint, words(b)),
        (None, None) => "no joint it crosses carries the load".into(),
    };
    format!("{verdict}: {reason}.")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_smallest_step_to_another_class_is_found() {
        let judge = |v: f64| Some((if v > 7.0 { Class::Strong } else { Class::Prime }, v));
        let t = along("k", "deg", 5.0, 0.0, 20.0, &judge, Class::Prime);
        assert_eq!(t.flips.len(), 1);
        let SettingValue::Number(to) = t.flips[0].1.to else { panic!("a number") };
        assert!((7.0..7.5).contains(&to), "{to}");
        let steady = along("k", "deg", 5.0, 0.0, 6.0, &judge, Class::Prime);
        assert!(steady.flips.is_empty());
        assert_eq!(steady.span, Some(Span { min: 0.0, max: 6.0 }));
    }

    #[test]
    fn a_setting_out_of_reach_ends_the_walk() {
        let judge = |v: f64| (v < 6.0).then_some((Class::Prime, v));
        assert!(along("k", "deg", 5.0, 0.0, 20.0, &judge, Class::Prime).flips.is_empty());
    }
}
