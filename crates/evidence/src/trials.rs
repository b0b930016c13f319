//! The trials column: what training studies say of a hard set of a movement, for every head.
//!
//! A study gives a head the ratio of its growth in one condition to the growth in the best condition of the study that is
//! direct for it by the convention, unlike sets levelled by the dose curve. Where the study has no such condition for the
//! same muscle and the movement is no direct work for it, the best direct muscle stands in, and the ratio is worth less. Movements like the one asked
//! for count too, the less the further they are. All trials of a head are averaged by their precision.

use crate::bench::Bench;
use crate::data;
use crate::seen::Seen;
use crate::study::{Condition, Measured, Study, person};
use answer::{Credit, Range, TrialShown};
use library::Library;
use std::collections::BTreeMap;

/// One ratio.
#[derive(Clone, Debug, PartialEq)]
pub struct Trial {
    pub study: String,
    /// `id{key=value}`.
    pub movement: String,
    pub head: String,
    /// 1 grows as much as in the direct movement.
    pub ratio: f64,
    /// Standard deviation of the ratio.
    pub sd: f64,
}

/// Trials of all movements, and what every one of these movements gives the heads.
#[derive(Clone, Debug, Default)]
pub struct Trials {
    pub list: Vec<Trial>,
    /// Credit by mechanics of a movement of a study, in the order of the heads.
    credits: BTreeMap<String, Vec<f64>>,
    studies: BTreeMap<String, TrialShown>,
    constants: BTreeMap<String, f64>,
}

/// What the trials say of one head.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TrialCredit {
    pub value: f64,
    pub sd: f64,
    pub trials: usize,
}

/// A change below this, percent, is no growth one could divide by.
const SMALLEST_CHANGE: f64 = 1.0;
/// Distance that other settings of a movement are taken for where its credits are not at hand.
const OTHER_SETTINGS: f64 = 0.1;
/// Largest ratio: the cap of a stimulus.
const LARGEST_RATIO: f64 = 1.2;

/// Ratios of all shipped studies.
pub fn trials(bench: &Bench) -> Vec<Trial> {
    let mut out = Vec::new();
    for s in &bench.studies {
        if s.head.do_not_use.is_empty() && s.head.same_people_as.is_empty() && s.weeks > 0.0 {
            of_study(bench, s, &mut out);
        }
    }
    out
}

/// Volume-weighted convention of a measured muscle in a condition of one movement.
fn convention(seen: &Seen, r: &Measured) -> f64 {
    r.muscle.heads.iter().map(|&(h, part)| part * seen[h].convention).sum()
}

fn of_study(bench: &Bench, s: &Study, out: &mut Vec<Trial>) {
    let k = |key: &str| bench.constants.get(key).copied().unwrap_or(0.0);
    let who = person(&s.head, &bench.constants);
    // One movement a condition: of a programme nobody knows which movement did it.
    let single = |c: &Condition| (c.movements.len() == 1 && c.hard_sets).then(|| c.movements[0].clone());
    let arms = if s.head.design.contains("within") || s.head.design.contains("single") {
        1.0
    } else {
        s.conditions.len().max(1) as f64
    };
    let n = (s.head.people.n.unwrap_or(10.0) / arms).max(2.0);
    let known: Vec<(&Measured, f64, f64)> = s
        .results
        .iter()
        .filter_map(|r| {
            let c = &s.conditions[r.condition];
            let seen = bench.solved.get(&who, &single(c)?).ok()?;
            Some((r, r.change_percent?, convention(seen, r)))
        })
        .collect();
    let word = |r: &Measured| single(&s.conditions[r.condition]).map(|m| m.word);
    // (movement, head) → ratios of regions and measures.
    let mut found: BTreeMap<(String, usize), Vec<(f64, f64)>> = BTreeMap::new();
    for &(r, change, own) in &known {
        let alike = |q: &&(&Measured, f64, f64)| q.0.measure == r.measure && q.0.region == r.region && q.2 > 0.99;
        let best = |same: bool| {
            known
                .iter()
                .filter(alike)
                .filter(|q| (q.0.muscle.name == r.muscle.name) == same && !std::ptr::eq(q.0, r))
                // Two arms with one movement differ in something else (food, load): no trial of the movement.
                .filter(|q| !same || word(q.0) != word(r))
                .max_by(|a, b| a.1.total_cmp(&b.1))
        };
        let (reference, other) = match best(true) {
            Some(q) => (q, false),
            // Across muscles only where the movement is no direct work: two direct muscles say nothing of each other.
            None if own > 0.5 => continue,
            None => match best(false) {
                Some(q) => (q, true),
                None => continue,
            },
        };
        // The best of all is the one that others are compared with.
        if !other && own > 0.99 && change > reference.1 {
            continue;
        }
        if reference.1 < SMALLEST_CHANGE {
            continue;
        }
        let sets = |i: usize| s.conditions[i].sets_per_week;
        let dose = match (sets(r.condition), sets(reference.0.condition)) {
            (Some(a), Some(b)) => (a / b).powf(k("dose_power")),
            _ => 1.0,
        };
        let ratio = (change / reference.1 / dose).clamp(0.0, LARGEST_RATIO);
        let se = |q: &Measured, c: f64| q.change_sd.unwrap_or(k("spread_cv") * c.abs().max(reference.1)) / n.sqrt();
        let (a, b) = (se(r, change) / reference.1, ratio * se(reference.0, reference.1) / reference.1);
        let group = if r.muscle.heads.len() > 1 { k("trial_sd_group") } else { 0.0 };
        let muscle = if other { k("trial_sd_muscle") } else { 0.0 };
        let sd = (a * a + b * b + group * group + muscle * muscle).sqrt();
        let Some(m) = single(&s.conditions[r.condition]) else { continue };
        for &(h, _) in &r.muscle.heads {
            found.entry((m.word.clone(), h)).or_default().push((ratio, sd));
        }
    }
    for ((movement, h), list) in found {
        // Regions of one muscle in the same people are not independent: their mean is worth one of them.
        let n = list.len() as f64;
        let (ratio, sd) = list.iter().fold((0.0, 0.0), |(a, b), r| (a + r.0 / n, b + r.1 / n));
        let head = bench.library.tables.heads[h].id.clone();
        out.push(Trial { study: s.head.id.clone(), movement, head, ratio, sd });
    }
}

