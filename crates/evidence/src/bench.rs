//! The whole bench: studies read, solved, predicted, judged.

use crate::data;
use crate::format::{self, Issue};
use crate::judge::{self, Limits, Said, Seen};
use crate::predict::{Predictor, Rule, Weights};
use crate::reasons::{self, Reason};
use crate::seen::{Solved, solve};
use crate::study::{self, Call, Class, Study, check, person};
use answer::{
    CalibratedNumber, Evidence, EvidenceClass, EvidenceCondition, EvidenceResult, EvidenceRow, EvidenceStudy,
    EvidenceUnmapped, RuleCall, UnseenHalves,
};
use library::Library;
use numerics::sample::Draws;
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Name and version of the answer.
pub const SCHEMA: &str = "lengthwise.evidence/1";
/// Splits of the studies into halves.
pub const SPLITS: u32 = 200;
/// Seed of splits and bootstrap.
pub const SEED: u64 = 1;

/// Studies read and solved.
pub struct Bench<'a> {
    pub library: &'a Library,
    pub studies: Vec<Study>,
    pub solved: Solved,
    pub issues: Vec<Issue>,
    pub constants: BTreeMap<String, f64>,
}

/// A contrast with what mechanics and rules say of it.
pub struct Row<'a> {
    pub study: &'a Study,
    pub contrast: &'a study::Contrast,
    pub seen: Seen,
}

/// The three rules in the order of [`Calibration::limits`].
pub const RULES: [Rule; 3] = [Rule::Mechanics, Rule::Convention, Rule::Shortening];

/// Calibrated numbers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Calibration {
    pub length_slope: f64,
    pub length_ceiling: f64,
    pub range_power: f64,
    /// Of the mechanics and the two trivial rules.
    pub limits: [Limits; 3],
}

/// Values that are tried for the three weights; everything else is fixed. 4 × 3 × 4 = 48 choices.
const SLOPES: [f64; 4] = [0.0, 1.0, 2.0, 3.0];
const CEILINGS: [f64; 3] = [1.6, 2.0, 3.0];
const RANGE_POWERS: [f64; 4] = [0.0, 0.3, 0.6, 1.0];

/// Keys of the calibration table, with their meaning.
const KEYS: [(&str, &str); 9] = [
    ("length_slope", "steepness of the length weight w(l), per optimum fibre length; 0, 1, 2 and 3 are tried"),
    ("length_ceiling", "where the length weight stops rising; 1.6, 2 and 3 are tried"),
    (
        "range_power",
        "power of the excursion in the weekly dose, 0: range of motion does not count; 0, 0.3, 0.6, 1 are tried",
    ),
    ("mechanics_about_equal", "half-width of the range about a predicted difference, part of the larger side"),
    ("mechanics_no_growth", "predicted growth below which none is called, root of weekly reference sets"),
    ("convention_about_equal", "half-width of the range about a difference of sets counted 1, ½, 0"),
    ("convention_no_growth", "weekly sets counted 1, ½, 0 below which no growth is called"),
    ("shortening_about_equal", "half-width of the range about a difference of net shortening × mean length"),
    ("shortening_no_growth", "weekly sets × net shortening × mean length below which no growth is called"),
];

impl Calibration {
    /// Of the table's text.
    ///
    /// # Errors
    /// A missing key.
    pub fn parse(text: &str) -> Result<Calibration, String> {
        let table = data::constants(text);
        let get = |i: usize| {
            let key = KEYS[i].0;
            table.get(key).copied().ok_or_else(|| format!("calibration.csv: {key} is missing or no number"))
        };
        let limits =
            |i: usize| -> Result<Limits, String> { Ok(Limits { about_equal: get(i)?, no_growth: get(i + 1)? }) };
        Ok(Calibration {
            length_slope: get(0)?,
            length_ceiling: get(1)?,
            range_power: get(2)?,
            limits: [limits(3)?, limits(5)?, limits(7)?],
        })
    }

    fn values(&self) -> [f64; 9] {
        let [m, c, s] = self.limits;
        [
            self.length_slope,
            self.length_ceiling,
            self.range_power,
            m.about_equal,
            m.no_growth,
            c.about_equal,
            c.no_growth,
            s.about_equal,
            s.no_growth,
        ]
    }
}

/// What was said of every row under every choice of weights.
struct Tried {
    weights: [f64; 3],
    said: Vec<Said>,
}

/// Fitted on some studies.
struct Fitted {
    calibration: Calibration,
    /// Index of the choice.
    choice: usize,
}

