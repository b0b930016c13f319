//! The loads at which two lifts are compared.

use library::{Library, Study};

/// Words of `held_equal` by which each lift has its own hard load.
const OWN: [&str; 6] = ["relative load", "own hard load", "hard set", "near failure", "effort", "8-12RM training"];
/// Words by which the external load is the same.
const SAME: [&str; 6] = ["load", "plates", "plate", "stack", "floor force", "share"];

/// Loads of both lifts, each in its movement's unit.
pub struct Loads {
    pub a: f64,
    pub b: f64,
    pub words: String,
}

impl Loads {
    /// The same external load, unless the row says otherwise or the two have no load in common:
    ///
    /// * each its own hard load where `held_equal` names a relative load, a number of repetitions or effort;
    /// * the load it names (`load = body weight`, `body weight`, `load per leg`);
    /// * otherwise the same external load: the smaller of the two hard loads, which both can carry. Kilograms in each hand
    ///   count twice, a multiple of body weight counts that many kilograms. Where the row names no load at all and the
    ///   two are done with different kinds of equipment, kilograms say nothing (a stack is not a bar): each its own.
    pub fn of(library: &Library, a: &Study, b: &Study, held: &str) -> Loads {
        let own = |why: &str| Loads {
            a: a.solved.load.load,
            b: b.solved.load.load,
            words: format!("each at its own hard load, {} and {}{why}", amount(a, None), amount(b, None)),
        };
        let (unit_a, unit_b) = (in_all(a), in_all(b));
        if OWN.iter().any(|w| held.contains(w)) || held.contains("RM") {
            return own("");
        }
        if held.contains("body weight") {
            let weight = a.body.mass_kg;
            let (x, y) = (weight / unit_a, weight / unit_b);
            return Loads { a: x, b: y, words: format!("both at body weight, {weight:.0} kg") };
        }
        let named = SAME.iter().any(|w| held.contains(w));
        if !named && kind(library, a) != kind(library, b) {
            return own(": other equipment, no load in common");
        }
        let legs = |s: &Study| if held.contains("per leg") && s.rep.symmetric { 2.0 } else { 1.0 };
        let total = |s: &Study, unit: f64| s.solved.load.load * unit / legs(s);
        let each = total(a, unit_a).min(total(b, unit_b));
        let (x, y) = (each * legs(a) / unit_a, each * legs(b) / unit_b);
        let words = format!("the same load: {}, {}", amount(a, Some(x)), amount(b, Some(y)));
        Loads { a: x, b: y, words }
    }
}

fn amount(s: &Study, load: Option<f64>) -> String {
    format!("{:.1} {}", load.unwrap_or(s.solved.load.load), s.rep.load.unit)
}

/// Kilograms that one unit of a movement's load amounts to.
pub(super) fn in_all(s: &Study) -> f64 {
    match &s.rep.load {
        l if l.body_weight => s.body.mass_kg,
        l if l.unit.contains("each hand") => 2.0,
        _ => 1.0,
    }
}

/// What a load is made of: equipment words that carry it.
fn kind(library: &Library, s: &Study) -> &'static str {
    let words = library.catalogue.movement(&s.resolved.id).map(|m| m.equipment.clone()).unwrap_or_default();
    let has = |w: &str| words.iter().any(|e| e.contains(w));
    match () {
        () if s.rep.load.body_weight => "body weight",
        () if has("cable") || has("pulley") || has("pull-down") => "cable",
        () if ["barbell", "dumb-bell", "kettle-bell", "ez-bar", "plate", "hex-bar"].iter().any(|w| has(w)) => "free weight",
        () => "machine",
    }
}
