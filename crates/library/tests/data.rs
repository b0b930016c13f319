//! The shipped data hangs together: what one table names, another has.

use answer::Settings;
use library::{DEFAULT_DRAWS, Library, Person};
use movement::family::Formula;
use std::collections::BTreeSet;
use std::sync::OnceLock;

fn library() -> &'static Library {
    static L: OnceLock<Library> = OnceLock::new();
    L.get_or_init(|| Library::embedded().expect("the shipped data parses"))
}

/// Heads that no movement of the library trains directly (common practice, no source). Adding a reference movement for
/// one of them shortens this list on purpose.
const WITHOUT_REFERENCE: [&str; 14] = [
    "deep-lateral-rotators",
    "tibialis-posterior",
    "fibularis-longus",
    "toe-flexors",
    "toe-extensors",
    "scalenes",
    "trapezius-ascending-part",
    "serratus-anterior-superior-part",
    "serratus-anterior-middle-part",
    "serratus-anterior-inferior-part",
    "pectoralis-minor",
    "pronator-teres",
    "supinator",
    "pronator-quadratus",
];

#[test]
fn every_head_has_a_reference_movement_or_is_listed_without() {
    let lib = library();
    let referred: BTreeSet<usize> = lib.reference.movements.iter().flat_map(|(_, heads)| heads.clone()).collect();
    let without: Vec<&str> = (0..lib.tables.heads.len())
        .filter(|h| !referred.contains(h))
        .map(|h| lib.tables.heads[h].id.as_str())
        .collect();
    assert_eq!(without, WITHOUT_REFERENCE);
}

#[test]
fn reference_values_stand_for_every_reference_head_and_draw() {
    let lib = library();
    assert_eq!(lib.reference.draws.len(), DEFAULT_DRAWS);
    for h in lib.reference.movements.iter().flat_map(|(_, heads)| heads.clone()) {
        let id = &lib.tables.heads[h].id;
        // A raw stimulus is a mean of a ≤ 1 times f_L ≤ 1 times w, and w has a ceiling.
        let sane = |v: Option<f64>| v.is_some_and(|v| v > 0.0 && v <= lib.rules.length_weight_ceiling);
        assert!(sane(lib.reference.mid[h]), "{id}: mid {:?}", lib.reference.mid[h]);
        for (k, d) in lib.reference.draws.iter().enumerate() {
            assert!(
                d[h].is_some_and(|v| (0.0..=lib.rules.length_weight_ceiling).contains(&v)),
                "{id}: d{k} {:?}",
                d[h]
            );
        }
    }
}

#[test]
fn every_family_file_parses_and_its_faults_change_settings_it_has() {
    let lib = library();
    let mut problems = Vec::new();
    for id in lib.family_ids() {
        let family = match lib.family(id) {
            Ok(f) => f,
            Err(e) => {
                problems.push(format!("{id}: {e}"));
                continue;
            }
        };
        if family.file.id != id {
            problems.push(format!("families/{id}.toml calls itself {}", family.file.id));
        }
        for fault in &family.file.fault {
            for (key, value) in &fault.change {
                let known = lib.catalogue.settings_for(id).iter().any(|s| s.key == *key);
                let wrong = match value {
                    Formula::Number(n) => lib.catalogue.check_setting(id, key, &n.to_string()).err(),
                    Formula::Text(_) => None,
                };
                if !known && !family.file.settings.contains_key(key) {
                    problems.push(format!("{id}, fault {}: no setting {key}", fault.id));
                } else if let Some(e) = wrong {
                    problems.push(format!("{id}, fault {}: {e}", fault.id));
                }
            }
        }
    }
    assert!(problems.is_empty(), "{}", problems.join("\n"));
}

#[test]
fn every_checked_movement_can_be_planned_and_every_reference_movement_is_checked() {
    let lib = library();
    let body = lib.body(&Person::average_man()).expect("an average man");
    let mut problems = Vec::new();
    for id in &lib.checked {
        let planned = lib.resolve(id, &Settings::new()).and_then(|r| lib.plan(&r, &body));
        problems.extend(planned.err().map(|e| format!("{id}: {e}")));
    }
    let unchecked = lib.reference.movements.iter().map(|(id, _)| id).filter(|id| !lib.checked.contains(*id));
    problems.extend(unchecked.map(|id| format!("{id} sets the scale of its heads without having passed the checks")));
    assert!(problems.is_empty(), "{}", problems.join("\n"));
}

#[test]
fn every_head_has_names_a_group_and_a_size() {
    let lib = library();
    let mut ids = BTreeSet::new();
    for (h, head) in lib.tables.heads.iter().enumerate() {
        assert!(ids.insert(&head.id), "{} stands twice", head.id);
        assert!(!head.latin.is_empty() && !head.plain.is_empty(), "{} has no name", head.id);
        assert!(!lib.groups_of[h].is_empty(), "{} is in no coach group", head.id);
        assert!(head.volume_cm3 > 0.0 && head.fibre_length_m > 0.0 && !head.joints.is_empty(), "{}", head.id);
    }
    assert_eq!(ids.len(), 82);
}
