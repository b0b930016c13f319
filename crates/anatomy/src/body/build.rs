//! From a person to a body: joint-centre lengths, what the tape changes, percentiles and notes.

use super::percentile::Proportion;
use super::segments::{Lengths, Person, assemble};
use super::spec::{BodyError, BodySpec, Tape, Training};
use super::tables::{BodyTables, LandmarkLength, MEASURES};
use super::{Body, Part, Sex};

/// A body with what can be said about it.
#[derive(Clone, Debug)]
pub struct BodyReport {
    pub body: Body,
    /// Every measure given, with its place among people of the same sex.
    pub percentiles: Vec<Proportion>,
    /// Lengths with what is uncertain about them, in [`Part::ALL`] order.
    pub lengths: [LengthEstimate; Part::COUNT],
    /// Assumptions and cautions, in plain English.
    pub notes: Vec<String>,
}

/// One length of the body and its spread.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LengthEstimate {
    pub part: Part,
    /// Joint-centre length of the mid body (foot and breadths: landmark length), m.
    pub mid_m: f64,
    /// Whether a tape measure of this part was given.
    pub taped: bool,
    /// Standard deviation from what the tape does not say (or from its error), m.
    pub person_sd_m: f64,
    /// Half the difference between the two published ways to a woman's joint-centre length, m; 0 for men.
    pub method_sd_m: f64,
}

impl LengthEstimate {
    /// Both spreads together, m.
    pub fn length_sd_m(&self) -> f64 {
        self.person_sd_m.hypot(self.method_sd_m)
    }
}

/// What stature and tape say about the landmark lengths, in [`Part::ALL`] order.
#[derive(Clone, Copy, Debug)]
pub(super) struct Known {
    /// Mean at that stature, m.
    pub mean_m: [f64; Part::COUNT],
    /// Best estimate, m: the tape where there is one.
    pub landmark_m: [f64; Part::COUNT],
    /// Spread about the mean at that stature, m.
    pub residual_sd_m: [f64; Part::COUNT],
    /// What remains uncertain, in units of `residual_sd_m`.
    pub covariance: [[f64; Part::COUNT]; Part::COUNT],
    pub taped: [bool; Part::COUNT],
}

impl Known {
    /// Landmark length ÷ its mean at that stature.
    pub fn ratio(&self, part: usize, landmark_m: f64) -> f64 {
        landmark_m / self.mean_m[part]
    }
}

/// Lengths by the segment table's fractions of stature alone, without a tape.
pub(super) fn fraction_lengths(tables: &BodyTables, sex: Sex, stature_m: f64) -> Lengths {
    let t = tables.of(sex);
    Part::ALL.map(|p| match p.segment() {
        Some(name) => t.segment(name).length_fraction.unwrap_or(f64::NAN) * stature_m,
        None => t.length(p.landmark()).at_m(stature_m),
    })
}

/// Joint-centre lengths of the mid body before any tape, and half the difference between the two ways to a woman's.
///
/// Men: fractions × stature. The women behind the fractions were 15 tall athletes, and a survey of 1,986 women finds
/// longer thighs and shorter forearms: so her landmark length is converted by the men's offset (fraction length − mean
/// landmark length of the survey's average man, in proportion to stature), and the mean of both ways is taken.
pub(super) fn mid_lengths(tables: &BodyTables, sex: Sex, stature_m: f64) -> (Lengths, Lengths) {
    let mut mid = fraction_lengths(tables, sex, stature_m);
    let mut half = [0.0; Part::COUNT];
    if sex == Sex::Female {
        let men = tables.of(Sex::Male);
        let man_m = men.spread("stature").mean;
        let man = fraction_lengths(tables, Sex::Male, man_m);
        for p in Part::ALL.into_iter().filter(|p| p.segment().is_some()) {
            let i = p.index();
            let offset_m = (man[i] - men.length(p.landmark()).at_m(man_m)) * stature_m / man_m;
            let converted_m = tables.of(sex).length(p.landmark()).at_m(stature_m) + offset_m;
            half[i] = 0.5 * (converted_m - mid[i]);
            mid[i] += half[i];
        }
    }
    (mid, half)
}

