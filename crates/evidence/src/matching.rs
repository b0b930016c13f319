//! Movements of a condition from what its study says, by the same matching of names as in a plan, with the settings
//! that the description states in degrees.

use library::Library;
use movement::names::{Found, NameContext, nearest_words};

/// What was found.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Matched {
    /// `id{key=value}`; empty where nothing was found.
    pub movements: Vec<String>,
    /// Of the least sure one, 0 to 1.
    pub confidence: f64,
    pub nearest: Vec<String>,
}

/// Words that say how a study was run and name no movement.
const NOISE: [&str; 26] = [
    "bilateral",
    "unilateral",
    "maximal",
    "training",
    "exercise",
    "free",
    "weight",
    "progressive",
    "constant",
    "external",
    "resistance",
    "full",
    "range",
    "machine,",
    "to",
    "isotonic",
    "pure",
    "only",
    "part",
    "same",
    "heavier",
    "absolute",
    "load",
    "deep",
    "with",
    "explosive",
];

/// What a study calls a movement, and what a plan would call it.
const PLAIN: [(&str, &str); 12] = [
    ("elbow extension", "triceps extension"),
    ("elbow flexion", "curl"),
    ("arm curl", "curl"),
    ("knee extension", "leg extension"),
    ("knee flexion exercise", "leg curl"),
    ("plantarflexion", "calf raise"),
    ("hip extension bench", "back extension"),
    ("hip-extension bench", "back extension"),
    ("preacher-type", "preacher"),
    ("full-range", "full range"),
    ("lat pulldown", "lat pull-down"),
    ("knee-extension machine", "leg extension machine"),
];

/// Words by which a study says that one limb works alone.
const ONE_SIDED: [&str; 4] = ["unilateral", "one leg", "one arm", "single"];

/// Looks for the movement under the condition's own name, then under what was described, longest phrase first. `before`:
/// what the condition before it is, for "the same in another range".
pub fn matched(library: &Library, condition: &str, described: &str, range: &str, before: &Matched) -> Matched {
    let plain = |text: &str| PLAIN.iter().fold(text.to_lowercase(), |t, (from, to)| t.replace(from, to));
    let words = plain(described);
    let parts: Vec<&str> = words.split([';', ',', '(', ':']).map(str::trim).filter(|t| !t.is_empty()).collect();
    let named = plain(&condition.replace('-', " "));
    let mut nearest = Vec::new();
    // "squat + leg press": several movements, each by its own name.
    let listed: Vec<&str> = words.split(['+', ',']).map(str::trim).collect();
    if words.contains('+') {
        let each: Vec<Option<Found>> = listed.iter().map(|t| find(library, t, &mut nearest)).collect();
        let sure = each.iter().flatten().map(|f| f.confidence).fold(1.0, f64::min);
        let movements = each.into_iter().flatten().map(|f| text(&f, &[])).collect();
        return Matched { movements, confidence: sure, nearest };
    }
    if words.starts_with("same") && !before.movements.is_empty() {
        let again = |m: &String| {
            let id = m.split('{').next().unwrap_or(m).to_string();
            let extra = angles(library, &id, &words, range);
            let f = Found { id, settings: answer::Settings::new(), confidence: before.confidence };
            text(&f, &extra)
        };
        return Matched { movements: before.movements.iter().map(again).collect(), ..before.clone() };
    }
    let mut best: Option<Found> = None;
    let first = parts.first().copied().unwrap_or("");
    let head = |p: &str| [" with ", " on ", " at ", " to ", " in "].iter().filter_map(|w| p.find(w)).min();
    let short = head(first).map_or(first, |at| &first[..at]);
    for phrase in [named.as_str(), first, short].into_iter().chain(parts.iter().copied().skip(1).take(1)) {
        for words in [phrase.to_string(), without_noise(phrase)] {
            let Some(f) = find(library, &words, &mut nearest) else { continue };
            if best.as_ref().is_none_or(|b| f.confidence > b.confidence + 1e-9) {
                best = Some(f);
            }
        }
    }
    let Some(mut f) = best else {
        if nearest.is_empty() {
            let all = library.catalogue.movements.iter().map(|m| m.id.as_str());
            nearest = nearest_words(condition, all, 4);
        }
        nearest.truncate(4);
        return Matched { nearest, ..Matched::default() };
    };
    if ONE_SIDED.iter().any(|w| words.contains(w)) {
        one_sided(library, &mut f);
    }
    let extra = angles(library, &f.id, &words, range);
    Matched { movements: vec![text(&f, &extra)], confidence: f.confidence, nearest }
}

