//! Joint ranges: what a posture may use and where passive stops start.

use crate::family::Problem;
use std::collections::BTreeMap;
use units::rad;

/// Range of one axis, rad.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AxisRange {
    /// Where passive stops start.
    pub low_rad: f64,
    pub high_rad: f64,
    /// What a trained person reaches in exercise; postures are checked against these.
    pub training_low_rad: f64,
    pub training_high_rad: f64,
}

/// Ranges by dotted axis.
#[derive(Clone, Debug, Default)]
pub struct Ranges(pub BTreeMap<String, AxisRange>);

impl Ranges {
    /// Parse `joint_ranges.csv`; all problems at once.
    pub fn parse(text: &str, file: &str) -> Result<Ranges, Vec<Problem>> {
        let mut out = BTreeMap::new();
        let mut problems = Vec::new();
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let headers = reader.headers().cloned().unwrap_or_default();
        let column = |name: &str| headers.iter().position(|h| h == name);
        for record in reader.records() {
            let (record, line) = match record {
                Ok(r) => {
                    let line = r.position().map_or(0, |p| p.line() as usize);
                    (r, line)
                }
                Err(e) => {
                    problems.push(Problem { file: file.into(), line: 0, column: 0, text: e.to_string() });
                    continue;
                }
            };
            let mut number = |name: &str| -> f64 {
                let field = column(name).and_then(|c| record.get(c)).unwrap_or("");
                field.parse().unwrap_or_else(|_| {
                    problems.push(Problem {
                        file: file.into(),
                        line,
                        column: 0,
                        text: format!("{name} is \"{field}\", expected degrees"),
                    });
                    0.0
                })
            };
            let range = AxisRange {
                low_rad: rad(number("low_deg")),
                high_rad: rad(number("high_deg")),
                training_low_rad: rad(number("training_low_deg")),
                training_high_rad: rad(number("training_high_deg")),
            };
            if let Some(axis) = column("dof").and_then(|c| record.get(c)) {
                out.insert(axis.to_string(), range);
            }
        }
        if problems.is_empty() { Ok(Ranges(out)) } else { Err(problems) }
    }

    pub fn get(&self, axis: &str) -> Option<&AxisRange> {
        self.0.get(axis)
    }
}
