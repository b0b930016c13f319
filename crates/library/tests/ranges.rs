//! Ranges: against brute force, collapsing and widening.

use answer::{Range, Settings};
use library::{Ask, Library, Person};
use std::sync::OnceLock;
use stimulus::range::Widths;

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

#[test]
fn every_range_collapses_to_the_mid_when_every_spread_is_zero() {
    for m in ["back-squat", "bench-press", "seated-leg-curl"] {
        for (h, r) in ranges(m, 8, 1, &Widths::NONE).iter().enumerate() {
            // The shipped reference values have six decimals.
            assert!(r.width() < 1e-5, "{m} {}: {r:?}", library().tables.heads[h].id);
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
