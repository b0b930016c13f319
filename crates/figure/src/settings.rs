//! Settings as a coach says them, from `data/movements/setting_words.csv`; a key without a row stays as it is typed.

use crate::words::num;
use answer::{Look, SettingValue, Settings};
use std::collections::BTreeMap;
use std::sync::OnceLock;

const TABLE: &str = include_str!("../../../data/movements/setting_words.csv");

/// Words and unit by key.
fn table() -> &'static BTreeMap<&'static str, (&'static str, &'static str)> {
    static TABLE_READ: OnceLock<BTreeMap<&str, (&str, &str)>> = OnceLock::new();
    TABLE_READ.get_or_init(|| {
        let row = |line: &'static str| {
            let mut cells = line.split(',');
            Some((cells.next()?, (cells.next()?, cells.next()?)))
        };
        TABLE.lines().skip(1).filter_map(row).collect()
    })
}

fn plain(v: f64) -> String {
    let text = num(v, 3);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_string() } else { text }
}

/// Words and unit of a key: ("heels raised", "cm"); the key itself where no words are known.
pub fn setting_label(key: &str) -> (&str, &str) {
    table().get(key).map_or((key, ""), |(words, unit)| (words, unit))
}

/// As it is typed: "heel_m 0.04".
pub fn setting_typed(key: &str, value: &SettingValue) -> String {
    match value {
        SettingValue::Number(v) => format!("{key} {}", plain(*v)),
        SettingValue::Word(w) => format!("{key} {w}"),
    }
}

/// As it is said: "heels raised 4 cm", "bar path: free".
pub fn setting_said(key: &str, value: &SettingValue) -> String {
    let Some((words, unit)) = table().get(key) else { return setting_typed(key, value) };
    match value {
        SettingValue::Word(w) => format!("{words}: {w}"),
        SettingValue::Number(v) => {
            // Keys in metres are said in centimetres where the table says so.
            let v = if *unit == "cm" && key.ends_with("_m") { v * 100.0 } else { *v };
            let gap = if unit.is_empty() || *unit == "°" { "" } else { " " };
            format!("{words} {}{gap}{unit}", plain(v))
        }
    }
}

/// Said, with what is to be typed: "heels raised 4 cm (heel_m 0.04)"; the key alone where the number reads the same.
pub fn setting_said_and_typed(key: &str, value: &SettingValue) -> String {
    let (said, typed) = (setting_said(key, value), setting_typed(key, value));
    if said == typed {
        return typed;
    }
    let same = match value {
        SettingValue::Number(v) => said.contains(&format!(" {}", plain(*v))),
        SettingValue::Word(_) => true,
    };
    format!("{said} ({})", if same { key.to_string() } else { typed })
}

/// Every setting as it is said.
pub fn setting_words(settings: &Settings) -> Vec<String> {
    settings.iter().map(|(k, v)| setting_said(k, v)).collect()
}

/// Keys in which the looks are not all alike.
pub fn differing_keys(looks: &[Look]) -> Vec<String> {
    let mut keys: Vec<&String> = looks.iter().flat_map(|l| l.settings.keys()).collect();
    keys.sort();
    keys.dedup();
    let alike = |k: &str| looks.windows(2).all(|w| w[0].settings.get(k) == w[1].settings.get(k));
    keys.into_iter().filter(|k| !alike(k)).cloned().collect()
}

/// Settings of a look, those in `first` before the others.
pub fn settings_ordered<'a>(look: &'a Look, first: &[String]) -> Vec<(&'a String, &'a SettingValue)> {
    let (mut a, b): (Vec<_>, Vec<_>) = look.settings.iter().partition(|(k, _)| first.contains(k));
    a.extend(b);
    a
}

/// At most this many settings tell variants of one movement apart in a label.
const TOLD_APART_BY: usize = 2;

/// A label for each look: its name, and where a name stands twice the settings that differ.
pub fn variant_labels(looks: &[Look]) -> Vec<String> {
    let label = |l: &Look| {
        let namesakes: Vec<Look> = looks.iter().filter(|o| o.name == l.name).cloned().collect();
        let keys = differing_keys(&namesakes);
        let said: Vec<String> =
            keys.iter().filter_map(|k| Some(setting_said(k, l.settings.get(k)?))).take(TOLD_APART_BY).collect();
        if said.is_empty() { l.name.clone() } else { format!("{} ({})", l.name, said.join(", ")) }
    };
    looks.iter().map(label).collect()
}
