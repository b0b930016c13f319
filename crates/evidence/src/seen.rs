//! Every movement of the studies, solved once: what its heads do, as far as predictions and trivial rules need it.

use crate::study::{Done, Study, person};
use library::{Ask, Library, Person, Trace};
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Frames of the lift.
pub const FRAMES: usize = 21;
/// Draws of muscles behind every prediction, seed 1.
pub const DRAWS: usize = 16;

/// What one head does in a movement.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct HeadSeen {
    /// Activation × active force factor, and normalised fibre length, one pair a frame: first with middle values, then
    /// a list a draw.
    pub worlds: Vec<Vec<[f64; 2]>>,
    /// By the counting convention: 1 direct, ½ indirect, 0.
    pub convention: f64,
    /// Net shortening over the lift in fibre lengths × mean normalised length; 0 where it lengthens or stays.
    pub shortening: f64,
    /// Longest minus shortest normalised length.
    pub excursion: f64,
}

impl HeadSeen {
    /// Lengths as in the middle; the draws are added one by one.
    fn of(trace: &Trace) -> HeadSeen {
        let n = trace.fibre_norm.len().max(1) as f64;
        let l = &trace.fibre_norm;
        let net = l.first().zip(l.last()).map_or(0.0, |(a, b)| a - b);
        let (lo, hi) = l.iter().fold((f64::INFINITY, 0.0f64), |(lo, hi), v| (lo.min(*v), hi.max(*v)));
        HeadSeen {
            worlds: Vec::new(),
            convention: 0.0,
            shortening: net.max(0.0) * l.iter().sum::<f64>() / n,
            excursion: (hi - lo).max(0.0),
        }
    }
}

/// A solved movement: one entry a head, empty where the movement does not ask for it.
pub type Seen = Vec<HeadSeen>;

/// All movements of the studies and the reference movements.
pub struct Solved {
    /// By person and movement; the error in plain words where it does not solve.
    movements: BTreeMap<String, Result<Seen, String>>,
    /// Per head: what it does in each of its reference movements (average man).
    pub reference: Vec<Vec<HeadSeen>>,
}

/// Solves the movements of all studies, in parallel, the same one once.
pub fn solve(library: &Library, studies: &[Study], constants: &BTreeMap<String, f64>) -> Solved {
    let mut jobs: BTreeMap<String, (Person, &Done)> = BTreeMap::new();
    for s in studies {
        let person = person(&s.head, constants);
        for m in s.conditions.iter().flat_map(|c| &c.movements) {
            jobs.entry(key(&person, m)).or_insert_with(|| (person.clone(), m));
        }
    }
    let list: Vec<(&String, &(Person, &Done))> = jobs.iter().collect();
    let movements = list
        .par_iter()
        .map(|(k, (person, m))| ((*k).clone(), seen(library, person, &m.id, &m.settings)))
        .collect::<Vec<_>>()
        .into_iter()
        .collect();
    let man = Person::average_man();
    let solved: Vec<(&Vec<usize>, Result<Seen, String>)> = library
        .reference
        .movements
        .par_iter()
        .map(|(id, heads)| (heads, seen(library, &man, id, &answer::Settings::new())))
        .collect();
    let mut reference = vec![Vec::new(); library.tables.heads.len()];
    for (heads, done) in solved {
        for &h in heads {
            if let Ok(s) = &done {
                reference[h].push(s[h].clone());
            }
        }
    }
    Solved { movements, reference }
}

impl Solved {
    /// A movement of a study.
    ///
    /// # Errors
    /// Why it does not solve.
    pub fn get(&self, person: &Person, movement: &Done) -> Result<&Seen, String> {
        match self.movements.get(&key(person, movement)) {
            Some(Ok(s)) => Ok(s),
            Some(Err(e)) => Err(e.clone()),
            None => Err("it was not solved".into()),
        }
    }
}

fn key(p: &Person, m: &Done) -> String {
    format!("{}|{:.4}|{:.2}|{:?}|{:?}", p.female, p.stature_m, p.mass_kg, p.training_years, (&m.id, &m.settings))
}

/// One movement in one body.
fn seen(library: &Library, person: &Person, id: &str, settings: &answer::Settings) -> Result<Seen, String> {
    let ask =
        Ask { settings: settings.clone(), person: person.clone(), frames: FRAMES, draws: DRAWS, ..Ask::middle(id) };
    let worlds = library.traces(&ask).map_err(|e| e.to_string())?;
    let mut out: Seen = vec![HeadSeen::default(); library.tables.heads.len()];
    for t in worlds.first().into_iter().flatten() {
        out[t.head] = HeadSeen::of(t);
    }
    for t in worlds.iter().flatten() {
        let pairs = t.activation.iter().zip(&t.active).zip(&t.fibre_norm);
        out[t.head].worlds.push(pairs.map(|((a, f), l)| [a * f, *l]).collect());
    }
    for (head, credit) in library.catalogue.convention(id).unwrap_or_default() {
        if let Some(h) = library.tables.head_index(&head) {
            out[h].convention = credit;
        }
    }
    Ok(out)
}
