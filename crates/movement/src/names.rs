//! Finding the movement a coach means by what they wrote.
//!
//! A name is cut into words of one spelling (`words`): case, plural, hyphens, short forms and word order no longer
//! matter. Every name, id and alias of the library is a phrase of such words. A phrase scores by the weighted share
//! of words it has in common with the text: each word weighs the logarithm of how few movements use it (inverse
//! document frequency), a misspelt word counts by its share of right letters (Damerau–Levenshtein), a word that the
//! movement implies anyway (its equipment, a word of another of its names) costs little, foreign equipment costs
//! more. Words that state a setting ("to parallel", "30°", "wide grip") are tried with and without being part of the
//! name. Ambiguous words never exceed [`UNSURE`]; below [`FLOOR`] nothing is matched and the nearest names are given.

mod build;
pub mod words;

use crate::catalogue::{Catalogue, Kit, NamedMovement, Sides};
use answer::{SettingValue, Settings};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use words::{alike, is_number, pieces_in_common, words, words_as_written};

/// Confidence of a word that means several movements.
pub const UNSURE: f64 = 0.55;
/// The same when the day or the kit speaks for the guess.
pub const LESS_UNSURE: f64 = 0.6;
/// Below this score no movement is matched.
pub const FLOOR: f64 = 0.68;
/// Below this score a match that is not a listed name is asked about.
const SURE_ENOUGH: f64 = 0.85;
/// Scores nearer than this to the best one's are a tie that is asked about.
const TIE: f64 = 0.04;
/// How much a word costs that the movement implies, as a share of its weight.
const IMPLIED: f64 = 0.15;
/// How much an unmatched word of equipment or grip costs on the library's side.
const SOFT: f64 = 0.5;
/// How much foreign equipment costs.
const FOREIGN: f64 = 2.5;

/// What else is known when a name is read.
#[derive(Clone, Copy, Debug, Default)]
pub struct NameContext<'a> {
    pub kit: Option<&'a Kit>,
    /// Day as written ("Leg day"), empty if unknown.
    pub day: &'a str,
}

/// A movement with the settings its name stated.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    pub id: String,
    /// Only what the text adds to the movement's own settings, and numbers it states.
    pub settings: Settings,
    /// 0 to 1.
    pub confidence: f64,
}

/// Answer to "which movement is this?".
#[derive(Clone, Debug, Default, PartialEq)]
pub struct NameMatch {
    pub best: Option<Found>,
    /// Whatever was not written plainly, in words; empty where the name stands in the library.
    pub assumptions: Vec<String>,
    /// What to ask the coach, if anything.
    pub question: Option<String>,
    /// Nearest movements with their score, best first, at most five.
    pub nearest: Vec<(String, f64)>,
}

/// Searchable names of a catalogue.
#[derive(Clone, Debug)]
pub struct NameIndex {
    catalogue: Arc<Catalogue>,
    vocabulary: Vec<String>,
    word_ids: BTreeMap<String, u16>,
    weight: Vec<f64>,
    phrases: Vec<Phrase>,
    /// Every word a movement's names and equipment imply.
    implied: Vec<BTreeSet<u16>>,
    equipment_words: BTreeSet<u16>,
    /// Sorted words → movements that are called exactly so.
    exact: BTreeMap<Vec<String>, Vec<usize>>,
    ambiguous: BTreeMap<Vec<String>, (Vec<usize>, String)>,
    modifiers: Vec<Modifier>,
}

#[derive(Clone, Debug)]
struct Phrase {
    movement: usize,
    words: Vec<u16>,
    /// The library's name itself, not an id or alias.
    is_name: bool,
}

/// Words that state a setting.
#[derive(Clone, Debug)]
struct Modifier {
    words: Vec<String>,
    key: String,
    value: String,
}

/// A way to read the text: the words that name the movement, and the settings the others state.
struct Reading {
    name: Vec<String>,
    /// (words, key, value, written as a number)
    settings: Vec<(String, String, String, bool)>,
}

const GRIP_WORDS: [&str; 6] = ["bar", "grip", "handle", "seated", "standing", "medium"];
const LOWER_FAMILIES: [&str; 14] = [
    "squat",
    "split-squat",
    "hinge",
    "deadlift",
    "hip-thrust",
    "leg-press",
    "leg-extension",
    "leg-curl",
    "knee-lever",
    "hip-ab-adduction",
    "glute-kickback",
    "calf-raise",
    "tibialis-raise",
    "back-extension",
];

impl NameIndex {
    pub fn catalogue(&self) -> &Arc<Catalogue> {
        &self.catalogue
    }

