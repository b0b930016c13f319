//! Ranges: against brute force, collapsing and widening.

use answer::{Range, Settings};
use library::{Ask, Library, Person};
use std::collections::BTreeMap;
use std::sync::OnceLock;
use stimulus::range::Widths;
use stimulus::shown::Shown;

fn library() -> &'static Library {
    static L: OnceLock<Library> = OnceLock::new();
    L.get_or_init(|| Library::embedded().expect("the shipped data parses"))
}

fn ask(movement: &str, draws: usize, seed: u64) -> Ask {
    Ask {
        movement: movement.into(),
        settings: Settings::new(),
        person: Person::average_man(),
        draws,
        seed,
        frames: 21,
        scene: false,
    }
}

fn ranges(movement: &str, draws: usize, seed: u64, widths: &Widths) -> Vec<Range> {
    library().study(&ask(movement, draws, seed), widths).unwrap_or_else(|e| panic!("{movement}: {e}")).stimulus
}

/// Numbers beside the stimulus that a coach reads, each with its name.
fn numbers<T: Copy>(s: &Shown<T>) -> Vec<(String, T)> {
    let mut out = vec![("load".to_string(), s.load)];
    out.extend(s.contact_bw.iter().map(|(j, v)| (format!("contact force, {}", j.id()), *v)));
    out.extend(s.moments.iter().map(|m| (format!("moment, {}", m.axis), m.peak_nm)));
    for h in s.heads.iter().flatten() {
        out.extend(
            [("shortest length", h.length_min), ("longest length", h.length_max), ("change", h.change_m)].map(own),
        );
        out.extend([("activation", h.activation), ("force", h.force_n)].map(own));
    }
    out
}

fn own<T>((name, v): (&str, T)) -> (String, T) {
    (name.to_string(), v)
}

#[test]
fn every_range_collapses_to_the_mid_when_every_spread_is_zero() {
    for m in ["back-squat", "bench-press", "seated-leg-curl"] {
        for (h, r) in ranges(m, 8, 1, &Widths::NONE).iter().enumerate() {
            // The shipped reference values have six decimals.
            assert!(r.width() < 1e-5, "{m} {}: {r:?}", library().tables.heads[h].id);
        }
        let study = library().study(&ask(m, 8, 1), &Widths::NONE).unwrap_or_else(|e| panic!("{m}: {e}"));
        for (what, r) in numbers(&study.shown) {
            assert!(r.width() <= 1e-9 * r.mid.abs().max(1.0), "{m} {what}: {r:?}");
        }
    }
}

#[test]
fn a_range_widens_when_one_spread_widens() {
    let total = |w: &Widths| -> f64 { ranges("back-squat", 24, 1, w).iter().map(|r| r.width()).sum() };
    let none = Widths::NONE;
    for (name, narrow, wide) in [
        ("strength", Widths { strength: 0.3, ..none }, Widths { strength: 1.0, ..none }),
        ("arms", Widths { arms: 0.3, ..none }, Widths { arms: 1.0, ..none }),
        ("anchors", Widths { anchors: 0.3, ..none }, Widths { anchors: 1.0, ..none }),
        ("posture", Widths { posture: 0.3, ..none }, Widths { posture: 1.0, ..none }),
        ("body", Widths { body: 0.3, ..none }, Widths { body: 1.0, ..none }),
        ("criterion", none, Widths { criterion: true, ..none }),
        ("contact", none, Widths { contact: true, ..none }),
    ] {
        let (a, b) = (total(&narrow), total(&wide));
        assert!(b > a + 0.05, "{name}: {a:.3} → {b:.3}");
    }
}

/// 1,000 brute-force draws per movement against the default 32: quantiles of the same distribution.
#[test]
fn thirty_two_draws_stand_for_a_thousand() {
    let anatomy_only = Widths { criterion: false, contact: false, ..Widths::default() };
    for m in ["leg-extension", "barbell-curl", "seated-leg-curl"] {
        let few = ranges(m, 32, 1, &anatomy_only);
        let many = ranges(m, 1000, 2, &anatomy_only);
        let (mut worst, mut sum, mut n) = (0.0f64, 0.0, 0);
        for (a, b) in few.iter().zip(&many) {
            if b.mid < 0.05 && b.high < 0.05 {
                continue;
            }
            for d in [(a.low - b.low).abs(), (a.high - b.high).abs()] {
                worst = worst.max(d);
                sum += d;
                n += 1;
            }
        }
        let mean = sum / f64::from(n.max(1));
        println!("{m}: ends of {n} ranges differ by {mean:.3} on average, {worst:.3} at worst");
        assert!(mean < 0.06 && worst < 0.3, "{m}: mean {mean:.3}, worst {worst:.3}");
    }
}

