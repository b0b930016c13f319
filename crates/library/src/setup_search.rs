//! The set-up of each movement that does most for one head: settings that are chosen before the set, within joint ranges
//! and without a much larger joint force.

use crate::desk::Study;
use crate::{Ask, AskError, Library};
use answer::{BodyNote, Search, SearchRow, SettingValue, Settings};
use movement::catalogue::{Kit, SettingKind};
use movement::check::{What, check};
use movement::names::nearest_words;
use rayon::prelude::*;
use std::collections::BTreeSet;
use stimulus::contact::peak_contact_bw;
use stimulus::range::Widths;

/// Values tried over the range of a number, besides the present one.
const VALUES: usize = 5;
/// Frames of a lift while searching; the found set-up is solved with those asked for.
const FRAMES: usize = 11;
/// Rounds through all settings; the second begins where the first ended, with half the step about its values.
const ROUNDS: usize = 2;
/// A setting that makes a movement what it is (one of its own settings) moves by this part of its range at most.
const OWN_ROOM: f64 = 0.15;
/// A movement that gives the head less than this as usually done is not searched.
const HOPELESS: f64 = 0.05;
/// A gain smaller than this is not worth another set-up.
const LEAST_GAIN: f64 = 0.02;
/// A joint may carry this many times the contact force of the usual set-up (own choice: a quarter more).
const FORCE_FACTOR: f64 = 1.25;

/// A setting that is chosen before the set: its key, and the equipment it needs.
#[derive(Clone, Debug, PartialEq)]
pub struct Searchable {
    pub key: String,
    pub needs: Option<String>,
}

impl Searchable {
    /// Reads the table.
    ///
    /// # Errors
    /// Every bad row, `FILE:LINE: what`.
    pub fn parse(text: &str, file: &str) -> Result<Vec<Searchable>, Vec<String>> {
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let (mut out, mut bad): (Vec<Searchable>, Vec<String>) = (Vec::new(), Vec::new());
        for record in reader.records() {
            match record {
                Err(e) => bad.push(format!("{file}:{}: {e}", e.position().map_or(0, |p| p.line()))),
                Ok(r) => {
                    let line = r.position().map_or(0, |p| p.line());
                    let cell = |i: usize| r.get(i).unwrap_or("").trim().to_string();
                    let (key, needs) = (cell(0), Some(cell(1)).filter(|n| !n.is_empty()));
                    match out.iter().any(|s| s.key == key) {
                        _ if key.is_empty() => bad.push(format!("{file}:{line}: `setting` is empty")),
                        true => bad.push(format!("{file}:{line}: `{key}` stands twice")),
                        false => out.push(Searchable { key, needs }),
                    }
                }
            }
        }
        if bad.is_empty() { Ok(out) } else { Err(bad) }
    }
}

/// A set-up that was solved.
struct Tried {
    settings: Settings,
    stimulus: f64,
    limiting: String,
}

/// What a set-up is measured against.
struct Bounds {
    /// Broken rules of the usual set-up: they do not count against another.
    broken: Vec<(What, f64)>,
    forces: Vec<(anatomy::skeleton::Joint, f64)>,
}

impl Library {
    /// The best set-up of every movement for a head, middle values.
    ///
    /// # Errors
    /// An unknown head with the nearest names.
    pub fn search_setups(&self, head: &str, kit: Option<&Kit>, like: &Ask) -> Result<Search, AskError> {
        let Some(h) = self.find_head(head) else {
            let names = self.tables.heads.iter().flat_map(|h| [h.id.as_str(), h.plain.as_str()]);
            return Err(AskError::UnknownHead { name: head.into(), nearest: nearest_words(head, names, 4) });
        };
        let body = self.body(&like.person)?;
        let movements: Vec<&str> = self
            .catalogue
            .movements
            .iter()
            .filter(|m| self.checked.contains(&m.id) && kit.is_none_or(|k| k.allows(&m.equipment)))
            .map(|m| m.id.as_str())
            .collect();
        let found: Vec<(&str, Result<Option<SearchRow>, AskError>)> =
            movements.par_iter().map(|id| (*id, self.best_setup(id, h, kit, like))).collect();
        let (mut rows, mut left_out) = (Vec::new(), Vec::new());
        for (id, row) in found {
            match row {
                Ok(row) => rows.extend(row),
                Err(e) => left_out.push(format!("{id}: {e}")),
            }
        }
        rows.sort_by(|a, b| b.stimulus.total_cmp(&a.stimulus).then(a.movement.cmp(&b.movement)));
        let own = &self.tables.heads[h];
        Ok(Search {
            schema: "lengthwise.search/1".into(),
            head: own.id.clone(),
            plain: own.plain.clone(),
            marks: own.confidence_low.then(|| answer::LOW_CONFIDENCE.to_string()).into_iter().collect(),
            kit: kit.map(|k| k.name.clone()),
            body: BodyNote {
                who: like.person.who.clone(),
                sex: if like.person.female { "female".into() } else { "male".into() },
                stature_m: body.stature_m,
                mass_kg: body.mass_kg,
            },
            rows,
            left_out,
        })
    }

