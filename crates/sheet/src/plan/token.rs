//! A coach's cell cut into numbers, words and signs.

/// A piece of text.
#[derive(Clone, Debug, PartialEq)]
pub enum Kind {
    Number(f64),
    /// Lower case.
    Word(String),
    Sign(char),
}

/// A piece with its place, in characters.
#[derive(Clone, Debug, PartialEq)]
pub struct Token {
    pub kind: Kind,
    pub start: usize,
    pub end: usize,
}

/// Dashes, multiplication signs and quotes in one spelling each; as many characters as before.
pub fn plain_signs(text: &str) -> Vec<char> {
    text.chars()
        .map(|c| match c {
            '×' | '✕' | '✖' | '╳' => 'x',
            '–' | '—' | '−' | '‐' | '‑' => '-',
            '’' | '‘' | '′' | '´' => '\'',
            '“' | '”' | '″' => '"',
            '\u{a0}' | '\t' | '\n' | '\r' => ' ',
            c => c,
        })
        .collect()
}

/// `comma_decimal`: "62,5" is one number even without a unit after it.
pub fn tokens(text: &[char], comma_decimal: bool) -> Vec<Token> {
    let mut out: Vec<Token> = Vec::new();
    let digit = |i: usize| text.get(i).is_some_and(char::is_ascii_digit);
    let mut i = 0;
    while i < text.len() {
        let c = text[i];
        if c.is_whitespace() {
            i += 1;
        } else if c.is_ascii_digit() {
            let start = i;
            let mut number = String::new();
            while digit(i) {
                number.push(text[i]);
                i += 1;
            }
            let mut to = i + 1;
            while digit(to) {
                to += 1;
            }
            let point = text.get(i) == Some(&'.') && digit(i + 1);
            let comma = text.get(i) == Some(&',') && digit(i + 1) && to <= i + 3;
            if point || comma && (comma_decimal || unit_follows(text, to)) && text.get(to) != Some(&',') {
                number.push('.');
                number.extend(&text[i + 1..to]);
                i = to;
            }
            // Digits and one point always parse; a number too long for f64 becomes infinite and is refused later.
            let value = number.parse().unwrap_or(f64::INFINITY);
            out.push(Token { kind: Kind::Number(value), start, end: i });
        } else if c.is_alphabetic() {
            let start = i;
            while text.get(i).is_some_and(|c| c.is_alphabetic()) {
                i += 1;
            }
            let after_number = out.last().is_some_and(|t| matches!(t.kind, Kind::Number(_)) && t.end == start);
            let word: String = text[start..i].iter().flat_map(|c| c.to_lowercase()).collect();
            match word.strip_prefix('x').filter(|rest| after_number && !rest.is_empty()) {
                // "3xAMRAP"
                Some(rest) => {
                    out.push(Token { kind: Kind::Word("x".into()), start, end: start + 1 });
                    out.push(Token { kind: Kind::Word(rest.into()), start: start + 1, end: i });
                }
                None => out.push(Token { kind: Kind::Word(word), start, end: i }),
            }
        } else {
            out.push(Token { kind: Kind::Sign(c), start: i, end: i + 1 });
            i += 1;
        }
    }
    out
}

fn unit_follows(text: &[char], at: usize) -> bool {
    let rest: String = text[at.min(text.len())..].iter().skip_while(|c| **c == ' ').take(2).collect();
    ["kg", "lb"].contains(&rest.to_lowercase().as_str())
}
