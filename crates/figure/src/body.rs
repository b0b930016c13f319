//! The plain jointed person, built from ellipsoids around the joints of a scene's frame.
//!
//! Widths are those of a man of 1.75 m and scale with the stature read from the segment lengths
//! (own-estimate from common adult girths; they are for the eye only and enter no computation).

use crate::geom::*;
use answer::SceneFrame;

/// A group of parts that melt into one outline.
#[derive(Clone, Debug, Default)]
pub struct Part {
    pub balls: Vec<Ball>,
    /// Which balls are joined by a smooth skin.
    pub skins: Vec<[usize; 2]>,
    /// Skins of the trunk around the hips, and around each shoulder: painted again over the seam of a limb.
    pub hip_skins: Vec<[usize; 2]>,
    pub shoulder_skins: Vec<[usize; 2]>,
}

impl Part {
    fn chain(balls: Vec<Ball>) -> Part {
        let skins = (1..balls.len()).map(|i| [i - 1, i]).collect();
        Part { balls, skins, ..Part::default() }
    }
    fn join(mut self, a: usize, b: usize) -> Part {
        self.skins.push([a, b]);
        self
    }
    pub fn near(&self, view: View) -> f64 {
        self.balls.iter().map(|b| view.near(b.at)).sum::<f64>() / self.balls.len().max(1) as f64
    }
    /// The part moved by `by`.
    pub fn moved(&self, by: P3) -> Part {
        let balls = self.balls.iter().map(|b| Ball { at: add(b.at, by), half: b.half }).collect();
        Part { balls, ..self.clone() }
    }
    /// Outlines in the picture plane, m.
    pub fn outlines(&self, view: View, n: usize) -> Vec<Vec<P2>> {
        self.some(&self.skins, view, n)
    }
    pub fn some(&self, skins: &[[usize; 2]], view: View, n: usize) -> Vec<Vec<P2>> {
        skins.iter().map(|&[a, b]| hull_of(&[self.balls[a], self.balls[b]], view, n)).collect()
    }
}

/// A limb: its parts from the trunk outwards and the joints at which their outlines melt.
#[derive(Clone, Debug, Default)]
pub struct Limb {
    pub parts: Vec<Part>,
    /// Pairs of balls beside a joint whose skin is painted once more over the seam.
    pub melts: Vec<[Ball; 2]>,
    pub right: bool,
    pub arm: bool,
}

impl Limb {
    /// Melts the last part with the one before it.
    fn seam(&mut self) {
        if let [.., a, b] = &self.parts[..]
            && let ([.., a0, a1], [b0, b1, ..]) = (&a.balls[..], &b.balls[..])
        {
            self.melts.extend([[*a0, *a1], [*b0, *b1]]);
        }
    }
}