impl<'a> Bench<'a> {
    /// The shipped studies, or others: (path, text).
    pub fn new(library: &'a Library, files: &[(String, String)]) -> Bench<'a> {
        let constants = data::constants(data::CONSTANTS);
        let mut issues = Vec::new();
        let mut studies: Vec<Study> = Vec::new();
        for (path, text) in files {
            let Some(read) = format::read(path, text, &mut issues) else { continue };
            if studies.iter().any(|s| s.head.id == read.head.row.id) {
                let (line, column) = read.head.at("id");
                let told = "there is a study of this id already; it is left out".to_string();
                let study = read.head.row.id.clone();
                issues.push(Issue { file: path.clone(), line, column, study, what: "id".into(), text: told });
                continue;
            }
            studies.push(check(library, &read, &mut issues));
        }
        let solved = solve(library, &studies, &constants);
        let mut bench = Bench { library, studies, solved, issues, constants };
        bench.leave_out_unsolved();
        bench
    }

    pub fn shipped(library: &'a Library) -> Bench<'a> {
        let files: Vec<(String, String)> = data::STUDIES.iter().map(|(p, t)| (p.to_string(), t.to_string())).collect();
        Bench::new(library, &files)
    }

    /// Rows whose movements do not solve leave, named.
    fn leave_out_unsolved(&mut self) {
        let predictor = Predictor::new(&self.solved, self.weights([1.0, 1.6, 0.0]));
        for s in &mut self.studies {
            let p = person(&s.head, &self.constants);
            let conditions = &s.conditions;
            let (file, study) = (s.file.clone(), s.head.id.clone());
            let issues = &mut self.issues;
            s.contrasts.retain(|c| match predictor.margin(Rule::Mechanics, conditions, &p, c) {
                Ok(_) => true,
                Err(text) => {
                    let what = format!("contrast {}", c.name);
                    issues.push(Issue { file: file.clone(), study: study.clone(), what, text, ..Issue::default() });
                    false
                }
            });
        }
    }

    fn weights(&self, [slope, ceiling, range_power]: [f64; 3]) -> Weights {
        let k = |key: &str| self.constants.get(key).copied().unwrap_or(0.0);
        Weights {
            length_slope: slope,
            length_centre: k("length_centre"),
            length_floor: k("length_floor"),
            length_ceiling: ceiling,
            range_power,
            range_offset: k("range_offset"),
            range_typical: k("range_typical"),
            cap: k("stimulus_cap"),
            dose_power: k("dose_power"),
            usual_sets: k("usual_sets"),
            reference_floor: k("reference_floor"),
            free_length: k("free_length"),
        }
    }

    /// Predictor with calibrated weights.
    pub fn predictor(&self, c: &Calibration) -> Predictor<'_> {
        Predictor::new(&self.solved, self.weights([c.length_slope, c.length_ceiling, c.range_power]))
    }

    /// Every contrast in the order of the studies.
    pub fn rows(&self) -> Vec<Row<'_>> {
        let mut out = Vec::new();
        for (i, s) in self.studies.iter().enumerate() {
            for c in &s.contrasts {
                let seen = Seen { class: c.class, expected: c.expected, study: i, counts: c.apart.is_empty() };
                out.push(Row { study: s, contrast: c, seen });
            }
        }
        out
    }

    fn said(&self, rows: &[Row], predictor: &Predictor, rule: Rule) -> Vec<Said> {
        rows.iter()
            .map(|r| {
                let p = person(&r.study.head, &self.constants);
                let (m, left) = predictor.margin(rule, &r.study.conditions, &p, r.contrast).unwrap_or_default();
                Said { margin: m.mid, left: left.mean, low: m.low, high: m.high }
            })
            .collect()
    }

    fn tried(&self, rows: &[Row]) -> Vec<Tried> {
        let mut choices = Vec::new();
        for slope in SLOPES {
            for ceiling in CEILINGS {
                for power in RANGE_POWERS {
                    choices.push([slope, ceiling, power]);
                }
            }
        }
        let one = |w: &[f64; 3]| {
            let predictor = Predictor::new(&self.solved, self.weights(*w));
            Tried { weights: *w, said: self.said(rows, &predictor, Rule::Mechanics) }
        };
        choices.par_iter().map(one).collect()
    }

