//! Reads the tables of `data/anatomy/`. All problems of all tables are collected before anything is refused.

use super::table::{Line, Problem, Problems, Table, TableError};
use super::{
    AnatomyTables, Bone, FibreLaw, Head, HeadMask, HeadSources, HingeTable, LinesOfPull, PathLandmarks, Region, Source,
    Strand, hinge_row,
};
use crate::path::{Obstacle, Path, PathPoint};
use crate::skeleton::{Joint, Row};
use units::{V3, rad};

const LARGE: f64 = 1e4;

impl AnatomyTables {
    /// Names of the tables that [`AnatomyTables::parse`] wants, in `data/anatomy/`.
    pub const FILES: [&'static str; 11] = [
        "heads.csv",
        "hinge_arms.csv",
        "paths.csv",
        "obstacles.csv",
        "tension_classes.csv",
        "strength.csv",
        "shoulder_anchors.csv",
        "joint_centres.csv",
        "lines_of_pull.csv",
        "constants.csv",
        "sources.csv",
    ];

    /// Tables from (label, text) pairs. The label is shown in problems; what follows its last slash is the table's
    /// name. Errors: every problem of every table.
    pub fn parse(files: &[(&str, &str)]) -> Result<AnatomyTables, Vec<Problem>> {
        let problems = Problems::default();
        let sources = sources(files, &problems);
        let mut heads = heads(files, &sources, &problems);
        strands(files, &mut heads, &sources, &problems);
        hinges(files, &mut heads, &sources, &problems);
        strength(files, &mut heads, &sources, &problems);
        shoulder_anchors(files, &mut heads, &problems);
        let constant = constants(files, &problems);
        let tables = AnatomyTables {
            fibre_law: FibreLaw::new(
                constant("active_width", 0.1, 2.0),
                constant("active_floor", 0.0, 0.5),
                constant("passive_shape", 0.1, 20.0),
                constant("passive_strain", 0.05, 2.0),
                constant("passive_limit", 1.0, 3.0),
            ),
            strength_sd: constant("strength_sd", 0.0, 1.0),
            hinge_arm_sd_limit: constant("hinge_arm_sd_limit", 0.0, 1.0),
            anchor_sd: constant("anchor_sd", 0.0, 0.5),
            lines_of_pull: lines_of_pull(files, &heads, &sources, &problems),
            path_landmarks: landmarks(files, &problems),
            heads,
            sources,
        };
        let problems = std::mem::take(&mut *problems.0.borrow_mut());
        if problems.is_empty() { Ok(tables) } else { Err(problems) }
    }
}

fn sources(files: &[(&str, &str)], problems: &Problems) -> Vec<Source> {
    let table = Table::read(files, "sources.csv", &["id", "citation", "how"], problems);
    let mut out: Vec<Source> = Vec::new();
    for l in table.lines(problems) {
        let id = l.text("id");
        if out.iter().any(|s| s.id == id) {
            l.problem("id", TableError::Duplicate { got: id.to_string() });
        }
        let text = |c| l.text(c).to_string();
        out.push(Source { id: id.to_string(), citation: text("citation"), how: text("how") });
    }
    out
}

const HEAD_COLUMNS: &[&str] = &[
    "id",
    "latin",
    "plain",
    "region",
    "joints",
    "two_joint",
    "two_joint_for_size",
    "superficial",
    "confidence",
    "volume_cm3",
    "volume_sd_cm3",
    "fibre_length_mm",
    "pennation_deg",
    "tension_class",
    "anchor_length",
    "anchor_unfitted",
    "excursion_divisor",
    "arm_uncertainty_mm",
    "strands",
    "volume_source",
    "fibre_source",
    "anchor_source",
    "divisor_source",
    "note",
];

