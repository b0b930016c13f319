//! A rep from a plan: posture frame by frame, then loads, bands and contacts attached to it.

use super::*;

impl Plan {
    /// Load for which balance is found, kg; `None` where balance does not depend on the load.
    pub fn balance_load_kg(&self) -> Option<f64> {
        let balances =
            self.problem.required.iter().any(
                |q| matches!(&q.held, Held::Balance { extra, pulls, .. } if !(extra.is_empty() && pulls.is_empty())),
            );
        (balances && self.nominal_kg > 0.0 && !self.load.body_weight).then_some(self.nominal_kg)
    }

    /// Name of a requirement, for messages.
    pub fn requirement(&self, index: usize) -> &str {
        self.problem.required.get(index).map_or("a requirement", |q| q.name.as_str())
    }

    /// A pulley or band anchor that lies inside the body in some frame: its place, the part of the body, and how deep
    /// below the skin, m. Limbs are taken as round bars of usual thickness (own estimate).
    pub fn anchor_in_body(&self, rep: &Rep, body: &Body) -> Option<(V3, &'static str, f64)> {
        let k = body.stature_m / 1.75;
        let side = |s: Side| {
            [
                ("thigh", Segment::Femur(s), Segment::Tibia(s), 0.07),
                ("shank", Segment::Tibia(s), Segment::Foot(s), 0.045),
                ("upper arm", Segment::Humerus(s), Segment::Forearm(s), 0.045),
                ("forearm", Segment::Forearm(s), Segment::Hand(s), 0.035),
            ]
        };
        let trunk = [("trunk", Segment::Pelvis, Segment::Thorax, 0.11), ("head", Segment::Thorax, Segment::Head, 0.08)];
        for l in &self.loads {
            let (Line::Towards(to) | Line::Band(to, _)) = &l.line else { continue };
            for f in &rep.frames {
                for (name, from, next, radius) in trunk.into_iter().chain(side(Side::Right)).chain(side(Side::Left)) {
                    let (a, b) = (f.figure.pose(from).origin_m, f.figure.pose(next).origin_m);
                    let t = ((to - a).dot(&(b - a)) / (b - a).norm_squared().max(1e-9)).clamp(0.0, 1.0);
                    let depth = radius * k - (a + (b - a) * t - to).norm();
                    if depth > 0.0 {
                        return Some((*to, name, depth));
                    }
                }
            }
        }
        None
    }

    /// Find balance for another load, kg.
    pub fn set_balance_load_kg(&mut self, load_kg: f64) {
        let loads = &self.loads;
        for q in &mut self.problem.required {
            if let Held::Balance { extra, pulls, .. } = &mut q.held {
                *pulls = loads.iter().filter_map(|l| l.pull(load_kg)).collect();
                let carried = loads.iter().filter(|l| matches!(l.line, Line::Down));
                for (e, l) in extra.iter_mut().zip(carried) {
                    e.2 = load_kg * l.share + l.constant_n / GRAVITY_M_S2;
                }
            }
        }
        self.nominal_kg = load_kg;
    }

    /// Solve `frames` postures over the lift and attach loads, contacts and free components.
    pub fn rep(&self, body: &Body, frames: usize, memory: &mut SolverMemory) -> Rep {
        self.rep_near(body, frames, memory, None)
    }

