//! The body figure: a plain jointed person with what it holds and leans on, seen from one of three sides.

use crate::body::{Limb, Part, Person};
use crate::geom::*;
use crate::labels::{Room, place};
use crate::svg::{Anchor, Board, Drawing, Label, Paint, Type, closed};
use crate::theme::{Body, LIGHT, Theme};
use crate::things::{Piece, Shape, pieces};
use crate::words;
use answer::{Scene, SceneFrame, Thing};

/// Which frames of the lift are drawn, side by side.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Frames {
    One(usize),
    /// The point where the rep is hardest.
    Hardest,
    /// The turning point (first frame).
    Turn,
    /// End of the lift (last frame).
    End,
    /// End of the lift, half-way, turning point: the way down of a rep.
    Three,
}

impl Frames {
    /// Indices into the scene's frames with a caption each.
    pub fn of(self, scene: &Scene) -> Vec<(usize, String)> {
        let Some(last) = scene.frames.len().checked_sub(1) else { return Vec::new() };
        let word = |i: usize| {
            if i == 0 && !scene.from_word.is_empty() {
                scene.from_word.clone()
            } else if i == last && !scene.to_word.is_empty() {
                scene.to_word.clone()
            } else {
                format!("{} % of the lift", words::num(100.0 * i as f64 / last.max(1) as f64, 0))
            }
        };
        match self {
            Frames::One(i) => vec![(i.min(last), word(i.min(last)))],
            Frames::Hardest => vec![(scene.hardest_frame.min(last), "hardest point".into())],
            Frames::Turn => vec![(0, word(0))],
            Frames::End => vec![(last, word(last))],
            Frames::Three => vec![(last, word(last)), (last / 2, "middle".into()), (0, word(0))],
        }
    }
}

#[derive(Clone, Copy, Debug)]
pub struct Options {
    /// Of the whole picture, px.
    pub width: f64,
    pub height: f64,
    pub theme: &'static Theme,
    /// Load line and load arrows.
    pub loads: bool,
    /// Contact forces.
    pub contacts: bool,
    /// Lever arms with centimetres.
    pub levers: bool,
    /// Dots at the joints.
    pub joints: bool,
    pub captions: bool,
    pub font_px: f64,
    /// Outline points per ellipsoid; fewer make a smaller file.
    pub detail: usize,
    /// A place to ring, world, m.
    pub ring: Option<P3>,
    /// Centre of mass of the body.
    pub mass: bool,
    /// Part of the picture plane that is shown, m: left, low, right, high. What is drawn decides without it.
    pub within: Option<[f64; 4]>,
}

impl Default for Options {
    fn default() -> Options {
        Options {
            width: 460.0,
            height: 520.0,
            theme: &LIGHT,
            loads: true,
            contacts: false,
            levers: true,
            joints: true,
            captions: false,
            font_px: 16.0,
            detail: 28,
            ring: None,
            mass: false,
            within: None,
        }
    }
}

/// Draws frames of a scene. A scene without frames, or a frame without hips, says so in words.
pub fn posture_svg(scene: &Scene, view: View, frames: Frames, o: &Options) -> Drawing {
    let board = posture_board(scene, view, frames, o);
    let what: Vec<String> = frames.of(scene).into_iter().map(|(_, w)| w).collect();
    let title = format!("Posture from the {}", view.word());
    board.finish(&title, &format!("A jointed person at: {}.", words::list(&what)), o.theme.paper)
}

/// What all frames of a scene need of the picture plane, m: left, low, right, high; so that a person who moves is seen
/// from one place. `None` for a scene without a body.
pub fn scene_box(scene: &Scene, view: View) -> Option<[f64; 4]> {
    let stills: Vec<Still> = scene.frames.iter().map(|f| Still::of(f, view, 12)).collect();
    let mut b = bounds(stills.iter().flat_map(|s| s.points()))?;
    if view != View::Top && scene.floor_y_m.is_finite() && b[1] - scene.floor_y_m < 0.7 {
        b[1] = b[1].min(scene.floor_y_m);
    }
    Some(b)
}

