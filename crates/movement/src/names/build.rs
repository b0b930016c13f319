//! From the catalogue to the searchable index.

use super::words::{words, words_as_written};
use super::{Modifier, NameIndex, Phrase, sorted};
use crate::catalogue::{Catalogue, Sides};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

const EQUIPMENT_WORDS: [&str; 14] = [
    "barbell",
    "dumbbell",
    "kettlebell",
    "ezbar",
    "smith",
    "machine",
    "cable",
    "band",
    "bodyweight",
    "landmine",
    "hexbar",
    "ring",
    "rope",
    "ball",
];

/// Words a coach may add to any movement of a family ("biceps curl"). Of the family, never of the lists of heads, so
/// that matching does not hang on those.
const TRAINS: [(&str, &str); 21] = [
    ("curl", "biceps arm"),
    ("reverse-curl", "biceps arm forearm"),
    ("push-down", "triceps arm"),
    ("overhead-extension", "triceps arm"),
    ("lying-extension", "triceps arm"),
    ("arm-kickback", "triceps arm"),
    ("leg-curl", "hamstring"),
    ("leg-extension", "quad leg"),
    ("hinge", "hamstring"),
    ("bench-press", "chest pec"),
    ("fly", "chest pec"),
    ("overhead-press", "shoulder"),
    ("lateral-raise", "side shoulder deltoid"),
    ("front-raise", "shoulder deltoid"),
    ("rear-deltoid-fly", "rear shoulder deltoid"),
    ("row", "back lat"),
    ("vertical-pull", "back lat"),
    ("straight-arm-pull", "back lat"),
    ("hip-thrust", "glute"),
    ("calf-raise", "calf"),
    ("crunch", "abs"),
];

impl NameIndex {
    pub fn new(catalogue: Arc<Catalogue>) -> NameIndex {
        NameIndex::without(catalogue, |_, _| false)
    }

    /// An index that leaves out the aliases `skip(id, alias)` names: for measuring how well unseen names are found.
    pub fn without(catalogue: Arc<Catalogue>, skip: impl Fn(&str, &str) -> bool) -> NameIndex {
        let mut index = NameIndex {
            catalogue: catalogue.clone(),
            vocabulary: Vec::new(),
            word_ids: BTreeMap::new(),
            weight: Vec::new(),
            phrases: Vec::new(),
            implied: vec![BTreeSet::new(); catalogue.movements.len()],
            equipment_words: BTreeSet::new(),
            exact: BTreeMap::new(),
            ambiguous: BTreeMap::new(),
            modifiers: modifiers(&catalogue),
        };
        for (i, m) in catalogue.movements.iter().enumerate() {
            let own = [m.name.clone(), m.id.replace('-', " ")];
            let aliases = m.aliases.iter().filter(|a| !skip(&m.id, a)).cloned();
            for name in own.into_iter().chain(aliases) {
                index.add_phrase(i, words(&name), name == m.name);
            }
            let sides = if m.sides == Sides::Bilateral { "" } else { "singlearm singleleg unilateral" };
            let trains = TRAINS.iter().find(|(f, _)| *f == m.family).map_or("", |(_, w)| *w);
            for w in m.equipment.iter().flat_map(|e| words(e)).chain(words(sides)).chain(words(trains)) {
                let id = index.word_id(&w);
                index.implied[i].insert(id);
            }
        }
        index.weigh();
        for w in EQUIPMENT_WORDS {
            let id = index.word_id(w);
            index.equipment_words.insert(id);
        }
        index.weight.resize(index.vocabulary.len(), 3.0);
        index.add_ambiguous();
        index
    }

    fn add_phrase(&mut self, movement: usize, phrase: Vec<String>, is_name: bool) {
        let ids: Vec<u16> = phrase.iter().map(|w| self.word_id(w)).collect();
        self.implied[movement].extend(&ids);
        let called = self.exact.entry(sorted(&phrase)).or_default();
        if !called.contains(&movement) {
            called.push(movement);
        }
        self.phrases.push(Phrase { movement, words: ids, is_name });
    }

    fn word_id(&mut self, word: &str) -> u16 {
        if let Some(&id) = self.word_ids.get(word) {
            return id;
        }
        // A library would need tens of thousands of words to overflow; then the last one is shared.
        let id = u16::try_from(self.vocabulary.len()).unwrap_or(u16::MAX);
        self.vocabulary.push(word.to_string());
        self.word_ids.insert(word.to_string(), id);
        id
    }

    fn weigh(&mut self) {
        let mut used: Vec<BTreeSet<usize>> = vec![BTreeSet::new(); self.vocabulary.len()];
        for p in &self.phrases {
            for &w in &p.words {
                used[w as usize].insert(p.movement);
            }
        }
        let n = self.catalogue.movements.len() as f64;
        self.weight = used.iter().map(|u| ((n + 1.0) / (u.len() as f64 + 0.5)).ln().max(0.2)).collect();
    }

    fn add_ambiguous(&mut self) {
        let catalogue = self.catalogue.clone();
        let at: BTreeMap<&str, usize> =
            catalogue.movements.iter().enumerate().map(|(i, m)| (m.id.as_str(), i)).collect();
        for t in &catalogue.ambiguous {
            let candidates: Vec<usize> = t.candidates.iter().filter_map(|c| at.get(c.as_str()).copied()).collect();
            self.ambiguous.insert(sorted(&words_as_written(&t.written)), (candidates, t.question.clone()));
        }
        for (i, m) in catalogue.movements.iter().enumerate() {
            for a in &m.ambiguous_aliases {
                let (alias, why) = a.split_once('(').unwrap_or((a, ""));
                let question = why.trim_end_matches(')').to_string() + "?";
                self.ambiguous.entry(sorted(&words_as_written(alias))).or_insert((vec![i], question));
            }
        }
    }
}

/// Short forms of the sheet table whose effect is one setting with one value.
fn modifiers(catalogue: &Catalogue) -> Vec<Modifier> {
    let mut out = Vec::new();
    for s in &catalogue.shorthand {
        let clause = s.effect.split([';', ':']).next().unwrap_or("");
        let Some((key, value)) = clause.split_once(" about ").or_else(|| clause.split_once('=')) else { continue };
        let (key, value) = (key.trim(), value.trim());
        let known = catalogue.settings.iter().any(|spec| spec.key == key);
        if !known || value.is_empty() || value.contains(' ') || ["load_type", "guide"].contains(&key) {
            continue;
        }
        for written in &s.written {
            let words = words(written);
            if !words.is_empty() {
                out.push(Modifier { words, key: key.to_string(), value: value.to_string() });
            }
        }
    }
    out
}