fn heads(files: &[(&str, &str)], sources: &[Source], problems: &Problems) -> Vec<Head> {
    let columns = &["class", "tension_n_cm2", "source", "how"];
    let class_table = Table::read(files, "tension_classes.csv", columns, problems);
    let classes: Vec<(&str, f64)> = class_table
        .lines(problems)
        .map(|l| {
            l.text("source");
            l.text("how");
            (l.text("class"), l.number("tension_n_cm2", 5.0, 200.0))
        })
        .collect();
    let regions = Region::ALL.map(|r| (r.id(), r));
    let table = Table::read(files, "heads.csv", HEAD_COLUMNS, problems);
    let mut out: Vec<Head> = Vec::new();
    for l in table.lines(problems) {
        let id = l.text("id");
        if out.iter().any(|h| h.id == id) {
            l.problem("id", TableError::Duplicate { got: id.to_string() });
        }
        let joints = l.text("joints").split(';').filter(|j| !j.is_empty()).filter_map(|j| {
            let joint = Joint::from_name(j);
            if joint.is_none() {
                l.unknown("joints", "a joint", j, Joint::ALL.iter().map(|j| j.id()));
            }
            joint
        });
        let strands = l.raw("strands").split(';').filter(|s| !s.is_empty()).filter_map(|s| strand_share(&l, s));
        let mut strands: Vec<Strand> = strands.collect();
        let sum: f64 = strands.iter().map(|s| s.share).sum();
        if !strands.is_empty() && (sum - 1.0).abs() > 0.01 {
            l.problem("strands", TableError::SharesNotOne { sum });
        }
        for s in &mut strands {
            s.share /= sum; // thirds are written with few digits
        }
        let text = |c| l.text(c).to_string();
        out.push(Head {
            id: id.to_string(),
            latin: text("latin"),
            plain: text("plain"),
            region: l.one_of("region", "a region", &regions).unwrap_or(Region::Hip),
            joints: joints.collect(),
            two_joint: l.yes("two_joint"),
            two_joint_for_size: l.yes("two_joint_for_size"),
            superficial: l.yes("superficial"),
            confidence_low: l
                .one_of("confidence", "low or usual", &[("low", true), ("usual", false)])
                .unwrap_or_default(),
            volume_cm3: l.number("volume_cm3", 1.0, LARGE),
            volume_sd_cm3: l.number("volume_sd_cm3", 0.0, LARGE),
            fibre_length_m: l.number("fibre_length_mm", 5.0, 600.0) * 1e-3,
            pennation_rad: rad(l.number("pennation_deg", 0.0, 60.0)),
            tension_class: text("tension_class"),
            tension_n_cm2: l.one_of("tension_class", "a tension class", &classes).unwrap_or(f64::NAN),
            anchor_length: l.number("anchor_length", 0.2, 2.0),
            anchor_unfitted: l.number("anchor_unfitted", 0.2, 2.0),
            excursion_divisor: l.number("excursion_divisor", 0.5, 5.0),
            arm_uncertainty_m: l.number("arm_uncertainty_mm", 0.0, 100.0) * 1e-3,
            trained_a: f64::NAN,
            trained_b: f64::NAN,
            range_centre: None,
            strands,
            hinges: Vec::new(),
            sources: HeadSources {
                volume: l.source("volume_source", sources),
                fibre: l.source("fibre_source", sources),
                anchor: l.source("anchor_source", sources),
                divisor: l.source("divisor_source", sources),
                strength: 0,
            },
            note: l.raw("note").to_string(),
        });
    }
    if out.len() > HeadMask::CAPACITY {
        let error = TableError::TooManyHeads { got: out.len(), limit: HeadMask::CAPACITY };
        problems.add(table.file, 1, "id", error);
    }
    out
}

/// `name:share` of the strands column.
fn strand_share(l: &Line, text: &str) -> Option<Strand> {
    let (name, share) = text.rsplit_once(':').unwrap_or((text, ""));
    let Ok(share) = share.parse::<f64>() else {
        l.problem("strands", TableError::NotANumber { got: share.to_string() });
        return None;
    };
    if !(share > 0.0 && share <= 1.0) {
        l.problem("strands", TableError::OutOfRange { got: share, low: 0.0, high: 1.0 });
        return None;
    }
    Some(Strand { name: name.to_string(), share, points: Vec::new(), obstacles: Vec::new(), source: 0 })
}