    /// Weights and limits chosen on the rows of some studies.
    fn fit(rows: &[Row], tried: &[Tried], rules: &[Vec<Said>; 2], of: &dyn Fn(usize) -> bool) -> Fitted {
        let part = |said: &[Said]| -> Vec<(Seen, Said)> {
            let own = rows.iter().zip(said).filter(|(r, _)| r.seen.counts && of(r.seen.study));
            own.map(|(r, s)| (r.seen, *s)).collect()
        };
        let mut best: Option<(f64, usize, Limits)> = None;
        for (i, t) in tried.iter().enumerate() {
            let (limits, worth) = judge::fit(&part(&t.said));
            if best.is_none_or(|b| worth > b.0 + 1e-12) {
                best = Some((worth, i, limits));
            }
        }
        let (_, choice, mechanics) = best.unwrap_or((0.0, 0, Limits { about_equal: 0.1, no_growth: 0.1 }));
        let [slope, ceiling, power] = tried[choice].weights;
        let [convention, shortening] = [0, 1].map(|k| judge::fit(&part(&rules[k])).0);
        Fitted {
            calibration: Calibration {
                length_slope: slope,
                length_ceiling: ceiling,
                range_power: power,
                limits: [mechanics, convention, shortening],
            },
            choice,
        }
    }

    /// Chooses the calibrated numbers on all rows that count, with the interval they take over halves, and judges
    /// every half that was not looked at.
    pub fn calibrate(&self) -> Calibrated {
        let rows = self.rows();
        let tried = self.tried(&rows);
        let plain = Predictor::new(&self.solved, self.weights([1.0, 1.6, 0.0]));
        let rules = [Rule::Convention, Rule::Shortening].map(|r| self.said(&rows, &plain, r));
        let all = Self::fit(&rows, &tried, &rules, &|_| true).calibration;
        let draws = Draws::new(SEED);
        let splits: Vec<Split> = (0..SPLITS)
            .into_par_iter()
            .map(|i| {
                let first = judge::half(&draws, i, self.studies.len());
                let fitted = Self::fit(&rows, &tried, &rules, &|s| first[s]);
                let c = fitted.calibration;
                let unseen = |said: &[Said]| -> Vec<(Seen, Said)> {
                    let own = rows.iter().zip(said).filter(|(r, _)| r.seen.counts && !first[r.seen.study]);
                    own.map(|(r, s)| (r.seen, *s)).collect()
                };
                let parts = [unseen(&tried[fitted.choice].said), unseen(&rules[0]), unseen(&rules[1])];
                let shares =
                    Class::ALL.map(|class| [0, 1, 2].map(|k| judge::agreement(&parts[k], class, &c.limits[k], false)));
                let strict =
                    Class::ALL.map(|class| [0, 1, 2].map(|k| judge::agreement(&parts[k], class, &c.limits[k], true)));
                Split { values: c.values(), shares, strict }
            })
            .collect();
        Calibrated { all, splits, choices: tried.len() }
    }

    /// The answer. `with`: halves, when the studies are those that calibrate.
    pub fn evidence(&self, c: &Calibration, with: Option<&Calibrated>) -> Evidence {
        let rows = self.rows();
        let predictor = self.predictor(c);
        let said = RULES.map(|r| self.said(&rows, &predictor, r));
        let reasons = reasons::parse(data::REASONS);
        let shown: Vec<EvidenceRow> = rows
            .iter()
            .enumerate()
            .map(|(i, r)| shown(r, [&said[0][i], &said[1][i], &said[2][i]], c, &reasons))
            .collect();
        let classes = |counting: bool| -> Vec<EvidenceClass> {
            let pairs = |k: usize| -> Vec<(Seen, Said)> {
                let own = rows.iter().zip(&said[k]).filter(|(r, _)| r.seen.counts || !counting);
                own.map(|(r, s)| (r.seen, *s)).collect()
            };
            let pairs = [pairs(0), pairs(1), pairs(2)];
            let draws = Draws::new(SEED);
            Class::ALL
                .iter()
                .enumerate()
                .filter_map(|(j, &class)| {
                    let n = pairs[0].iter().filter(|p| p.0.class == class).count();
                    let share = |k: usize, strict: bool| judge::agreement(&pairs[k], class, &c.limits[k], strict);
                    let (low, high) = judge::interval(&pairs[0], class, &c.limits[0], &draws);
                    Some(EvidenceClass {
                        class: class.word().into(),
                        n,
                        right: share(0, false)?,
                        low,
                        high,
                        rule_convention_right: share(1, false)?,
                        rule_shortening_right: share(2, false)?,
                        right_beyond: share(0, true)?,
                        rule_convention_beyond: share(1, true)?,
                        rule_shortening_beyond: share(2, true)?,
                        unseen: with.filter(|_| counting).map(|w| w.unseen(j)),
                    })
                })
                .collect()
        };
        let studies: Vec<EvidenceStudy> = self.studies.iter().map(|s| self.study_shown(s, &predictor)).collect();
        let unmapped = self.issues.iter().map(|i| EvidenceUnmapped {
            study: i.study.clone(),
            what: i.what.clone(),
            reason: i.text.clone(),
            place: i.place(),
        });
        Evidence {
            schema: SCHEMA.into(),
            classes: classes(true),
            classes_of_all: classes(false),
            rows: shown,
            unmapped: unmapped.collect(),
            order: crate::order::order(&self.studies, &studies),
            studies,
            calibration: calibration_shown(),
            notes: notes(c, with),
        }
    }