    /// `None` where the movement does not work the head at all.
    fn best_setup(&self, id: &str, h: usize, kit: Option<&Kit>, like: &Ask) -> Result<Option<SearchRow>, AskError> {
        let ask = Ask { movement: id.into(), settings: Settings::new(), draws: 0, scene: false, ..like.clone() };
        let quick = Ask { frames: FRAMES.min(ask.frames), ..ask.clone() };
        let usual = self.study(&quick, &Widths::NONE)?;
        if usual.lengths[h].is_none() || usual.solved.load.unlimited || usual.stimulus[h].mid < HOPELESS {
            return Ok(None);
        }
        let bounds = self.bounds(&usual);
        let keys = self.tried_keys(&usual, kit);
        let (mut best, mut solved, mut refused) = (of(&usual, h, Settings::new()), 0, 0);
        let mut seen: BTreeSet<String> = BTreeSet::new();
        for round in 0..ROUNDS {
            for key in &keys {
                for value in self.values(&usual, &best.settings, key, round) {
                    let mut settings = best.settings.clone();
                    settings.insert(key.clone(), value);
                    if !seen.insert(format!("{settings:?}")) {
                        continue;
                    }
                    solved += 1;
                    let Ok(study) = self.study(&Ask { settings: settings.clone(), ..quick.clone() }, &Widths::NONE)
                    else {
                        refused += 1;
                        continue;
                    };
                    if !self.bearable(&study, &bounds) {
                        refused += 1;
                        continue;
                    }
                    let tried = of(&study, h, settings);
                    if tried.stimulus > best.stimulus + LEAST_GAIN / 4.0 {
                        best = tried;
                    }
                }
            }
        }
        // Told with as many frames as asked for; a gain of the coarse search may vanish there.
        let whole = |settings: &Settings| self.study(&Ask { settings: settings.clone(), ..ask.clone() }, &Widths::NONE);
        let usual = of(&whole(&Settings::new())?, h, Settings::new());
        let found = whole(&best.settings).ok().map(|s| of(&s, h, best.settings.clone()));
        let best = found.filter(|f| f.stimulus >= usual.stimulus + LEAST_GAIN);
        let cuff = self.is_cuff(&self.tables.heads[h].id);
        let named = self.catalogue.movement(id);
        let (stimulus, settings, limiting) = match best {
            Some(b) => (b.stimulus, b.settings, b.limiting),
            None => (usual.stimulus, Settings::new(), usual.limiting),
        };
        let mut equipment = named.map(|m| m.equipment.clone()).unwrap_or_default();
        for needed in self.searchable.iter().filter(|s| settings.contains_key(&s.key)).filter_map(|s| s.needs.as_ref())
        {
            if !equipment.contains(needed) {
                equipment.push(needed.clone());
            }
        }
        Ok(Some(SearchRow {
            movement: id.into(),
            name: named.map(|m| m.name.clone()).unwrap_or_default(),
            equipment,
            class: self.rules.class(stimulus, cuff),
            stimulus,
            usual_class: self.rules.class(usual.stimulus, cuff),
            usual_stimulus: usual.stimulus,
            settings,
            tried: keys,
            solved,
            refused,
            limiting_joint: limiting,
        }))
    }

