//! A study turned into what a coach reads: heads, notes, drawing data.

use super::*;
use crate::repeats::without_repeats;
use anatomy::skeleton::Side;
use answer::{MomentCurve, Scene, SceneFrame};
use movement::catalogue::LoadBand;
use movement::rep::{AppliedForce, RepFrame};

impl Library {
    /// What a movement trains.
    ///
    /// # Errors
    /// As [`Library::study`].
    pub fn look(&self, ask: &Ask) -> Result<Look, AskError> {
        let s = self.study(ask, &Widths::default())?;
        Ok(self.look_of(&s, ask))
    }

    pub(super) fn convention(&self, id: &str) -> BTreeMap<String, f64> {
        self.catalogue.convention(id).unwrap_or_default().into_iter().collect()
    }

    pub(crate) fn look_of(&self, s: &Study, ask: &Ask) -> Look {
        let convention = self.convention(&s.resolved.id);
        let mut heads = Vec::new();
        for (h, head) in self.tables.heads.iter().enumerate() {
            let direct = convention.get(&head.id).copied().unwrap_or(0.0);
            let (Some(lengths), Some(seen)) = (&s.lengths[h], &s.shown.heads[h]) else {
                if direct > 0.0 {
                    heads.push(self.unsolved_head(h, direct));
                }
                continue;
            };
            let stimulus = s.stimulus[h];
            let credit = self.credit_of(stimulus, direct);
            let mut marks = Vec::new();
            if head.confidence_low {
                marks.push(answer::LOW_CONFIDENCE.to_string());
            }
            if self.is_cuff(&head.id) {
                marks.push(answer::TWO_CLASSES.to_string());
            }
            if s.uncapped[h] > self.rules.stimulus_cap {
                marks.push(format!("exceeds its reference movement ({:.2})", s.uncapped[h]));
            }
            let ranges = head_ranges(seen);
            let by_joint = ranges.by_joint_mm.iter().map(|(j, r)| (j.clone(), r.mid)).collect();
            heads.push(HeadLook {
                id: head.id.clone(),
                plain: head.plain.clone(),
                group: self.group_of[h].clone(),
                class: self.rules.class(stimulus.mid, self.is_cuff(&head.id)),
                stimulus,
                length: Span { min: seen.length_min.mid, max: seen.length_max.mid },
                length_change_mm: LengthChange { total: ranges.length_change_mm.mid, by_joint },
                opposition: seen.opposition.mid,
                credit,
                long_share: seen.long_share.mid,
                activation: seen.activation.mid,
                force_n: seen.force_n.mid,
                ranges,
                marks,
                range_sources: s.sources.get(h).map_or_else(BTreeMap::new, |list| {
                    list.iter().filter(|(_, w)| *w > 0.0).map(|(q, w)| (q.id().to_string(), *w)).collect()
                }),
                ribbon: ask.scene.then(|| Ribbon {
                    total_mm: lengths.total_m.iter().map(|v| v * 1e3).collect(),
                    by_joint_mm: joint_series(lengths),
                }),
            });
        }
        heads.sort_by(|a, b| b.stimulus.mid.total_cmp(&a.stimulus.mid).then(a.id.cmp(&b.id)));
        let range_note = range_note(&s.sources, &s.stimulus, self.rules.class_some);
        let shown = &s.shown;
        let moments = shown
            .moments
            .iter()
            .map(|m| MomentLook {
                axis: m.axis.into(),
                peak_nm: m.peak_nm.mid,
                mean_nm: m.mean_nm.mid,
                peak_phase: m.peak_phase.mid,
                ranges: MomentRanges { peak_nm: m.peak_nm, mean_nm: m.mean_nm, peak_phase: m.peak_phase },
            })
            .collect();
        let contact_forces: BTreeMap<String, Range> =
            shown.contact_bw.iter().map(|(j, r)| (j.id().to_string(), *r)).collect();
        let named = self.catalogue.movement(&s.resolved.id);
        let family = named.and_then(|m| self.family(&m.family).ok());
        let mut cautions: Vec<String> = named.map(|m| m.cautions.clone()).unwrap_or_default();
        if let Some(f) = family {
            cautions.extend(f.file.safety.cautions.iter().cloned());
        }
        let one_sided = named.is_some_and(|m| m.sides != Sides::Bilateral);
        let on_a_leg = [Joint::Hip, Joint::Knee, Joint::Ankle].iter().any(|j| s.rep.balanced.contains(j));
        let mut notes = s.resolved.notes.clone();
        notes.extend(s.rep.notes.clone());
        notes.extend(self.fit_notes(s));
        Look {
            schema: "lengthwise.look/1".into(),
            movement: s.resolved.id.clone(),
            name: s.resolved.name.clone(),
            read_as: s.resolved.read_as.clone(),
            settings: self.shown_settings(&s.resolved),
            body: BodyNote {
                who: ask.person.who.clone(),
                sex: if ask.person.female { "female".into() } else { "male".into() },
                stature_m: s.body.stature_m,
                mass_kg: s.body.mass_kg,
            },
            limiting_joint: s.solved.load.ended_by().into(),
            sticking_phase: shown.sticking_phase.mid,
            load_kg: shown.load.mid,
            load_range: shown.load,
            load_unit: s.rep.load.unit.clone(),
            residual_nm: shown.residual_nm.mid,
            load_note: self.load_note(s),
            contact_forces: contact_forces.iter().map(|(j, r)| (j.clone(), r.mid)).collect(),
            ranges: LookRanges { sticking_phase: shown.sticking_phase, residual_nm: shown.residual_nm, contact_forces },
            one_leg: one_sided && on_a_leg,
            heads,
            moments,
            cautions: without_repeats(cautions),
            stop_signs: without_repeats(family.map(|f| f.file.safety.stop_signs.clone()).unwrap_or_default()),
            notes,
            range_note,
            trials: Vec::new(),
            scene: ask.scene.then(|| self.scene_of(s, shown.load.mid)),
        }
    }