/// The strand a row of the path tables speaks of.
fn find_strand<'h>(l: &Line, heads: &'h mut [Head]) -> Option<&'h mut Strand> {
    let name = l.text("strand");
    let place = heads.iter().enumerate().find_map(|(i, h)| Some((i, h.strands.iter().position(|s| s.name == name)?)));
    if place.is_none() && !name.is_empty() {
        let known = heads.iter().flat_map(|h| h.strands.iter().map(|s| s.name.as_str()));
        l.unknown("strand", "a strand of a head", name, known);
    }
    place.map(|(i, j)| &mut heads[i].strands[j])
}

fn strands(files: &[(&str, &str)], heads: &mut [Head], sources: &[Source], problems: &Problems) {
    let bones = Bone::ALL.map(|b| (b.id(), b));
    let columns = &["strand", "order", "kind", "segment", "x_mm", "y_mm", "z_mm", "source"];
    let table = Table::read(files, "paths.csv", columns, problems);
    for l in table.lines(problems) {
        let bone = l.one_of("segment", "a bone", &bones);
        let point = l.point("x_mm", "y_mm", "z_mm");
        let (order, source) = (l.count("order"), l.source("source", sources));
        if let (Some(bone), Some(strand)) = (bone, find_strand(&l, heads)) {
            if order != strand.points.len() {
                let (previous, got) = (strand.points.len() as f64 - 1.0, order as f64);
                l.problem("order", TableError::NotIncreasing { previous, got });
            }
            strand.points.push((bone, point));
            strand.source = source;
        }
    }
    let columns = &[
        "strand",
        "after_order",
        "kind",
        "segment",
        "centre_x_mm",
        "centre_y_mm",
        "centre_z_mm",
        "axis_x",
        "axis_y",
        "axis_z",
        "radius_mm",
        "side",
        "source",
    ];
    let table = Table::read(files, "obstacles.csv", columns, problems);
    for l in table.lines(problems) {
        let bone = l.one_of("segment", "a bone", &bones);
        let is_sphere = l.one_of("kind", "sphere or cylinder", &[("sphere", true), ("cylinder", false)]);
        let centre_m = l.point("centre_x_mm", "centre_y_mm", "centre_z_mm");
        let radius_m = l.number("radius_mm", 1.0, 300.0) * 1e-3;
        let after = l.count("after_order");
        l.source("source", sources);
        let (Some(bone), Some(is_sphere)) = (bone, is_sphere) else { continue };
        let body = bone.chain_index();
        let obstacle = if is_sphere {
            Obstacle::Sphere { body, centre_m, radius_m }
        } else {
            let axis = ["axis_x", "axis_y", "axis_z"].map(|c| l.number(c, -1.0, 1.0));
            let axis = V3::from(axis);
            let side = l.one_of("side", "1 or -1", &[("1", 1.0), ("-1", -1.0)]).unwrap_or(f64::NAN);
            if axis.norm() < 0.1 {
                l.problem("axis_x", TableError::OutOfRange { got: axis.norm(), low: 0.1, high: 2.0 });
            }
            Obstacle::Cylinder { body, centre_m, axis: axis.normalize(), radius_m, side }
        };
        if let Some(strand) = find_strand(&l, heads) {
            strand.obstacles.push((after, bone, obstacle));
        }
    }
    for (head, strand) in heads.iter().flat_map(|h| h.strands.iter().map(move |s| (h, s))) {
        let legs = strand.points.iter().filter(|p| p.0.of_leg()).count();
        let outward = strand.points.windows(2).all(|w| w[0].0.chain_index() <= w[1].0.chain_index());
        let bones_agree = strand.obstacles.iter().all(|o| o.1.of_leg() == (legs > 0));
        let chain = (legs == 0 || legs == strand.points.len()) && outward && bones_agree;
        let points = strand.points.iter().map(|p| PathPoint { body: p.0.chain_index(), local_m: p.1 }).collect();
        let obstacles: Vec<_> = strand.obstacles.iter().map(|o| (o.0, o.2)).collect();
        if let Err(e) = Path::new(points, &obstacles) {
            problems.add("paths.csv", 1, &strand.name, e.into());
        } else if !chain {
            problems.add("paths.csv", 1, &strand.name, TableError::BrokenChain);
        } else if head.path_joint().is_some_and(|j| !head.crosses(j)) {
            problems.add("heads.csv", 1, &head.id, TableError::Missing { what: "path joint", name: head.id.clone() });
        }
    }
}