/// The same without a document around it, to be placed in a card.
pub fn posture_board(scene: &Scene, view: View, frames: Frames, o: &Options) -> Board {
    let picks = frames.of(scene);
    let mut board = Board::new(o.width, o.height);
    let stills: Vec<Still> = picks.iter().map(|(i, _)| Still::of(&scene.frames[*i], view, o.detail)).collect();
    // A floor that is far below a hanging or lying person is left out.
    let skin = bounds(stills.iter().flat_map(|s| s.skin_points()));
    let floor = (view != View::Top && scene.floor_y_m.is_finite())
        .then_some(scene.floor_y_m)
        .filter(|y| skin.is_some_and(|b| b[1] - y < 0.7 && b[1] - y > -0.3));
    let box_m = bounds(stills.iter().flat_map(|s| s.points()));
    let (Some(mut b), true) = (box_m, skin.is_some()) else {
        let t = Type::new(o.font_px, o.theme.grey).at(Anchor::Middle);
        board.text(o.width / 2.0, o.height / 2.0, "No posture to draw", t);
        return board;
    };
    if let Some(y) = floor {
        b[1] = b[1].min(y);
    }
    if let Some(within) = o.within {
        b = within;
    }
    let columns = picks.len() as f64;
    let cell_w = o.width / columns;
    let caption_h = if o.captions { o.font_px * 1.9 } else { 0.0 };
    let pad = (o.height * 0.04).max(6.0);
    let (room_w, room_h) = (cell_w - 2.0 * pad, o.height - caption_h - 2.0 * pad);
    let scale = (room_w / (b[2] - b[0]).max(0.3)).min(room_h / (b[3] - b[1]).max(0.3)).max(1.0);
    for (i, (still, (index, word))) in stills.iter().zip(&picks).enumerate() {
        let x0 = i as f64 * cell_w;
        let fit = Fit {
            scale,
            x: x0 + pad + (room_w - scale * (b[2] - b[0])) / 2.0 - scale * b[0],
            y: pad + (room_h + scale * (b[3] - b[1])) / 2.0 + scale * b[1],
        };
        let mut cell = [x0 + 2.0, 2.0, x0 + cell_w - 2.0, o.height - caption_h - 2.0];
        if let Some(y) = floor {
            let y = fit.to([0.0, y])[1];
            cell[3] = cell[3].min(y + 4.0);
            board.line([x0 + pad * 0.6, y], [x0 + cell_w - pad * 0.6, y], Paint::line(o.theme.floor, 1.6));
        }
        still.draw(&mut board, &fit, o);
        still.annotate(&mut board, &scene.frames[*index], &fit, cell, o);
        if let Some(p) = scene.frames[*index].centre_of_mass.filter(|p| o.mass && usable(*p)) {
            // The usual mark of a centre of mass: a circle quartered.
            let ([x, y], r) = (fit.to(view.flat(p)), 7.0);
            board.circle(x, y, r, Paint::both(o.theme.card, o.theme.ink, 1.6));
            board.path(
                &format!(
                    "M{x:.1} {y:.1}V{:.1}A{r} {r} 0 0 1 {:.1} {y:.1}ZM{x:.1} {y:.1}V{:.1}A{r} {r} 0 0 1 {:.1} {y:.1}Z",
                    y - r,
                    x + r,
                    y + r,
                    x - r
                ),
                Paint::fill(o.theme.ink),
            );
        }
        if let Some(p) = o.ring.filter(|p| usable(*p)) {
            let [x, y] = fit.to(view.flat(p));
            board.circle(x, y, 0.09 * scale, Paint::line(o.theme.brick, 3.0));
        }
        if o.captions {
            let t = Type::new(o.font_px, o.theme.grey).at(Anchor::Middle);
            let word = crate::font::fit(word, o.font_px, t.weight, cell_w - 8.0);
            board.text(x0 + cell_w / 2.0, o.height - o.font_px * 0.55, &word, t);
        }
    }
    board
}

/// Metres to pixels.
struct Fit {
    scale: f64,
    x: f64,
    y: f64,
}

impl Fit {
    fn to(&self, p: P2) -> P2 {
        [self.x + self.scale * p[0], self.y - self.scale * p[1]]
    }
    fn all(&self, outlines: &[Vec<P2>]) -> Vec<Vec<P2>> {
        outlines.iter().map(|o| o.iter().map(|p| self.to(*p)).collect()).collect()
    }
}

/// What is painted in one go, from far to near.
enum Item {
    Thing(Piece),
    Trunk(Vec<Vec<P2>>),
    Spine(Vec<P2>),
    Head(Vec<Vec<P2>>, Vec<Vec<P2>>),
    Limb(LimbArt),
}

struct LimbArt {
    far: bool,
    arm: bool,
    /// Outlines part by part, each with the melts painted over it.
    parts: Vec<Vec<Vec<P2>>>,
    melts: Vec<Vec<P2>>,
}

