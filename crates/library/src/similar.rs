//! Movements that do nearly the same to the heads, and those of them that spare a joint.

use crate::desk::Study;
use crate::{Ask, AskError, Library};
use anatomy::skeleton::{Joint, Posture};
use answer::{Look, Settings, Similar, SimilarRow, Spare, joint_word};
use movement::catalogue::Kit;
use rayon::prelude::*;
use stimulus::moments::net_axis_moments;
use stimulus::range::Widths;
use units::log_rotation;

/// What a joint may carry or turn at most to count as spared: this part of what it does in the movement asked for.
const SPARED: f64 = 0.5;
/// A joint that turns half as far may carry this part.
const SPARED_BY_RANGE: f64 = 0.75;
/// A joint that is held turns less than this, degrees.
const HELD_DEG: f64 = 15.0;
/// Differences of credit below this are not worth a word.
const WORTH_A_WORD: f64 = 0.1;
/// Nearer than this is nearly the same.
const NEAR: f64 = 0.1;

/// A place to be spared: as asked, its joint, and words of cautions that mean it.
pub struct Sparing<'a> {
    pub place: &'a str,
    pub joint: Joint,
    pub words: Vec<String>,
}

impl Sparing<'_> {
    /// `None` where there is no such joint.
    pub fn new<'a>(place: &'a str, joint: &str, words: Vec<String>) -> Option<Sparing<'a>> {
        Some(Sparing { place, joint: Joint::from_name(joint)?, words })
    }
}

/// A solved movement: what each head gets, and what the joint asked for does.
struct Done {
    look: Look,
    credit: Vec<f64>,
    joint: Option<Carried>,
}

/// What a joint does over the lift.
#[derive(Clone, Copy)]
struct Carried {
    /// Largest moment of the muscles, N·m; `None` where the mechanics holds or supports the joint.
    moment_nm: Option<f64>,
    turn_deg: f64,
}

impl Library {
    /// The nearest movements by credit of the mechanics, middle values:
    /// d = Σ V·|a − b| / Σ V·max(a, b) over all heads, V the head's volume, a and b its credits in both movements: 0 the
    /// same, 1 no head in common.
    ///
    /// # Errors
    /// As [`Library::study`] for the movement asked for.
    pub fn similar(
        &self,
        ask: &Ask,
        kit: Option<&Kit>,
        spare: Option<&Sparing>,
        n: usize,
    ) -> Result<Similar, AskError> {
        let ask = Ask { scene: false, draws: 0, ..ask.clone() };
        let own = self.done(&ask, spare)?;
        let others: Vec<&str> = self.checked.iter().map(String::as_str).filter(|id| *id != own.look.movement).collect();
        let in_kit =
            |id: &&str| kit.is_none_or(|k| self.catalogue.movement(id).is_some_and(|m| k.allows(&m.equipment)));
        let wanted: Vec<&str> = others.iter().copied().filter(|id| in_kit(id)).collect();
        let solved: Vec<(&str, Result<Done, AskError>)> = wanted
            .par_iter()
            .map(|id| {
                (*id, self.done(&Ask { movement: id.to_string(), settings: Settings::new(), ..ask.clone() }, spare))
            })
            .collect();
        let (mut rows, mut left_out, mut not_sparing) = (Vec::new(), Vec::new(), 0);
        for (id, done) in solved {
            let done = match done {
                Ok(d) => d,
                Err(e) => {
                    left_out.push(format!("{id}: {e}"));
                    continue;
                }
            };
            let avoids = match spare {
                None => String::new(),
                Some(s) => match spares(s, &own, &done) {
                    Some(text) => text,
                    None => {
                        not_sparing += 1;
                        continue;
                    }
                },
            };
            let distance = self.distance(&own.credit, &done.credit);
            rows.push(SimilarRow {
                movement: done.look.movement.clone(),
                name: done.look.name.clone(),
                equipment: self.catalogue.movement(id).map(|m| m.equipment.clone()).unwrap_or_default(),
                distance,
                difference: self.difference(&own.credit, &done.credit, distance),
                avoids,
                cautions: done.look.cautions,
            });
        }
        rows.sort_by(|a, b| a.distance.total_cmp(&b.distance).then(a.movement.cmp(&b.movement)));
        rows.truncate(n);
        Ok(Similar {
            schema: "lengthwise.similar/1".into(),
            movement: own.look.movement,
            name: own.look.name,
            read_as: own.look.read_as,
            body: own.look.body,
            kit: kit.map(|k| k.name.clone()),
            spare: spare.zip(own.joint).map(|(s, c)| Spare {
                place: s.place.into(),
                joint: s.joint.id().into(),
                moment_nm: c.moment_nm.unwrap_or(0.0),
                turn_deg: c.turn_deg,
            }),
            rows,
            compared: others.len(),
            not_in_kit: others.len() - wanted.len(),
            not_sparing,
            left_out,
        })
    }