fn hinges(files: &[(&str, &str)], heads: &mut [Head], sources: &[Source], problems: &Problems) {
    let columns = &["head", "axis", "angle_deg", "arm_mm", "sd_mm", "source"];
    let table = Table::read(files, "hinge_arms.csv", columns, problems);
    // Spreads are averaged per table at the end.
    let mut spreads: Vec<(usize, Row, f64, f64)> = Vec::new();
    for l in table.lines(problems) {
        let axis = l.text("axis");
        let row = hinge_row(axis);
        if row.is_none() {
            l.unknown("axis", "a tabulated axis", axis, super::HINGE_AXES.iter().map(|a| a.0));
        }
        let angle = rad(l.number("angle_deg", -180.0, 180.0));
        let arm = l.number("arm_mm", -150.0, 150.0) * 1e-3;
        let sd = l.number("sd_mm", 0.0, 100.0) * 1e-3;
        let source = l.source("source", sources);
        let (Some(row), Some(head)) = (row, l.head(heads)) else { continue };
        if !heads[head].crosses(row.joint()) {
            let names: Vec<_> = heads[head].joints.iter().map(|j| j.id()).collect();
            l.unknown("axis", "an axis of a joint of this head", axis, names.into_iter());
        }
        let hinges = &mut heads[head].hinges;
        match hinges.iter_mut().find(|t| t.row == row) {
            Some(t) => {
                let previous = t.knots.last().map_or(f64::NEG_INFINITY, |k| k.0);
                if angle <= previous {
                    let (previous, got) = (previous.to_degrees(), angle.to_degrees());
                    l.problem("angle_deg", TableError::NotIncreasing { previous, got });
                }
                t.knots.push((angle, arm));
            }
            None => hinges.push(HingeTable { row, knots: vec![(angle, arm)], sd_m: 0.0, source }),
        }
        match spreads.iter_mut().find(|s| (s.0, s.1) == (head, row)) {
            Some(s) => (s.2, s.3) = (s.2 + sd, s.3 + 1.0),
            None => spreads.push((head, row, sd, 1.0)),
        }
    }
    for (head, row, sum, count) in spreads {
        if let Some(t) = heads[head].hinges.iter_mut().find(|t| t.row == row) {
            t.sd_m = sum / count;
        }
    }
    for h in heads.iter() {
        let name = || h.id.clone();
        for t in &h.hinges {
            if t.knots.len() < 2 {
                let error = TableError::Missing { what: "second row for this axis", name: name() };
                problems.add(table.file, 1, &h.id, error);
            }
        }
        // The girdle is also acted on by every path from the trunk past it.
        let covered = |j: Joint| {
            h.hinges.iter().any(|t| t.row.joint() == j)
                || h.path_joint() == Some(j)
                || (j == Joint::Girdle && !h.strands.is_empty())
        };
        for j in h.joints.iter().filter(|j| !covered(**j)) {
            problems.add(table.file, 1, j.id(), TableError::Missing { what: "lever arm at this joint", name: name() });
        }
    }
}

fn strength(files: &[(&str, &str)], heads: &mut [Head], sources: &[Source], problems: &Problems) {
    let columns = &["head", "table_force_n", "factor_trained_a", "factor_trained_b", "source"];
    let table = Table::read(files, "strength.csv", columns, problems);
    for l in table.lines(problems) {
        let force = l.number("table_force_n", 1.0, 1e5);
        let (a, b) = (l.number("factor_trained_a", 0.5, 10.0), l.number("factor_trained_b", 0.5, 10.0));
        let source = l.source("source", sources);
        let Some(head) = l.head(heads).map(|i| &mut heads[i]) else { continue };
        if head.trained_a.is_finite() {
            l.problem("head", TableError::Duplicate { got: head.id.clone() });
        }
        (head.trained_a, head.trained_b, head.sources.strength) = (a, b, source);
        // The factors were set against this force: a changed volume or fibre length asks for new factors.
        let computed = head.table_force_n();
        if (force / computed - 1.0).abs() > 0.01 {
            let (low, high) = (0.99 * computed, 1.01 * computed);
            l.problem("table_force_n", TableError::OutOfRange { got: force, low, high });
        }
    }
    for h in heads.iter().filter(|h| h.trained_a.is_nan() || h.trained_b.is_nan()) {
        problems.add(table.file, 1, "head", TableError::Missing { what: "strength", name: h.id.clone() });
    }
}

