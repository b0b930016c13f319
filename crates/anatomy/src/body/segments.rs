//! From lengths and mass to segments with mass, centre and inertia.
//!
//! Where the segment table's parts go: lower trunk (navel to mid-hip) → pelvis; upper and middle trunk (sternal notch
//! to navel) → thorax, joined by the parallel-axis rule; head and neck (vertex to C7) → head, C7 at the neck joint.
//! The thorax hangs from its notch: parts follow one another downwards along the trunk's axis. Clavicle and scapula
//! have no mass of their own: it is in the upper trunk.

use super::tables::{BodyTables, SegmentRow};
use super::{Body, Part, PathScale, SegmentInertia, Sex, VolumeScale};
use crate::skeleton::{SEGMENTS, Segment, Side};
use units::{M3, V3};

/// Who is built, besides the lengths.
#[derive(Clone, Copy, Debug)]
pub(super) struct Person {
    pub sex: Sex,
    pub stature_m: f64,
    pub mass_kg: f64,
    pub age_years: Option<f64>,
    pub trained_share: f64,
}

/// Lengths in [`Part::ALL`] order, m.
pub(super) type Lengths = [f64; Part::COUNT];

/// The point that divides the way from `proximal_m` to `distal_m` at `fraction` of it, m: a centre of mass between two
/// joint centres.
pub fn centre_between(proximal_m: &V3, distal_m: &V3, fraction: f64) -> V3 {
    proximal_m + (distal_m - proximal_m) * fraction
}

/// Inertia about a point `offset_m` away from the centre of mass, same axes, kg·m² (parallel-axis rule).
pub fn inertia_about(segment: &SegmentInertia, offset_m: &V3) -> M3 {
    let d = offset_m;
    segment.inertia_kg_m2 + (M3::identity() * d.norm_squared() - d * d.transpose()) * segment.mass_kg
}

/// Which segment axis the table's longitudinal axis is.
#[derive(Clone, Copy)]
enum Long {
    Y,
    X,
}

/// A part of the table in a segment's frame.
fn part(row: &SegmentRow, mass_kg: f64, length_m: f64, com_m: V3, long: Long) -> SegmentInertia {
    let mass_kg = row.mass_fraction * mass_kg;
    let i = |radius: f64| mass_kg * (radius * length_m).powi(2);
    let (ap, ml, lo) = (i(row.rg_anteroposterior), i(row.rg_mediolateral), i(row.rg_longitudinal));
    let diagonal = match long {
        Long::Y => V3::new(ap, lo, ml),
        Long::X => V3::new(lo, ap, ml),
    };
    SegmentInertia { mass_kg, com_m, inertia_kg_m2: M3::from_diagonal(&diagonal) }
}

/// Two parts as one rigid body.
fn joined(a: &SegmentInertia, b: &SegmentInertia) -> SegmentInertia {
    let mass_kg = a.mass_kg + b.mass_kg;
    let com_m = (a.com_m * a.mass_kg + b.com_m * b.mass_kg) / mass_kg;
    let inertia_kg_m2 = inertia_about(a, &(a.com_m - com_m)) + inertia_about(b, &(b.com_m - com_m));
    SegmentInertia { mass_kg, com_m, inertia_kg_m2 }
}

