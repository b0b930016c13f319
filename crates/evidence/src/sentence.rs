//! A study in one sentence that a client understands.

use crate::study::{Call, Class, Contrast, Study};

/// The strongest finding, or what was measured where nothing is claimed.
pub fn sentence(s: &Study) -> String {
    let who = s.head.participants.split('(').next().unwrap_or("").trim().trim_end_matches(',');
    let long = if s.weeks > 0.0 { format!("over {} weeks", number(s.weeks)) } else { "in one session".into() };
    let rank = |c: &&Contrast| match (c.class, c.right.is_some()) {
        (Class::Significant, _) => 0,
        (Class::NoGrowth, _) => 1,
        (Class::Null, _) => 2,
        _ => 3,
    };
    let Some(best) = s.contrasts.iter().min_by_key(rank) else {
        let with = words(s.conditions.first().map_or("", |c| c.id.as_str()));
        return format!("{}, {long}: the growth of muscles with {with} was measured.", capital(who));
    };
    let muscle = |c: &Contrast| words(&c.left.muscle.name);
    let condition = |i: usize| words(&s.conditions[i].id);
    let left = condition(best.left.condition);
    let told = match (&best.right, best.expected) {
        (None, _) => format!("the {} did not grow with {left}", muscle(best)),
        (Some(r), Call::Equal) if r.condition == best.left.condition => {
            format!("with {left} the {} and the {} grew about as much", muscle(best), words(&r.muscle.name))
        }
        (Some(r), Call::Equal) => {
            format!("the {} grew about as much with {left} as with {}", muscle(best), condition(r.condition))
        }
        (Some(r), _) if r.condition == best.left.condition => {
            format!("with {left} the {} grew more than the {}", muscle(best), words(&r.muscle.name))
        }
        (Some(r), _) => format!("the {} grew more with {left} than with {}", muscle(best), condition(r.condition)),
    };
    format!("{}, {long}: {told}.", capital(who))
}

fn words(id: &str) -> String {
    id.replace('-', " ")
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or(String::new(), |c| c.to_uppercase().chain(chars).collect())
}

fn number(v: f64) -> String {
    if v.fract() == 0.0 { format!("{v:.0}") } else { format!("{v:.1}") }
}