/// The variant for one limb, where the library has one of the same family and equipment that is named so.
fn one_sided(library: &Library, f: &mut Found) {
    let Some(m) = library.catalogue.movement(&f.id) else { return };
    if ["single-", "one-"].iter().any(|p| f.id.starts_with(p)) {
        return;
    }
    let own: Vec<&str> = f.id.split('-').collect();
    let variant = library.catalogue.movements.iter().find(|v| {
        let rest = ["single-leg-", "one-arm-", "single-arm-", "one-leg-"].iter().find_map(|p| v.id.strip_prefix(p));
        let same = |rest: &str| {
            let words: Vec<&str> = rest.split('-').collect();
            let all_in = |a: &[&str], b: &[&str]| a.iter().all(|w| b.contains(w) || *w == "leg");
            all_in(&words, &own) && all_in(&own, &words)
        };
        v.family == m.family && rest.is_some_and(same)
    });
    if let Some(v) = variant {
        f.id = v.id.clone();
    }
}

fn find(library: &Library, words: &str, nearest: &mut Vec<String>) -> Option<Found> {
    let m = library.names().find(words, &NameContext::default());
    if nearest.is_empty() {
        *nearest = m.nearest.into_iter().map(|n| n.0).collect();
    }
    m.best
}

fn without_noise(phrase: &str) -> String {
    phrase.split_whitespace().filter(|w| !NOISE.contains(&w.to_lowercase().as_str())).collect::<Vec<_>>().join(" ")
}

/// `id{key=value}` of a match and further settings.
fn text(f: &Found, extra: &[(String, String)]) -> String {
    let mut settings: Vec<(String, String)> = f.settings.iter().map(|(k, v)| (k.clone(), v.to_string())).collect();
    for (k, v) in extra {
        match settings.iter_mut().find(|s| s.0 == *k) {
            Some(s) => s.1 = v.clone(),
            None => settings.push((k.clone(), v.clone())),
        }
    }
    if settings.is_empty() {
        return f.id.clone();
    }
    let pairs: Vec<String> = settings.iter().map(|(k, v)| format!("{k}={v}")).collect();
    format!("{}{{{}}}", f.id, pairs.join(";"))
}

/// Settings stated in degrees that the movement's family reads: "knee 0-90 deg", "hip flexion is 40 deg", "at 88 deg".
fn angles(library: &Library, id: &str, described: &str, range: &str) -> Vec<(String, String)> {
    let mut out: Vec<(String, String)> = Vec::new();
    let set = |key: &str, value: f64, out: &mut Vec<(String, String)>| {
        let family = library.catalogue.movement(id).map(|m| m.family.clone()).unwrap_or_default();
        let text = value.to_string();
        let reads = library.reads(id, key).unwrap_or(false);
        let sound = library.catalogue.check_setting(&family, key, &text).is_ok();
        if reads && sound && !out.iter().any(|s| s.0 == key) {
            out.push((key.into(), text));
        }
    };
    let all = format!("{range}; {described}").to_lowercase();
    for (part, low, high) in spans(&all) {
        let moving = if part.contains("elbow") { "elbow" } else { "knee" };
        // Which end of the lift is bent depends on the family: extensions end straight, curls and squats end bent.
        set("depth_knee_deg", high, &mut out);
        let bent_first = ["extension", "press-down", "push-down", "push"].iter().any(|w| id.contains(w));
        let (from, to) = if bent_first { (high, low) } else { (low, high) };
        set(&format!("start_{moving}_deg"), from, &mut out);
        set(&format!("end_{moving}_deg"), to, &mut out);
    }
    for (before, value) in single_angles(&all) {
        if before.contains("hip") {
            set("hip_deg", value, &mut out);
        } else if before.contains("knee flexion to") || before.contains("knee flexes to") {
            set("depth_knee_deg", value, &mut out);
        } else if before.trim_end().ends_with("at") {
            set("hold_deg", value, &mut out);
        }
    }
    out
}

/// "a-b deg" with the words before it.
fn spans(text: &str) -> Vec<(String, f64, f64)> {
    let mut out = Vec::new();
    for (at, _) in text.match_indices(" deg") {
        let before = &text[..at];
        let start = before.rfind(|c: char| !(c.is_ascii_digit() || c == '-' || c == '.')).map_or(0, |i| i + 1);
        let Some((a, b)) = before.get(start..).and_then(|t| t.split_once('-')) else { continue };
        if let (Ok(a), Ok(b)) = (a.parse::<f64>(), b.parse::<f64>()) {
            let clause = before[..start].rfind([';', ',']).map_or(0, |i| i + 1);
            out.push((before[clause..start].to_string(), a.min(b), a.max(b)));
        }
    }
    out
}

/// "a deg" with the words before it.
fn single_angles(text: &str) -> Vec<(String, f64)> {
    let mut out = Vec::new();
    for (at, _) in text.match_indices(" deg") {
        let before = &text[..at];
        let start = before.rfind(|c: char| !(c.is_ascii_digit() || c == '.')).map_or(0, |i| i + 1);
        let joined = before[..start].ends_with('-');
        if let (false, Some(Ok(v))) = (joined, before.get(start..).map(str::parse::<f64>)) {
            let clause = before[..start].rfind([';', ',']).map_or(0, |i| i + 1);
            out.push((before[clause..start].replace('~', ""), v));
        }
    }
    out
}