/// Everything that is skin.
#[derive(Clone, Debug, Default)]
pub struct Person {
    pub trunk: Part,
    pub head: Part,
    pub limbs: Vec<Limb>,
    /// Line of the spine from sacrum to skull.
    pub spine: Vec<P3>,
    /// Joint centres by joint and side, for dots.
    pub joints: Vec<(&'static str, bool, P3)>,
    /// Grip points.
    pub grips: Vec<P3>,
    /// Stature over 1.75 m.
    pub scale: f64,
}

fn point(f: &SceneFrame, name: &str) -> Option<P3> {
    f.points.get(name).copied().filter(|p| usable(*p))
}

fn sided(f: &SceneFrame, name: &str, side: &str) -> Option<P3> {
    point(f, &format!("{name}-{side}"))
}

/// Stature over 1.75 m from the lengths between joint centres, as fractions of stature by de Leva 1996 (men):
/// thigh 0.2425, shank 0.2493, upper arm 0.1618, forearm 0.1545.
pub fn scale_of(f: &SceneFrame) -> f64 {
    let (mut length, mut share) = (0.0, 0.0);
    for side in ["right", "left"] {
        for (a, b, k) in [
            ("hip", "knee", 0.2425),
            ("knee", "ankle", 0.2493),
            ("shoulder", "elbow", 0.1618),
            ("elbow", "wrist", 0.1545),
        ] {
            if let (Some(a), Some(b)) = (sided(f, a, side), sided(f, b, side)) {
                length += norm(sub(a, b));
                share += k;
            }
        }
    }
    let k = if share > 0.0 { length / share / 1.75 } else { 1.0 };
    if k.is_finite() { k.clamp(0.6, 1.5) } else { 1.0 }
}

impl Person {
    /// The person of a frame; `None` where neither hips nor pelvis are given.
    pub fn of(f: &SceneFrame) -> Option<Person> {
        let k = scale_of(f);
        let (hr, hl) = (sided(f, "hip", "right"), sided(f, "hip", "left"));
        let mid = match (hr, hl) {
            (Some(r), Some(l)) => mix(r, l, 0.5),
            _ => point(f, "pelvis").or(hr).or(hl)?,
        };
        let right = match (hr, hl) {
            (Some(r), Some(l)) => sub(r, l),
            _ => [0.0, 0.0, 1.0],
        };
        let lumbar = point(f, "lumbar").unwrap_or(add(mid, [-0.02 * k, 0.11 * k, 0.0]));
        // The lumbar joint lies 20 mm behind and 110 mm above the hips, the notch 60 mm before and 407 mm above it.
        let pelvis = Axes::from_up_right(mid, sub(lumbar, mid), right).turned_about_z(-(0.02f64 / 0.11).atan());
        let shoulders = (sided(f, "shoulder", "right"), sided(f, "shoulder", "left"));
        let across_shoulders = match shoulders {
            (Some(r), Some(l)) if norm(sub(r, l)) > 0.1 => sub(r, l),
            _ => right,
        };
        let notch = point(f, "notch").unwrap_or(add(lumbar, mul(pelvis.y, 0.41 * k)));
        let thorax =
            Axes::from_up_right(notch, sub(notch, lumbar), across_shoulders).turned_about_z((0.06f64 / 0.407).atan());
        let neck = point(f, "neck").unwrap_or(thorax.to_world(-0.075 * k, 0.045 * k, 0.0));
        let mut p = Person { scale: k, ..Person::default() };
        p.trunk = trunk(k, &pelvis, &thorax, [shoulders.0, shoulders.1], neck);
        p.head(f, k, &thorax, neck);
        for (side, is_right) in [("right", true), ("left", false)] {
            p.leg(f, k, side, is_right, &pelvis);
            p.arm(f, k, side, is_right);
        }
        let waist = mix(lumbar, thorax.to_world(-0.10 * k, -0.33 * k, 0.0), 0.5);
        p.spine = vec![
            pelvis.to_world(-0.075 * k, 0.02 * k, 0.0),
            pelvis.to_world(-0.055 * k, 0.075 * k, 0.0),
            mix(lumbar, waist, 0.4),
            thorax.to_world(-0.105 * k, -0.28 * k, 0.0),
            thorax.to_world(-0.13 * k, -0.16 * k, 0.0),
            thorax.to_world(-0.115 * k, -0.04 * k, 0.0),
            neck,
        ];
        Some(p)
    }

    fn head(&mut self, f: &SceneFrame, k: f64, thorax: &Axes, neck: P3) {
        let top = point(f, "head-top").unwrap_or(add(neck, mul(thorax.y, 0.255 * k)));
        let up = unit(sub(top, neck), thorax.y);
        let h = Axes::from_up_right(top, up, thorax.z);
        // Skull, jaw and nose hang from the crown, so that the head is as high as the scene says.
        let skull = Ball::oval(h.to_world(-0.004 * k, -0.097 * k, 0.0), &h, 0.096 * k, 0.097 * k, 0.076 * k);
        let jaw = Ball::oval(h.to_world(0.036 * k, -0.175 * k, 0.0), &h, 0.046 * k, 0.050 * k, 0.050 * k);
        let nape = Ball::oval(h.to_world(-0.022 * k, -0.152 * k, 0.0), &h, 0.053 * k, 0.045 * k, 0.054 * k);
        let bridge = Ball::round(h.to_world(0.078 * k, -0.092 * k, 0.0), 0.011 * k);
        let nose = Ball::round(h.to_world(0.096 * k, -0.124 * k, 0.0), 0.011 * k);
        let base = Ball::oval(add(neck, mul(thorax.x, 0.012 * k)), thorax, 0.056 * k, 0.04 * k, 0.058 * k);
        self.head = Part::chain(vec![base, nape, skull, jaw]).join(3, 4).join(4, 5).join(2, 4);
        self.head.balls.extend([bridge, nose]);
    }