/// Landmark lengths from stature and tape.
///
/// At one stature the lengths vary together (a long thigh goes with a short trunk), normally distributed about their
/// regressions on stature. A part without a tape of its own is moved to its mean given all tapes (one scalar update per
/// tape, its error included); a taped part is what the tape says, uncertain by the error of the tape.
pub(super) fn known(spec: &BodySpec, tables: &BodyTables) -> Known {
    let t = tables.of(spec.sex);
    let mut score = [0.0; MEASURES];
    let mut covariance = t.correlation;
    let tapes = || spec.tape_m.iter().map(|(&tape, &length_m)| (tape, length_m, t.length(tape.landmark())));
    let error = |tape: Tape, sd_m: f64| (tables.tape_error_m[tape as usize] / sd_m).powi(2);
    let observed = |length_m: f64, row: &LandmarkLength| (length_m - row.at_m(spec.stature_m)) / row.residual_sd_m;
    for (tape, length_m, row) in tapes() {
        let m = tape.measure();
        let before = covariance;
        let variance = before[m][m] + error(tape, row.residual_sd_m);
        let surprise = observed(length_m, row) - score[m];
        for i in 0..MEASURES {
            let gain = before[i][m] / variance;
            score[i] += gain * surprise;
            for j in 0..MEASURES {
                covariance[i][j] -= gain * before[m][j];
            }
        }
    }
    let rows = Part::ALL.map(|p| t.length(p.landmark()));
    let mut out = Known {
        mean_m: rows.map(|r| r.at_m(spec.stature_m)),
        landmark_m: [0.0; Part::COUNT],
        residual_sd_m: rows.map(|r| r.residual_sd_m),
        covariance: std::array::from_fn(|i| std::array::from_fn(|j| covariance[i][j])),
        taped: [false; Part::COUNT],
    };
    for i in 0..Part::COUNT {
        out.landmark_m[i] = out.mean_m[i] + out.residual_sd_m[i] * score[i];
    }
    for (tape, length_m, row) in tapes() {
        let Some(i) = tape.part().map(Part::index) else { continue };
        out.landmark_m[i] = length_m;
        out.taped[i] = true;
        for j in 0..Part::COUNT {
            out.covariance[i][j] = 0.0;
            out.covariance[j][i] = 0.0;
        }
        out.covariance[i][i] = error(tape, row.residual_sd_m);
    }
    out
}

impl BodySpec {
    pub(super) fn person(&self, tables: &BodyTables) -> Person {
        let trained_share = match self.training {
            Training::Unknown => 1.0,
            Training::Untrained => 0.0,
            Training::Trained { years } => (years / tables.constants.trained_full_years).clamp(0.0, 1.0),
        };
        let BodySpec { sex, stature_m, mass_kg, age_years, .. } = *self;
        Person { sex, stature_m, mass_kg, age_years, trained_share }
    }

    /// Errors: every reason why the body is impossible.
    pub(super) fn check(&self, tables: &BodyTables) -> Result<(), BodyError> {
        let problems = self.problems(tables);
        if problems.is_empty() { Ok(()) } else { Err(BodyError { problems }) }
    }
}

impl Body {
    /// The most likely body of a person, with percentiles and notes.
    ///
    /// Joint-centre lengths: mid lengths at that stature × landmark length ÷ its mean at that stature. The landmark
    /// length is the tape, or what the other tapes make likely. Errors: every measure that is impossible, with what is possible.
    #[allow(clippy::new_ret_no_self)] // the report carries the body
    pub fn new(spec: &BodySpec, tables: &BodyTables) -> Result<BodyReport, BodyError> {
        spec.check(tables)?;
        let (mid, half) = mid_lengths(tables, spec.sex, spec.stature_m);
        let known = known(spec, tables);
        let lengths = Part::ALL.map(|part| {
            let i = part.index();
            let ratio = known.ratio(i, known.landmark_m[i]);
            let sd_m = known.residual_sd_m[i] * known.covariance[i][i].sqrt();
            LengthEstimate {
                part,
                mid_m: mid[i] * ratio,
                taped: known.taped[i],
                person_sd_m: mid[i] * known.ratio(i, sd_m),
                method_sd_m: (half[i] * ratio).abs(),
            }
        });
        let body = assemble(tables, &spec.person(tables), &lengths.map(|l| l.mid_m));
        let notes = notes(spec, tables, &body, &lengths);
        Ok(BodyReport { body, percentiles: percentiles(spec, tables), lengths, notes })
    }

    /// The mid body of a percentile (0.1 to 99.9) of stature and mass among the survey's men or women, trained.
    pub fn percentile(sex: Sex, percentile: f64, tables: &BodyTables) -> Result<Body, BodyError> {
        Ok(Body::new(&BodySpec::percentile(sex, percentile, tables)?, tables)?.body)
    }
}

const SURVEY: &str = "Gordon et al. 2014 (ANSUR II, US soldiers)";