/// One frame, projected, sorted and ready to be painted.
struct Still {
    view: View,
    items: Vec<(f64, Item)>,
    joints: Vec<(&'static str, P2)>,
}

impl Still {
    fn of(frame: &SceneFrame, view: View, detail: usize) -> Still {
        let detail = detail.clamp(8, 96);
        let person = Person::of(frame).unwrap_or_default();
        let mut items: Vec<(f64, Item)> = Vec::new();
        let trunk_near = person.trunk.near(view);
        let mut grips = Vec::new();
        for limb in &person.limbs {
            let parts = &limb.parts;
            let mean = parts.iter().map(|p| p.near(view)).sum::<f64>() / parts.len().max(1) as f64;
            // Limbs beside the trunk are drawn over it, unless they are plainly behind.
            let near = if view == View::Side { mean } else { mean + if limb.arm { 0.06 } else { 0.05 } };
            if limb.arm && parts.len() == 3 {
                let hand = &parts[2];
                grips.extend(
                    person
                        .grips
                        .iter()
                        .filter(|g| hand.balls.iter().any(|b| norm(sub(b.at, **g)) < 0.05))
                        .map(|g| (*g, near)),
                );
            }
            let far = view == View::Side && near < trunk_near - 0.02;
            items.push((near, Item::Limb(limb_art(limb, &person, view, detail, far, near > trunk_near))));
        }
        if !person.trunk.balls.is_empty() {
            items.push((trunk_near, Item::Trunk(person.trunk.outlines(view, detail))));
            // The neck grows out of the trunk where it is not seen end-on.
            let mut melt = Vec::new();
            if view != View::Top {
                melt = person.head.some(&[[0, 1]], view, detail);
                melt.extend(person.trunk.some(&[[0, 8]], view, detail));
            }
            if view == View::Side {
                // Over the near thigh's seam, under the near arm.
                let legs = items.iter().filter(|(_, i)| matches!(i, Item::Limb(l) if !l.arm)).map(|(near, _)| *near);
                let near = legs.fold(trunk_near, f64::max) + 2e-3;
                items.push((near, Item::Spine(person.spine.iter().map(|p| view.flat(*p)).collect())));
            }
            let near =
                if view == View::Side { trunk_near + 1e-3 } else { person.head.near(view).max(trunk_near + 1e-3) };
            items.push((near, Item::Head(person.head.outlines(view, detail), melt)));
        }
        let k = if person.scale > 0.0 { person.scale } else { 1.0 };
        for thing in &frame.things {
            let far = view == View::Side
                && matches!(thing, Thing::DumbBell { at, .. } | Thing::KettleBell { at } if at[2] < -0.03);
            let shift = view.flat(if far { far_shift(k) } else { [0.0; 3] });
            items.extend(
                pieces(thing, view, detail, k, &grips).into_iter().map(|p| (p.near, Item::Thing(p.moved(shift)))),
            );
        }
        items.sort_by(|a, b| a.0.total_cmp(&b.0));
        let joints = person
            .joints
            .iter()
            .filter(|(_, right, _)| view == View::Front || (view == View::Side && *right))
            .map(|(id, _, p)| (*id, view.flat(*p)))
            .collect();
        Still { view, items, joints }
    }

    fn skins(&self) -> impl Iterator<Item = &Vec<P2>> {
        self.items.iter().flat_map(|(_, i)| -> Vec<&Vec<P2>> {
            match i {
                Item::Thing(_) | Item::Spine(_) => Vec::new(),
                Item::Trunk(o) | Item::Head(o, _) => o.iter().collect(),
                Item::Limb(l) => l.parts.iter().flatten().collect(),
            }
        })
    }

    fn skin_points(&self) -> impl Iterator<Item = P2> {
        self.skins().flatten().copied()
    }

    fn points(&self) -> Vec<P2> {
        let things = self.items.iter().filter_map(|(_, i)| match i {
            Item::Thing(p) => Some(p.points()),
            _ => None,
        });
        self.skin_points().chain(things.flatten()).collect()
    }

    fn draw(&self, board: &mut Board, fit: &Fit, o: &Options) {
        let t = o.theme;
        let pen = (o.height / 300.0 * 1.05).clamp(1.0, 2.4);
        let skin = |board: &mut Board, outlines: &[Vec<P2>], b: Body| {
            board.path(&closed(&fit.all(outlines)), Paint::both(b.fill, b.line, 2.0 * pen).melted());
        };
        let flesh = |board: &mut Board, outlines: &[Vec<P2>], b: Body| {
            board.path(&closed(&fit.all(outlines)), Paint::fill(b.fill));
        };
        for (_, item) in &self.items {
            match item {
                Item::Thing(p) => thing(board, p, fit, pen, t),
                Item::Trunk(outlines) => {
                    skin(board, outlines, t.near);
                }
                Item::Spine(line) => {
                    let line: Vec<P2> = line.iter().map(|p| fit.to(*p)).collect();
                    board.path(&crate::svg::smooth(&line), Paint::line(t.near.line, pen * 1.3));
                }
                Item::Head(outlines, melt) => {
                    skin(board, outlines, t.near);
                    flesh(board, melt, t.near);
                }
                Item::Limb(l) => {
                    let b = if l.far { t.far } else { t.near };
                    for part in &l.parts {
                        skin(board, part, b);
                    }
                    flesh(board, &l.melts, b);
                }
            }
        }
    }