/// Text of `data/evidence/trials.csv`.
pub fn table(bench: &Bench) -> String {
    let mut out = String::from("study,movement,head,ratio,sd\n");
    for t in trials(bench) {
        out.push_str(&format!("{},{},{},{:.3},{:.3}\n", t.study, quoted(&t.movement), t.head, t.ratio, t.sd));
    }
    out
}

/// Text of `data/evidence/trial_movements.csv`: credits by mechanics of the movements of studies, so that the distance
/// of another movement is known without solving them.
///
/// # Errors
/// A movement that does not solve.
pub fn movements_table(bench: &Bench) -> Result<String, String> {
    let mut out = String::from("study,movement,citation,participants,n,weeks,sentence,known,credits\n");
    for s in &bench.studies {
        let mut seen = Vec::new();
        for c in s.conditions.iter().filter(|c| c.movements.len() == 1 && c.hard_sets) {
            let m = &c.movements[0];
            if seen.contains(&&m.word) {
                continue;
            }
            seen.push(&m.word);
            let ask = library::Ask { settings: m.settings.clone(), ..library::Ask::middle(&m.id) };
            let credit = bench.library.credit(&ask).map_err(|e| format!("{}: {e}", m.word))?;
            let parts: Vec<String> = credit
                .heads
                .iter()
                .filter(|h| h.credit.mechanics.mid > 0.005)
                .map(|h| format!("{}={:.2}", h.head, h.credit.mechanics.mid))
                .collect();
            let known = s.results.iter().map(|r| r.how.as_str()).max().unwrap_or("");
            let n = s.head.people.n.map_or(String::new(), |n| n.to_string());
            let (cited, people) = (quoted(&s.head.citation), quoted(&s.head.participants));
            let told = quoted(&crate::sentence::sentence(s));
            let row = [&s.head.id, &quoted(&m.word), &cited, &people, &n, &s.weeks.to_string(), &told, &quoted(known)];
            let row = row.map(String::as_str).join(",");
            out.push_str(&format!("{row},{}\n", parts.join(";")));
        }
    }
    Ok(out)
}

fn quoted(text: &str) -> String {
    if text.contains([',', '"']) { format!("\"{}\"", text.replace('"', "\"\"")) } else { text.into() }
}

impl Trials {
    /// As shipped.
    pub fn shipped(library: &Library) -> Trials {
        let rows = |text: &str| -> Vec<csv::StringRecord> {
            csv::Reader::from_reader(text.as_bytes()).records().flatten().collect()
        };
        let cell = |r: &csv::StringRecord, i: usize| r.get(i).unwrap_or("").to_string();
        let list = rows(data::TRIALS)
            .iter()
            .filter_map(|r| {
                Some(Trial {
                    study: cell(r, 0),
                    movement: cell(r, 1),
                    head: cell(r, 2),
                    ratio: cell(r, 3).parse().ok()?,
                    sd: cell(r, 4).parse().ok()?,
                })
            })
            .collect();
        let mut credits = BTreeMap::new();
        let mut studies = BTreeMap::new();
        for r in rows(data::TRIAL_MOVEMENTS) {
            let mut vector = vec![0.0; library.tables.heads.len()];
            for pair in cell(&r, 8).split(';') {
                let parsed =
                    pair.split_once('=').and_then(|(h, v)| Some((library.tables.head_index(h)?, v.parse().ok()?)));
                if let Some((h, v)) = parsed {
                    vector[h] = v;
                }
            }
            credits.insert(cell(&r, 1), vector);
            let shown = TrialShown {
                study: cell(&r, 0),
                citation: cell(&r, 2),
                participants: cell(&r, 3),
                n: cell(&r, 4).parse().ok(),
                weeks: cell(&r, 5).parse().unwrap_or(0.0),
                sentence: cell(&r, 6),
                how: cell(&r, 7),
                ..TrialShown::default()
            };
            studies.insert(cell(&r, 0), shown);
        }
        Trials { list, credits, studies, constants: data::constants(data::CONSTANTS) }
    }

