//! Arguments that several commands share, and the one-word form `movement{key=value}`.

use answer::{SettingValue, Settings};
use clap::Args;
use std::path::PathBuf;

/// Random draws behind a range unless said otherwise.
pub const DRAWS: usize = 32;
/// Seed unless said otherwise.
pub const SEED: u64 = 1;

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

/// A body, its ranges and further data.
#[derive(Args, Clone, Debug)]
#[command(next_help_heading = "For whom, and how exactly")]
pub struct Shared {
    /// The client's file; an average man of 175 cm and 75 kg without one
    #[arg(long, value_name = "FILE")]
    pub client: Option<PathBuf>,
    /// Random draws behind each range; 0 gives middle values only, at once
    #[arg(long, value_name = "N", default_value_t = DRAWS, value_parser = draws)]
    pub draws: usize,
    /// Seed of the draws: the same seed gives the same ranges
    #[arg(long, value_name = "N", default_value_t = SEED)]
    pub seed: u64,
    /// Folder with your own movements or facts in the shipped formats
    #[arg(long, value_name = "DIR")]
    pub from: Option<PathBuf>,
}

fn draws(text: &str) -> Result<usize, String> {
    let n: usize = text.parse().map_err(|_| "a whole number from 0 to 10000".to_string())?;
    if n <= 10_000 { Ok(n) } else { Err("at most 10000 draws".into()) }
}

/// Settings of the movement.
#[derive(Args, Clone, Debug)]
#[command(next_help_heading = "The movement")]
pub struct Set {
    /// Changes a setting, for instance --set depth_knee_deg=120 (may be repeated)
    #[arg(long = "set", value_name = "KEY=VALUE", value_parser = parse_pair)]
    pub pairs: Vec<Pair>,
}

impl Set {
    /// `wish` with these settings laid under those of its own braces.
    pub fn under(&self, wish: &Wish) -> Wish {
        let mut settings: Settings = self.pairs.iter().map(|p| (p.key.clone(), p.value.clone())).collect();
        settings.extend(wish.settings.clone());
        Wish { movement: wish.movement.clone(), settings }
    }
}

/// Where the answer goes.
#[derive(Args, Clone, Debug)]
#[command(next_help_heading = "What comes out")]
pub struct Output {
    /// Prints the answer as JSON (its shape: lengthwise schema)
    #[arg(long)]
    pub json: bool,
    /// Also draws the answer into a file; .svg or .png
    #[arg(long, value_name = "FILE", value_parser = figure_file)]
    pub figure: Option<PathBuf>,
}

pub fn figure_file(text: &str) -> Result<PathBuf, String> {
    let path = PathBuf::from(text);
    match crate::files::extension(&path).as_str() {
        "svg" | "png" => Ok(path),
        _ => Err("a figure is a file ending in .svg or .png".into()),
    }
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

    #[test]
    fn braces_go_before_the_flag() {
        let set = Set { pairs: vec![parse_pair("a=1").expect("a pair"), parse_pair("b=2,5").expect("a pair")] };
        let got = set.under(&parse_wish("squat{a=3}").expect("a wish"));
        assert_eq!(got.settings["a"], SettingValue::Number(3.0));
        assert_eq!(got.settings["b"], SettingValue::Number(2.5));
    }
}
