//! From a client, the rules of a week and credits of movements to a [`Task`].

use crate::constants::Constants;
use crate::task::{Choice, Day, Head, Line, Must, Piece, Prices, Task};
use answer::{Band, Entry, EntryExtra, MovementCredit, Status};
use programme::effort::effort_of;
use programme::planning::{head_weights, line_time};
use programme::rules::Aim;
use programme::screening::{Gate, objections};
use programme::{Client, HeadFacts, Rules};
use std::collections::BTreeMap;

/// A row of the present week with its credit.
#[derive(Clone, Debug)]
pub struct Present {
    pub entry: Entry,
    pub credit: MovementCredit,
    /// It stays as it is.
    pub keep: bool,
    /// Why it may not stay, beside what the gate says: not wanted, or the kit lacks what it needs.
    pub barred: Option<String>,
}

/// Everything a task is made of.
pub struct Given<'a> {
    pub heads: &'a [HeadFacts],
    pub aims: &'a [Aim],
    pub bands: &'a [Band],
    pub gate: &'a Gate,
    pub rules: &'a Rules,
    pub constants: &'a Constants,
    pub client: &'a Client,
    pub days: Vec<Day>,
    pub present: Vec<Present>,
    /// Movements that may come in, limited to kit and wishes, each with whether its sides work one by one.
    pub candidates: Vec<(MovementCredit, bool)>,
    /// Doses that must be reached: (name, (head, weight), credited sets).
    pub musts: Vec<Must>,
    pub most_new: Option<u32>,
}

/// A task with the rows its choices stand for.
pub struct Built {
    pub task: Task,
    /// Row of each choice, without day and sets.
    pub rows: Vec<Entry>,
    pub credits: Vec<MovementCredit>,
    /// Rows of the present week that are left out whatever the value, with the reason.
    pub barred: Vec<(Entry, String)>,
    /// Rows that should stay and may not, with the reason.
    pub refused: Vec<(Entry, String)>,
    /// Movements of the library that a pain, a restriction or newness keeps out.
    pub left_out: usize,
}

/// Chords of the value below the band.
const CHORDS: usize = 4;
/// Width of the stretch beyond the band: without end.
const ENDLESS: f64 = 1e3;

/// Value of a head's credited sets. Below the band it is the price that proposals put on a gap, w · ½ (s + s²/low) for s
/// missing sets, by chords; inside, a small gain to the middle; beyond, a price.
pub(crate) fn pieces(band: Band, weight: f64, excess_cost: f64, c: &Constants) -> Vec<Piece> {
    if weight <= 0.0 || band.high <= 0.0 {
        return Vec::new();
    }
    let low = band.low.max(1e-6);
    let n = CHORDS as f64;
    let chord = |i: usize| {
        // Missing sets at the ends of the stretch, as shares of the lower end.
        let (more, less) = (1.0 - i as f64 / n, 1.0 - (i as f64 + 1.0) / n);
        Piece { width: low / n, gain: weight * 0.5 * (1.0 + more + less) }
    };
    let mut out: Vec<Piece> = (0..CHORDS).map(chord).collect();
    let half = 0.5 * (band.high - band.low).max(0.0);
    out.push(Piece { width: half, gain: weight * 0.5 * c.middle_gain });
    out.push(Piece { width: half, gain: 0.0 });
    out.push(Piece { width: ENDLESS, gain: -weight * excess_cost });
    out
}