    /// The same, where a rep of this plan or a like one is known: the search begins at its posture, not at standing.
    pub fn rep_near(&self, body: &Body, frames: usize, memory: &mut SolverMemory, like: Option<&Rep>) -> Rep {
        let n = frames.max(2);
        let first = if self.begin_at_turn { 1.0 } else { 0.0 };
        let known = like.and_then(|r| r.frames.iter().find(|f| f.phase == first));
        let mut posture = known.map_or_else(|| standing(body), |f| f.posture);
        let mut out: Vec<RepFrame> = Vec::with_capacity(n);
        for i in 0..n {
            let phase = i as f64 / (n - 1) as f64;
            let phase = if self.begin_at_turn { 1.0 - phase } else { phase };
            let (figure, fit) = if i == 0 && known.is_none() {
                self.problem.solve_from_afar(body, phase, &mut posture, memory)
            } else {
                self.problem.solve(body, phase, &mut posture, memory)
            };
            out.push(RepFrame {
                phase,
                posture,
                figure,
                forces: Vec::new(),
                carriers: Vec::new(),
                free: Vec::new(),
                miss_m: fit.miss_m,
                miss_m_of: fit.miss_m_of,
                miss_rad: fit.miss_rad,
                miss_rad_of: fit.miss_rad_of,
            });
        }
        if (self.lift == Lift::FromTurn) != self.begin_at_turn {
            out.reverse();
        }
        let band = self.band_lengths(&out);
        for (i, f) in out.iter_mut().enumerate() {
            let u = i as f64 / (n - 1) as f64;
            self.attach(f, u, body, &band);
        }
        let (from, to) = match self.lift {
            Lift::FromTurn => (1, 0),
            Lift::ToTurn => (0, 1),
        };
        Rep {
            movement: self.movement.clone(),
            frames: out,
            symmetric: self.problem.symmetric,
            lift_s: self.lift_s,
            pace: self.pace,
            balanced: self.balanced.clone(),
            load: self.load.clone(),
            from_word: self.words[from].clone(),
            to_word: self.words[to].clone(),
            notes: self.notes.clone(),
        }
    }

    /// Shortest and longest length of each band over the rep, m.
    fn band_lengths(&self, frames: &[RepFrame]) -> Vec<(f64, f64)> {
        self.loads
            .iter()
            .map(|l| match &l.line {
                Line::Band(to, _) => frames.iter().fold((f64::INFINITY, 0.0f64), |(lo, hi), f| {
                    let at =
                        if l.one_handle { self.handle_middle(l, &f.figure) } else { f.figure.at(l.on, &l.local_m) };
                    let d = (to - at).norm();
                    (lo.min(d), hi.max(d))
                }),
                Line::BandTo(other, local) => frames.iter().fold((f64::INFINITY, 0.0f64), |(lo, hi), f| {
                    let d = (f.figure.at(*other, local) - f.figure.at(l.on, &l.local_m)).norm();
                    (lo.min(d), hi.max(d))
                }),
                _ => (0.0, 0.0),
            })
            .collect()
    }

    /// Middle of the handle that both hands hold, world, m: a cable or band ends there.
    fn handle_middle(&self, load: &LoadPlan, fig: &Figure) -> V3 {
        let held = self.loads.iter().filter(|l| l.one_handle && l.line.same_end(&load.line));
        let (sum, n) = held.fold((V3::zeros(), 0.0), |(s, n), l| (s + fig.at(l.on, &l.local_m), n + 1.0));
        sum / f64::max(n, 1.0)
    }