fn shoulder_anchors(files: &[(&str, &str)], heads: &mut [Head], problems: &Problems) {
    let table = Table::read(files, "shoulder_anchors.csv", &["head", "range_centre", "anchor_length"], problems);
    for l in table.lines(problems) {
        let (centre, anchor) = (l.number("range_centre", 0.3, 1.6), l.number("anchor_length", 0.2, 2.5));
        if let Some(h) = l.head(heads).map(|i| &mut heads[i]) {
            h.range_centre = Some(centre);
            h.anchor_length = anchor;
        }
    }
}

/// A look-up that reports missing or out-of-range constants.
fn constants<'a>(files: &'a [(&str, &str)], problems: &'a Problems) -> impl Fn(&'static str, f64, f64) -> f64 + 'a {
    let table = Table::read(files, "constants.csv", &["key", "value", "source", "how"], problems);
    move |key, low, high| {
        let line = table.lines(problems).find(|l| l.raw("key") == key);
        match line {
            Some(l) => {
                l.text("source");
                l.text("how");
                l.number("value", low, high)
            }
            None => {
                problems.add(table.file, 1, key, TableError::Missing { what: "value", name: key.to_string() });
                f64::NAN
            }
        }
    }
}

fn landmarks(files: &[(&str, &str)], problems: &Problems) -> PathLandmarks {
    let table = Table::read(files, "joint_centres.csv", &["point", "x_mm", "y_mm", "z_mm", "source", "how"], problems);
    let find = |name: &str| match table.lines(problems).find(|l| l.raw("point") == name) {
        Some(l) => l.point("x_mm", "y_mm", "z_mm"),
        None => {
            let error = TableError::Missing { what: "row", name: name.to_string() };
            problems.add(table.file, 1, "point", error);
            V3::zeros()
        }
    };
    PathLandmarks {
        sc_m: find("sternoclavicular (SC)"),
        ac_m: find("acromioclavicular (AC)"),
        gh_m: find("glenohumeral (GH)"),
    }
}

fn lines_of_pull(files: &[(&str, &str)], heads: &[Head], sources: &[Source], problems: &Problems) -> LinesOfPull {
    let columns = &["quantity", "head", "angle_deg", "value", "source"];
    let table = Table::read(files, "lines_of_pull.csv", columns, problems);
    let mut lines = LinesOfPull::default();
    let kinds = [("patellar-tendon-ratio", 0), ("patellar-tendon-angle-deg", 1), ("lumbar-cosine", 2)];
    for l in table.lines(problems) {
        l.source("source", sources);
        match l.one_of("quantity", "a line of pull", &kinds) {
            Some(0) => {
                let ratio = l.number("value", 0.1, 2.0);
                lines.tendon_ratio.push((rad(l.number("angle_deg", -180.0, 180.0)), ratio));
            }
            Some(1) => {
                let angle = rad(l.number("value", -90.0, 90.0));
                lines.tendon_angle_rad.push((rad(l.number("angle_deg", -180.0, 180.0)), angle));
            }
            Some(_) => {
                let cosine = l.number("value", 0.0, 1.0);
                if let Some(h) = l.head(heads) {
                    lines.lumbar_cosine.push((h, cosine));
                }
            }
            None => {}
        }
    }
    for (name, curve) in
        [("patellar-tendon-ratio", &lines.tendon_ratio), ("patellar-tendon-angle-deg", &lines.tendon_angle_rad)]
    {
        if curve.len() < 2 || curve.windows(2).any(|w| w[1].0 <= w[0].0) {
            let error = TableError::Missing { what: "rows in increasing angle", name: name.to_string() };
            problems.add(table.file, 1, "quantity", error);
        }
    }
    lines
}