    /// Whether the text as a whole is a word that means several movements.
    pub fn is_ambiguous(&self, text: &str) -> bool {
        self.ambiguous.contains_key(&sorted(&words_as_written(text)))
    }

    /// The movement `text` means, as far as it can be told.
    pub fn find(&self, text: &str, context: &NameContext) -> NameMatch {
        let hyphened_id = text.contains('-') && self.catalogue.movement(text.trim()).is_some();
        if text.contains('{') || hyphened_id {
            return self.find_one_word(text);
        }
        let plain: Vec<String> = words(text).into_iter().flat_map(|w| self.split_joined(w)).collect();
        if plain.is_empty() {
            return NameMatch::default();
        }
        if let Some((candidates, question)) = self.ambiguous.get(&sorted(&words_as_written(text))) {
            return self.guess(text, candidates, question, context);
        }
        let mut readings = self.readings(&plain);
        readings.truncate(12);
        let mut best: Option<(f64, usize, usize)> = None;
        let mut per_movement: BTreeMap<usize, f64> = BTreeMap::new();
        let mut as_a_whole: BTreeMap<usize, f64> = BTreeMap::new();
        for (r, reading) in readings.iter().enumerate() {
            for (movement, score) in self.scores(&reading.name) {
                if !reading.settings.iter().all(|s| self.takes(movement, s)) {
                    continue;
                }
                let score = score - 0.02 * reading.settings.len() as f64;
                if reading.settings.is_empty() {
                    as_a_whole.insert(movement, score);
                }
                let seen = per_movement.entry(movement).or_insert(0.0);
                *seen = seen.max(score);
                if best.is_none_or(|(s, ..)| score > s + 1e-9) {
                    best = Some((score, movement, r));
                }
            }
        }
        let nearest = self.nearest(text, &per_movement);
        if let Some((score, movement, r)) = best
            && let Some((other, with)) = self.own_movement(movement, &readings[r], score, &as_a_whole)
        {
            let numbers = readings[r].settings.iter().filter(|s| s.3).cloned().collect();
            let reading = Reading { name: plain, settings: numbers };
            return self.explain(text, with, other, &reading, nearest);
        }
        match best.filter(|(score, ..)| *score >= FLOOR) {
            None => NameMatch { question: unknown_question(text), nearest, ..Default::default() },
            Some((score, movement, r)) => self.explain(text, score, movement, &readings[r], nearest),
        }
    }

    fn find_one_word(&self, text: &str) -> NameMatch {
        match self.catalogue.one_word(text) {
            Ok((id, settings)) => {
                let nearest = vec![(id.clone(), 1.0)];
                NameMatch { best: Some(Found { id, settings, confidence: 1.0 }), nearest, ..Default::default() }
            }
            Err(problems) => {
                let said: Vec<String> = problems.iter().map(ToString::to_string).collect();
                let name = text.split('{').next().unwrap_or("");
                NameMatch {
                    question: Some(said.join("; ")),
                    nearest: self.nearest(name, &BTreeMap::new()),
                    ..Default::default()
                }
            }
        }
    }

    /// Best guess among the candidates of an ambiguous word, always with its question.
    fn guess(&self, text: &str, candidates: &[usize], question: &str, context: &NameContext) -> NameMatch {
        let all = &self.catalogue.movements;
        let fits_kit = |&&c: &&usize| context.kit.is_none_or(|k| k.allows(&all[c].equipment));
        let day = day_is_lower(context.day);
        let fits_day = |&&c: &&usize| day.is_none_or(|lower| is_lower(&all[c]) == lower);
        let fitting: Vec<&usize> = candidates.iter().filter(|c| fits_kit(c)).filter(|c| fits_day(c)).collect();
        let Some(&&chosen) = fitting.first().or(candidates.first().as_ref()) else { return NameMatch::default() };
        let helped = fitting.len() == 1 && candidates.len() > 1;
        let m = &all[chosen];
        let others: Vec<&str> = candidates.iter().filter(|&&c| c != chosen).map(|&c| all[c].name.as_str()).collect();
        let mut said = format!("“{}” read as {}", text.trim(), m.name);
        if !others.is_empty() {
            said += &format!("; it may also be {}", others.join(" or "));
        }
        let confidence = if helped { LESS_UNSURE } else { UNSURE };
        NameMatch {
            best: Some(Found { id: m.id.clone(), settings: Settings::new(), confidence }),
            assumptions: vec![said],
            question: Some(format!("“{}”: {question}", text.trim())),
            nearest: candidates.iter().map(|&c| (all[c].id.clone(), UNSURE)).take(5).collect(),
        }
    }