    fn attach(&self, f: &mut RepFrame, u: f64, body: &Body, band: &[(f64, f64)]) {
        let fig = f.figure.clone();
        for (l, (shortest, longest)) in self.loads.iter().zip(band) {
            let at_m = fig.at(l.on, &l.local_m);
            let pull_m = if l.one_handle { self.handle_middle(l, &fig) } else { at_m };
            let unit = |v: V3| v.try_normalize(1e-9).unwrap_or(-V3::y());
            let (direction, scale) = match &l.line {
                Line::Down => (-V3::y(), 1.0),
                Line::Towards(to) => (unit(to - pull_m), 1.0),
                Line::Band(..) | Line::BandTo(..) => {
                    // Rest length a fifth below the shortest length of the rep: the band is never slack (own estimate).
                    let rest = 0.8 * shortest;
                    let d = match &l.line {
                        Line::Band(to, _) => to - pull_m,
                        Line::BandTo(other, local) => fig.at(*other, local) - pull_m,
                        _ => V3::zeros(),
                    };
                    (unit(d), ((d.norm() - rest) / (longest - rest).max(1e-6)).max(0.0))
                }
                Line::Hinge(hinge) => {
                    let along = unit(pull_m - hinge);
                    let square = -V3::y() + along * along.y;
                    (unit(square), square.norm())
                }
                Line::InSegment(d) => (fig.pose(l.on).turn(d), 1.0),
                Line::World(d) => (*d, 1.0),
                Line::Lever { pivot_m, axis, weighs } => {
                    let line = PullLine::Lever { pivot_m: *pivot_m, axis: *axis, weighs: *weighs };
                    let force = line.at(&at_m);
                    (unit(force), force.norm())
                }
            };
            let stretches = matches!(l.line, Line::Band(..) | Line::BandTo(..) | Line::Hinge(_));
            let per_load = direction * (GRAVITY_M_S2 * l.share * scale * l.cam.at(u));
            f.forces.push(AppliedForce {
                on: l.on,
                at_m,
                constant_n: direction * (l.constant_n * if stretches { scale } else { 1.0 }),
                per_load_n: per_load,
                mass_per_load_kg: if matches!(l.line, Line::Down | Line::Hinge(_)) { l.share } else { 0.0 },
            });
        }
        for c in &self.contacts {
            let readiness = c.readiness.at(f.phase);
            if readiness <= 0.0 {
                continue;
            }
            let normal = c.normal_at(f.phase);
            let fore = {
                let x = match c.on {
                    Segment::Foot(_) => fig.pose(c.on).turn(&V3::x()),
                    _ => V3::x(),
                };
                (x - normal * x.dot(&normal)).try_normalize(1e-6).unwrap_or(V3::x())
            };
            let side = normal.cross(&fore);
            for p in &c.points_m {
                let at_m = fig.at(c.on, p);
                let mut add = |direction: V3, push_only: bool, reluctance: f64| {
                    f.carriers.push(Carrier { contact: c.id, on: c.on, at_m, direction, push_only, reluctance });
                };
                add(normal, true, 1.0 / readiness);
                if c.shear > 0.0 {
                    add(fore, false, 1.0 / (c.shear * readiness));
                    add(side, false, 1.0 / (c.shear * readiness));
                }
            }
        }
        for free in &self.frees {
            self.attach_free(free, f, &fig, body);
        }
    }

    /// Force of the load on a segment, N constant and per unit load, for bounds of free components.
    fn load_on(&self, f: &RepFrame, s: Segment) -> (f64, f64) {
        let on = |g: &&AppliedForce| g.on == s;
        f.forces.iter().filter(on).fold((0.0, 0.0), |(c, p), g| (c + g.constant_n.norm(), p + g.per_load_n.norm()))
    }

