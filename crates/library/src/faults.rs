//! Common faults as changes of a setting, each solved without and with it.

use crate::desk::Study;
use crate::{Ask, AskError, Library};
use answer::{
    Fault, FaultExpected, FaultHead, FaultLeftOut, FaultMoment, Faults, Look, MATTERS_FROM, Range, SettingValue,
    direction, joint_word,
};
use mechanics::solve::{Criterion, Memory, SetLoad};
use movement::catalogue::Catalogue;
use rayon::prelude::*;
use stimulus::measure::share_by;
use stimulus::moments::{net_axis_moments, opposite_axis};
use stimulus::range::Widths;

/// A change of a joint moment smaller than this, N·m, or than a tenth of the larger one does not matter.
const LEAST_MOMENT_NM: f64 = 3.0;
const LEAST_MOMENT_SHARE: f64 = 0.1;
/// A change of stimulus smaller than this is none, whatever its ratio.
const LEAST_STIMULUS: f64 = 0.02;
/// Heads that get less than this both ways are not listed.
const SILENT: f64 = 0.05;

/// A head that gets this much works, and a lift is cut short when such a head loses this part of its way.
const WORKS: f64 = 0.4;
const LEAST_WAY_MM: f64 = 5.0;
const CUT_FROM: f64 = 0.15;

/// One row of the table of faults.
#[derive(Clone, Debug, PartialEq)]
pub struct FaultSpec {
    pub family: String,
    pub fault: String,
    pub setting: String,
    pub from: String,
    pub to: String,
    /// `key` and the words it may have for the fault to be possible.
    pub only_when: Option<(String, Vec<String>)>,
    pub effect: String,
    pub coach_cares: String,
    /// (head or group, up | down | same).
    pub expected: Vec<(String, String)>,
    pub why: String,
    pub how: String,
}

const COLUMNS: [&str; 11] = [
    "family",
    "fault",
    "setting",
    "from_value",
    "to_value",
    "only_when",
    "effect",
    "coach_cares",
    "expected_head_load",
    "why_a_coach_cares_or_not",
    "how",
];

impl FaultSpec {
    /// Reads the table.
    ///
    /// # Errors
    /// Every bad row, `FILE:LINE: column: what`.
    pub fn parse(text: &str, file: &str, catalogue: &Catalogue) -> Result<Vec<FaultSpec>, Vec<String>> {
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let header = reader.headers().map_err(|e| vec![format!("{file}:1: {e}")])?.clone();
        let at = |name: &str| header.iter().position(|h| h.trim() == name);
        let missing: Vec<String> = COLUMNS
            .iter()
            .filter(|c| at(c).is_none())
            .map(|c| format!("{file}:1: the column `{c}` is missing"))
            .collect();
        if !missing.is_empty() {
            return Err(missing);
        }
        let (mut out, mut bad) = (Vec::new(), Vec::new());
        for record in reader.records() {
            let record = match record {
                Ok(r) => r,
                Err(e) => {
                    bad.push(format!("{file}:{}: {e}", e.position().map_or(0, |p| p.line())));
                    continue;
                }
            };
            let line = record.position().map_or(0, |p| p.line());
            let cell = |name: &str| at(name).and_then(|i| record.get(i)).unwrap_or("").trim().to_string();
            match row(&cell, catalogue) {
                Ok(spec) => out.push(spec),
                Err(e) => bad.push(format!("{file}:{line}: {e}")),
            }
        }
        if bad.is_empty() { Ok(out) } else { Err(bad) }
    }
}

fn row(cell: &dyn Fn(&str) -> String, catalogue: &Catalogue) -> Result<FaultSpec, String> {
    for column in ["family", "fault", "setting", "from_value", "to_value", "effect", "how"] {
        if cell(column).is_empty() {
            return Err(format!("`{column}` is empty"));
        }
    }
    let (family, setting) = (cell("family"), cell("setting"));
    let (from, to) = (cell("from_value"), cell("to_value"));
    for (column, value) in [("from_value", &from), ("to_value", &to)] {
        catalogue.check_setting(&family, &setting, value).map_err(|e| format!("`{column}`: {e}"))?;
    }
    if from == to {
        return Err(format!("`to_value`: \"{to}\" is the same as `from_value`"));
    }
    let cares = cell("coach_cares");
    if !["yes", "maybe", "no"].contains(&cares.as_str()) {
        return Err(format!("`coach_cares`: \"{cares}\", expected yes, maybe or no"));
    }
    let only = cell("only_when");
    let only_when = match only.split_once('=') {
        _ if only.is_empty() => None,
        Some((key, words)) => Some((key.trim().to_string(), words.split('|').map(|w| w.trim().to_string()).collect())),
        None => return Err(format!("`only_when`: \"{only}\", expected key=word|word or nothing")),
    };
    let mut expected = Vec::new();
    for item in cell("expected_head_load").split(';').map(str::trim).filter(|t| !t.is_empty()) {
        match item.split_once(':') {
            Some((head, turn)) if ["up", "down", "same"].contains(&turn) => expected.push((head.into(), turn.into())),
            _ => return Err(format!("`expected_head_load`: \"{item}\", expected head:up, head:down or head:same")),
        }
    }
    let (fault, effect) = (cell("fault"), cell("effect"));
    let why = cell("why_a_coach_cares_or_not");
    Ok(FaultSpec {
        family,
        fault,
        setting,
        from,
        to,
        only_when,
        effect,
        coach_cares: cares,
        expected,
        why,
        how: cell("how"),
    })
}