    fn done(&self, ask: &Ask, spare: Option<&Sparing>) -> Result<Done, AskError> {
        let study = self.study(ask, &Widths::NONE)?;
        if study.solved.load.unlimited {
            return Err(AskError::Problem("no muscle limits it, so its load says nothing".into()));
        }
        let look = self.look_of(&study, ask);
        let credit = study.stimulus.iter().map(|s| self.rules.credit(s.mid)).collect();
        Ok(Done { look, credit, joint: spare.map(|s| carried(&study, s.joint)) })
    }

    /// How far two movements are from each other, by the credits they give the heads: see [`Library::similar`].
    pub fn distance(&self, a: &[f64], b: &[f64]) -> f64 {
        let volumes = self.tables.heads.iter().map(|h| h.volume_cm3);
        let (apart, all) = volumes
            .zip(a.iter().zip(b))
            .fold((0.0, 0.0), |(apart, all), (v, (x, y))| (apart + v * (x - y).abs(), all + v * x.max(*y)));
        if all > 0.0 { apart / all } else { 1.0 }
    }

    /// The two heads with the largest gain and loss, weighted by volume.
    fn difference(&self, a: &[f64], b: &[f64], distance: f64) -> String {
        let weight = |h: usize| (b[h] - a[h]) * self.tables.heads[h].volume_cm3;
        let worth = |h: &usize| (b[*h] - a[*h]).abs() >= WORTH_A_WORD;
        let order = |p: &usize, q: &usize| weight(*p).total_cmp(&weight(*q)).then(q.cmp(p));
        let heads = || (0..a.len()).filter(worth);
        let said = |h: usize| format!("{} ({:.1} of a set, not {:.1})", self.tables.heads[h].plain, b[h], a[h]);
        let more = heads().max_by(order).filter(|h| weight(*h) > 0.0).map(|h| format!("more for {}", said(h)));
        let less = heads().min_by(order).filter(|h| weight(*h) < 0.0).map(|h| format!("less for {}", said(h)));
        let parts: Vec<String> = [more, less].into_iter().flatten().collect();
        match parts.is_empty() {
            true if distance < NEAR => "does nearly the same to every head".into(),
            true => "differs a little in many heads".into(),
            false => parts.join(", "),
        }
    }
}

/// What a joint carries and how far it turns.
fn carried(s: &Study, joint: Joint) -> Carried {
    let load = s.solved.load.load;
    let prefix = format!("{}.", joint.id());
    let moments = net_axis_moments(&s.rep, &s.solved.prepared, &s.solved.shares, load);
    let own: Vec<&Vec<f64>> = moments.iter().filter(|m| m.axis.starts_with(&prefix)).map(|m| &m.values_nm).collect();
    let size = |t: usize| own.iter().map(|v| v[t] * v[t]).sum::<f64>().sqrt();
    let moment_nm = (!own.is_empty()).then(|| (0..s.rep.frames.len()).map(size).fold(0.0, f64::max));
    let first = &s.rep.frames[0].posture;
    let turn = s.rep.frames.iter().map(|f| turned_rad(joint, first, &f.posture)).fold(0.0, f64::max);
    Carried { moment_nm, turn_deg: turn.to_degrees() }
}