    fn explain(
        &self,
        text: &str,
        score: f64,
        movement: usize,
        reading: &Reading,
        nearest: Vec<(String, f64)>,
    ) -> NameMatch {
        let m = &self.catalogue.movements[movement];
        let mut settings = Settings::new();
        let mut assumptions = Vec::new();
        for (written, key, value, as_number) in &reading.settings {
            match self.catalogue.check_setting(&m.family, key, value) {
                Ok(v) => {
                    if !as_number {
                        assumptions.push(format!("“{written}” read as {key} = {v}"));
                    }
                    if *as_number || m.settings.get(key) != Some(&v) {
                        settings.insert(key.clone(), v);
                    }
                }
                Err(e) => assumptions.push(format!("“{written}” was not used: {e}")),
            }
        }
        let plain = self.plainly(&reading.name, movement);
        let mut confidence = score.clamp(0.0, 1.0);
        let mut question = None;
        let all = &self.catalogue.movements;
        let namesake = self.exact.get(&sorted(&reading.name)).into_iter().flatten().find(|&&o| o != movement);
        let rival = nearest.iter().find(|(id, s)| *id != m.id && score - s < TIE).map(|(id, _)| id.as_str());
        // A plain name has a rival only where another movement bears the same name.
        let rival = if plain { rival.filter(|id| namesake.is_some_and(|&o| all[o].id == *id)) } else { rival };
        if let Some(id) = rival {
            let other = self.catalogue.movement(id).map_or("", |m| m.name.as_str());
            if plain {
                assumptions.insert(0, format!("“{}” read as {}; {other} is called so too", text.trim(), m.name));
            }
            question = Some(format!("“{}”: {} or {other}?", text.trim(), m.name));
            confidence = confidence.min(LESS_UNSURE);
        }
        if !plain {
            assumptions.insert(0, format!("“{}” read as {}", text.trim(), m.name));
            confidence = confidence.min(0.95);
            if score < SURE_ENOUGH && question.is_none() {
                question = Some(format!("“{}”: is this {}?", text.trim(), m.name));
            }
        }
        NameMatch { best: Some(Found { id: m.id.clone(), settings, confidence }), assumptions, question, nearest }
    }

    /// Whether the words are exactly a name of the movement, or one with nothing but its own equipment or other
    /// words of its names beside it.
    fn plainly(&self, name: &[String], movement: usize) -> bool {
        if self.exact.get(&sorted(name)).is_some_and(|ms| ms.contains(&movement)) {
            return true;
        }
        let ids: Option<BTreeSet<u16>> = name.iter().map(|w| self.word_ids.get(w).copied()).collect();
        ids.is_some_and(|ids| {
            ids.is_subset(&self.implied[movement])
                && self
                    .phrases
                    .iter()
                    .filter(|p| p.movement == movement)
                    .any(|p| p.words.iter().all(|w| ids.contains(w)))
        })
    }

    /// A movement of the same family that has the stated settings by itself: "lat PD wide" is the wide pull-down
    /// rather than the medium one with its grip widened.
    fn own_movement(
        &self,
        movement: usize,
        reading: &Reading,
        score: f64,
        as_a_whole: &BTreeMap<usize, f64>,
    ) -> Option<(usize, f64)> {
        if reading.settings.is_empty() {
            return None;
        }
        let all = &self.catalogue.movements;
        let has = |m: &NamedMovement, key: &str, value: &str| match (m.settings.get(key), value.parse::<f64>()) {
            (Some(SettingValue::Number(own)), Ok(v)) => (own - v).abs() <= 0.3 * v.abs(),
            (Some(SettingValue::Word(own)), _) => own == value,
            _ if key == "sides" => (value == "one") == (m.sides == Sides::Unilateral) && m.sides != Sides::Bilateral,
            _ => false,
        };
        as_a_whole
            .iter()
            .map(|(&other, &s)| (other, s))
            .filter(|&(other, s)| other != movement && s >= SURE_ENOUGH.max(score - 0.12))
            .filter(|&(other, _)| all[other].family == all[movement].family)
            .filter(|&(other, _)| reading.settings.iter().all(|(_, k, v, _)| has(&all[other], k, v)))
            .max_by(|a, b| a.1.total_cmp(&b.1))
    }

    fn takes(&self, movement: usize, stated: &(String, String, String, bool)) -> bool {
        let m = &self.catalogue.movements[movement];
        self.catalogue.check_setting(&m.family, &stated.1, &stated.2).is_ok()
    }

