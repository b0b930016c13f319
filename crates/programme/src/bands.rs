//! Target bands. In: aim, client, share of new work; out: the band of credited sets a week with its reasons.
//!
//! Order of the changes: band of the aim for this person; a known past replaces the focus band; new work or a return
//! takes the lower half; an energy deficit multiplies. Under 18 counts as a beginner.

use crate::client::Client;
use crate::rules::{Aim, Rules};
use crate::week::HeadFacts;
use crate::{Date, head_title};
use answer::Band;

/// Rounding tolerance of a verdict: what prints as inside is inside.
const EDGE: f64 = 0.05;

/// `below`, `within` or `above`.
pub fn verdict(credited: f64, band: Band) -> &'static str {
    if credited < band.low - EDGE {
        "below"
    } else if credited > band.high + EDGE {
        "above"
    } else {
        "within"
    }
}

/// Verdict on a head or group of which nothing is asked.
pub const NO_AIM: &str = "no aim";

/// Whether a client's word means a head: by id, plain name or title.
pub(crate) fn names_head(word: &str, head: &HeadFacts) -> bool {
    let names = [&head.head, &head.plain, &head_title(&head.head)];
    names.iter().any(|name| word.eq_ignore_ascii_case(name))
}

/// The muscle of a head: "gluteus-medius-anterior-part" → "gluteus-medius".
fn muscle_of(head: &str) -> &str {
    let part = head.strip_suffix("-part").or_else(|| head.strip_suffix("-head"));
    part.and_then(|p| p.rsplit_once('-')).map_or(head, |(muscle, _)| muscle)
}

/// Whether a head's muscle is at least `share` of a coach group's volume. A muscle counts whole: cut into three parts it
/// is no smaller.
fn is_main(head: &HeadFacts, group: &str, heads: &[HeadFacts], share: f64) -> bool {
    let volume = |of: &dyn Fn(&HeadFacts) -> bool| -> f64 {
        let members = heads.iter().filter(|h| h.groups.iter().any(|g| g == group) && of(h));
        members.map(|h| crate::effort::tame(h.volume_cm3, 1e6)).sum()
    };
    volume(&|h| muscle_of(&h.head) == muscle_of(&head.head)) >= share * volume(&|_| true)
}

/// The client's view of aims and bands.
pub struct Targets<'a> {
    rules: &'a Rules,
    client: &'a Client,
    older: bool,
    beginner: bool,
}