impl Library {
    /// What the common faults of a movement change in this body.
    ///
    /// # Errors
    /// As [`Library::study`] for the movement itself; a fault that cannot be solved is left out and said.
    pub fn faults(&self, ask: &Ask) -> Result<Faults, AskError> {
        let ask = Ask { scene: false, ..ask.clone() };
        let own = self.look(&ask)?;
        let resolved = self.resolve(&ask.movement, &ask.settings)?;
        let family = self.catalogue.movement(&resolved.id).map(|m| m.family.clone()).unwrap_or_default();
        let specs: Vec<&FaultSpec> = self.faults.iter().filter(|f| f.family == family).collect();
        let solved: Vec<Result<Fault, String>> = specs
            .par_iter()
            .map(|spec| {
                self.possible(spec, &resolved.id, &resolved.settings).and_then(|()| self.fault(spec, &ask, &own))
            })
            .collect();
        let (mut faults, mut left_out) = (Vec::new(), Vec::new());
        for (spec, solved) in specs.iter().zip(solved) {
            match solved {
                Ok(f) => faults.push(f),
                Err(why) => left_out.push(FaultLeftOut { fault: spec.fault.clone(), why }),
            }
        }
        Ok(Faults {
            schema: "lengthwise.faults/1".into(),
            movement: own.movement,
            name: own.name,
            read_as: own.read_as,
            settings: own.settings,
            body: own.body,
            faults,
            left_out,
        })
    }

    /// Whether a movement can have a fault.
    fn possible(&self, spec: &FaultSpec, id: &str, settings: &answer::Settings) -> Result<(), String> {
        if let Some((key, words)) = &spec.only_when {
            let have: Vec<String> = if key == "equipment" {
                self.catalogue.movement(id).map(|m| m.equipment.clone()).unwrap_or_default()
            } else {
                settings.get(key).map(|v| v.to_string()).into_iter().collect()
            };
            if !have.iter().any(|h| words.contains(h)) {
                return Err(format!(
                    "happens only with {key} = {}; here it is {}",
                    words.join(" or "),
                    have.join(", ")
                ));
            }
        }
        match self.reads(id, &spec.setting) {
            Ok(true) => Ok(()),
            Ok(false) => Err(format!("the mechanics of this movement have no setting {}", spec.setting)),
            Err(e) => Err(e.to_string()),
        }
    }