    /// The text as a whole, then with the settings it may state taken out, one by one and all together.
    fn readings(&self, plain: &[String]) -> Vec<Reading> {
        let mut found: Vec<(Vec<usize>, String, String, bool)> = Vec::new();
        let mut longest_first: Vec<&Modifier> = self.modifiers.iter().collect();
        longest_first.sort_by_key(|m| std::cmp::Reverse(m.words.len()));
        for m in longest_first {
            let at: Option<Vec<usize>> = m.words.iter().map(|w| plain.iter().position(|p| p == w)).collect();
            let Some(at) = at else { continue };
            if !found.iter().any(|(taken, ..)| taken.iter().any(|t| at.contains(t))) {
                found.push((at, m.key.clone(), m.value.clone(), false));
            }
        }
        if let Some(n) = plain.iter().position(|w| is_number(w)) {
            let mut at = vec![n];
            at.extend(plain.get(n + 1).filter(|w| *w == "deg").map(|_| n + 1));
            let sign = if plain.iter().any(|w| w == "decline") { "-" } else { "" };
            let inclined = plain.iter().any(|w| w == "incline" || w == "decline") || at.len() > 1;
            if inclined {
                found.push((at, "bench_deg".into(), format!("{sign}{}", plain[n]), true));
            }
        }
        let mut choices: Vec<Vec<usize>> = vec![vec![]];
        choices.extend((0..found.len()).map(|i| vec![i]));
        if found.len() > 1 {
            choices.push((0..found.len()).collect());
        }
        let mut out: Vec<Reading> = Vec::new();
        for choice in choices {
            let gone: BTreeSet<usize> = choice.iter().flat_map(|&i| found[i].0.iter().copied()).collect();
            let name: Vec<String> = (0..plain.len()).filter(|i| !gone.contains(i)).map(|i| plain[i].clone()).collect();
            let said = |at: &[usize]| {
                let said = at.iter().map(|&i| plain[i].as_str()).collect::<Vec<_>>().join(" ");
                said.replace("singlearm", "one arm").replace("singleleg", "one leg")
            };
            let settings = choice
                .iter()
                .map(|&i| (said(&found[i].0), found[i].1.clone(), found[i].2.clone(), found[i].3))
                .collect();
            if !name.is_empty() {
                out.push(Reading { name, settings });
            }
        }
        // At equal scores the reading that leaves more of the text to the name wins: it comes first.
        out.sort_by(|a, b| self.weight_of(&b.name).total_cmp(&self.weight_of(&a.name)));
        out
    }

    /// "deadhang" as "dead hang", where both halves are known words and the whole is not.
    fn split_joined(&self, word: String) -> Vec<String> {
        let known = |w: &str| w.len() >= 3 && self.word_ids.contains_key(w);
        if self.word_ids.contains_key(&word) || !word.is_ascii() {
            return vec![word];
        }
        match (3..word.len()).find(|&k| known(&word[..k]) && known(&word[k..])) {
            Some(k) => vec![word[..k].to_string(), word[k..].to_string()],
            None => vec![word],
        }
    }

    fn weight_of(&self, name: &[String]) -> f64 {
        name.iter().map(|w| self.word_ids.get(w).map_or(3.0, |&i| self.weight[i as usize])).sum()
    }

