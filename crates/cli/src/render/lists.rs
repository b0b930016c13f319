//! Text of `muscles` and `movements`.

use super::table::{Row, numbers, table, whole, words};
use super::text::{Page, many, number};
use answer::{MovementRow, MuscleRow};

/// Heads by coach group.
pub fn muscles(rows: &[MuscleRow]) -> String {
    let mut page = Page::default();
    page.line(&many(rows.len(), "muscle head", "muscle heads"));
    let mut groups: Vec<&str> = Vec::new();
    for row in rows {
        if !groups.contains(&row.group.as_str()) {
            groups.push(&row.group);
        }
    }
    let cells = |r: &MuscleRow| {
        let joints = r.joints.join(", ") + if r.two_joint { " (two-joint)" } else { "" };
        Row {
            cells: vec![r.plain.clone(), r.id.clone(), joints, number(r.volume_cm3, 0)],
            below: vec![r.latin.clone()],
        }
    };
    let cols = [words("Head"), whole("Id"), words("Crosses"), numbers("cm³")];
    for group in groups {
        page.gap();
        page.line(if group.is_empty() { "Other" } else { group });
        page.lines(&table(&cols, &rows.iter().filter(|r| r.group == group).map(cells).collect::<Vec<Row>>()));
    }
    page.text
}

/// Movements by family.
pub fn movements(rows: &[MovementRow]) -> String {
    let mut page = Page::default();
    if rows.is_empty() {
        page.prose("No movement fits. Try fewer conditions, or part of a word with --find.");
        return page.text;
    }
    page.line(&many(rows.len(), "movement", "movements"));
    let mut families: Vec<&str> = rows.iter().map(|r| r.family.as_str()).collect();
    families.sort_unstable();
    families.dedup();
    let cols = [words("Movement"), whole("Id"), words("Needs")];
    for family in families {
        page.gap();
        page.line(family);
        let of = rows.iter().filter(|r| r.family == family);
        let cells = |r: &MovementRow| Row::new(vec![r.name.clone(), r.id.clone(), r.equipment.join(", ")]);
        page.lines(&table(&cols, &of.map(cells).collect::<Vec<Row>>()));
    }
    page.text
}

#[cfg(test)]
mod tests {
    use super::*;
    use desk::invented;

    #[test]
    fn heads_stand_under_their_group() {
        insta::assert_snapshot!(muscles(&invented::muscles()));
    }

    #[test]
    fn movements_stand_under_their_family() {
        insta::assert_snapshot!(movements(&invented::movements()));
        assert!(movements(&[]).contains("No movement fits"));
    }
}
