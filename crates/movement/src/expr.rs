//! Small arithmetic for movement files: numbers, settings, body lengths, comparisons with words in quotes.
//!
//! Grammar: `a | b`, `a & b`, `== != < > <= >=`, `+ - * /`, `-x`, `( )`, `'word'`, names, and the functions
//! `min(a, b)`, `max(a, b)`, `abs(x)`, `sqrt(x)`, `sin_deg(x)`, `cos_deg(x)`, `tan_deg(x)`, `asin_deg(x)`,
//! `acos_deg(x)`, `atan2_deg(y, x)`, `if(condition, a, b)`, `given(name, fallback)`. True is 1, false is 0.

use std::fmt;

/// A number or a word (the value of a choice setting).
#[derive(Clone, Debug, PartialEq)]
pub enum Item {
    Number(f64),
    Word(String),
}

/// What went wrong in an expression, with the character position.
#[derive(Clone, Debug, PartialEq)]
pub struct ExprError {
    pub at: usize,
    pub text: String,
}

impl fmt::Display for ExprError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} (character {})", self.text, self.at + 1)
    }
}

/// Where names are looked up.
pub trait Names {
    fn get(&self, name: &str) -> Option<Item>;
}

/// Value of an expression.
///
/// # Errors
/// Unknown names, words where numbers are needed, syntax, division by zero.
pub fn evaluate(text: &str, names: &dyn Names) -> Result<Item, ExprError> {
    let mut p = Parser { text: text.as_bytes(), at: 0, names, depth: 0 };
    let v = p.or()?;
    p.skip();
    if p.at < p.text.len() {
        return Err(p.error(format!("unexpected \"{}\"", &text[p.at..])));
    }
    Ok(v)
}

/// Names used in an expression (functions left out), for checks and dependency order.
pub fn names_in(text: &str) -> Vec<String> {
    let mut out = Vec::new();
    let b = text.as_bytes();
    let mut i = 0;
    while i < b.len() {
        if b[i] == b'\'' {
            i += 1;
            while i < b.len() && b[i] != b'\'' {
                i += 1;
            }
            i += 1;
        } else if b[i].is_ascii_alphabetic() || b[i] == b'_' {
            let s = i;
            while i < b.len() && (b[i].is_ascii_alphanumeric() || b[i] == b'_') {
                i += 1;
            }
            let rest = text[i..].trim_start();
            if !rest.starts_with('(') {
                out.push(text[s..i].to_string());
            }
        } else if b[i].is_ascii_digit() {
            while i < b.len() && (b[i].is_ascii_alphanumeric() || b[i] == b'.') {
                i += 1;
            }
        } else {
            i += 1;
        }
    }
    out
}

/// Deepest nesting of brackets allowed, so that hostile files cannot exhaust the stack.
const MAX_DEPTH: usize = 64;

struct Parser<'a> {
    text: &'a [u8],
    at: usize,
    names: &'a dyn Names,
    depth: usize,
}