/// Builds the body. `lengths_m` are joint-centre lengths (foot and breadths: landmark lengths).
pub(super) fn assemble(tables: &BodyTables, person: &Person, lengths_m: &Lengths) -> Body {
    let Person { sex, stature_m, mass_kg, .. } = *person;
    let (t, c, mark) = (tables.of(sex), &tables.constants, &tables.landmarks);
    let reference = super::build::fraction_lengths(tables, Sex::Male, c.reference_stature_m);
    let of = |p: Part| lengths_m[p.index()];
    let relative = |p: Part| of(p) / reference[p.index()];
    let size = stature_m / c.reference_stature_m;
    let (trunk, breadth) = (relative(Part::Trunk), relative(Part::ShoulderBreadth));
    // Shoulder points: depth with stature, height with the trunk, width with the shoulders. The landmark man's shoulder
    // centres lie 0.87 of his biacromial breadth apart, so everybody's do.
    let shoulder = |x: &V3| V3::new(x.x * size, x.y * trunk, x.z * breadth);
    let normal = scapula_normal(mark);
    let lumbar_m = V3::new(mark.lumbar_m.x * size, mark.lumbar_m.y * trunk, 0.0);
    let notch_m = V3::new(1e-3 * c.notch_x_mm * size, of(Part::Trunk), 0.0);
    let foot_m = of(Part::Foot);
    let heel_x_m = mark.heel_x_m * relative(Part::Foot);
    let foot_mean_m = t.length(Part::Foot.landmark()).at_m(stature_m);
    let ball_m = t.length("ball-of-foot-length").at_m(stature_m) * foot_m / foot_mean_m;
    let cervicale_m = t.length("cervicale-height").at_m(stature_m);
    let girth = ((mass_kg / c.reference_mass_kg) / size).sqrt();
    let mut body = Body {
        sex,
        stature_m,
        mass_kg,
        thigh_m: of(Part::Thigh),
        shank_m: of(Part::Shank),
        ankle_height_m: t.length("ankle-height").at_m(stature_m),
        heel_x_m,
        ball_x_m: heel_x_m + ball_m,
        toe_x_m: heel_x_m + foot_m,
        half_hip_m: mark.half_hip_m * relative(Part::HipBreadth),
        lumbar_m,
        notch_from_lumbar_m: notch_m - lumbar_m,
        neck_m: V3::new(mark.neck_m.x * size, mark.neck_m.y * trunk, 0.0),
        head_m: stature_m - cervicale_m,
        sc_m: shoulder(&mark.sc_m),
        ac_m: shoulder(&mark.ac_m),
        gh_m: shoulder(&mark.gh_m),
        scapula_normal: normal,
        scapula_spine: (mark.acromial_angle_m - mark.spine_root_m).normalize(),
        upper_arm_m: of(Part::UpperArm),
        forearm_m: of(Part::Forearm),
        grip_m: 1e-3 * c.grip_mm * relative(Part::Hand),
        biacromial_m: of(Part::ShoulderBreadth),
        trunk_depth_m: 1e-3 * c.trunk_depth_mm * girth,
        inertia: [SegmentInertia { mass_kg: 0.0, com_m: V3::zeros(), inertia_kg_m2: M3::zeros() }; SEGMENTS],
        path_scale: PathScale {
            pelvis: size,
            femur: relative(Part::Thigh),
            tibia: relative(Part::Shank),
            thorax: trunk,
            humerus: relative(Part::UpperArm),
            forearm: relative(Part::Forearm),
        },
        volume_scale: volume_scale(tables, person),
        trained_share: person.trained_share,
    };
    set_inertia(&mut body, tables, lengths_m, size);
    body
}