    fn fault(&self, spec: &FaultSpec, ask: &Ask, own: &Look) -> Result<Fault, String> {
        let value = |text: &str| {
            let v = self.catalogue.check_setting(&spec.family, &spec.setting, text);
            v.map_err(|e| e.to_string())
        };
        let (from, to) = (value(&spec.from)?, value(&spec.to)?);
        let with = |v: &SettingValue| -> Result<(Study, Look), String> {
            let mut ask = ask.clone();
            // The setting asked for gives way to the fault; the other settings stay.
            ask.settings.insert(spec.setting.clone(), v.clone());
            let study = self.study(&ask, &Widths::default()).map_err(|e| e.to_string())?;
            let look = self.look_of(&study, &ask);
            Ok((study, look))
        };
        let ((a, look_a), (b, look_b)) = (with(&from)?, with(&to)?);
        let same = |x: &[f64], y: &[f64]| x.iter().zip(y).all(|(p, q)| (p - q).abs() < 1e-9);
        if same(&a.solved.raw, &b.solved.raw) && (a.shown.load.mid - b.shown.load.mid).abs() < 1e-9 {
            return Err(format!("nothing in this movement depends on {}", spec.setting));
        }
        let load = a.solved.load.load.min(b.solved.load.load);
        let (raw_a, raw_b) = (self.raw_at(&a, load), self.raw_at(&b, load));
        let mut heads = Vec::new();
        for (h, head) in self.tables.heads.iter().enumerate() {
            let (s, t) = (a.stimulus[h], b.stimulus[h]);
            if s.mid.max(t.mid) < SILENT {
                continue;
            }
            let found = look_a.heads.iter().chain(&look_b.heads).find(|q| q.id == head.id);
            let largest = raw_a[h].max(raw_b[h]);
            heads.push(FaultHead {
                id: head.id.clone(),
                plain: head.plain.clone(),
                from: s,
                to: t,
                change: t.mid - s.mid,
                change_at_same_load: (largest >= LEAST_STIMULUS).then(|| (raw_b[h] - raw_a[h]) / largest),
                way_from_mm: way_mm(&a, h),
                way_to_mm: way_mm(&b, h),
                matters: (t.mid - s.mid).abs() >= MATTERS_FROM && s.apart(t),
                marks: found.map(|q| q.own_marks()).unwrap_or_default(),
            });
        }
        heads.sort_by(|p, q| q.change.abs().total_cmp(&p.change.abs()).then(p.id.cmp(&q.id)));
        let moments = moments(&a, &b, load);
        let expected =
            spec.expected.iter().map(|(head, turn)| self.expectation(head, turn, (&a, &b), (&raw_a, &raw_b))).collect();
        let mut out = Fault {
            fault: spec.fault.clone(),
            setting: spec.setting.clone(),
            usual: own.settings.get(&spec.setting).filter(|v| **v != from).cloned(),
            from,
            to,
            matters: false,
            finding: String::new(),
            note: String::new(),
            load_from: a.shown.load,
            load_to: b.shown.load,
            load_unit: look_a.load_unit,
            limiting_from: look_a.limiting_joint,
            limiting_to: look_b.limiting_joint,
            heads,
            moments,
            effect: spec.effect.clone(),
            coach_cares: spec.coach_cares.clone(),
            why_a_coach_cares: spec.why.clone(),
            expected,
            how: spec.how.clone(),
        };
        out.matters = out.heads.iter().any(|h| h.matters) || out.moments.iter().any(|m| m.matters);
        out.finding = finding(&out);
        out.note = cut_short(&out);
        Ok(out)
    }

    /// Stimulus of every head at a load, relative to its reference and not capped.
    fn raw_at(&self, s: &Study, load: f64) -> Vec<f64> {
        let at = SetLoad { load, ..s.solved.load.clone() };
        let mut memory = Memory::default();
        let raw = share_by(&s.solved.prepared, &at, Criterion::Cubic, &s.model, &self.rules, &mut memory).raw;
        let mid_of = self.denominators(&self.reference.mid);
        raw.iter().zip(&mid_of).map(|(r, d)| r / d).collect()
    }

    fn expectation(&self, name: &str, turn: &str, (a, b): (&Study, &Study), same: (&[f64], &[f64])) -> FaultExpected {
        let ids = self.catalogue.heads(name);
        let list: Vec<usize> = ids.iter().filter_map(|id| self.tables.head_index(id)).collect();
        let plain = match list.as_slice() {
            [h] => self.tables.heads[*h].plain.clone(),
            _ => name.replace('-', " "),
        };
        let solved = !list.is_empty() && list.iter().all(|&h| a.lengths[h].is_some() && b.lengths[h].is_some());
        let mean = |value: &dyn Fn(usize) -> f64| {
            let volume = |h: &usize| self.tables.heads[*h].volume_cm3;
            list.iter().map(|h| value(*h) * volume(h)).sum::<f64>() / list.iter().map(volume).sum::<f64>().max(1e-9)
        };
        let turns = |x: &dyn Fn(usize) -> f64, y: &dyn Fn(usize) -> f64| match solved {
            true => direction(mean(x), mean(y), LEAST_STIMULUS),
            false => "cannot say",
        };
        let ours = turns(&|h| a.uncapped[h], &|h| b.uncapped[h]);
        let at_same = turns(&|h| same.0[h], &|h| same.1[h]);
        let agree = match (solved, ours == turn, at_same == turn) {
            (false, _, _) => "cannot say",
            (_, true, _) => "yes",
            (_, false, true) => "at the same load only",
            _ => "no",
        };
        FaultExpected {
            head: name.into(),
            plain,
            expected: turn.into(),
            ours: ours.into(),
            ours_at_same_load: at_same.into(),
            agree: agree.into(),
        }
    }
}

