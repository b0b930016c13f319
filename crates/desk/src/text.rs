//! Numbers, words and lines. A no-break space (U+00A0) keeps a number and its range on one line; [`wrap`] writes it as
//! a plain space.

use answer::{Class, Credit, Range, SettingValue, Settings, Span};
use unicode_width::UnicodeWidthStr;

/// Columns of every text.
pub const WIDTH: usize = 80;

/// Columns a text takes on a terminal.
pub fn columns(text: &str) -> usize {
    text.width()
}

/// A number with a proper minus sign and no negative nought; "?" for what is no number.
pub fn number(v: f64, decimals: usize) -> String {
    if !v.is_finite() {
        return "?".into();
    }
    let text = format!("{v:.decimals$}");
    match text.strip_prefix('-') {
        Some(digits) if digits.chars().all(|c| matches!(c, '0' | '.')) => digits.to_string(),
        Some(digits) => format!("−{digits}"),
        None => text,
    }
}

/// A number with its sign, "+25" or "−37"; plain 0.
pub fn signed(v: f64, decimals: usize) -> String {
    let text = number(v, decimals);
    let zero = text.chars().all(|c| matches!(c, '0' | '.'));
    if v > 0.0 && !zero { format!("+{text}") } else { text }
}

/// At most `decimals`, without trailing noughts: "6", "4.5".
pub fn short(v: f64, decimals: usize) -> String {
    let text = number(v, decimals);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_string() } else { text }
}

/// "11.0 (9.1–12.6)", held together; the middle alone where the range has no width.
pub fn range(r: Range, decimals: usize) -> String {
    range_by(r, |v| number(v, decimals))
}

/// "98.6 (85–112)": at most `decimals`, without trailing noughts.
pub fn short_range(r: Range, decimals: usize) -> String {
    range_by(r, |v| short(v, decimals))
}

/// The same with every number written in a way of its own; where one is negative the ends stand apart by a word.
pub fn range_by(r: Range, write: impl Fn(f64) -> String) -> String {
    let [low, mid, high] = [r.low, r.mid, r.high].map(write);
    let to = if r.low < 0.0 { "\u{a0}to\u{a0}" } else { "–" };
    if r.low == r.high { mid } else { format!("{mid}\u{a0}({low}{to}{high})") }
}

/// "0.82–1.14".
pub fn span(s: Span, decimals: usize) -> String {
    format!("{}–{}", number(s.min, decimals), number(s.max, decimals))
}

/// "■■□□ some".
pub fn class_mark(class: Class) -> String {
    let full = class.squares();
    format!("{}{} {}", "■".repeat(full), "□".repeat(4 - full), class.word())
}

/// "mechanics 0.20 (0.10–0.31), convention 0.5, trials none yet".
pub fn credit_columns(c: &Credit, decimals: usize) -> String {
    let trials = c.trials.map_or_else(|| "none yet".into(), |t| number(t, decimals));
    format!(
        "mechanics\u{a0}{}, convention\u{a0}{}, trials\u{a0}{trials}",
        range(c.mechanics, decimals),
        short(c.convention, decimals)
    )
}

/// "heels raised 4 cm (heel_m 0.04), stance width 1.5 × shoulder width (stance_x)".
pub fn settings_line(settings: &Settings) -> String {
    settings_list(settings.iter())
}

/// As [`settings_line`], in the order given.
pub fn settings_list<'a>(settings: impl IntoIterator<Item = (&'a String, &'a SettingValue)>) -> String {
    let parts: Vec<String> = settings.into_iter().map(|(k, v)| figure::setting_said_and_typed(k, v)).collect();
    parts.join(", ")
}

/// Minutes by day in the order of the plan; the map itself is in the order of the alphabet.
pub fn minutes_in_plan_order(a: &answer::Audit) -> Vec<(&String, &answer::Minutes)> {
    let at = |day: &str| a.entries.iter().position(|e| e.day == day).unwrap_or(usize::MAX);
    let mut days: Vec<(&String, &answer::Minutes)> = a.minutes.iter().collect();
    days.sort_by_key(|(day, _)| at(day));
    days
}

/// First letter large.
pub fn sentence_case(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |c| c.to_uppercase().collect::<String>() + letters.as_str())
}

/// "1 set", "3 sets".
pub fn many(n: usize, one: &str, more: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { more })
}