    fn study_shown(&self, s: &Study, predictor: &Predictor) -> EvidenceStudy {
        let p = person(&s.head, &self.constants);
        let results = s.results.iter().map(|r| EvidenceResult {
            condition: s.conditions[r.condition].id.clone(),
            muscle: r.muscle.name.clone(),
            region: r.region.clone(),
            measure: r.measure.clone(),
            change_percent: r.change_percent,
            change_sd: r.change_sd,
            predicted: predictor
                .growth(Rule::Mechanics, &s.conditions[r.condition], &p, &r.muscle)
                .ok()
                .map(|g| g.mean),
            how: r.how.clone(),
            confidence: r.confidence.clone(),
        });
        let mut told = Vec::new();
        if !s.head.do_not_use.is_empty() {
            told.push(format!("Not counted: {}", s.head.do_not_use));
        }
        if !s.head.same_people_as.is_empty() {
            told.push(format!("The same people as {}: counted apart.", s.head.same_people_as));
        }
        if s.weeks <= 0.0 {
            told.push("A single session, no training: not counted.".into());
        } else if s.weeks < 6.0 {
            told.push(format!("Only {} weeks: growth is hard to tell from swelling.", s.weeks));
        }
        for c in s.conditions.iter().filter(|c| !c.hard_sets) {
            told.push(format!(
                "{}: no hard sets, so that muscles are compared within it only.",
                c.id.replace('-', " ")
            ));
        }
        EvidenceStudy {
            id: s.head.id.clone(),
            citation: s.head.citation.clone(),
            design: s.head.design.clone(),
            participants: s.head.participants.clone(),
            n: s.head.people.n,
            weeks: s.weeks,
            sentence: crate::sentence::sentence(s),
            conditions: s
                .conditions
                .iter()
                .map(|c| EvidenceCondition {
                    id: c.id.clone(),
                    described: c.described.clone(),
                    movements: c.movements.iter().map(|m| m.word.clone()).collect(),
                    sets_per_week: c.sets_per_week,
                    how: c.how.clone(),
                })
                .collect(),
            results: results.collect(),
            notes: told,
        }
    }
}

/// The shipped studies, judged with the shipped calibration and with the halves that were not looked at.
///
/// # Errors
/// A calibration table without a key.
pub fn shipped(library: &Library) -> Result<Evidence, String> {
    let bench = Bench::shipped(library);
    let calibration = Calibration::parse(data::CALIBRATION)?;
    Ok(bench.evidence(&calibration, Some(&bench.calibrate())))
}

/// Studies of others, (path, text), judged with the shipped calibration: nothing is chosen on them. Two tables of the
/// kind [`crate::import`] reads are taken as they are.
///
/// # Errors
/// As [`shipped`].
pub fn of_files(library: &Library, files: &[(String, String)]) -> Result<Evidence, String> {
    let (files, issues) = crate::import::as_studies(library, files);
    let mut bench = Bench::new(library, &files);
    bench.issues.splice(0..0, issues);
    Ok(bench.evidence(&Calibration::parse(data::CALIBRATION)?, None))
}

/// One split: the numbers chosen on the first half, agreement on the second, per class and rule.
struct Split {
    values: [f64; 9],
    shares: [[Option<f64>; 3]; 4],
    strict: [[Option<f64>; 3]; 4],
}

/// Calibrated numbers and the unseen halves.
pub struct Calibrated {
    pub all: Calibration,
    splits: Vec<Split>,
    /// Combinations of weights that were compared.
    pub choices: usize,
}