impl Parser<'_> {
    fn error(&self, text: String) -> ExprError {
        ExprError { at: self.at, text }
    }
    fn skip(&mut self) {
        while self.text.get(self.at).is_some_and(u8::is_ascii_whitespace) {
            self.at += 1;
        }
    }
    fn eat(&mut self, s: &str) -> bool {
        self.skip();
        if self.text[self.at..].starts_with(s.as_bytes()) {
            self.at += s.len();
            return true;
        }
        false
    }
    fn number(&self, v: Item) -> Result<f64, ExprError> {
        match v {
            Item::Number(n) => Ok(n),
            Item::Word(w) => Err(self.error(format!("'{w}' is a word, a number is needed here"))),
        }
    }
    fn or(&mut self) -> Result<Item, ExprError> {
        let mut v = self.and()?;
        while self.eat("|") {
            let w = self.and()?;
            v = Item::Number(f64::from(self.number(v)? != 0.0 || self.number(w)? != 0.0));
        }
        Ok(v)
    }
    fn and(&mut self) -> Result<Item, ExprError> {
        let mut v = self.comparison()?;
        while self.eat("&") {
            let w = self.comparison()?;
            v = Item::Number(f64::from(self.number(v)? != 0.0 && self.number(w)? != 0.0));
        }
        Ok(v)
    }
    fn comparison(&mut self) -> Result<Item, ExprError> {
        let a = self.sum()?;
        for op in ["==", "!=", "<=", ">=", "<", ">"] {
            if self.eat(op) {
                let b = self.sum()?;
                let truth = match (op, &a, &b) {
                    ("==", _, _) => a == b,
                    ("!=", _, _) => a != b,
                    (_, Item::Number(x), Item::Number(y)) => match op {
                        "<=" => x <= y,
                        ">=" => x >= y,
                        "<" => x < y,
                        _ => x > y,
                    },
                    _ => return Err(self.error("words can only be compared with == and !=".into())),
                };
                return Ok(Item::Number(f64::from(truth)));
            }
        }
        Ok(a)
    }
    fn sum(&mut self) -> Result<Item, ExprError> {
        let mut v = self.product()?;
        loop {
            let sign = if self.eat("+") {
                1.0
            } else if self.eat("-") {
                -1.0
            } else {
                return Ok(v);
            };
            let w = self.product()?;
            v = Item::Number(self.number(v)? + sign * self.number(w)?);
        }
    }
    fn product(&mut self) -> Result<Item, ExprError> {
        let mut v = self.unary()?;
        loop {
            if self.eat("*") {
                let w = self.unary()?;
                v = Item::Number(self.number(v)? * self.number(w)?);
            } else if self.eat("/") {
                let w = self.unary()?;
                let d = self.number(w)?;
                if d == 0.0 {
                    return Err(self.error("division by zero".into()));
                }
                v = Item::Number(self.number(v)? / d);
            } else {
                return Ok(v);
            }
        }
    }
    fn unary(&mut self) -> Result<Item, ExprError> {
        if self.depth >= MAX_DEPTH {
            return Err(self.error(format!("nested deeper than {MAX_DEPTH} levels")));
        }
        self.depth += 1;
        let v = if self.eat("-") {
            let w = self.unary()?;
            Item::Number(-self.number(w)?)
        } else {
            self.atom()?
        };
        self.depth -= 1;
        Ok(v)
    }
    fn word(&mut self, ok: impl Fn(u8) -> bool) -> String {
        let s = self.at;
        while self.at < self.text.len() && ok(self.text[self.at]) {
            self.at += 1;
        }
        String::from_utf8_lossy(&self.text[s..self.at]).into_owned()
    }
    fn atom(&mut self) -> Result<Item, ExprError> {
        self.skip();
        let Some(&c) = self.text.get(self.at) else {
            return Err(self.error("the expression ends too early".into()));
        };
        if c == b'(' {
            self.at += 1;
            let v = self.or()?;
            if !self.eat(")") {
                return Err(self.error("a closing bracket is missing".into()));
            }
            return Ok(v);
        }
        if c == b'\'' {
            self.at += 1;
            let w = self.word(|c| c != b'\'');
            if self.at >= self.text.len() {
                return Err(self.error("a closing quote is missing".into()));
            }
            self.at += 1;
            return Ok(Item::Word(w));
        }
        if c.is_ascii_digit() || c == b'.' {
            let w = self.word(|c| c.is_ascii_digit() || c == b'.');
            return w.parse().map(Item::Number).map_err(|_| self.error(format!("\"{w}\" is not a number")));
        }
        if c.is_ascii_alphabetic() || c == b'_' {
            let name = self.word(|c| c.is_ascii_alphanumeric() || c == b'_');
            if self.eat("(") {
                return self.function(&name);
            }
            return self.names.get(&name).ok_or_else(|| self.error(format!("unknown name \"{name}\"")));
        }
        Err(self.error(format!("unexpected \"{}\"", char::from(c))))
    }
    fn function(&mut self, name: &str) -> Result<Item, ExprError> {
        if name == "given" {
            self.skip();
            let wanted = self.word(|c| c.is_ascii_alphanumeric() || c == b'_');
            if !self.eat(",") {
                return Err(self.error("given( ) needs a name, a comma and a value to fall back on".into()));
            }
            let fallback = self.or()?;
            if !self.eat(")") {
                return Err(self.error("a closing bracket is missing".into()));
            }
            return Ok(self.names.get(&wanted).unwrap_or(fallback));
        }
        let mut args = Vec::new();
        if !self.eat(")") {
            loop {
                args.push(self.or()?);
                if self.eat(")") {
                    break;
                }
                if !self.eat(",") {
                    return Err(self.error(format!("{name}( ) needs commas between its values and a closing bracket")));
                }
            }
        }
        if name == "if" && args.len() == 3 {
            let condition = self.number(args[0].clone())? != 0.0;
            return Ok(args.swap_remove(if condition { 1 } else { 2 }));
        }
        let n: Vec<f64> = args.into_iter().map(|a| self.number(a)).collect::<Result<_, _>>()?;
        let v = match (name, n.as_slice()) {
            ("min", [a, b]) => a.min(*b),
            ("max", [a, b]) => a.max(*b),
            ("abs", [a]) => a.abs(),
            // From 0 at 0 to 1 at 1, at rest at both ends (minimum jerk: Flash & Hogan 1985, from memory, high).
            ("smooth", [a]) => {
                let x = a.clamp(0.0, 1.0);
                x * x * x * (10.0 + x * (6.0 * x - 15.0))
            }
            ("sqrt", [a]) if *a >= 0.0 => a.sqrt(),
            ("sin_deg", [a]) => a.to_radians().sin(),
            ("cos_deg", [a]) => a.to_radians().cos(),
            ("tan_deg", [a]) => a.to_radians().tan(),
            ("asin_deg", [a]) => a.clamp(-1.0, 1.0).asin().to_degrees(),
            ("acos_deg", [a]) => a.clamp(-1.0, 1.0).acos().to_degrees(),
            ("atan2_deg", [a, b]) => a.atan2(*b).to_degrees(),
            _ => return Err(self.error(format!("no function {name} with {} values", n.len()))),
        };
        Ok(Item::Number(v))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    struct Table;
    impl Names for Table {
        fn get(&self, name: &str) -> Option<Item> {
            match name {
                "depth" => Some(Item::Number(115.0)),
                "place" => Some(Item::Word("high".into())),
                _ => None,
            }
        }
    }

    fn check(text: &str, expected: &str) {
        let got = match evaluate(text, &Table) {
            Ok(Item::Number(n)) => format!("{n}"),
            Ok(Item::Word(w)) => format!("'{w}'"),
            Err(e) => format!("error: {e}"),
        };
        assert_eq!(got, expected, "{text}");
    }

    #[test]
    fn expressions() {
        check("1 + 2 * 3", "7");
        check("-(depth - 15) / 2", "-50");
        check("place == 'high' & depth > 100", "1");
        check("place == 'low' | 0", "0");
        check("if(place == 'high', 0.1, 0.2)", "0.1");
        check("max(1, min(3, 2))", "2");
        check("given(pulley_h_m, 2.0) + given(depth, 1)", "117");
        check("cos_deg(60) - 0.5 < 0.0001", "1");
        check("place", "'high'");
        check("depht", "error: unknown name \"depht\" (character 6)");
        check("1 / 0", "error: division by zero (character 6)");
        check("place + 1", "error: 'high' is a word, a number is needed here (character 10)");
        check("(1", "error: a closing bracket is missing (character 3)");
        check("1 2", "error: unexpected \"2\" (character 3)");
        check(&"(".repeat(100), "error: nested deeper than 64 levels (character 65)");
        assert_eq!(names_in("if(place == 'high', depth, 2e)"), ["place", "depth"]);
    }
}