/// "a", "a and b", "a, b and c".
pub fn and(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// Lines of at most `width` columns, the first after `first`, the others after `rest`. Breaks between words, else
/// after a hyphen, slash, comma or underscore, else between letters; never inside a number.
pub fn wrap(text: &str, width: usize, first: &str, rest: &str) -> Vec<String> {
    let mut lines = Vec::new();
    for paragraph in text.split('\n') {
        let mut line = String::from(if lines.is_empty() { first } else { rest });
        let mut empty = true;
        for word in paragraph.split([' ', '\t', '\r']).filter(|w| !w.is_empty()) {
            let gap = usize::from(!empty);
            if columns(&line) + gap + columns(word) <= width {
                line.push_str(if empty { "" } else { " " });
                line.push_str(word);
                empty = false;
                continue;
            }
            if !empty {
                lines.push(std::mem::replace(&mut line, rest.into()));
            }
            let mut left = word;
            while columns(&line) + columns(left) > width {
                let cut = cut_at(left, width.saturating_sub(columns(&line)).max(1));
                if cut == left.len() {
                    break;
                }
                lines.push(line + &left[..cut]);
                left = &left[cut..];
                line = rest.into();
            }
            line.push_str(left);
            empty = false;
        }
        lines.push(line);
    }
    lines.into_iter().map(|l| clean(l.trim_end())).collect()
}

/// Control characters and no-break spaces do not reach the terminal.
fn clean(line: &str) -> String {
    line.chars().map(|c| if c == '\u{a0}' { ' ' } else { c }).filter(|c| !c.is_control()).collect()
}

/// Byte after which a word too wide for a line is cut: the last fitting soft place, at least one letter on.
fn cut_at(word: &str, room: usize) -> usize {
    let part_of_number = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '−');
    let letters: Vec<(usize, char)> = word.char_indices().collect();
    let (mut soft, mut hard, mut used) = (None, None, 0);
    for (i, &(at, c)) in letters.iter().enumerate() {
        let end = at + c.len_utf8();
        used += columns(&word[at..end]);
        let Some(&(_, next)) = letters.get(i + 1) else { break };
        if used > room && (soft.is_some() || hard.is_some()) {
            break;
        }
        if part_of_number(c) && part_of_number(next) {
            continue;
        }
        hard = Some(end);
        if matches!(c, '-' | '/' | ',' | '_' | ';' | '\u{a0}') {
            soft = Some(end);
        }
        if used >= room {
            break;
        }
    }
    soft.or(hard).unwrap_or(word.len())
}

/// Text that grows line by line.
#[derive(Debug, Default)]
pub struct Page {
    pub text: String,
}

impl Page {
    pub fn line(&mut self, line: &str) {
        self.text.push_str(line);
        self.text.push('\n');
    }
    pub fn lines<'a>(&mut self, lines: impl IntoIterator<Item = &'a String>) {
        lines.into_iter().for_each(|l| self.line(l));
    }
    /// An empty line, never two.
    pub fn gap(&mut self) {
        if !self.text.is_empty() && !self.text.ends_with("\n\n") {
            self.text.push('\n');
        }
    }
    /// A wrapped paragraph.
    pub fn prose(&mut self, text: &str) {
        self.lines(&wrap(text, WIDTH, "", ""));
    }
    /// A wrapped list item with a dash.
    pub fn item(&mut self, text: &str) {
        self.lines(&wrap(text, WIDTH, "- ", "  "));
    }
    /// A heading with items; nothing when there are none.
    pub fn list(&mut self, heading: &str, items: &[String]) {
        if items.is_empty() {
            return;
        }
        self.gap();
        self.line(heading);
        items.iter().for_each(|i| self.item(i));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_a_proper_minus_and_no_negative_nought() {
        let check = |got: String, want: &str| assert_eq!(got, want);
        check(number(-2.06, 1), "−2.1");
        check(number(-0.04, 1), "0.0");
        check(signed(25.3, 0), "+25");
        check(signed(0.01, 0), "0");
        check(short(6.0, 1), "6");
        check(short(4.5, 1), "4.5");
        check(short(120.0, 0), "120");
        check(range(Range { low: 9.1, mid: 11.0, high: 12.6 }, 1), "11.0\u{a0}(9.1–12.6)");
        check(range(Range::point(0.5), 2), "0.50");
        check(number(f64::NAN, 1), "?");
    }

    #[test]
    fn lines_wrap_between_words_and_never_inside_a_number() {
        let text = "Biceps femoris short head 0.1 of 6–10: it crosses only the knee 11.0\u{a0}(9.1–12.6)";
        // 18: the number with its range and the indent.
        for width in 18..60 {
            for line in wrap(text, width, "", "  ") {
                assert!(columns(&line) <= width, "{width}: {line}");
                assert!(!line.ends_with("11.0") && !line.ends_with('.'), "{width}: {line}");
            }
        }
        assert_eq!(wrap("abc-defghij", 6, "", ""), ["abc-", "defghi", "j"]);
        assert_eq!(wrap("squat123456789", 8, "", ""), ["squat", "123456789"]);
        assert_eq!(wrap("深蹲深蹲深蹲", 5, "", ""), ["深蹲", "深蹲", "深蹲"]);
        assert_eq!(wrap("a\u{1b}[31mb", 20, "", ""), ["a[31mb"]);
        assert_eq!(wrap("", 20, "- ", ""), ["-"]);
    }
}
