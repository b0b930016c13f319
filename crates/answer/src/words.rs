//! Words and rules that every renderer shares, so that text, figure and page say the same.

use crate::{Compare, HeadDifference, HeadLook};

/// Mark of heads whose joints (shoulder blade, neck) or lever arms (rotator cuff) are known too little to lead a finding.
pub const LOW_CONFIDENCE: &str = "low confidence";
/// Mark of heads whose stimulus is only sorted into "little" and "some".
pub const TWO_CLASSES: &str = "two classes only";
/// A movement is known for a head from this convention credit on.
pub const KNOWN_FROM: f64 = 0.5;
/// Smallest change of a head's stimulus that can matter in a comparison.
pub const MATTERS_FROM: f64 = 0.1;

/// A joint as a coach says it; what is no joint's id stays as it is.
pub fn joint_word(id: &str) -> &str {
    match id {
        "lumbar" => "lower back",
        "girdle" => "shoulder blade",
        "forearm" => "forearm turn",
        other => other,
    }
}

/// A relative change within this counts as no change in statements about technique (the table says "about 5 %").
pub const SAME_WITHIN: f64 = 0.05;

/// up, down or same, of two numbers of one kind: same within [`SAME_WITHIN`] of the larger one, and below `floor`.
pub fn direction(before: f64, after: f64, floor: f64) -> &'static str {
    let change = after - before;
    if change.abs() <= floor || change.abs() <= SAME_WITHIN * before.abs().max(after.abs()) {
        "same"
    } else if change > 0.0 {
        "up"
    } else {
        "down"
    }
}

fn marked(marks: &[String]) -> bool {
    marks.iter().any(|m| m == LOW_CONFIDENCE)
}

impl HeadLook {
    pub fn low_confidence(&self) -> bool {
        marked(&self.marks)
    }
    /// Marks of the head itself, not of what it does in one movement.
    pub fn own_marks(&self) -> Vec<String> {
        self.marks.iter().filter(|m| [LOW_CONFIDENCE, TWO_CLASSES].contains(&m.as_str())).cloned().collect()
    }
    /// Whether coaches count the movement for this head, wholly or by half.
    pub fn known(&self) -> bool {
        self.credit.convention >= KNOWN_FROM
    }
    /// Whether a finding may begin with this head.
    pub fn may_lead(&self) -> bool {
        self.known() || !self.low_confidence()
    }
    /// Whether the mechanics worked it out here: heads of a supported joint stand in the list by convention alone.
    pub fn worked_out(&self) -> bool {
        self.length.max > 0.0
    }
}

impl HeadDifference {
    pub fn low_confidence(&self) -> bool {
        marked(&self.marks)
    }
}

impl Compare {
    /// The difference that matters most among the heads that may lead a finding.
    pub fn leading(&self) -> Option<&HeadDifference> {
        let may_lead = |d: &HeadDifference| {
            !d.low_confidence() || self.looks.iter().any(|l| l.heads.iter().any(|h| h.id == d.id && h.known()))
        };
        let matter = self.differences.iter().filter(|d| d.matters && may_lead(d));
        matter.max_by(|a, b| a.change.abs().total_cmp(&b.change.abs()).then(b.id.cmp(&a.id)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_small_change_is_none() {
        let check = |before: f64, after: f64, want: &str| assert_eq!(direction(before, after, 0.02), want);
        check(1.0, 1.04, "same");
        check(1.0, 1.06, "up");
        check(-10.0, -12.0, "down");
        check(0.01, 0.025, "same");
        check(3.0, -1.0, "down");
    }

    #[test]
    fn joints_have_coachs_words() {
        assert_eq!(
            ["lumbar", "girdle", "knee", "own"].map(joint_word),
            ["lower back", "shoulder blade", "knee", "own"]
        );
    }
}
