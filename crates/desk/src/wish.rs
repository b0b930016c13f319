//! A movement as a coach types it: the one-word form `movement{key=value}`.

use answer::{SettingValue, Settings};

/// `key=value` of `--set`.
#[derive(Clone, Debug, PartialEq)]
pub struct Pair {
    pub key: String,
    pub value: SettingValue,
}

/// Reads `key=value`; numbers may have a decimal comma and a sign, everything else is a word.
pub fn parse_pair(text: &str) -> Result<Pair, String> {
    let wrong = || format!("\"{text}\" is not written as key=value, for instance depth_knee_deg=120");
    let (key, value) = text.split_once('=').ok_or_else(wrong)?;
    let (key, value) = (key.trim(), value.trim());
    if key.is_empty() || value.is_empty() {
        return Err(wrong());
    }
    let number = value.replace(',', ".").replace('−', "-").parse::<f64>().ok().filter(|v| v.is_finite());
    let value = number.map_or_else(|| SettingValue::Word(value.to_string()), SettingValue::Number);
    Ok(Pair { key: key.to_string(), value })
}

/// A movement as typed: a name, an id or an alias, with the settings of its braces.
#[derive(Clone, Debug, PartialEq)]
pub struct Wish {
    pub movement: String,
    pub settings: Settings,
}

/// Reads `back-squat`, `back-squat{depth_knee_deg=120,stance_x=1.5}` or `back-squat{depth_knee_deg=120}{stance_x=1.5}`.
pub fn parse_wish(text: &str) -> Result<Wish, String> {
    let text = text.trim();
    let (name, mut rest) = match text.find('{') {
        None => (text, ""),
        Some(at) => (text[..at].trim(), text[at..].trim()),
    };
    if name.is_empty() {
        return Err("a movement needs a name, for instance back-squat".into());
    }
    if rest.is_empty() && name.contains('=') {
        return Err(format!(
            "\"{text}\" looks like a half of movement{{key=value,key=value}} that the shell took apart; put it in quotes"
        ));
    }
    let mut settings = Settings::new();
    while !rest.is_empty() {
        let unclosed = || format!("\"{text}\" is not written as movement{{key=value,key=value}}");
        let inner = rest.strip_prefix('{').ok_or_else(unclosed)?;
        let (inner, after) = inner.split_once('}').ok_or_else(unclosed)?;
        for pair in inner.split([',', ';']).filter(|p| !p.trim().is_empty()) {
            let Pair { key, value } = parse_pair(pair)?;
            settings.insert(key, value);
        }
        rest = after.trim();
    }
    Ok(Wish { movement: name.to_string(), settings })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Name and settings, the values as shown for debugging.
    type Parts<'a> = (&'a str, &'a [(&'a str, &'a str)]);

    fn check(text: &str, expected: Result<Parts, &str>) {
        match (parse_wish(text), expected) {
            (Ok(wish), Ok((name, settings))) => {
                let got: Vec<(String, String)> =
                    wish.settings.iter().map(|(k, v)| (k.clone(), format!("{v:?}"))).collect();
                let want: Vec<(String, String)> =
                    settings.iter().map(|(k, v)| (k.to_string(), v.to_string())).collect();
                assert_eq!((wish.movement.as_str(), got), (name, want), "{text}");
            }
            (Err(e), Err(part)) => assert!(e.contains(part), "{text}: {e}"),
            (got, want) => panic!("{text}: {got:?} instead of {want:?}"),
        }
    }

    #[test]
    fn a_movement_can_be_written_in_one_word() {
        check("back-squat", Ok(("back-squat", &[])));
        check(" Back squat, high bar ", Ok(("Back squat, high bar", &[])));
        check("back-squat{depth_knee_deg=120}", Ok(("back-squat", &[("depth_knee_deg", "Number(120.0)")])));
        check(
            "row{grip=wide; bench_deg=-5}",
            Ok(("row", &[("bench_deg", "Number(-5.0)"), ("grip", "Word(\"wide\")")])),
        );
        check("squat{a=1}{b=2}", Ok(("squat", &[("a", "Number(1.0)"), ("b", "Number(2.0)")])));
        check("squat{", Err("movement{key=value"));
        check("squat{a}", Err("key=value"));
        check("squat{a=1}b", Err("movement{key=value"));
        check("{a=1}", Err("needs a name"));
        check("back-squatdepth_knee_deg=120", Err("quotes"));
        check("squat{a=inf}", Ok(("squat", &[("a", "Word(\"inf\")")])));
    }
}
