//! The few numbers that turn activation and length into stimulus, class and credit.

use answer::{Class, Range};
use mechanics::solve::LoadRule;

/// Parsed `data/stimulus/rules.csv`.
#[derive(Clone, Debug, PartialEq)]
pub struct Rules {
    pub length_weight_slope: f64,
    pub length_weight_centre: f64,
    pub length_weight_floor: f64,
    pub length_weight_ceiling: f64,
    pub stimulus_cap: f64,
    pub load_quantile: f64,
    pub load_effort: f64,
    pub class_some: f64,
    pub class_strong: f64,
    pub class_prime: f64,
    pub cuff_some: f64,
    pub credit_from: f64,
    pub credit_width: f64,
    pub pool_mechanics: f64,
    pub range_low: f64,
    pub range_high: f64,
    pub free_length: f64,
    pub reference_floor: f64,
}

impl Rules {
    /// Parse the table; every missing or unreadable key is named.
    pub fn parse(text: &str) -> Result<Rules, Vec<String>> {
        let mut problems = Vec::new();
        let mut get = |key: &str| -> f64 {
            let line = text.lines().find(|l| l.split(',').next() == Some(key));
            match line.and_then(|l| l.split(',').nth(1)).map(str::parse::<f64>) {
                Some(Ok(v)) if v.is_finite() => v,
                Some(_) => {
                    problems.push(format!("{key}: the value is not a number"));
                    0.0
                }
                None => {
                    problems.push(format!("{key} is missing"));
                    0.0
                }
            }
        };
        let rules = Rules {
            length_weight_slope: get("length_weight_slope"),
            length_weight_centre: get("length_weight_centre"),
            length_weight_floor: get("length_weight_floor"),
            length_weight_ceiling: get("length_weight_ceiling"),
            stimulus_cap: get("stimulus_cap"),
            load_quantile: get("load_quantile"),
            load_effort: get("load_effort"),
            class_some: get("class_some"),
            class_strong: get("class_strong"),
            class_prime: get("class_prime"),
            cuff_some: get("cuff_some"),
            credit_from: get("credit_from"),
            credit_width: get("credit_width"),
            pool_mechanics: get("pool_mechanics"),
            range_low: get("range_low"),
            range_high: get("range_high"),
            free_length: get("free_length"),
            reference_floor: get("reference_floor"),
        };
        if problems.is_empty() { Ok(rules) } else { Err(problems) }
    }

    pub fn load_rule(&self) -> LoadRule {
        LoadRule { quantile: self.load_quantile, effort: self.load_effort }
    }

    /// Length weight w(l) of a normalised fibre length.
    pub fn length_weight(&self, l: f64) -> f64 {
        (1.0 + self.length_weight_slope * (l - self.length_weight_centre))
            .clamp(self.length_weight_floor, self.length_weight_ceiling)
    }

    /// Class of a stimulus; rotator cuff heads have two classes.
    pub fn class(&self, s: f64, cuff: bool) -> Class {
        if cuff {
            return if s < self.cuff_some { Class::Little } else { Class::Some };
        }
        if s < self.class_some {
            Class::Little
        } else if s < self.class_strong {
            Class::Some
        } else if s < self.class_prime {
            Class::Strong
        } else {
            Class::Prime
        }
    }

    /// Credit by mechanics of a stimulus, 0 to 1.
    pub fn credit(&self, s: f64) -> f64 {
        ((s - self.credit_from) / self.credit_width).clamp(0.0, 1.0)
    }

    /// Credit range of a stimulus range: the function is monotone, so ends map to ends.
    pub fn credit_range(&self, s: Range) -> Range {
        Range { low: self.credit(s.low), mid: self.credit(s.mid), high: self.credit(s.high) }
    }

    /// Pooled credit while trials are missing: weight × mechanics + (1 − weight) × convention.
    pub fn pooled(&self, mechanics: Range, convention: f64) -> Range {
        let w = self.pool_mechanics;
        let p = |m: f64| w * m + (1.0 - w) * convention;
        Range { low: p(mechanics.low), mid: p(mechanics.mid), high: p(mechanics.high) }
    }
}
