//! Reads `golden/golden_sharing.json`: 343 load-sharing frames of 23 movements with the answers of general solvers
//! (HiGHS for the linear programmes, Clarabel for the cone programmes; made by `golden/make_golden.py`).
//!
//! Two movements are copies with weakened muscles, so that some frames exceed capacity or cannot be balanced at all;
//! 91 frames are solved a second time at exactly 100 % of their capacity.
#![allow(dead_code)] // each test file uses its own part

use numerics::capacity::Bounds;
use numerics::sharing::{Power, Problem};
use serde::Deserialize;

#[derive(Deserialize)]
pub struct Golden {
    #[serde(rename = "W")]
    pub stiffness: f64,
    pub movements: Vec<Movement>,
}

#[derive(Deserialize)]
pub struct Movement {
    pub name: String,
    pub cap: f64,
    pub load: f64,
    pub volume_weight: Vec<f64>,
    pub frames: Vec<Frame>,
}

#[derive(Deserialize)]
pub struct Frame {
    #[serde(rename = "A")]
    pub muscle_rows: Vec<Vec<f64>>,
    #[serde(rename = "E")]
    pub cheap_rows: Vec<Vec<f64>>,
    pub b0: Vec<f64>,
    pub b1: Vec<f64>,
    pub e: Vec<f64>,
    pub lo0: Vec<f64>,
    pub lo1: Vec<f64>,
    pub hi0: Vec<f64>,
    pub hi1: Vec<f64>,
    pub capacity: Option<f64>,
    pub sol: Vec<Solve>,
}

#[derive(Deserialize)]
pub struct Solve {
    #[serde(rename = "P")]
    pub load: f64,
    pub minmax: Option<f64>,
    pub a2: Answer,
    pub va2: Answer,
    pub a3: Answer,
}

#[derive(Deserialize)]
pub struct Answer {
    pub a: Vec<f64>,
    pub obj: f64,
    /// Primal minus dual value of the golden answer itself.
    pub gap: f64,
}

/// The three costs in the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Criterion {
    Square,
    VolumeSquare,
    Cube,
}

pub const CRITERIA: [Criterion; 3] = [Criterion::Square, Criterion::VolumeSquare, Criterion::Cube];

impl Solve {
    pub fn answer(&self, criterion: Criterion) -> &Answer {
        match criterion {
            Criterion::Square => &self.a2,
            Criterion::VolumeSquare => &self.va2,
            Criterion::Cube => &self.a3,
        }
    }
}

pub fn golden() -> Golden {
    serde_json::from_str(include_str!("../golden/golden_sharing.json")).expect("the golden file parses")
}

/// Matrices of one frame as padded columns.
pub struct Columns<const M: usize> {
    pub rows: usize,
    pub muscles: Vec<[f64; M]>,
    pub cheap: Vec<[f64; M]>,
    pub b0: [f64; M],
    pub b1: [f64; M],
}

impl Frame {
    pub fn columns<const M: usize>(&self) -> Columns<M> {
        let rows = self.b0.len();
        let column = |matrix: &[Vec<f64>], j: usize| {
            let mut c = [0.0; M];
            for i in 0..rows {
                c[i] = matrix[i][j];
            }
            c
        };
        let mut columns = Columns {
            rows,
            muscles: (0..self.muscle_rows[0].len()).map(|j| column(&self.muscle_rows, j)).collect(),
            cheap: (0..self.e.len()).map(|j| column(&self.cheap_rows, j)).collect(),
            b0: [0.0; M],
            b1: [0.0; M],
        };
        columns.b0[..rows].copy_from_slice(&self.b0);
        columns.b1[..rows].copy_from_slice(&self.b1);
        columns
    }

    pub fn bounds(&self) -> Bounds<'_> {
        Bounds { lo0: &self.lo0, lo1: &self.lo1, hi0: &self.hi0, hi1: &self.hi1 }
    }

    /// Lower and upper bounds of the cheap columns at a load.
    pub fn cheap_bounds(&self, load: f64) -> (Vec<f64>, Vec<f64>) {
        let lo: Vec<f64> = self.lo0.iter().zip(&self.lo1).map(|(a, b)| a + load * b).collect();
        let hi = self.hi0.iter().zip(&self.hi1).zip(&lo).map(|((a, b), lo)| (a + load * b).max(*lo)).collect();
        (lo, hi)
    }

    pub fn sharing<const M: usize>(
        &self,
        load: f64,
        volume: &[f64],
        criterion: Criterion,
        stiffness: f64,
    ) -> Problem<M> {
        let c = self.columns::<M>();
        let n = c.muscles.len();
        let (cheap_lo, cheap_hi) = self.cheap_bounds(load);
        let muscle_weight = |j: usize| if criterion == Criterion::VolumeSquare { volume[j] } else { 1.0 };
        Problem {
            muscles: n,
            columns: c.muscles.iter().chain(&c.cheap).copied().collect(),
            weight: (0..n).map(muscle_weight).chain(self.e.iter().copied()).collect(),
            lo: std::iter::repeat_n(0.0, n).chain(cheap_lo).collect(),
            hi: std::iter::repeat_n(1.0, n).chain(cheap_hi).collect(),
            b: std::array::from_fn(|i| c.b0[i] + load * c.b1[i]),
            stiffness,
            over_capacity: load > self.capacity.unwrap_or(0.0) * 1.0001,
            power: if criterion == Criterion::Cube { Power::Three } else { Power::Two },
        }
    }
}

/// Largest absolute value.
pub fn largest(values: impl IntoIterator<Item = f64>) -> f64 {
    values.into_iter().fold(0.0, |m, v| m.max(v.abs()))
}