/// A body and an anatomy drawn from the spreads, other than those the range was made of: how often does its stimulus lie
/// inside the shown range? The range is meant to hold 80 % of them; what criterion and contact add comes on top.
#[test]
fn four_of_five_drawn_people_lie_inside_the_shown_range() {
    let shown_from = library().rules.class_some;
    let (mut inside, mut all) = (0, 0);
    for m in ["back-squat", "romanian-deadlift", "bench-press", "seated-cable-row", "barbell-curl", "leg-extension"] {
        let drawn_alone = Widths { criterion: false, contact: false, ..Widths::default() };
        let shown = ranges(m, 32, 1, &drawn_alone);
        let people = library().worlds(&ask(m, 64, 1000), &drawn_alone).unwrap_or_else(|e| panic!("{m}: {e}"));
        let (mut here, mut of) = (0, 0);
        for person in &people {
            for (r, s) in shown.iter().zip(&person.stimulus).filter(|(r, _)| r.mid >= shown_from) {
                of += 1;
                here += usize::from((r.low..=r.high).contains(s));
            }
        }
        println!("{m}: {:.0} % of {of} inside", 100.0 * here as f64 / of as f64);
        inside += here;
        all += of;
    }
    let share = inside as f64 / all as f64;
    println!("all: {:.1} % of {all} inside", 100.0 * share);
    assert!((0.75..=0.85).contains(&share), "{:.1} %", 100.0 * share);
}

/// The same for each other kind of number. A range of 32 draws holds 75 to 80 % of new draws on average, one of them
/// alone misses that by 7 %, the mean over six movements by 3 %: twice this is allowed.
#[test]
fn four_of_five_drawn_people_lie_inside_the_range_of_every_kind_of_number() {
    let drawn_alone = Widths { criterion: false, contact: false, ..Widths::default() };
    let mut counts: BTreeMap<String, (usize, usize)> = BTreeMap::new();
    for m in ["back-squat", "romanian-deadlift", "bench-press", "seated-cable-row", "barbell-curl", "leg-extension"] {
        let study = library().study(&ask(m, 32, 1), &drawn_alone).unwrap_or_else(|e| panic!("{m}: {e}"));
        let people = library().worlds(&ask(m, 64, 1000), &drawn_alone).unwrap_or_else(|e| panic!("{m}: {e}"));
        for person in people.iter().filter_map(|p| p.shown.as_ref()) {
            for ((what, r), (_, v)) in numbers(&study.shown).into_iter().zip(numbers(person)) {
                // What does not move (a moment that is nought, a head at rest) says nothing of coverage.
                if r.width() > 1e-3 * r.mid.abs().max(1e-3) {
                    let kind = what.split(',').next().unwrap_or(&what).to_string();
                    let c = counts.entry(kind).or_default();
                    c.0 += usize::from((r.low..=r.high).contains(&v));
                    c.1 += 1;
                }
            }
        }
    }
    let mut off = Vec::new();
    for (kind, (inside, all)) in &counts {
        let share = *inside as f64 / *all as f64;
        println!("{kind}: {:.1} % of {all} inside", 100.0 * share);
        if !(0.70..=0.86).contains(&share) {
            off.push(format!("{kind} {:.1} %", 100.0 * share));
        }
    }
    assert_eq!(counts.len(), 8, "{:?}", counts.keys());
    assert!(off.is_empty(), "{off:?}");
}

/// Criterion and contact change the forces and the load as they change the stimulus.
#[test]
fn methods_widen_the_range_of_what_they_change() {
    let range = |w: &Widths| library().study(&ask("back-squat", 8, 1), w).expect("the squat is solved").shown;
    let none = range(&Widths::NONE);
    let criterion = range(&Widths { criterion: true, ..Widths::NONE });
    let contact = range(&Widths { contact: true, ..Widths::NONE });
    let contacts = |s: &Shown<Range>| s.contact_bw.iter().map(|c| c.1.width()).sum::<f64>();
    println!("contact forces: {:.3}, {:.3}, {:.3}", contacts(&none), contacts(&criterion), contacts(&contact));
    assert!(contacts(&none) < 1e-9 && contacts(&criterion) > 0.01 && contacts(&contact) > 0.01);
    // One load is shared in other ways; other contacts let another load be lifted.
    assert!(criterion.load.width() < 1e-9 && contact.load.width() > 0.1, "{:?} {:?}", criterion.load, contact.load);
}

#[test]
fn every_range_says_where_it_comes_from() {
    let look = library().look(&ask("back-squat", 32, 1)).expect("the squat is solved");
    println!("{}", look.range_note);
    assert!(look.range_note.starts_with("The ranges come from "), "{}", look.range_note);
    for h in look.heads.iter().filter(|h| h.stimulus.width() > 0.05) {
        assert!(h.range_sources.values().any(|w| *w > 0.0), "{}: no source for {:?}", h.id, h.stimulus);
    }
}