fn set_inertia(body: &mut Body, tables: &BodyTables, lengths_m: &Lengths, size: f64) {
    let (t, c) = (tables.of(body.sex), &tables.constants);
    let row = |name: &str| t.segment(name);
    // The women's masses of the table add up to 0.9999: the rest is spread evenly.
    let whole: f64 = WHOLE.iter().map(|&(name, count)| count * row(name).mass_fraction).sum();
    let mass_kg = body.mass_kg / whole;
    let down = |f: f64, l: f64| V3::new(0.0, -f * l, 0.0);
    let limb = |name: &str, l: f64| {
        let r = row(name);
        part(r, mass_kg, l, down(r.com_from_first, l), Long::Y)
    };
    let of = |p: Part| lengths_m[p.index()];
    // Lengths of the trunk's parts: the table's, stretched to this person's trunk.
    let fraction = |name: &str| row(name).length_fraction.unwrap_or(f64::NAN);
    let parts = ["upper-trunk", "middle-trunk", "lower-trunk"];
    let stretch = of(Part::Trunk) / parts.iter().map(|p| fraction(p)).sum::<f64>();
    let [upper_m, middle_m, lower_m] = parts.map(|p| fraction(p) * stretch);
    let (upper, middle, lower) = (row("upper-trunk"), row("middle-trunk"), row("lower-trunk"));
    let axis_x = 1e-3 * c.trunk_axis_x_mm * size;
    let upper_com = V3::new(axis_x, -upper.com_from_first * upper_m, 0.0);
    let middle_com = V3::new(axis_x, -upper_m - middle.com_from_first * middle_m, 0.0);
    let lower_com = V3::new(0.0, (1.0 - lower.com_from_first) * lower_m, 0.0);
    let thorax = joined(
        &part(upper, mass_kg, upper_m, upper_com, Long::Y),
        &part(middle, mass_kg, middle_m, middle_com, Long::Y),
    );
    let head = row("head-(to-c7)");
    let head_com = V3::new(1e-3 * c.head_com_x_mm * size, (1.0 - head.com_from_first) * body.head_m, 0.0);
    let foot = row("foot");
    let foot_com = V3::new(
        body.heel_x_m + foot.com_from_first * of(Part::Foot),
        (c.foot_com_height - 1.0) * body.ankle_height_m,
        0.0,
    );
    let mut set = |s: Segment, value: SegmentInertia| body.inertia[s.index()] = value;
    set(Segment::Pelvis, part(lower, mass_kg, lower_m, lower_com, Long::Y));
    set(Segment::Thorax, thorax);
    set(Segment::Head, part(head, mass_kg, body.head_m, head_com, Long::Y));
    for side in Side::BOTH {
        set(Segment::Humerus(side), limb("upper-arm", of(Part::UpperArm)));
        set(Segment::Forearm(side), limb("forearm", of(Part::Forearm)));
        set(Segment::Hand(side), limb("hand", of(Part::Hand)));
        set(Segment::Femur(side), limb("thigh", of(Part::Thigh)));
        set(Segment::Tibia(side), limb("shank", of(Part::Shank)));
        set(Segment::Foot(side), part(foot, mass_kg, of(Part::Foot), foot_com, Long::X));
    }
}

/// Segments that make up the body, with how many there are.
pub(super) const WHOLE: [(&str, f64); 10] = [
    ("head-(to-c7)", 1.0),
    ("upper-trunk", 1.0),
    ("middle-trunk", 1.0),
    ("lower-trunk", 1.0),
    ("upper-arm", 2.0),
    ("forearm", 2.0),
    ("hand", 2.0),
    ("thigh", 2.0),
    ("shank", 2.0),
    ("foot", 2.0),
];

/// Forward normal of the scapular plane at rest; the same for everybody.
fn scapula_normal(mark: &super::tables::Landmarks) -> V3 {
    let n =
        (mark.inferior_angle_m - mark.acromial_angle_m).cross(&(mark.spine_root_m - mark.acromial_angle_m)).normalize();
    if n.x > 0.0 { n } else { -n }
}

/// Muscle volume relative to the reference man. Legs: volume = slope × mass × height + constant, one line for both
/// sexes (Handsfield et al. 2014). Arms and trunk: the same growth with size; women's share from the table of
/// constants, which is that of a woman of the size given there. Fat beyond a body-mass index counts in part only; age
/// takes its share.
fn volume_scale(tables: &BodyTables, person: &Person) -> VolumeScale {
    let c = &tables.constants;
    let leg_cm3 = |stature_m: f64, mass_kg: f64| {
        let lean_kg = c.excess_bmi * stature_m * stature_m;
        let counted_kg = mass_kg.min(lean_kg) + c.excess_share * (mass_kg - lean_kg).max(0.0);
        c.leg_volume_slope * counted_kg * stature_m + c.leg_volume_intercept
    };
    let own = leg_cm3(person.stature_m, person.mass_kg);
    let man = own / leg_cm3(c.reference_stature_m, c.reference_mass_kg);
    let (arm, trunk) = match person.sex {
        Sex::Male => (man, man),
        Sex::Female => {
            let woman = own / leg_cm3(c.woman_stature_m, c.woman_mass_kg);
            (woman * c.woman_arm, woman * c.woman_trunk)
        }
    };
    let span = c.age_to_years - c.age_from_years;
    let old = person.age_years.map_or(0.0, |a| ((a - c.age_from_years) / span).clamp(0.0, 1.0));
    VolumeScale {
        leg: man * (1.0 - old * c.age_loss_leg),
        arm: arm * (1.0 - old * c.age_loss_arm),
        trunk: trunk * (1.0 - old * c.age_loss_trunk),
    }
}
