//! Interpolation, quantile and normal quantile against SciPy and numpy (`golden/make_curves.py`); properties of the
//! draws that their construction promises.

use numerics::cubic::{Cubic, CubicError};
use numerics::quantile::quantile;
use numerics::sample::{Draws, normal_quantile};
use serde::Deserialize;

/// Relative to the largest number of the table: rounding in a different order of operations.
const CURVE: f64 = 1e-13;
/// SciPy's own normal quantile (Cephes) is good to a few 1e-15 relative.
const NORMAL: f64 = 2e-14;

#[derive(Deserialize)]
struct Golden {
    tables: Vec<Table>,
    quantiles: Vec<Quantile>,
    normal: Normal,
}

#[derive(Deserialize)]
struct Table {
    x: Vec<f64>,
    y: Vec<f64>,
    at: Vec<f64>,
    value: Vec<f64>,
    slope: Vec<f64>,
    integral_from_left: Vec<f64>,
}

#[derive(Deserialize)]
struct Quantile {
    values: Vec<f64>,
    q: f64,
    quantile: f64,
}

#[derive(Deserialize)]
struct Normal {
    p: Vec<f64>,
    quantile: Vec<f64>,
}

fn golden() -> Golden {
    serde_json::from_str(include_str!("golden/curves.json")).expect("the golden file parses")
}

fn check(what: &str, got: f64, want: f64, tolerance: f64) {
    assert!((got - want).abs() <= tolerance, "{what}: {got} for {want}");
}

#[test]
fn cubic_agrees_with_scipy() {
    let mut points = 0;
    for (t, table) in golden().tables.iter().enumerate() {
        let cubic = Cubic::new(&table.x, &table.y).expect("a good table");
        let (left, right) = cubic.range();
        let height = table.y.iter().fold(1.0, |m: f64, y| m.max(y.abs()));
        let steepest = table.slope.iter().fold(1.0, |m: f64, s| m.max(s.abs()));
        for (k, &x) in table.at.iter().enumerate() {
            let what = |name: &str| format!("{name} of table {t} at {x}");
            check(&what("value"), cubic.value(x), table.value[k], CURVE * height);
            check(&what("slope"), cubic.slope(x), table.slope[k], CURVE * steepest * 100.0);
            let integral = cubic.integral(x) - cubic.integral(left);
            check(&what("integral"), integral, table.integral_from_left[k], CURVE * height * (right - left + 10.0));
            points += 1;
        }
        // Outside: constant value, no slope, linear integral. The integral is zero at zero.
        check("left value", cubic.value(left - 3.0), table.y[0], 0.0);
        check("right value", cubic.value(right + 3.0), table.y[table.y.len() - 1], 0.0);
        check("left slope", cubic.slope(left - 1e-9), 0.0, 0.0);
        let beyond = cubic.integral(right + 3.0) - cubic.integral(right);
        check("right integral", beyond, 3.0 * table.y[table.y.len() - 1], CURVE * height * 100.0);
        let before = cubic.integral(left) - cubic.integral(left - 3.0);
        check("left integral", before, 3.0 * table.y[0], CURVE * height * 100.0);
        check("integral at zero", cubic.integral(0.0), 0.0, 0.0);
    }
    assert!(points > 1000);
}

#[test]
fn one_point_is_a_constant() {
    let cubic = Cubic::new(&[2.0], &[5.0]).expect("a good table");
    assert_eq!((cubic.value(-1.0), cubic.value(2.0), cubic.slope(2.0), cubic.integral(4.0)), (5.0, 5.0, 0.0, 20.0));
}

#[test]
fn bad_tables_are_refused_with_their_numbers() {
    let refuse = |x: &[f64], y: &[f64], expected| assert_eq!(Cubic::new(x, y), Err(expected));
    refuse(&[], &[], CubicError::Lengths { x: 0, y: 0 });
    refuse(&[0.0, 1.0], &[0.0], CubicError::Lengths { x: 2, y: 1 });
    refuse(&[0.0, 0.0], &[0.0, 1.0], CubicError::NotIncreasing { index: 1, before: 0.0, value: 0.0 });
    refuse(&[0.0, 1.0], &[0.0, f64::NAN], CubicError::NotFinite { index: 1 });
}

