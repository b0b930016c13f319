//! Rows of a plan that a flag concerns. In: the judged week, the week after the proposals, the gate; out: flags that name
//! the rows, so that a caution stands on top with its place and not at the end of a list of notes.

use crate::gaps::number;
use crate::rules::{Constants, Rules};
use crate::screening::{Gate, objections};
use crate::week::{Line, Plan, Table, place_of};
use answer::Flag;

/// Flags over the rows of a week.
pub(crate) fn flags(plan: &Plan, after: &Plan, table: &Table, gate: &Gate, rules: &Rules) -> Vec<Flag> {
    let mut out = Concerns::default();
    for line in &plan.lines {
        let movement = &table.movements[line.movement];
        let found = objections(movement, gate, rules);
        let name = if line.entry.day.is_empty() {
            movement.name.clone()
        } else {
            format!("{} on {}", movement.name, line.entry.day)
        };
        if let Some(why) = &found.leave_out {
            let stays = after.lines.iter().any(|l| l.day == line.day && l.movement == line.movement);
            let what = if stays {
                format!(
                    "still in the plan, though {why}; no replacement keeps enough of its work: less load, slower lowering, \
                     the pain-free range, another grip or stance; else leave it out"
                )
            } else {
                format!("{why}; a change is proposed")
            };
            out.add(line, &name, what);
        }
        found.not_new.iter().for_each(|why| out.add(line, &name, why.clone()));
        // "Stop short of failure" holds for every row; only those that break it are named.
        let general = format!("stop {:.0} or more repetitions short of failure", rules.constants.new_rir);
        found.cautions.iter().filter(|c| **c != general).for_each(|c| out.add(line, &name, c.clone()));
        if gate.no_failure()
            && let Some(why) = near_failure(line, &rules.constants)
        {
            out.add(line, &format!("{name} ({why})"), near_text(&rules.constants));
        }
        if gate.no_breath_hold()
            && let Some(why) = long_hold(line, &rules.constants)
        {
            out.add(
                line,
                &format!("{name} ({why})"),
                "long holds and carries raise pressure: shorter, lighter, breathing".into(),
            );
        }
    }
    out.flags()
}

fn near_text(c: &Constants) -> String {
    format!("at or near failure, where {:.0} or more in reserve are asked for", c.new_rir)
}

/// "RPE 9", "to failure", or nothing.
fn near_failure(line: &Line, c: &Constants) -> Option<String> {
    let rir = line.entry.rir.filter(|r| *r <= c.near_failure_rir)?;
    Some(if rir <= 0.0 {
        "to failure".into()
    } else {
        format!("RPE {}, {} in reserve", number(10.0 - rir), number(rir))
    })
}

fn long_hold(line: &Line, c: &Constants) -> Option<String> {
    let e = &line.entry;
    let most = e.reps_high.or(e.reps_low)?;
    match e.reps_unit.as_str() {
        "s" if most >= c.long_hold_s => Some(format!("{} s", number(most))),
        "m" => Some(format!("{} m", number(most))),
        _ => None,
    }
}

/// Rows by what is said of them, in the order of the plan.
#[derive(Default)]
struct Concerns(Vec<(String, Vec<String>, Vec<String>)>);

impl Concerns {
    fn add(&mut self, line: &Line, name: &str, what: String) {
        let (name, place) = (name.to_string(), place_of(&line.entry));
        match self.0.iter_mut().find(|(w, ..)| *w == what) {
            Some((_, names, places)) => {
                if !places.contains(&place) {
                    names.push(name);
                    places.push(place);
                }
            }
            None => self.0.push((what, vec![name], vec![place])),
        }
    }

    fn flags(self) -> Vec<Flag> {
        let flag = |(what, names, places): (String, Vec<String>, Vec<String>)| Flag {
            level: "caution".into(),
            place: places.join(", "),
            text: format!("{}: {what}", names.join(", ")),
            who_lifts: "coach, by changing the row or with the clearance above".into(),
            stop_signs: Vec::new(),
        };
        self.0.into_iter().map(flag).collect()
    }
}
