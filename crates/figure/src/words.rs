//! Numbers as a coach reads them: proper minus, en dash between the ends of a range, no more digits than are known.

use answer::{Range, Span};

/// `v` with `digits` decimals, a proper minus and no "−0"; a dash where there is no number.
pub fn num(v: f64, digits: usize) -> String {
    if !v.is_finite() {
        return "–".into();
    }
    let s = format!("{v:.digits$}");
    let zero = s.chars().all(|c| matches!(c, '-' | '0' | '.'));
    if zero { s.trim_start_matches('-').to_string() } else { s.replace('-', "−") }
}

/// With its sign: "+31", "−3", "0".
pub fn signed(v: f64, digits: usize) -> String {
    let s = num(v, digits);
    if v > 0.0 && s.chars().any(|c| ('1'..='9').contains(&c)) { format!("+{s}") } else { s }
}

/// "9.1–12.6"; one number where both ends read alike.
pub fn between(low: f64, high: f64, digits: usize) -> String {
    let (a, b) = (num(low, digits), num(high, digits));
    if a == b { a } else { format!("{a}–{b}") }
}

/// "11.0 (9.1–12.6)"; one number where the range reads like its middle.
pub fn range(r: Range, digits: usize) -> String {
    let (mid, spread) = (num(r.mid, digits), between(r.low, r.high, digits));
    if mid == spread { mid } else { format!("{mid} ({spread})") }
}

/// "1.02–1.19".
pub fn span(s: Span, digits: usize) -> String {
    between(s.min, s.max, digits)
}

/// A load without needless digits: "100", "17.5".
pub fn load(v: f64) -> String {
    let s = num(v, 1);
    s.strip_suffix(".0").map(str::to_string).unwrap_or(s)
}

/// "98.6 (85–112)"; one number where the range reads like its middle.
pub fn load_range(r: Range) -> String {
    let [low, mid, high] = [r.low, r.mid, r.high].map(load);
    if low == high { mid } else { format!("{mid} ({low}–{high})") }
}

/// "three", "14": words up to twelve.
pub fn count(n: usize) -> String {
    const WORDS: [&str; 13] =
        ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"];
    WORDS.get(n).map_or_else(|| n.to_string(), |w| w.to_string())
}

/// First letter large.
pub fn capital(s: &str) -> String {
    let mut c = s.chars();
    c.next().map_or_else(String::new, |f| f.to_uppercase().chain(c).collect())
}

/// First letter small, for a name inside a sentence; short forms stay: "TFL", "T-bar row".
pub fn lower_first(s: &str) -> String {
    let mut c = s.chars();
    match (c.next(), c.as_str().chars().next()) {
        (Some(first), Some(second)) if second.is_lowercase() => first.to_lowercase().chain(c).collect(),
        _ => s.to_string(),
    }
}

/// A head's name without what stands behind it in brackets: "middle front thigh (crosses the hip)".
pub fn stem(s: &str) -> &str {
    s.split_once(" (").filter(|(_, rest)| rest.ends_with(')')).map_or(s, |(stem, _)| stem)
}

/// "a, b and c"; items that hold commas themselves are joined by semicolons.
pub fn items(parts: &[String]) -> String {
    if parts.iter().any(|p| p.contains(',')) { parts.join("; ") } else { list(parts) }
}

/// "a, b and c".
pub fn list(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}