impl Calibrated {
    /// Means over the halves that were not looked at. A half without a row of the class is left out.
    fn unseen(&self, class: usize) -> UnseenHalves {
        let list = |k: usize, strict: bool| -> Vec<f64> {
            let of = |s: &Split| if strict { s.strict[class][k] } else { s.shares[class][k] };
            self.splits.iter().filter_map(of).collect()
        };
        let mean = |v: Vec<f64>| v.iter().sum::<f64>() / v.len().max(1) as f64;
        let (low, high) = judge::tenths(list(0, false));
        UnseenHalves {
            right: mean(list(0, false)),
            low,
            high,
            rule_convention_right: mean(list(1, false)),
            rule_shortening_right: mean(list(2, false)),
            right_beyond: mean(list(0, true)),
            rule_convention_beyond: mean(list(1, true)),
            rule_shortening_beyond: mean(list(2, true)),
            splits: list(0, false).len(),
        }
    }

    /// Text of `data/evidence/calibration.csv`.
    pub fn table(&self) -> String {
        let mut out = String::from("key,value,low,high,meaning,source,how\n");
        for (i, (key, meaning)) in KEYS.iter().enumerate() {
            let (low, high) = judge::tenths(self.splits.iter().map(|s| s.values[i]).collect());
            let v = self.all.values()[i];
            out.push_str(&format!(
                "{key},{v:.4},{low:.4},{high:.4},\"{meaning}\",\"the studies of data/evidence/studies; interval: refits on {} halves\",fitted\n",
                self.splits.len()
            ));
        }
        out
    }
}

fn shown(r: &Row, said: [&Said; 3], c: &Calibration, reasons: &[Reason]) -> EvidenceRow {
    let right = judge::right(&r.seen, said[0], &c.limits[0]);
    let rule = |k: usize| RuleCall {
        predicted: judge::call(&r.seen, said[k], &c.limits[k]).word().into(),
        margin: said[k].margin,
        inside_range: r.seen.expected != Call::None && judge::inside(said[k], &c.limits[k]),
        right: judge::right(&r.seen, said[k], &c.limits[k]),
    };
    let own = rule(0);
    let found = reasons.iter().find(|q| q.explains(&r.study.head.id, &r.contrast.name));
    EvidenceRow {
        study: r.study.head.id.clone(),
        contrast: r.contrast.name.clone(),
        muscle: r.contrast.left.muscle.name.clone(),
        expected: r.contrast.expected.word().into(),
        predicted: own.predicted,
        margin: own.margin,
        low: said[0].low,
        high: said[0].high,
        inside_range: own.inside_range,
        right,
        class: r.contrast.class.word().into(),
        half_width: if r.seen.expected == Call::None { c.limits[0].no_growth } else { c.limits[0].about_equal },
        rule_convention: rule(1),
        rule_shortening: rule(2),
        apart: r.contrast.apart.clone(),
        effect: r.contrast.effect.clone(),
        how: r.contrast.how.clone(),
        citation: r.study.head.citation.clone(),
        reason: match (right, found) {
            (true, _) => String::new(),
            (false, Some(q)) => q.text(),
            (false, None) => "no cause found".into(),
        },
    }
}

fn calibration_shown() -> Vec<CalibratedNumber> {
    let mut reader = csv::Reader::from_reader(data::CALIBRATION.as_bytes());
    let row = |r: csv::StringRecord| {
        let text = |i: usize| r.get(i).unwrap_or("").to_string();
        let number = |i: usize| text(i).parse().unwrap_or(0.0);
        CalibratedNumber {
            key: text(0),
            value: number(1),
            low: number(2),
            high: number(3),
            meaning: text(4),
            source: text(5),
            how: text(6),
        }
    };
    reader.records().flatten().map(row).collect()
}

fn notes(c: &Calibration, with: Option<&Calibrated>) -> Vec<String> {
    let mut out = vec![
        format!(
            "Significant and trend rows are right when the predicted difference points the right way and is at least {:.0} % of \
             the larger side; null rows when it lies within ± {:.0} %; no-growth rows when the predicted growth is below its limit.",
            judge::EQUAL * 100.0,
            c.limits[0].about_equal * 100.0
        ),
        "Rows that conflict with other studies, report the same people again or measure one region count apart.".into(),
    ];
    match with {
        Some(w) => out.push(format!(
            "Unseen halves: mean over {} splits of the studies; on one half {} combinations of weights and all limits, also \
             those of the two rules, were chosen anew, on the other they were judged.",
            w.splits.len(),
            w.choices
        )),
        None => out.push("Judged with the shipped calibration; nothing was chosen on these studies.".into()),
    }
    out
}
