//! Arguments that several commands share.

use answer::Settings;
use clap::Args;
pub use desk::wish::{Pair, Wish, parse_pair, parse_wish};
use desk::{DRAWS, SEED, Setup};
use std::path::PathBuf;

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

impl Shared {
    /// As the desk takes it.
    pub fn setup(&self) -> Setup {
        Setup { client: self.client.clone(), draws: self.draws, seed: self.seed, from: self.from.clone() }
    }
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
    match desk::files::extension(&path).as_str() {
        "svg" | "png" => Ok(path),
        _ => Err("a figure is a file ending in .svg or .png".into()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use answer::SettingValue;

    #[test]
    fn braces_go_before_the_flag() {
        let set = Set { pairs: vec![parse_pair("a=1").expect("a pair"), parse_pair("b=2,5").expect("a pair")] };
        let got = set.under(&parse_wish("squat{a=3}").expect("a wish"));
        assert_eq!(got.settings["a"], SettingValue::Number(3.0));
        assert_eq!(got.settings["b"], SettingValue::Number(2.5));
    }
}