/// Angle between two postures of the right side's joint, rad.
fn turned_rad(joint: Joint, p: &Posture, q: &Posture) -> f64 {
    let ball = |a: &units::M3, b: &units::M3| log_rotation(&(b * a.transpose())).norm();
    let (l, m) = (&p.right, &q.right);
    match joint {
        Joint::Hip => ball(&l.hip, &m.hip),
        Joint::Shoulder => ball(&l.shoulder, &m.shoulder),
        Joint::Lumbar => ball(&p.lumbar, &q.lumbar),
        Joint::Neck => ball(&p.neck, &q.neck),
        Joint::Knee => (l.knee_flexion_rad - m.knee_flexion_rad).abs(),
        Joint::Ankle => (l.ankle_plantarflexion_rad - m.ankle_plantarflexion_rad).abs(),
        Joint::Elbow => (l.elbow_flexion_rad - m.elbow_flexion_rad).abs(),
        Joint::Forearm => (l.forearm_pronation_rad - m.forearm_pronation_rad).abs(),
        Joint::Wrist => (l.wrist_flexion_rad - m.wrist_flexion_rad).abs(),
        Joint::Girdle => {
            let (g, h) = (&l.girdle, &m.girdle);
            let d = [
                g.elevation_rad - h.elevation_rad,
                g.protraction_rad - h.protraction_rad,
                g.upward_rotation_rad - h.upward_rotation_rad,
            ];
            d.iter().fold(0.0, |a, v| a.max(v.abs()))
        }
    }
}

/// What a movement avoids at the joint; `None` where it does not spare it, or nothing is known.
fn spares(s: &Sparing, own: &Done, other: &Done) -> Option<String> {
    let warned = other.look.cautions.iter().any(|c| {
        let c = c.to_lowercase();
        s.words.iter().any(|w| c.contains(w.as_str()))
    });
    let (a, b) = (own.joint?, other.joint?);
    if warned {
        return None;
    }
    let joint = joint_word(s.joint.id());
    let turns = format!("turns {:.0} degrees, not {:.0}", b.turn_deg, a.turn_deg);
    match (a.moment_nm, b.moment_nm) {
        (Some(x), Some(y)) if y <= SPARED * x || (b.turn_deg <= SPARED * a.turn_deg && y <= SPARED_BY_RANGE * x) => {
            Some(format!("the {joint} carries {y:.0} N·m at most, not {x:.0}, and {turns}"))
        }
        // A trunk that stands still may carry much: what the mechanics does not work out is not called spared.
        (_, None) if !matches!(s.joint, Joint::Lumbar | Joint::Neck) && b.turn_deg <= HELD_DEG => {
            Some(format!("the {joint} is held or supported and {turns}"))
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_distance_runs_from_nought_to_one() {
        let lib = Library::embedded().expect("the shipped data");
        let n = lib.tables.heads.len();
        let one = |h: usize, v: f64| (0..n).map(|i| if i == h { v } else { 0.0 }).collect::<Vec<f64>>();
        let check = |a: &[f64], b: &[f64], want: f64| {
            assert!((lib.distance(a, b) - want).abs() < 1e-12, "{want}");
            assert!((lib.distance(b, a) - want).abs() < 1e-12, "{want} the other way");
        };
        check(&one(0, 0.8), &one(0, 0.8), 0.0);
        check(&one(0, 0.8), &one(0, 0.4), 0.5);
        check(&one(0, 0.8), &one(1, 0.8), 1.0);
        check(&one(0, 0.0), &one(1, 0.0), 1.0);
    }
}
