//! Lists without repeats: what one item says another one need not say again.

/// Words that carry nothing by themselves.
const FILLERS: [&str; 9] = ["a", "an", "and", "at", "in", "of", "or", "the", "to"];

/// The words that carry meaning, in the singular: "spotter or safeties" gives spotter, safety.
fn content(text: &str) -> Vec<String> {
    let words = text.split(|c: char| !c.is_alphanumeric()).map(str::to_lowercase);
    let singular = |w: String| match (w.strip_suffix("ies"), w.strip_suffix('s')) {
        (Some(stem), _) if stem.len() > 2 => format!("{stem}y"),
        (None, Some(stem)) if stem.len() > 2 && !stem.ends_with('s') => stem.to_string(),
        _ => w,
    };
    words.filter(|w| !w.is_empty() && !FILLERS.contains(&w.as_str())).map(singular).collect()
}

/// Drops every item whose words all stand in another one; of two that say the same the longer stays, else the first.
pub fn without_repeats(items: Vec<String>) -> Vec<String> {
    let words: Vec<Vec<String>> = items.iter().map(|i| content(i)).collect();
    // A single word ("hip") may mean something else in the middle of another item.
    let alone = |a: usize, b: usize| words[a].len() > 1 || words[a].first() == words[b].first();
    let within = |a: usize, b: usize| alone(a, b) && words[a].iter().all(|w| words[b].contains(w));
    let fuller = |a: usize, b: usize| items[b].len() > items[a].len() || (items[b].len() == items[a].len() && b < a);
    let said = |a: usize| (0..items.len()).any(|b| a != b && within(a, b) && (!within(b, a) || fuller(a, b)));
    let keep: Vec<bool> = (0..items.len()).map(|a| !words[a].is_empty() && !said(a)).collect();
    items.into_iter().zip(keep).filter(|(_, k)| *k).map(|(i, _)| i).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_fuller_of_two_cautions_stays() {
        let check = |items: &[&str], want: &[&str]| {
            assert_eq!(without_repeats(items.iter().map(|s| s.to_string()).collect()), want);
        };
        check(&["grip", "lower back", "grip: straps"], &["lower back", "grip: straps"]);
        check(&["painful arc", "painful arc: stay below 80"], &["painful arc: stay below 80"]);
        check(&["front shoulder", "front of the shoulder"], &["front of the shoulder"]);
        check(
            &["spotter or safeties", "spotter or safety arms near failure"],
            &["spotter or safety arms near failure"],
        );
        check(&["wrist", "elbow", "wrist"], &["wrist", "elbow"]);
        check(&["press the hips back", "hip"], &["press the hips back", "hip"]);
        check(&["low back", "anterior knee"], &["low back", "anterior knee"]);
    }
}