    fn attach_free(&self, free: &FreePlan, f: &mut RepFrame, fig: &Figure, body: &Body) {
        let zero = V3::zeros();
        let foot = |s: Side| self.contacts.iter().find(|c| c.on == Segment::Foot(s));
        let hand_contact = self.contacts.iter().find(|c| c.on == Segment::Hand(Side::Right)).map(|c| c.id);
        let mid_foot = |s: Side, body: &Body| {
            let (seg, v) = body_point("mid-foot", s, body).unwrap_or((Segment::Foot(s), V3::zeros()));
            fig.at(seg, &v)
        };
        let (usual, half) = (free.usual, free.half);
        // A foot on the floor is bounded by its normal force, a foot on a sled by the load it pushes.
        let foot_span = |usual: f64, f: &RepFrame| match foot(Side::Right) {
            Some(c) => {
                // Shear stays inside the cone of friction.
                let (low, high) = ((usual - half).max(-c.friction), (usual + half).min(c.friction));
                let (usual, half) = if low <= high {
                    (0.5 * (low + high), 0.5 * (high - low))
                } else {
                    (c.friction * usual.signum(), 0.0)
                };
                Some(FreeSpan::OfNormal { contact: c.id, usual, half })
            }
            None => {
                let (constant_n, per_load_n) = self.load_on(f, Segment::Foot(Side::Right));
                (per_load_n > 0.0).then_some(FreeSpan::OfLoad { usual, half, constant_n, per_load_n })
            }
        };
        let phase = f.phase;
        let sole_up =
            |s: Side| foot(s).map_or_else(|| fig.pose(Segment::Foot(s)).turn(&V3::y()), |c| c.normal_at(phase));
        match free.kind {
            FreeKind::SidePush => {
                let Some(span) = foot_span(usual, f) else { return };
                let (r, l) = (Segment::Foot(Side::Right), Segment::Foot(Side::Left));
                f.free.push(Free {
                    tag: "feet push apart",
                    action: FreeAction::Wrenches(vec![
                        (r, mid_foot(Side::Right, body), -V3::z(), zero),
                        (l, mid_foot(Side::Left, body), V3::z(), zero),
                    ]),
                    span,
                    cost: 1e-4,
                    rebalance: false,
                    contact_choice: true,
                });
            }
            FreeKind::ForePush => {
                let Some(span) = foot_span(usual, f) else { return };
                let fore = |s: Side| {
                    let x = fig.pose(Segment::Foot(s)).turn(&V3::x());
                    let n = sole_up(s);
                    (x - n * x.dot(&n)).try_normalize(1e-6).unwrap_or(V3::x())
                };
                let mut w = vec![(Segment::Foot(Side::Right), mid_foot(Side::Right, body), fore(Side::Right), zero)];
                if self.problem.symmetric {
                    w.push((Segment::Foot(Side::Left), mid_foot(Side::Left, body), fore(Side::Left), zero));
                }
                f.free.push(Free {
                    tag: "feet push along the floor",
                    action: FreeAction::Wrenches(w),
                    span,
                    cost: 1e-4,
                    rebalance: true,
                    contact_choice: true,
                });
            }
            FreeKind::Pressure => {
                let Some(span) = foot_span(0.0, f) else { return };
                // Moment about the foot's long direction in the surface it stands on.
                let along = |s: Side| {
                    let x = fig.pose(Segment::Foot(s)).turn(&V3::x());
                    let n = sole_up(s);
                    (x - n * x.dot(&n)).try_normalize(1e-6).unwrap_or(V3::x())
                };
                let mut w = vec![(Segment::Foot(Side::Right), zero, zero, along(Side::Right))];
                if self.problem.symmetric {
                    w.push((Segment::Foot(Side::Left), zero, zero, -along(Side::Left)));
                }
                f.free.push(Free {
                    tag: "pressure moves across the foot",
                    action: FreeAction::Wrenches(w),
                    span,
                    cost: 1e-5,
                    rebalance: false,
                    contact_choice: false,
                });
            }
            FreeKind::Twist => {
                let Some(span) = foot_span(0.0, f) else { return };
                // Screwing the feet into the floor: a moment about the normal of the sole.
                let mut w = vec![(Segment::Foot(Side::Right), zero, zero, sole_up(Side::Right))];
                if self.problem.symmetric {
                    w.push((Segment::Foot(Side::Left), zero, zero, -sole_up(Side::Left)));
                }
                f.free.push(Free {
                    tag: "feet twist on the floor",
                    action: FreeAction::Wrenches(w),
                    span,
                    cost: 1e-5,
                    rebalance: false,
                    contact_choice: false,
                });
            }
            FreeKind::BarPush => {
                let g = grip_local(body);
                let (r, l) = (Segment::Hand(Side::Right), Segment::Hand(Side::Left));
                let span = match hand_contact {
                    Some(contact) => FreeSpan::OfNormal { contact, usual, half },
                    None => {
                        let (constant_n, per_load_n) = self.load_on(f, Segment::Hand(Side::Right));
                        FreeSpan::OfLoad { usual, half, constant_n, per_load_n }
                    }
                };
                f.free.push(Free {
                    tag: "hands push along the bar",
                    action: FreeAction::Wrenches(vec![
                        (r, fig.at(r, &g), -V3::z(), zero),
                        (l, fig.at(l, &g), V3::z(), zero),
                    ]),
                    span,
                    cost: 1e-4,
                    rebalance: false,
                    contact_choice: true,
                });
            }
            FreeKind::AxialHip => {
                let Some(span) = foot_span(0.0, f) else { return };
                f.free.push(Free {
                    tag: "slack about the thigh's axis",
                    action: FreeAction::JointTorque {
                        joint: Joint::Hip,
                        side: Side::Right,
                        axis: fig.pose(Segment::Femur(Side::Right)).turn(&V3::y()),
                    },
                    span,
                    cost: 1e-5,
                    rebalance: false,
                    contact_choice: false,
                });
            }
            FreeKind::AxialShoulder => {
                let span = match hand_contact {
                    Some(contact) => FreeSpan::OfNormal { contact, usual: 0.0, half },
                    None => {
                        let (constant_n, per_load_n) = self.load_on(f, Segment::Hand(Side::Right));
                        FreeSpan::OfLoad { usual: 0.0, half, constant_n, per_load_n }
                    }
                };
                f.free.push(Free {
                    tag: "slack about the upper arm's axis",
                    action: FreeAction::JointTorque {
                        joint: Joint::Shoulder,
                        side: Side::Right,
                        axis: fig.pose(Segment::Humerus(Side::Right)).turn(&V3::y()),
                    },
                    span,
                    cost: 1e-5,
                    rebalance: false,
                    contact_choice: false,
                });
            }
            FreeKind::SeatPush => {
                // How hard the seat pushes up on a thigh is settled by the thigh: a relaxed leg rests on it. So does an arm
                // whose elbow lies on a knee or pad.
                let rests =
                    |c: &&ContactPlan| matches!(c.on, Segment::Femur(Side::Right) | Segment::Forearm(Side::Right));
                for c in self.contacts.iter().filter(rests) {
                    let Some(p) = c.points_m.first() else { continue };
                    f.free.push(Free {
                        tag: if matches!(c.on, Segment::Femur(_)) {
                            "seat under the thigh"
                        } else {
                            "rest under the elbow"
                        },
                        action: FreeAction::Wrenches(vec![(c.on, fig.at(c.on, p), c.normal_at(phase), zero)]),
                        span: FreeSpan::Absolute { low: 0.0, high: half },
                        cost: 1e-5,
                        rebalance: false,
                        contact_choice: false,
                    });
                }
            }
            FreeKind::TrunkStop => {
                // The trunk can push outward on an arm that hangs beside it.
                let t = fig.pose(Segment::Thorax);
                let e = t.rotation.transpose() * (fig.pose(Segment::Forearm(Side::Right)).origin_m - t.origin_m);
                let k = body.stature_m / 1.75;
                let (_, elevation, _) = shoulder_angles(&f.posture.right.shoulder);
                let near = ((0.30 * k - e.z) / (0.05 * k)).clamp(0.0, 1.0)
                    * ((-0.10 * k - e.y) / (0.05 * k)).clamp(0.0, 1.0)
                    * ((0.20 * k - (e.x + 0.06 * k).abs()) / (0.05 * k)).clamp(0.0, 1.0)
                    * ((rad(60.0) - elevation) / rad(10.0)).clamp(0.0, 1.0);
                let seg = Segment::Humerus(Side::Right);
                let x = fig.at(seg, &V3::new(0.0, -0.6 * body.upper_arm_m, 0.0));
                f.free.push(Free {
                    tag: "trunk holds the arm",
                    action: FreeAction::Wrenches(vec![(seg, x, t.turn(&V3::z()), zero)]),
                    span: FreeSpan::Absolute { low: 0.0, high: half * near },
                    cost: 1e-5,
                    rebalance: false,
                    contact_choice: false,
                });
            }
        }
    }
}