    /// Settings that the family file reads, the tempo, and whatever the coach set himself.
    pub(crate) fn shown_settings(&self, r: &Resolved) -> Settings {
        let text = self.catalogue.movement(&r.id).and_then(|m| self.family(&m.family).ok()).map(|f| f.text.as_str());
        let uses = |key: &str| text.is_none_or(|t| names_key(t, key));
        r.settings
            .iter()
            .filter(|(k, _)| r.set.contains(*k) || k.as_str() == "tempo_up_s" || uses(k))
            .map(|(k, v)| (k.clone(), v.clone()))
            .collect()
    }

    /// Whether the family file of a movement reads a setting; the tempo is read by every family.
    ///
    /// # Errors
    /// An unknown movement, a family that is not written.
    pub fn reads(&self, movement: &str, key: &str) -> Result<bool, AskError> {
        let named = self.named(movement)?;
        Ok(key == "tempo_up_s" || names_key(&self.family(&named.family)?.text, key))
    }

    pub(crate) fn is_cuff(&self, id: &str) -> bool {
        matches!(id, "supraspinatus" | "infraspinatus" | "teres-minor" | "subscapularis")
    }

    pub(super) fn credit_of(&self, stimulus: Range, convention: f64) -> Credit {
        let mechanics = self.rules.credit_range(stimulus);
        Credit { mechanics, convention, trials: None, pooled: self.rules.pooled(mechanics, convention) }
    }

    /// A head that the convention names although the mechanics does not balance its joint here.
    pub(super) fn unsolved_head(&self, h: usize, convention: f64) -> HeadLook {
        let head = &self.tables.heads[h];
        let zero = Range::point(0.0);
        HeadLook {
            id: head.id.clone(),
            plain: head.plain.clone(),
            group: self.group_of[h].clone(),
            class: Class::Little,
            stimulus: zero,
            length: Span::default(),
            length_change_mm: LengthChange::default(),
            opposition: 0.0,
            credit: self.credit_of(zero, convention),
            long_share: 0.0,
            activation: 0.0,
            force_n: 0.0,
            ranges: HeadRanges::default(),
            marks: head
                .confidence_low
                .then(|| answer::LOW_CONFIDENCE.to_string())
                .into_iter()
                .chain(["its joint is supported or held here: convention only".to_string()])
                .collect(),
            range_sources: BTreeMap::new(),
            ribbon: None,
        }
    }

    pub(super) fn fit_notes(&self, s: &Study) -> Vec<String> {
        let mut out = Vec::new();
        let by = |value: fn(&movement::rep::RepFrame) -> f64| {
            s.rep.frames.iter().max_by(|a, b| value(a).total_cmp(&value(b)))
        };
        if let Some(f) = by(|f| f.miss_m).filter(|f| f.miss_m > 0.01) {
            out.push(format!(
                "Out of reach for this body: the {} is missed by {:.0} mm at phase {:.2}.",
                s.plan.requirement(f.miss_m_of),
                f.miss_m * 1e3,
                f.phase
            ));
        }
        if let Some(f) = by(|f| f.miss_rad).filter(|f| f.miss_rad > 0.12) {
            out.push(format!(
                "Not met in this body: the {} is off by {:.0} degrees at phase {:.2}.",
                s.plan.requirement(f.miss_rad_of),
                f.miss_rad.to_degrees(),
                f.phase
            ));
        }
        if !s.solved.load.impossible.is_empty() {
            out.push(format!(
                "In {} of {} frames the muscles of the tables cannot hold the body itself.",
                s.solved.load.impossible.len(),
                s.rep.frames.len()
            ));
        }
        if s.solved.load.unlimited {
            out.push("No muscle limits this movement: its load says nothing.".into());
        }
        out
    }