fn percentiles(spec: &BodySpec, tables: &BodyTables) -> Vec<Proportion> {
    let t = tables.of(spec.sex);
    let bmi = spec.mass_kg / (spec.stature_m * spec.stature_m);
    let mut out = Vec::new();
    for (what, name, value, unit) in [
        ("stature", "stature", spec.stature_m, "m"),
        ("body mass", "body-mass", spec.mass_kg, "kg"),
        ("body-mass index", "bmi", bmi, "kg/m²"),
    ] {
        let percentile = t.spread(name).percentile(value);
        out.push(Proportion { what: what.into(), value, unit, percentile, source: SURVEY });
    }
    for (&tape, &length_m) in &spec.tape_m {
        let value = length_m / spec.stature_m;
        let percentile = t.length(tape.landmark()).ratio.percentile(value);
        let what = format!("{} / stature", tape.id().trim_end_matches("_m").replace('_', " "));
        out.push(Proportion { what, value, unit: "1", percentile, source: SURVEY });
    }
    for (what, name, over, under) in [
        ("thigh / shank", "thigh/shank", Tape::Thigh, Tape::Shank),
        ("thigh / trunk", "thigh/trunk-(acromion-to-trochanterion)", Tape::Thigh, Tape::Trunk),
        ("forearm / upper arm", "forearm/upper-arm", Tape::Forearm, Tape::UpperArm),
        ("foot / shank", "foot-length/shank", Tape::Foot, Tape::Shank),
        ("upper arm / shoulder breadth", "upper-arm/biacromial", Tape::UpperArm, Tape::Biacromial),
    ] {
        if let (Some(a), Some(b), Some(d)) = (spec.tape_m.get(&over), spec.tape_m.get(&under), t.population.get(name)) {
            let value = a / b;
            out.push(Proportion {
                what: what.into(),
                value,
                unit: "1",
                percentile: d.percentile(value),
                source: SURVEY,
            });
        }
    }
    out
}

fn notes(spec: &BodySpec, tables: &BodyTables, body: &Body, lengths: &[LengthEstimate; Part::COUNT]) -> Vec<String> {
    let (t, c) = (tables.of(spec.sex), &tables.constants);
    let mut out = Vec::new();
    let people = if spec.sex == Sex::Male { "men" } else { "women" };
    if let Some(mass_kg) = t.civil_mean.get("mass_kg") {
        out.push(format!(
            "Percentiles compare with US soldiers of the same sex; US adults are heavier ({people} {mass_kg:.0} kg on \
             average, {:.0} kg in the survey).",
            t.spread("body-mass").mean
        ));
    }
    if spec.tape_m.is_empty() {
        out.push("No tape measures: limb lengths are the usual ones at this stature.".into());
    }
    let stature = t.spread("stature");
    if (spec.stature_m - stature.mean).abs() > 4.0 * stature.sd {
        out.push(format!(
            "Stature {:.2} m lies beyond the people measured (mean {:.2} m, SD {:.2}): proportions are extrapolated.",
            spec.stature_m, stature.mean, stature.sd
        ));
    }
    if spec.sex == Sex::Female {
        let thigh = &lengths[Part::Thigh.index()];
        out.push(format!(
            "Two published ways to a woman's joint-centre lengths disagree (thigh {:.0} and {:.0} mm): the mean is \
             used, the difference belongs to the range.",
            1e3 * (thigh.mid_m - thigh.method_sd_m),
            1e3 * (thigh.mid_m + thigh.method_sd_m)
        ));
    }
    let bmi = spec.mass_kg / (spec.stature_m * spec.stature_m);
    if bmi > c.excess_bmi {
        out.push(format!(
            "Body-mass index {bmi:.0}: above {:.0} only {:.0} % of the mass counts towards muscle, and segment masses \
             come from lean athletes.",
            c.excess_bmi,
            100.0 * c.excess_share
        ));
    }
    if let Some(age) = spec.age_years {
        if age > c.age_from_years {
            out.push(format!(
                "Age {age:.0}: muscle volumes are lowered (legs {:.0} % at {:.0}).",
                -100.0 * c.age_loss_leg,
                c.age_to_years
            ));
        }
        if age < 18.0 {
            out.push(format!("Age {age:.0}: all tables are of adults."));
        }
    }
    if spec.training == Training::Unknown {
        out.push("Training unknown: taken as a trained lifter.".into());
    }
    let closure = body.standing_height_m() / spec.stature_m - 1.0;
    if closure.abs() > c.closure_note {
        out.push(format!(
            "Segments and tape measures stack up to {:.2} m for a stature of {:.2} m: a tape measure may be off.",
            body.standing_height_m(),
            spec.stature_m
        ));
    }
    out
}