    fn k(&self, key: &str) -> f64 {
        self.constants.get(key).copied().unwrap_or(0.0)
    }

    /// Movements of studies near enough to a movement with these credits by mechanics: (movement, distance). The same id
    /// with other settings is as far as its credits are.
    fn near(&self, library: &Library, credit: &[f64]) -> Vec<(&str, f64)> {
        let distance = |v: &Vec<f64>| library.distance(credit, v);
        let all = self.credits.iter().map(|(m, v)| (m.as_str(), distance(v)));
        all.filter(|(_, d)| *d <= self.k("trial_farthest")).collect()
    }

    /// What trials say of a head, from movements at these distances.
    fn of_head(&self, near: &[(&str, f64)], head: &str) -> Option<TrialCredit> {
        let (mut weight, mut sum, mut count) = (0.0, 0.0, 0);
        for t in self.list.iter().filter(|t| t.head == head) {
            let Some((_, d)) = near.iter().find(|n| n.0 == t.movement) else { continue };
            let sd = self.k("trial_sd_distance") * d;
            let w = 1.0 / (t.sd * t.sd + sd * sd).max(1e-4);
            weight += w;
            sum += w * t.ratio;
            count += 1;
        }
        (weight > 0.0).then(|| TrialCredit { value: sum / weight, sd: (1.0 / weight).sqrt(), trials: count })
    }

    /// Fills the trials column of all heads of a movement and pools the columns; the trials that were used come back.
    pub fn fill<'c>(
        &self,
        library: &Library,
        heads: impl Iterator<Item = (&'c str, &'c mut Credit)>,
    ) -> Vec<TrialShown> {
        let mut list: Vec<(&str, &mut Credit)> = heads.collect();
        let mut vector = vec![0.0; library.tables.heads.len()];
        for (id, c) in &list {
            if let Some(h) = library.tables.head_index(id) {
                vector[h] = c.mechanics.mid;
            }
        }
        let near = self.near(library, &vector);
        for (id, c) in &mut list {
            if let Some(t) = self.of_head(&near, id) {
                c.trials = Some(t.value);
                c.pooled = pooled(c, &t, self.k("pool_sd"));
            }
        }
        self.shown(&near)
    }

    /// What trials of a movement itself, whatever its settings, say of a head: for lists that know nothing else of it.
    pub fn of_movement(&self, movement: &str, head: &str, c: &mut Credit) {
        let bare = |m: &str| m.split('{').next() == Some(movement);
        let near: Vec<(&str, f64)> =
            self.credits.keys().filter(|m| bare(m)).map(|m| (m.as_str(), OTHER_SETTINGS)).collect();
        if let Some(t) = self.of_head(&near, head) {
            c.trials = Some(t.value);
            c.pooled = pooled(c, &t, self.k("pool_sd"));
        }
    }

    /// The studies behind near movements, nearest first, one line a study.
    fn shown(&self, near: &[(&str, f64)]) -> Vec<TrialShown> {
        let mut out: Vec<TrialShown> = Vec::new();
        let mut by_distance: Vec<&(&str, f64)> = near.iter().collect();
        by_distance.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(b.0)));
        for (movement, d) in by_distance {
            for t in self.list.iter().filter(|t| t.movement == *movement) {
                if out.iter().any(|o| o.study == t.study) {
                    continue;
                }
                let Some(s) = self.studies.get(&t.study) else { continue };
                out.push(TrialShown { movement: movement.to_string(), distance: *d, ..s.clone() });
            }
        }
        out
    }
}

/// Precision-weighted mean of the three columns: mechanics and convention each with the standard deviation `sd`, the
/// trials with their own.
pub fn pooled(c: &Credit, t: &TrialCredit, sd: f64) -> Range {
    let (own, trial) = (1.0 / (sd * sd).max(1e-9), 1.0 / (t.sd * t.sd).max(1e-9));
    let mean = |m: f64| ((own * (m + c.convention) + trial * t.value) / (2.0 * own + trial)).clamp(0.0, 1.0);
    Range { low: mean(c.mechanics.low), mid: mean(c.mechanics.mid), high: mean(c.mechanics.high) }
}