    /// Compare the load with what coaches see (load bands of trained people).
    pub(super) fn load_note(&self, s: &Study) -> String {
        let load = s.solved.load.load;
        // A band holds for the settings it names; of several the one that names most.
        let holds = |b: &&LoadBand| {
            b.movement == s.resolved.id && b.settings.iter().all(|(k, v)| s.resolved.settings.get(k) == Some(v))
        };
        let Some(b) = self.catalogue.load_bands.iter().filter(holds).max_by_key(|b| b.settings.len()) else {
            return String::new();
        };
        if load < b.low || load > b.high {
            let side = if load < b.low { "below" } else { "above" };
            return format!(
                "The computed load of {load:.1} {} is {side} the band of {}–{} {} ({}): trust the order of heads more than \
                 the load.",
                s.rep.load.unit, b.low, b.high, b.unit, b.who
            );
        }
        String::new()
    }

    pub(crate) fn scene_of(&self, s: &Study, load: f64) -> answer::Scene {
        let mut sc = scene(&s.plan, &s.rep, &s.body);
        sc.hardest_frame = s.solved.load.sticking;
        let joints: Vec<(Joint, &str)> = [
            (Joint::Hip, "hip-right"),
            (Joint::Knee, "knee-right"),
            (Joint::Shoulder, "shoulder-right"),
            (Joint::Elbow, "elbow-right"),
        ]
        .into_iter()
        .filter(|(j, _)| s.rep.balanced.contains(j))
        .collect();
        let side = levers(s, load, &sc, &joints, |v| V3::new(v.x, v.y, 0.0), |_| true);
        let right = |g: &AppliedForce| g.on.side() == Some(Side::Right);
        let front = levers(s, load, &sc, &joints, |v| V3::new(0.0, v.y, v.z), right);
        for k in 0..joints.len() {
            let longest = |l: &[Vec<Option<Lever>>]| {
                l.iter().filter_map(|f| f[k].as_ref()).map(|l| l.length_m).fold(0.0, f64::max)
            };
            // A lift sideways is told by its lever from the front, all others by the one from the side.
            let sideways = longest(&front) > 1.3 * longest(&side);
            let from = if sideways { &front } else { &side };
            for (f, out) in from.iter().zip(&mut sc.frames) {
                out.levers.extend(f[k].clone());
            }
        }
        sc.capacity = s.solved.load.capacity.clone();
        sc.moments = moment_curves(s, load);
        for (f, out) in s.rep.frames.iter().zip(&mut sc.frames) {
            out.centre_of_mass = Some(centre_of_mass(f, &s.body).into());
            out.forces.extend(f.forces.iter().map(|g| ForceArrow {
                at: g.at_m.into(),
                force_n: (g.constant_n + g.per_load_n * load).into(),
                what: "load".into(),
            }));
        }
        sc
    }
}

/// Whether a family file names a setting as a whole word.
fn names_key(text: &str, key: &str) -> bool {
    let edge = |c: Option<char>| c.is_none_or(|c| !c.is_ascii_alphanumeric() && c != '_');
    text.match_indices(key)
        .any(|(i, _)| edge(text[..i].chars().next_back()) && edge(text[i + key.len()..].chars().next()))
}

/// Which sources make the ranges of the heads that get something: parts of the summed variance.
fn range_note(sources: &[Vec<(Source, f64)>], stimulus: &[Range], shown_from: f64) -> String {
    let mut parts: Vec<(Source, f64)> = Vec::new();
    for list in sources.iter().zip(stimulus).filter(|(_, s)| s.mid >= shown_from).map(|(l, _)| l) {
        for &(source, width) in list {
            match parts.iter_mut().find(|p| p.0 == source) {
                Some(p) => p.1 += width * width,
                None => parts.push((source, width * width)),
            }
        }
    }
    let all: f64 = parts.iter().map(|p| p.1).sum();
    if all <= 0.0 {
        return String::new();
    }
    parts.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    let words: Vec<String> = parts
        .iter()
        .take(3)
        .filter(|p| p.1 >= 0.05 * all)
        .map(|(source, v)| format!("{} ({:.0} %)", source.words(), 100.0 * v / all))
        .collect();
    format!("The ranges come from {}.", words.join(", then "))
}