impl<'a> Targets<'a> {
    pub fn new(rules: &'a Rules, client: &'a Client, today: Date) -> Targets<'a> {
        let age = client.age(today);
        let c = &rules.constants;
        Targets {
            rules,
            client,
            older: age.is_some_and(|a| a > c.older_years),
            beginner: client.training_years.is_some_and(|y| y < c.beginner_years) || age.is_some_and(|a| a < 18.0),
        }
    }

    /// Aim of a coach group.
    pub fn group_aim(&self, group: &str) -> Aim {
        let said = self.client.aims.iter().find(|(g, _)| self.means(g, group)).map(|(_, a)| *a);
        let usual = self.rules.groups.iter().find(|g| g.group == group).map(|g| g.aim).unwrap_or_default();
        // "rest" is said of what is usually trained: who wants a neck names it.
        let rest = || self.client.aims.iter().find(|(g, _)| g.eq_ignore_ascii_case("rest")).map(|(_, a)| *a);
        let aim = said.or_else(|| rest().filter(|_| usual > Aim::Leave)).unwrap_or(usual);
        self.at_most(aim)
    }

    /// While pregnant size is kept, not chased, whatever the wish (ACOG Opinion 804; the limit itself is practice).
    fn at_most(&self, aim: Aim) -> Aim {
        if self.client.pregnancy_weeks.is_some() { aim.min(Aim::Keep) } else { aim }
    }

    /// Aim of every head: its own when said, else the strongest of its groups. A group's aim is asked of its main muscles;
    /// those under `main_share` of the group's volume are at most kept.
    pub fn aims(&self, heads: &[HeadFacts]) -> Vec<Aim> {
        heads.iter().map(|h| self.head_aim(h, heads)).collect()
    }

    fn head_aim(&self, head: &HeadFacts, heads: &[HeadFacts]) -> Aim {
        let own = self.client.aims.iter().find(|(word, _)| names_head(word, head)).map(|(_, a)| *a);
        let of_group = |group: &String| match self.group_aim(group) {
            aim if is_main(head, group, heads, self.rules.constants.main_share) => aim,
            aim => aim.min(Aim::Keep),
        };
        own.map(|aim| self.at_most(aim)).or_else(|| head.groups.iter().map(of_group).max()).unwrap_or(Aim::Leave)
    }

    /// Words under `aims` and `past_sets` that name neither a group nor a head.
    pub fn unknown_names(&self, heads: &[HeadFacts]) -> Vec<String> {
        let known = |word: &str| {
            word.eq_ignore_ascii_case("rest")
                || self.rules.group_of(word).is_some()
                || heads.iter().any(|h| names_head(word, h))
        };
        let c = self.client;
        let said = c.aims.iter().map(|(w, _)| w).chain(c.past_sets.iter().map(|(w, _)| w));
        said.chain(c.bands.iter().map(|(w, _)| w)).filter(|w| !known(w)).cloned().collect()
    }

    fn means(&self, word: &str, group: &str) -> bool {
        word.eq_ignore_ascii_case(group) || self.rules.group_of(word) == Some(group)
    }

    /// Own past sets of a coach group or head.
    fn past(&self, head: Option<&HeadFacts>, groups: &[String]) -> Option<f64> {
        let of = |name: &str| self.client.past_sets.iter().find(|(w, _)| self.means(w, name)).map(|(_, s)| *s);
        head.and_then(|h| of(&h.head)).or_else(|| groups.iter().find_map(|g| of(g)))
    }

    /// Band of a coach group; `new_work`: most of its credit comes from movements in their first two weeks.
    pub fn group_band(&self, group: &str, new_work: bool) -> (Band, String) {
        let own = self.client.bands.iter().find(|(w, _)| self.means(w, group)).map(|(_, b)| *b);
        self.band(self.group_aim(group), own, self.past(None, &[group.to_string()]), new_work)
    }

    /// Band of a head with this aim.
    pub fn head_band(&self, head: &HeadFacts, aim: Aim, new_work: bool) -> (Band, String) {
        let said = &self.client.bands;
        let own = said.iter().find(|(w, _)| names_head(w, head)).or_else(|| {
            let of_group = |w: &str| head.groups.iter().any(|g| self.means(w, g));
            // A band of the group is asked of the heads that have the aim of the group.
            said.iter().find(|(w, _)| of_group(w)).filter(|(w, _)| {
                let group = head.groups.iter().find(|g| self.means(w, g));
                group.is_some_and(|g| self.group_aim(g) == aim)
            })
        });
        self.band(aim, own.map(|(_, b)| *b), self.past(Some(head), &head.groups), new_work)
    }

    /// Band of an aim, and where it comes from. Nothing is asked of `Leave`: its band is empty (0 to 0).
    pub fn band(&self, aim: Aim, own: Option<Band>, past_sets: Option<f64>, new_work: bool) -> (Band, String) {
        let c = &self.rules.constants;
        if aim == Aim::Leave {
            return (Band::default(), String::new());
        }
        if let Some(band) = own {
            return (band, "set by the coach".into());
        }
        let who = match aim {
            Aim::Keep if self.older => "older",
            Aim::Keep => "adult",
            _ if self.beginner => "beginner",
            _ => "adult",
        };
        let find = |who: &str| self.rules.bands.iter().find(|b| b.aim == aim && b.who == who);
        let row = find(who).or_else(|| find("adult"));
        let mut band = row.map_or(Band::default(), |r| r.band);
        let mut basis = row.map_or(String::new(), |r| format!("{}, {}: {} ({})", aim.word(), r.who, r.source, r.how));
        if let (Aim::Focus, Some(past)) = (aim, past_sets.filter(|p| p.is_finite() && *p > 0.0)) {
            // Nobody chases a fifth more sets while eating less than is spent: the cut below starts from the past itself.
            let factor = if self.client.energy_deficit { 1.0 } else { c.past_factor };
            let mid = (past * factor).max(c.past_floor + c.past_half_width);
            band = Band { low: mid - c.past_half_width, high: mid + c.past_half_width };
            basis =
                format!("own {past:.0} sets × {factor} ± {:.0}: VOL-19 (trial; width own estimate)", c.past_half_width);
        }
        if new_work || self.client.returning {
            band.high = 0.5 * (band.low + band.high);
            let why = if self.client.returning { "back after a break" } else { "new work" };
            basis.push_str(&format!("; {why}: lower half (common practice)"));
        }
        if self.client.energy_deficit {
            band = Band { low: band.low * c.deficit_low, high: band.high * c.deficit_high };
            basis.push_str(&format!("; energy deficit × {}–{} (common practice)", c.deficit_low, c.deficit_high));
        }
        (band, basis)
    }

    /// Notes on why the bands are what they are.
    pub fn notes(&self) -> Vec<String> {
        let c = &self.rules.constants;
        let mut out = Vec::new();
        if self.beginner {
            out.push("Bands of a beginner: growth starts with fewer sets (VOL-08; own estimate).".into());
        }
        if self.older {
            out.push("Over 60: the band to keep size is 3–5 (MNT-01).".into());
        }
        if !self.client.past_sets.is_empty() {
            out.push(format!(
                "Focus bands follow the own past × {} ± {:.0} where it is known (VOL-19).",
                c.past_factor, c.past_half_width
            ));
        }
        if self.client.pregnancy_weeks.is_some() {
            out.push(
                "Pregnant: every aim is to keep at most (ACOG Opinion 804; the limit itself is common practice)."
                    .into(),
            );
        }
        if self.client.returning {
            out.push("Back after a break: lower half of every band for two weeks (common practice).".into());
        }
        if self.client.energy_deficit {
            out.push("Energy deficit: bands × 0.7–0.8, load kept (NUT-01, NUT-02; factor is common practice).".into());
        }
        out
    }
}