    fn leg(&mut self, f: &SceneFrame, k: f64, side: &str, is_right: bool, pelvis: &Axes) {
        let (Some(hip), Some(knee)) = (sided(f, "hip", side), sided(f, "knee", side)) else { return };
        let mut limb = Limb { right: is_right, arm: false, ..Limb::default() };
        self.joints.push(("hip", is_right, hip));
        self.joints.push(("knee", is_right, knee));
        let ankle = sided(f, "ankle", side);
        let (heel, toe) = (sided(f, "heel", side), sided(f, "toe", side));
        // Front of the leg: where the knee points when bent, where the toes point when straight.
        let bone = unit(sub(hip, knee), [0.0, 1.0, 0.0]);
        let mut front = match (heel, toe) {
            (Some(h), Some(t)) => unit(sub(t, h), pelvis.x),
            _ => pelvis.x,
        };
        if let Some(a) = ankle {
            front = add(front, mul(sub(knee, mix(hip, a, 0.5)), 12.0));
        }
        let thigh_front = unit(across(front, bone), pelvis.x);
        let along = |t: f64, shift: f64| add(mix(hip, knee, t), mul(thigh_front, shift * k));
        let out = mul(pelvis.z, if is_right { 1.0 } else { -1.0 });
        let root = Ball::round(hip, 0.086 * k);
        let knee_ball = Ball::round(knee, 0.054 * k);
        limb.parts.push(Part::chain(vec![
            root,
            Ball::round(add(along(0.22, 0.004), mul(out, 0.006 * k)), 0.084 * k),
            Ball::round(along(0.5, 0.007), 0.075 * k),
            Ball::round(along(0.78, 0.005), 0.062 * k),
            knee_ball,
        ]));
        if let Some(ankle) = ankle {
            self.joints.push(("ankle", is_right, ankle));
            let bone = unit(sub(knee, ankle), [0.0, 1.0, 0.0]);
            let back = mul(unit(across(front, bone), pelvis.x), -1.0);
            let along = |t: f64, shift: f64| add(mix(knee, ankle, t), mul(back, shift * k));
            let ankle_ball = Ball::round(along(1.0, 0.002), 0.038 * k);
            limb.parts.push(Part::chain(vec![
                knee_ball,
                Ball::round(along(0.16, 0.006), 0.0535 * k),
                Ball::round(along(0.30, 0.013), 0.0560 * k),
                Ball::round(along(0.46, 0.011), 0.0520 * k),
                Ball::round(along(0.68, 0.004), 0.0415 * k),
                Ball::round(along(0.86, 0.002), 0.0355 * k),
                ankle_ball,
            ]));
            limb.seam();
            if let (Some(heel), Some(toe)) = (heel, toe) {
                limb.parts.push(foot(k, ankle, heel, toe, ankle_ball));
                limb.seam();
            }
        }
        self.limbs.push(limb);
    }