/// Per frame and joint the lever arm of the chosen loads' resultant, seen along one axis (`flat` drops it).
fn levers(
    s: &Study,
    load: f64,
    sc: &Scene,
    joints: &[(Joint, &str)],
    flat: impl Fn(&V3) -> V3,
    chosen: impl Fn(&AppliedForce) -> bool,
) -> Vec<Vec<Option<Lever>>> {
    let lever = |f: &RepFrame, out: &SceneFrame, (joint, name): &(Joint, &str)| {
        let (mut sum, mut at, mut size) = (V3::zeros(), V3::zeros(), 0.0);
        for g in f.forces.iter().filter(|g| chosen(g)) {
            let force = g.constant_n + g.per_load_n * load;
            sum += force;
            at += g.at_m * force.norm();
            size += force.norm();
        }
        if size <= 1e-6 || sum.norm() <= 1e-6 {
            return None;
        }
        let p = V3::from(out.points.get(*name).copied()?);
        let line = flat(&(sum / sum.norm()));
        if line.norm() < 0.3 {
            return None;
        }
        let line = line.normalize();
        let to_load = flat(&(at / size - p));
        let foot = to_load - line * to_load.dot(&line);
        Some(Lever { joint: joint.id().into(), joint_at: p.into(), line_at: (p + foot).into(), length_m: foot.norm() })
    };
    let frames = s.rep.frames.iter().zip(&sc.frames);
    frames.map(|(f, out)| joints.iter().map(|j| lever(f, out, j)).collect()).collect()
}

fn head_ranges(h: &ShownHead<Range>) -> HeadRanges {
    HeadRanges {
        length_min: h.length_min,
        length_max: h.length_max,
        length_change_mm: h.change_m.times(1e3),
        by_joint_mm: h.change_by_joint_m.iter().map(|(j, r)| (j.id().to_string(), r.times(1e3))).collect(),
        opposition: h.opposition,
        long_share: h.long_share,
        activation: h.activation,
        force_n: h.force_n,
    }
}

fn joint_series(l: &HeadLengths) -> BTreeMap<String, Vec<f64>> {
    Joint::ALL
        .into_iter()
        .filter(|j| !l.by_joint_m[*j as usize].is_empty())
        .map(|j| (j.id().to_string(), l.by_joint_m[j as usize].iter().map(|v| v * 1e3).collect()))
        .collect()
}

/// Moments of the right side at a load over the lift, each named by the direction of its mean; those that never reach
/// 3 N·m are left out.
fn moment_curves(s: &Study, load: f64) -> Vec<MomentCurve> {
    let mut curves: Vec<MomentCurve> = Vec::new();
    for frame in 0..s.rep.frames.len() {
        for (axis, value) in stimulus::moments::frame_moments(&s.rep, &s.solved.prepared, frame, load) {
            let opposite = stimulus::moments::opposite_axis(axis);
            let (at, sign) = match curves.iter().position(|c| c.axis == axis) {
                Some(at) => (at, 1.0),
                None => match curves.iter().position(|c| Some(&c.axis) == opposite.as_ref()) {
                    Some(at) => (at, -1.0),
                    None => {
                        curves.push(MomentCurve { axis: axis.into(), moment_nm: vec![0.0; s.rep.frames.len()] });
                        (curves.len() - 1, 1.0)
                    }
                },
            };
            curves[at].moment_nm[frame] = sign * value;
        }
    }
    curves.retain(|c| c.moment_nm.iter().any(|v| v.abs() >= 3.0));
    for c in &mut curves {
        if c.moment_nm.iter().sum::<f64>() < 0.0 {
            c.axis = stimulus::moments::opposite_axis(&c.axis).unwrap_or_else(|| c.axis.clone());
            c.moment_nm.iter_mut().for_each(|v| *v = -*v);
        }
    }
    let peak = |c: &MomentCurve| c.moment_nm.iter().fold(0.0f64, |m, v| m.max(v.abs()));
    curves.sort_by(|a, b| peak(b).total_cmp(&peak(a)).then(a.axis.cmp(&b.axis)));
    curves
}

/// Centre of mass of the body alone, world, m.
fn centre_of_mass(f: &RepFrame, body: &Body) -> V3 {
    let (mut sum, mut mass_kg) = (V3::zeros(), 0.0);
    for s in anatomy::skeleton::Segment::ALL {
        let q = &body.inertia[s.index()];
        sum += f.figure.at(s, &q.com_m) * q.mass_kg;
        mass_kg += q.mass_kg;
    }
    sum / mass_kg.max(1e-9)
}