/// Mean moments of every axis that carries something, in the direction in which it turns without the fault.
fn moments(a: &Study, b: &Study, same_load: f64) -> Vec<FaultMoment> {
    let mut out = Vec::new();
    for x in net_axis_moments(&a.rep, &a.solved.prepared, &a.solved.shares, a.solved.load.load) {
        let from = mean_range(a, x.axis);
        let to = mean_range(b, x.axis);
        let (Some(from), Some(to)) = (from, to) else { continue };
        let at_same = mean_at(b, x.axis, same_load).unwrap_or(to.mid);
        let change = (to.mid - from.mid).abs();
        let largest = from.mid.abs().max(to.mid.abs());
        let matters = change >= LEAST_MOMENT_NM && change >= LEAST_MOMENT_SHARE * largest && from.apart(to);
        if largest >= LEAST_MOMENT_NM {
            out.push(FaultMoment { axis: x.axis.into(), from, to, to_at_same_load_nm: at_same, matters });
        }
    }
    out.sort_by(|p, q| {
        let size = |m: &FaultMoment| (m.to.mid - m.from.mid).abs();
        size(q).total_cmp(&size(p)).then(p.axis.cmp(&q.axis))
    });
    out
}

/// Mean moment over the lift at the low, middle and high load of a hard set.
fn mean_range(s: &Study, axis: &str) -> Option<Range> {
    let [low, mid, high] = [s.shown.load.low, s.shown.load.mid, s.shown.load.high].map(|l| mean_at(s, axis, l));
    let (low, mid, high) = (low?, mid?, high?);
    Some(Range { low: low.min(mid).min(high), mid, high: low.max(mid).max(high) })
}

/// Mean moment over the lift with the muscles shared at a load, N·m in the named direction.
fn mean_at(s: &Study, axis: &str, load: f64) -> Option<f64> {
    let p = &s.solved.prepared;
    let shares = p.share(load, &s.solved.load.capacity, Criterion::Cubic, &s.model, &mut Memory::default());
    let opposite = opposite_axis(axis);
    net_axis_moments(&s.rep, p, &shares, load).into_iter().find_map(|m| match m.axis {
        own if own == axis => Some(m.mean()),
        own if Some(own) == opposite.as_deref() => Some(-m.mean()),
        _ => None,
    })
}

/// How far a head goes over the lift, mm.
fn way_mm(s: &Study, h: usize) -> f64 {
    let total = s.lengths[h].as_ref().map_or(&[][..], |l| &l.total_m);
    let (low, high) = total.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(*v), b.max(*v)));
    if low <= high { (high - low) * 1e3 } else { 0.0 }
}

/// Stimulus is a mean over the lift: a lift that is cut short may score as high on the way that is left.
fn cut_short(f: &Fault) -> String {
    let works = |h: &&FaultHead| h.from.mid >= WORKS && h.way_from_mm >= LEAST_WAY_MM;
    let lost = |h: &FaultHead| 1.0 - h.way_to_mm / h.way_from_mm;
    let most = f.heads.iter().filter(works).max_by(|p, q| lost(p).total_cmp(&lost(q)).then(q.id.cmp(&p.id)));
    match most.filter(|h| lost(h) >= CUT_FROM) {
        None => String::new(),
        Some(h) => format!(
            "the lift is cut short: {} goes {:.0} mm, not {:.0}; stimulus is a mean over the lift and does not count the \
             lost way",
            h.plain, h.way_to_mm, h.way_from_mm
        ),
    }
}

/// The largest thing that matters, in a coach's words.
fn finding(f: &Fault) -> String {
    let low = |h: &&FaultHead| h.marks.iter().any(|m| m == answer::LOW_CONFIDENCE);
    let more = |up: bool| if up { "more" } else { "less" };
    let head = f.heads.iter().filter(|h| h.matters).find(|h| !low(h)).or(f.heads.iter().find(|h| h.matters));
    let moment = f.moments.iter().find(|m| m.matters);
    match (head, moment) {
        (Some(h), _) => {
            let other = f.heads.iter().find(|o| o.matters && !low(o) && (o.change > 0.0) != (h.change > 0.0));
            let and = other.map_or(String::new(), |o| format!("; {} gets {}", o.plain, more(o.change > 0.0)));
            format!(
                "{} gets {} from a hard set ({:.2} to {:.2}){and}",
                h.plain,
                more(h.change > 0.0),
                h.from.mid,
                h.to.mid
            )
        }
        (None, Some(m)) => {
            let (joint, turn) = m.axis.split_once('.').unwrap_or((&m.axis, ""));
            format!(
                "no head changes by more than its range, but the {} {} moment of a hard set goes from {:.0} to {:.0} N·m",
                joint_word(joint),
                turn.replace('-', " "),
                m.from.mid,
                m.to.mid
            )
        }
        (None, None) => "no head and no joint changes by more than the shown range".into(),
    }
}