    /// Searchable settings that the movement has and reads, and whose equipment is there.
    fn tried_keys(&self, usual: &Study, kit: Option<&Kit>) -> Vec<String> {
        let shown = self.shown_settings(&usual.resolved);
        let there =
            |s: &&Searchable| s.needs.as_ref().is_none_or(|n| kit.is_none_or(|k| k.allows(std::slice::from_ref(n))));
        self.searchable.iter().filter(|s| shown.contains_key(&s.key)).filter(there).map(|s| s.key.clone()).collect()
    }

    /// Values of a setting worth a try: evenly over its range, then about the best one.
    fn values(&self, usual: &Study, best: &Settings, key: &str, round: usize) -> Vec<SettingValue> {
        let family = self.catalogue.movement(&usual.resolved.id).map_or("", |m| m.family.as_str());
        let now = best.get(key).or(usual.resolved.settings.get(key));
        let (Some(spec), Some(now)) = (self.catalogue.setting(family, key), now) else { return Vec::new() };
        let own = |key: &str| self.catalogue.movement(&usual.resolved.id).is_some_and(|m| m.settings.contains_key(key));
        match (&spec.kind, now) {
            (SettingKind::Choice { options }, SettingValue::Word(w)) if round == 0 && !own(key) => {
                options.iter().filter(|o| *o != w).cloned().map(SettingValue::Word).collect()
            }
            (SettingKind::Number { min, max, .. }, SettingValue::Number(v)) => {
                // A setting that makes the movement what it is stays near its value: a decline stays a decline.
                let fixed = self.catalogue.movement(&usual.resolved.id).and_then(|m| m.settings.get(key));
                let (low, high) = match fixed {
                    Some(SettingValue::Number(o)) => {
                        let room = OWN_ROOM * (max - min);
                        (min.max(o - room), max.min(o + room))
                    }
                    _ => (*min, *max),
                };
                let step = (high - low) / (VALUES - 1) as f64;
                let values: Vec<f64> = match round {
                    0 => (0..VALUES).map(|i| low + step * i as f64).collect(),
                    _ => vec![v - 0.5 * step, v + 0.5 * step],
                };
                let inside = |x: &f64| *x >= low && *x <= high && (x - v).abs() > 1e-9;
                values.into_iter().map(|x| rounded(x, max - min)).filter(inside).map(SettingValue::Number).collect()
            }
            _ => Vec::new(),
        }
    }

    fn bounds(&self, s: &Study) -> Bounds {
        let broken = check(&s.plan, &s.rep, &s.body, &self.ranges).into_iter().map(|f| (f.what, f.size)).collect();
        Bounds { broken, forces: forces(s) }
    }

    /// Whether a set-up breaks no rule that the usual one keeps, and loads no joint much more.
    fn bearable(&self, s: &Study, bounds: &Bounds) -> bool {
        let worse = |f: &movement::check::Finding| {
            !bounds.broken.iter().any(|(what, size)| *what == f.what && f.size <= *size + 1e-9)
        };
        let heavier = |(joint, force): &(anatomy::skeleton::Joint, f64)| {
            bounds.forces.iter().any(|(j, usual)| j == joint && *force > FORCE_FACTOR * usual.max(1.0))
        };
        !s.solved.load.unlimited
            && s.solved.load.impossible.is_empty()
            && !check(&s.plan, &s.rep, &s.body, &self.ranges).iter().any(worse)
            && !forces(s).iter().any(heavier)
    }
}

fn of(s: &Study, h: usize, settings: Settings) -> Tried {
    let limiting = s.solved.load.ended_by().into();
    Tried { settings, stimulus: s.stimulus[h].mid, limiting }
}

fn forces(s: &Study) -> Vec<(anatomy::skeleton::Joint, f64)> {
    let solved = &s.solved;
    peak_contact_bw(&s.rep, &solved.prepared, &solved.shares, solved.load.load, &s.body, &s.model)
}

/// No more digits than a coach can set: steps of at most a twentieth of the range.
fn rounded(v: f64, range: f64) -> f64 {
    let decimals = -(range / 20.0).log10().floor();
    if decimals <= 0.0 {
        return v.round();
    }
    let text = format!("{v:.*}", decimals as usize);
    text.parse().unwrap_or(v)
}