    fn arm(&mut self, f: &SceneFrame, k: f64, side: &str, is_right: bool) {
        let (Some(shoulder), Some(elbow)) = (sided(f, "shoulder", side), sided(f, "elbow", side)) else { return };
        let mut limb = Limb { right: is_right, arm: true, ..Limb::default() };
        self.joints.push(("shoulder", is_right, shoulder));
        self.joints.push(("elbow", is_right, elbow));
        let root = Ball::round(shoulder, 0.060 * k);
        let elbow_ball = Ball::round(elbow, 0.040 * k);
        let upper = |t: f64| mix(shoulder, elbow, t);
        limb.parts.push(Part::chain(vec![
            root,
            Ball::round(upper(0.25), 0.0575 * k),
            Ball::round(upper(0.55), 0.050 * k),
            Ball::round(upper(0.82), 0.042 * k),
            elbow_ball,
        ]));
        if let Some(wrist) = sided(f, "wrist", side) {
            self.joints.push(("wrist", is_right, wrist));
            let along = |t: f64| mix(elbow, wrist, t);
            let wrist_ball = Ball::round(wrist, 0.0275 * k);
            limb.parts.push(Part::chain(vec![
                elbow_ball,
                Ball::round(along(0.2), 0.0425 * k),
                Ball::round(along(0.45), 0.0385 * k),
                Ball::round(along(0.75), 0.030 * k),
                wrist_ball,
            ]));
            limb.seam();
            let bone = unit(sub(wrist, elbow), [0.0, -1.0, 0.0]);
            let grip = sided(f, "grip", side).unwrap_or(add(wrist, mul(bone, 0.08 * k)));
            let knuckles = add(grip, mul(unit(sub(grip, wrist), bone), 0.006 * k));
            // A mitt: fingers closed round the grip.
            limb.parts.push(Part::chain(vec![
                wrist_ball,
                Ball::round(mix(wrist, grip, 0.55), 0.036 * k),
                Ball::round(knuckles, 0.043 * k),
            ]));
            limb.seam();
            self.grips.push(grip);
        }
        self.limbs.push(limb);
    }
}

/// Foot from the ankle to a sole that is flat from heel to toe.
fn foot(k: f64, ankle: P3, heel: P3, toe: P3, ankle_ball: Ball) -> Part {
    let forward = unit(sub(toe, heel), [1.0, 0.0, 0.0]);
    let up = unit(across(sub(ankle, heel), forward), across([0.0, 1.0, 0.0], forward));
    let axes = Axes { at: heel, x: forward, y: up, z: cross(forward, up) };
    let length = norm(sub(toe, heel)).min(0.4);
    let b = |t: f64, radius: f64, half_width: f64| {
        let x = (t * length).clamp(radius, (length - radius).max(radius));
        Ball::oval(axes.to_world(x, radius, 0.0), &axes, radius, radius, half_width)
    };
    let (heel_b, mid, ball, tip) = (
        b(0.0, 0.034 * k, 0.034 * k),
        b(0.48, 0.032 * k, 0.040 * k),
        b(0.74, 0.024 * k, 0.047 * k),
        b(1.0, 0.016 * k, 0.036 * k),
    );
    let balls = vec![ankle_ball, heel_b, mid, ball, tip];
    Part { balls, skins: vec![[0, 1], [0, 2], [1, 2], [2, 3], [3, 4]], ..Part::default() }
}

/// Pelvis and trunk as one skin: slices with front, back and half-width, m at a stature of 1.75 m.
fn trunk(k: f64, pelvis: &Axes, thorax: &Axes, shoulders: [Option<P3>; 2], neck: P3) -> Part {
    let slice = |f: &Axes, y: f64, front: f64, back: f64, half: f64, high: f64| {
        Ball::oval(f.to_world((front + back) / 2.0 * k, y * k, 0.0), f, (front - back) / 2.0 * k, high * k, half * k)
    };
    let low = slice(thorax, -0.375, 0.050, -0.138, 0.136, 0.055);
    let high = slice(pelvis, 0.142, 0.090, -0.098, 0.136, 0.055);
    // The waist belongs half to the chest, half to the pelvis.
    let waist = Ball {
        at: mix(low.at, high.at, 0.5),
        half: [
            mix(low.half[0], high.half[0], 0.5),
            mix(low.half[1], high.half[1], 0.5),
            mix(low.half[2], high.half[2], 0.5),
        ],
    };
    let mut part = Part::chain(vec![
        slice(thorax, -0.035, 0.000, -0.140, 0.105, 0.045),
        slice(thorax, -0.095, 0.032, -0.168, 0.150, 0.055),
        slice(thorax, -0.165, 0.050, -0.180, 0.160, 0.060),
        slice(thorax, -0.250, 0.050, -0.172, 0.152, 0.060),
        waist,
        slice(pelvis, 0.060, 0.092, -0.118, 0.152, 0.055),
        slice(pelvis, -0.005, 0.080, -0.138, 0.168, 0.060),
        slice(pelvis, -0.045, 0.040, -0.128, 0.150, 0.045),
    ]);
    let neck_base = part.balls.len();
    part.balls.push(Ball::oval(add(neck, mul(thorax.x, 0.01 * k)), thorax, 0.060 * k, 0.045 * k, 0.066 * k));
    part.skins.push([0, neck_base]);
    for s in shoulders.into_iter().flatten() {
        part.balls.push(Ball::round(mix(s, thorax.at, 0.12), 0.052 * k));
        let i = part.balls.len() - 1;
        part.skins.extend([[0, i], [1, i]]);
        // Slope of the trapezius.
        part.balls.push(Ball::round(mix(neck, s, 0.45), 0.030 * k));
        part.skins.extend([[neck_base, i + 1], [i + 1, i], [0, i + 1]]);
        part.shoulder_skins.extend([[0, i], [1, i], [i + 1, i], [0, i + 1]]);
    }
    part.hip_skins = vec![[5, 6], [6, 7]];
    part
}
