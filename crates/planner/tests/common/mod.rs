//! Random weeks for checks: small enough to be solved to the end.

use planner::{Choice, Day, Head, Line, Must, Piece, Prices, Task};

/// Knuth's linear congruential generator (The Art of Computer Programming, vol. 2, 3.3.4).
pub struct Random(pub u64);

impl Random {
    pub fn below(&mut self, n: u32) -> u32 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) % u64::from(n)) as u32
    }
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * f64::from(self.below(1001)) / 1000.0
    }
}

fn head(i: u32, r: &mut Random) -> Head {
    let weight = [0.0, 1.0, 2.0, 3.0][r.below(4) as usize];
    let low = [2.0, 4.0, 6.0][r.below(3) as usize];
    let piece = |width: f64, gain: f64| Piece { width, gain };
    let mut pieces = Vec::new();
    if weight > 0.0 {
        pieces.extend((0..4).map(|k| piece(low / 4.0, weight * 0.5 * (1.0 + (7.0 - 2.0 * f64::from(k)) / 4.0))));
        pieces.extend([piece(low / 3.0, 0.075 * weight), piece(low / 3.0, 0.0), piece(1e3, -0.3 * weight)]);
    }
    let focus = weight == 3.0;
    Head {
        name: format!("head {i}"),
        pieces,
        session_most: r.between(4.0, 11.0),
        week_most: (r.below(3) == 0).then_some(12.0),
        long_share: if focus { 1.0 / 3.0 } else { 0.0 },
        long_price: if focus { 0.45 } else { 0.0 },
    }
}

/// A week of 2 to 5 heads, 3 to 8 movements and 1 to 3 days.
pub fn week(seed: u64) -> Task {
    let mut r = Random(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15).wrapping_add(1));
    let heads: Vec<Head> = (0..2 + r.below(4)).map(|i| head(i, &mut r)).collect();
    let n = 3 + r.below(6);
    let choices: Vec<Choice> = (0..n)
        .map(|i| {
            let new = r.below(2) == 0;
            let mut credits: Vec<(usize, f64, bool)> = Vec::new();
            for h in 0..heads.len() {
                if r.below(2) == 0 {
                    credits.push((h, r.between(0.1, 1.0), r.below(3) == 0));
                }
            }
            Choice {
                name: format!("movement {i}"),
                movement: i as usize,
                credits,
                set_s: r.between(120.0, 240.0),
                once_s: r.between(0.0, 90.0),
                least: 2,
                most: if new { 3 } else { 5 },
                new,
            }
        })
        .collect();
    let days: Vec<Day> = (0..1 + r.below(3))
        .map(|d| Day { name: format!("day {d}"), available_s: Some(r.between(900.0, 2700.0)) })
        .collect();
    let mut present: Vec<Line> = Vec::new();
    for day in 0..days.len() {
        for choice in (0..choices.len()).filter(|c| !choices[*c].new) {
            if r.below(3) == 0 {
                present.push(Line { day, choice, sets: 2 + r.below(3) });
            }
        }
    }
    Task {
        heads,
        choices,
        days,
        present,
        most_new: (r.below(2) == 0).then(|| r.below(3)),
        most_sets: (r.below(4) == 0).then_some(12),
        most_lines: 3 + r.below(4),
        prices: Prices { line: 0.1, new: 0.3, stay: 0.3, minute: 0.03 },
        ..Task::default()
    }
}

/// The same with a dose that is demanded of one head.
#[allow(dead_code)]
pub fn demanding(seed: u64, sets: f64) -> Task {
    let mut task = week(seed);
    task.musts.push(Must { name: "a dose".into(), heads: vec![(0, 1.0)], at_least: sets });
    task
}