/// Makes the task.
pub fn task_of(given: Given) -> Built {
    let Given { heads, rules, constants: c, client, gate, .. } = given;
    let weights = head_weights(heads, given.aims, &rules.constants);
    let index: BTreeMap<&str, usize> = heads.iter().enumerate().map(|(i, h)| (h.head.as_str(), i)).collect();
    let mut movements: BTreeMap<String, usize> = BTreeMap::new();
    let short = given.days.iter().all(|d| d.available_s.is_some_and(|s| s < 60.0 * c.short_day_min));
    let least = if short { c.least_sets_short_day } else { c.least_sets } as u32;
    let most = c.most_sets as u32;
    let new_most = (rules.constants.new_sets as u32).min(most).max(1);

    let mut built = Built {
        task: Task::default(),
        rows: Vec::new(),
        credits: Vec::new(),
        barred: Vec::new(),
        refused: Vec::new(),
        left_out: 0,
    };
    let familiar: std::collections::BTreeSet<String> =
        given.present.iter().map(|p| p.credit.movement.clone()).collect();
    let mut choose = |credit: &MovementCredit, row: Entry, factor: f64, new: bool, built: &mut Built| -> usize {
        let time = line_time(&row, credit, &rules.constants);
        let next = movements.len();
        let movement = *movements.entry(credit.movement.clone()).or_insert(next);
        let doses = credit.heads.iter().filter_map(|h| {
            let dose = h.credit.pooled.mid * factor;
            let at = *index.get(h.head.as_str())?;
            (dose.is_finite() && dose > 1e-6).then_some((at, dose, h.long))
        });
        let most = if new { new_most } else { most };
        built.task.choices.push(Choice {
            name: credit.name.clone(),
            movement,
            credits: doses.collect(),
            set_s: time.set_s,
            once_s: time.once_s,
            least: least.min(most),
            most,
            new,
        });
        built.rows.push(row);
        built.credits.push(credit.clone());
        built.task.choices.len() - 1
    };

    // The present week: one choice a movement and settings, as its first row is written.
    let mut known: BTreeMap<String, usize> = BTreeMap::new();
    for p in &given.present {
        let effort = effort_of(&p.entry, rules);
        let sets = effort.sets.mid.round().max(0.0) as u32;
        let speaks = objections(&p.credit, gate, rules).leave_out;
        let speaks = speaks.or_else(|| p.barred.clone());
        if let Some(why) = speaks {
            if p.keep {
                built.refused.push((p.entry.clone(), why));
            } else {
                built.barred.push((p.entry.clone(), why));
            }
            continue;
        }
        let key = key_of(&p.credit);
        let new = client.is_new(&p.credit.movement, &p.entry.name);
        let choice = *known.entry(key).or_insert_with(|| {
            let row = Entry { day: String::new(), ..p.entry.clone() };
            // Not new to the week, whatever it is to the client: only its sets stay few.
            let at = choose(&p.credit, row, effort.value.mid, new, &mut built);
            built.task.choices[at].new = false;
            at
        });
        let Some(day) = given.days.iter().position(|d| same_day(&d.name, &p.entry.day)) else { continue };
        if sets == 0 {
            continue;
        }
        let line = Line { day, choice, sets };
        match built.task.present.iter_mut().find(|l| l.day == day && l.choice == choice) {
            Some(l) => l.sets += sets,
            None => built.task.present.push(line),
        }
        if p.keep {
            match built.task.kept.iter_mut().find(|l| l.day == day && l.choice == choice) {
                Some(l) => l.sets += sets,
                None => built.task.kept.push(line),
            }
        }
    }
    let no_failure = gate.no_failure();
    for (credit, each_side) in &given.candidates {
        let speaks = objections(credit, gate, rules);
        let is_new = !familiar.contains(&credit.movement) || client.is_new(&credit.movement, &credit.name);
        if speaks.leave_out.is_some() || (speaks.not_new.is_some() && is_new) {
            built.left_out += 1;
            continue;
        }
        if known.contains_key(&key_of(credit)) {
            continue;
        }
        let rest = if credit.multi_joint { c.rest_multi_s } else { c.rest_single_s };
        let row = Entry {
            week: 1,
            movement: Some(credit.movement.clone()),
            name: credit.name.clone(),
            // Candidates are worked out with their usual settings, which need no words.
            settings: answer::Settings::new(),
            confidence: 1.0,
            reps_low: Some(rules.constants.reps_low_default),
            reps_high: Some(rules.constants.reps_high_default),
            reps_unit: "reps".into(),
            rir: Some(if is_new || no_failure { rules.constants.new_rir } else { c.usual_rir }),
            status: Status::Certain,
            extra: EntryExtra { rest_s: Some(rest), each_side: *each_side, ..EntryExtra::default() },
            ..Entry::default()
        };
        choose(credit, row, 1.0, is_new, &mut built);
    }

    let task = &mut built.task;
    let now = present_doses(&given.present, rules, &index, heads.len());
    let has_week = !given.present.is_empty();
    task.days = given.days;
    for (h, facts) in heads.iter().enumerate() {
        let aim = given.aims[h];
        let weight = weights[h];
        let wanted = aim > Aim::Leave;
        let focus = aim == Aim::Focus && !facts.low_confidence;
        let jump = (now[h] * c.rise_factor).max(now[h] + c.rise_sets);
        task.heads.push(Head {
            name: facts.head.clone(),
            pieces: pieces(given.bands[h], weight, rules.constants.excess_cost, c),
            session_most: if wanted { rules.constants.session_cap } else { f64::from(u16::MAX) },
            week_most: (has_week && wanted).then_some(jump),
            long_share: if focus { rules.constants.long_share_wanted } else { 0.0 },
            long_price: if focus { weight * 0.5 * c.long_price } else { 0.0 },
        });
    }
    // What is kept may lie above a limit already: the limit is then where it is.
    let kept = task.sums(&task.kept);
    for h in 0..heads.len() {
        let largest = kept.session.iter().map(|s| s[h]).fold(0.0, f64::max);
        task.heads[h].session_most = task.heads[h].session_most.max(largest);
    }
    task.musts = given.musts;
    task.most_new = given.most_new;
    let present_sets: u32 = given.present.iter().map(|p| effort_of(&p.entry, rules).sets.mid.round() as u32).sum();
    task.most_sets = gate.hold_volume.then_some(present_sets);
    task.most_lines = c.most_exercises as u32;
    task.prices =
        Prices { line: c.price_line, new: c.price_new, stay: c.price_stay, minute: rules.constants.cost_minute };
    // A longer day than the rule stays possible where it is kept.
    for d in 0..task.days.len() {
        task.most_lines = task.most_lines.max(task.kept.iter().filter(|l| l.day == d).count() as u32);
    }
    built
}

/// Credited sets of the whole present week, also of what is left out, by head.
fn present_doses(present: &[Present], rules: &Rules, index: &BTreeMap<&str, usize>, heads: usize) -> Vec<f64> {
    let mut out = vec![0.0; heads];
    for p in present {
        let counted = effort_of(&p.entry, rules).counted().mid;
        for h in &p.credit.heads {
            if let Some(&at) = index.get(h.head.as_str()) {
                out[at] += h.credit.pooled.mid * counted;
            }
        }
    }
    out
}

fn key_of(credit: &MovementCredit) -> String {
    let mut key = credit.movement.clone();
    credit.settings.iter().for_each(|(name, value)| key.push_str(&format!(";{name}={value}")));
    key
}

fn same_day(a: &str, b: &str) -> bool {
    a.trim().eq_ignore_ascii_case(b.trim())
}