    /// Best score of every movement that shares a word with the text.
    fn scores(&self, name: &[String]) -> Vec<(usize, f64)> {
        if let Some(ms) = self.exact.get(&sorted(name)) {
            // "high to low" and "low to high" share their words: the order tells them apart.
            // Among equals a library name goes before ids and aliases.
            let same = |p: &Phrase| p.words.iter().zip(name).all(|(&w, n)| self.vocabulary[w as usize] == *n);
            let how_called = |m: usize| {
                let own = self.phrases.iter().filter(|p| p.movement == m && p.words.len() == name.len() && same(p));
                own.map(|p| if p.is_name { 1.0 } else { 0.98 }).fold(0.93, f64::max)
            };
            return ms.iter().map(|&m| (m, if ms.len() == 1 { 1.0 } else { how_called(m) })).collect();
        }
        // For every word of the text: how alike each word of the library is.
        let alike_to: Vec<Vec<f64>> = name.iter().map(|w| self.alike_row(w)).collect();
        let unknown_weight = 3.5;
        let own: Vec<Option<u16>> = name.iter().map(|w| self.word_ids.get(w).copied()).collect();
        let weight: Vec<f64> = own.iter().map(|o| o.map_or(unknown_weight, |i| self.weight[i as usize])).collect();
        let mut best: BTreeMap<usize, f64> = BTreeMap::new();
        let mut matched = vec![0.0; name.len()];
        for p in &self.phrases {
            matched.iter_mut().for_each(|m| *m = 0.0);
            let (mut common, mut total) = (0.0, 0.0);
            for &w in &p.words {
                let (mut hit, mut sim) = (0, 0.0);
                for (q, row) in alike_to.iter().enumerate() {
                    if row[w as usize] > sim && matched[q] == 0.0 {
                        (hit, sim) = (q, row[w as usize]);
                    }
                }
                let wc = self.weight[w as usize];
                if sim > 0.0 {
                    matched[hit] = sim;
                    common += sim * (wc + weight[hit]);
                    total += wc + weight[hit];
                } else {
                    let soft =
                        self.equipment_words.contains(&w) || GRIP_WORDS.contains(&self.vocabulary[w as usize].as_str());
                    total += if soft { wc * SOFT } else { wc };
                }
            }
            if common == 0.0 {
                continue;
            }
            for q in (0..name.len()).filter(|&q| matched[q] == 0.0) {
                let implied = own[q].is_some_and(|w| self.implied[p.movement].contains(&w));
                let foreign = own[q].is_some_and(|w| self.equipment_words.contains(&w));
                total += weight[q]
                    * if implied {
                        IMPLIED
                    } else if foreign {
                        FOREIGN
                    } else {
                        1.0
                    };
            }
            let score = best.entry(p.movement).or_insert(0.0);
            *score = score.max(common / total * 0.97);
        }
        best.into_iter().collect()
    }

    fn alike_row(&self, word: &str) -> Vec<f64> {
        match self.word_ids.get(word) {
            // A known word is itself, or the beginning of a longer one ("lat", "lateral").
            Some(&id) => (0..self.vocabulary.len())
                .map(|v| if v == id as usize { 1.0 } else { prefix(word, &self.vocabulary[v]) })
                .collect(),
            None => self.vocabulary.iter().map(|v| alike(word, v)).collect(),
        }
    }

    fn nearest(&self, text: &str, scores: &BTreeMap<usize, f64>) -> Vec<(String, f64)> {
        let mut all: Vec<(usize, f64)> = scores.iter().map(|(&m, &s)| (m, s)).filter(|(_, s)| *s > 0.25).collect();
        if all.is_empty() {
            let pieces = |m: &NamedMovement| pieces_in_common(text, &m.name).max(pieces_in_common(text, &m.id));
            all = self.catalogue.movements.iter().enumerate().map(|(i, m)| (i, 0.5 * pieces(m))).collect();
        }
        all.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        all.iter()
            .take(5)
            .map(|&(m, s)| (self.catalogue.movements[m].id.clone(), (s * 100.0).round() / 100.0))
            .collect()
    }
}

fn prefix(word: &str, other: &str) -> f64 {
    let (short, long) = if word.len() <= other.len() { (word, other) } else { (other, word) };
    if short.len() >= 3 && long.starts_with(short) && !short.bytes().any(|c| c.is_ascii_digit()) { 0.8 } else { 0.0 }
}

fn sorted(phrase: &[String]) -> Vec<String> {
    let mut s = phrase.to_vec();
    s.sort_unstable();
    s
}

fn unknown_question(text: &str) -> Option<String> {
    Some(format!("“{}”: which movement is this?", text.trim()))
}

fn is_lower(m: &NamedMovement) -> bool {
    LOWER_FAMILIES.contains(&m.family.as_str())
}

/// Whether a day's name speaks of the lower or the upper body.
fn day_is_lower(day: &str) -> Option<bool> {
    let w = words(day);
    let any = |list: &[&str]| w.iter().any(|x| list.contains(&x.as_str()));
    let lower = any(&["leg", "lower", "quad", "hamstring", "glute", "calf"]);
    let upper = any(&["upper", "push", "pull", "arm", "chest", "back", "shoulder", "torso"]);
    if lower == upper { None } else { Some(lower) }
}

/// The words most like `word`, best first, at most `count`: for "did you mean".
pub fn nearest_words<'a>(word: &str, all: impl Iterator<Item = &'a str>, count: usize) -> Vec<String> {
    let mut scored: Vec<(f64, &str)> = all.map(|w| (pieces_in_common(word, w), w)).collect();
    scored.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(b.1)));
    scored.into_iter().take(count).map(|(_, w)| w.to_string()).collect()
}

/// A setting as a number, where it is one.
pub fn number(settings: &Settings, key: &str) -> Option<f64> {
    match settings.get(key) {
        Some(SettingValue::Number(v)) => Some(*v),
        _ => None,
    }
}