    fn annotate(&self, board: &mut Board, frame: &SceneFrame, fit: &Fit, cell: [f64; 4], o: &Options) {
        let t = o.theme;
        let view = self.view;
        let pen = (o.height / 300.0).clamp(1.0, 2.2);
        let skins: Vec<Vec<P2>> = self.skins().map(|s| s.iter().map(|p| fit.to(*p)).collect()).collect();
        if o.loads || o.contacts {
            arrows(board, frame, view, fit, cell, pen, o);
        }
        let levers: Vec<_> = frame
            .levers
            .iter()
            .filter(|l| o.levers && usable(l.joint_at) && usable(l.line_at) && l.length_m.is_finite())
            .map(|l| (l, fit.to(view.flat(l.joint_at)), fit.to(view.flat(l.line_at))))
            // A lever arm seen end-on would belie its centimetres.
            .filter(|(l, a, b)| (b[0] - a[0]).hypot(b[1] - a[1]) >= 0.9 * fit.scale * l.length_m.abs())
            .collect();
        let r = 2.9 * pen;
        if o.joints {
            for (id, p) in &self.joints {
                let p = fit.to(*p);
                let lever = levers.iter().any(|(l, a, _)| l.joint == *id && (a[0] - p[0]).hypot(a[1] - p[1]) < 3.0 * r);
                if !lever {
                    board.circle(p[0], p[1], r * 0.8, Paint::both(t.paper, t.joint(id), 1.5 * pen));
                }
            }
        }
        for (l, a, b) in &levers {
            board.line(*a, *b, Paint::line(t.joint(&l.joint), 2.2 * pen));
        }
        let mut room =
            Room { cell, taken: board.labels.clone(), skins, lines: levers.iter().map(|(_, a, b)| [*a, *b]).collect() };
        for (_, a, _) in &levers {
            let (x0, y0, x1, y1) = (a[0] - r, a[1] - r, a[0] + r, a[1] + r);
            room.taken.push(Label { x0, y0, x1, y1, text: String::new() });
        }
        for (l, a, b) in &levers {
            board.circle(a[0], a[1], r, Paint::both(t.paper, t.joint(&l.joint), 2.0 * pen));
            let text = format!("{} {} cm", l.joint, words::num(l.length_m.abs() * 100.0, 0));
            let kind = Type::new(o.font_px, t.joint(&l.joint)).bold().halo(t.paper);
            if let Some((x, y)) = place(&room, *a, *b, &text, kind) {
                board.text(x, y, &text, kind.at(Anchor::Middle));
                room.taken.extend(board.labels.last().cloned());
            }
        }
    }
}

fn limb_art(limb: &Limb, person: &Person, view: View, n: usize, far: bool, over_trunk: bool) -> LimbArt {
    let shift = if far { far_shift(person.scale) } else { [0.0; 3] };
    // From above and from in front the nearer part of a limb covers the farther one; from the side the thigh lies
    // over the shank and the forearm over the upper arm.
    let mut order: Vec<Part> = limb.parts.iter().map(|p| p.moved(shift)).collect();
    if view == View::Side {
        if !limb.arm {
            order.reverse();
        }
    } else {
        order.sort_by(|a, b| a.near(view).total_cmp(&b.near(view)));
    }
    let moved = |b: &Ball| Ball { at: add(b.at, shift), half: b.half };
    let mut melts: Vec<Vec<P2>> = limb.melts.iter().map(|[a, b]| hull_of(&[moved(a), moved(b)], view, n)).collect();
    // The first part grows out of the trunk, unless it points at the eye and so lies before it.
    if over_trunk && let Some([first, .., last]) = limb.parts.first().map(|p| &p.balls[..]) {
        let (real, seen) = (sub(last.at, first.at), view.flat(sub(last.at, first.at)));
        let in_plane = seen[0].hypot(seen[1]) > 0.75 * norm(real);
        let t = &person.trunk;
        match (limb.arm, in_plane) {
            (false, true) => melts.extend(t.some(&t.hip_skins, view, n)),
            (true, true) if view != View::Side => melts.extend(t.some(&t.shoulder_skins, view, n)),
            _ => {}
        }
    }
    LimbArt { far, arm: limb.arm, parts: order.into_iter().map(|p| p.outlines(view, n)).collect(), melts }
}

/// Far limbs and what they hold are drawn a little forward and up, as if seen from slightly before and above:
/// otherwise the near side hides them in every two-sided lift.
fn far_shift(k: f64) -> P3 {
    [0.045 * k, 0.014 * k, 0.0]
}

fn thing(board: &mut Board, p: &Piece, fit: &Fit, pen: f64, t: &Theme) {
    match &p.shape {
        Shape::Area(a) => board.path(&closed(&fit.all(a)), Paint::both(p.stuff.fill(t), p.stuff.line(t), pen * 1.1)),
        Shape::Line(l, width) => {
            let mut d = String::new();
            crate::svg::polyline(&mut d, &l.iter().map(|q| fit.to(*q)).collect::<Vec<_>>());
            board.path(&d, Paint::line(p.stuff.line(t), (width * fit.scale).max(1.2 * pen)));
        }
        Shape::Dot(c, r) => {
            let c = fit.to(*c);
            board.circle(c[0], c[1], (r * fit.scale).max(2.2), Paint::both(p.stuff.fill(t), t.paper, pen * 0.8));
        }
    }
}

/// Load line (dotted) and arrows (solid, length in proportion to the force).
fn arrows(board: &mut Board, frame: &SceneFrame, view: View, fit: &Fit, cell: [f64; 4], pen: f64, o: &Options) {
    let t = o.theme;
    let size = |f: P3| if usable_force(f) { norm(f) } else { 0.0 };
    let largest = frame.forces.iter().map(|f| size(f.force_n)).fold(0.0, f64::max);
    if largest <= 0.0 {
        return;
    }
    let mut drawn: Vec<(P2, P2)> = Vec::new();
    for f in &frame.forces {
        let load = f.what == "load";
        let flat = view.flat(f.force_n);
        let length_n = flat[0].hypot(flat[1]);
        if !usable(f.at)
            || size(f.force_n) <= 0.0
            || length_n < 0.05 * size(f.force_n)
            || !(if load { o.loads } else { o.contacts })
        {
            continue;
        }
        let a = fit.to(view.flat(f.at));
        let dir = [flat[0] / length_n, -flat[1] / length_n];
        let px = (0.30 * fit.scale * length_n / largest).max(7.0 * pen);
        let b = [a[0] + dir[0] * px, a[1] + dir[1] * px];
        // Two hands seen from the side carry one line.
        let close = |p: P2, q: P2| (p[0] - q[0]).hypot(p[1] - q[1]) < 4.0 * pen;
        if drawn.iter().any(|(p, q)| close(*p, a) && close(*q, b)) {
            continue;
        }
        drawn.push((a, b));
        let colour = if load { t.brick } else { t.grey };
        // The line of a force that points at the eye would run across the picture and mean nothing.
        if load && length_n > 0.35 * size(f.force_n) {
            let end = ray_to_edge(a, dir, cell);
            board.line(a, end, Paint::line(colour, 1.5 * pen).dashed(if pen > 1.4 { "1 6.5" } else { "1 4.5" }));
        }
        let head = (4.2 * pen).min(px * 0.6);
        let wing =
            |s: f64| [b[0] - dir[0] * head - dir[1] * s * head * 0.55, b[1] - dir[1] * head + dir[0] * s * head * 0.55];
        board.line(a, b, Paint::line(colour, 2.0 * pen));
        let mut d = String::new();
        crate::svg::polyline(&mut d, &[wing(1.0), b, wing(-1.0)]);
        board.path(&d, Paint::line(colour, 2.0 * pen));
    }
}

fn usable_force(f: P3) -> bool {
    f.iter().all(|v| v.is_finite() && v.abs() < 1e6)
}

/// Where a ray from `a` leaves the cell.
fn ray_to_edge(a: P2, dir: P2, cell: [f64; 4]) -> P2 {
    let mut t = f64::INFINITY;
    for k in 0..2 {
        if dir[k] > 1e-9 {
            t = t.min((cell[k + 2] - a[k]) / dir[k]);
        } else if dir[k] < -1e-9 {
            t = t.min((cell[k] - a[k]) / dir[k]);
        }
    }
    let t = if t.is_finite() { t.max(0.0) } else { 0.0 };
    [a[0] + dir[0] * t, a[1] + dir[1] * t]
}