#[test]
fn quantile_agrees_with_numpy() {
    let mut scratch = Vec::new();
    for case in golden().quantiles {
        let got = quantile(&case.values, &mut scratch, case.q).expect("a quantile");
        check(&format!("{} of {} values", case.q, case.values.len()), got, case.quantile, 1e-12);
    }
    assert_eq!(quantile(&[], &mut scratch, 0.5), None);
    assert_eq!(quantile(&[1.0, f64::NAN], &mut scratch, 0.5), None);
    assert_eq!(quantile(&[1.0], &mut scratch, 1.1), None);
}

#[test]
fn normal_quantile_agrees_with_scipy() {
    let normal = golden().normal;
    for (p, want) in normal.p.iter().zip(&normal.quantile) {
        check(&format!("p = {p:e}"), normal_quantile(*p), *want, NORMAL * want.abs().max(0.1));
    }
    assert_eq!((normal_quantile(0.0), normal_quantile(1.0)), (f64::NEG_INFINITY, f64::INFINITY));
    assert!(normal_quantile(1.5).is_nan() && normal_quantile(f64::NAN).is_nan());
}

/// In every dimension the first 2ᵏ draws hit each of the 2ᵏ equal cells exactly once.
#[test]
fn draws_are_a_latin_hypercube_at_every_power_of_two() {
    let draws = Draws::new(1);
    for dimension in 0..300 {
        for count in [2usize, 8, 32, 128] {
            let mut hit = vec![false; count];
            for draw in 0..count as u32 {
                let u = draws.uniform(draw, dimension);
                assert!(u > 0.0 && u < 1.0);
                let cell = (u * count as f64) as usize;
                assert!(!hit[cell], "dimension {dimension}, {count} draws: cell {cell} hit twice");
                hit[cell] = true;
            }
        }
    }
}

/// Between dimensions the pairing is random up to what stratification at every 2ᵏ forces: correlations centre on zero
/// and spread a little more than the 1/√31 = 0.18 of independent columns.
#[test]
fn dimensions_are_not_correlated() {
    let draws = Draws::new(7);
    let (count, dimensions) = (32u32, 300u32);
    let columns: Vec<Vec<f64>> =
        (0..dimensions).map(|d| (0..count).map(|i| draws.uniform(i, d) - 0.5).collect()).collect();
    let product = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
    let (mut sum, mut square, mut worst, mut pairs) = (0.0, 0.0, 0.0f64, 0.0);
    for a in 0..columns.len() {
        for b in a + 1..columns.len() {
            let (x, y) = (&columns[a], &columns[b]);
            let r = product(x, y) / (product(x, x) * product(y, y)).sqrt();
            sum += r;
            square += r * r;
            worst = worst.max(r.abs());
            pairs += 1.0;
        }
    }
    let spread = (square / pairs).sqrt();
    println!("correlations: mean {:.4}, spread {spread:.3}, largest {worst:.2}", sum / pairs);
    assert!((sum / pairs).abs() < 0.01, "mean correlation {}", sum / pairs);
    assert!(spread < 0.25, "spread {spread}");
    // Columns in step, as in the later dimensions of joint sequences, would show 1.0 here.
    assert!(worst < 0.9, "largest correlation {worst}");
}

/// Additive functions are integrated far better than by independent draws.
#[test]
fn means_converge_faster_than_independent_draws() {
    let (count, dimensions, seeds) = (64u32, 40u32, 40u64);
    let (mut square, exact) = (0.0, f64::from(dimensions) / 3.0);
    for seed in 0..seeds {
        let draws = Draws::new(seed);
        let mean = (0..count).map(|i| (0..dimensions).map(|d| draws.uniform(i, d).powi(2)).sum::<f64>()).sum::<f64>()
            / f64::from(count);
        square += (mean - exact).powi(2);
    }
    // Var u² = 4/45, so independent draws would spread by √(40 · 4/45 / 64) = 0.236.
    let spread = (square / seeds as f64).sqrt();
    assert!(spread < 0.236 / 20.0, "spread of the mean {spread}");
}

#[test]
fn draws_depend_on_seed_draw_and_dimension_only() {
    let (mut few, mut many) = ([0.0; 3], [0.0; 10]);
    Draws::new(5).fill_uniform(9, &mut few);
    Draws::new(5).fill_uniform(9, &mut many);
    assert_eq!(few[..], many[..3]);
    assert_ne!(Draws::new(5).uniform(9, 2), Draws::new(6).uniform(9, 2));
    // Beyond the first block of 2²⁰ draws too.
    let far = Draws::new(5).uniform(u32::MAX, 2);
    assert!(far > 0.0 && far < 1.0 && far != Draws::new(5).uniform(u32::MAX >> 12, 2));
}
