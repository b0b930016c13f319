//! Words of pain and alarm in a plan. In: the text of a cell; out: every such word that is not denied, in the spelling
//! that the rows of `data/programme/safety.csv` list.
//!
//! A word too many costs a question, a word missed may cost more: in doubt it is flagged.

/// Joints and regions that make "sore" worth a flag; sore muscles alone are everyday.
const PLACES: [&str; 19] = [
    "knee",
    "knees",
    "elbow",
    "elbows",
    "shoulder",
    "shoulders",
    "hip",
    "hips",
    "ankle",
    "wrist",
    "wrists",
    "neck",
    "back",
    "spine",
    "joint",
    "joints",
    "groin",
    "achilles",
    "tendon",
];

/// Words and phrases, longest first where one holds another ("swollen calf", "swollen").
const ALARMS: &str = "chest pain;chest pains;fainted;fainting;passed out;passing out;pass out;blacked out;blacking out;\
    blackout;collapsed;syncope;jaw pain;short of breath at rest;dark urine;cola urine;brown urine;rhabdo;saddle numb;\
    saddle numbness;bladder;bowel;both legs weak;hot swollen calf;swollen calf;calf swollen;blood clot;\
    explosive headache;thunderclap;worst headache;slurred speech;face drooped;popped;felt a pop;heard a pop;heard pop;\
    snapped;tore;torn;ruptured;pulled hamstring;pulled groin;pulled calf;pulled muscle;locked;locking;giving way;\
    gives way;gave way;swollen;swelling;numb;numbness;tingling;tingles;tingly;pins and needles;shooting;night pain;\
    wakes at night;dizzy;dizziness;lightheaded;light headed;vertigo;palpitations;irregular heartbeat;heart racing;\
    short of breath;shortness of breath;breathless;breathlessness;couldn t breathe;can t breathe;leaked;leaking;\
    leakage;pain;pains;painful;hurt;hurts;hurting;ache;aches;aching;achy;tweak;tweaks;tweaked;tweaky;twinge;twinges;\
    twinged;twingy;niggle;niggles;niggly;niggling;sharp;stabbing;pinch;pinches;pinching;catching;sprain;sprained;\
    strain;strained;injured;injury;impingement;tendonitis;tendinitis;tendinopathy;headache;flared;flare up;acting up;\
    irritated";

/// What the chest may do, and what may stand between ("tightness in the chest", "chest felt very tight").
const CHEST_SIGNS: [&str; 12] = [
    "tight",
    "tightness",
    "tightening",
    "pressure",
    "pain",
    "pains",
    "painful",
    "hurt",
    "hurts",
    "squeezing",
    "crushing",
    "discomfort",
];
const LINKS: [&str; 24] = [
    "in", "the", "my", "his", "her", "their", "a", "an", "bit", "of", "is", "was", "got", "gets", "felt", "feels",
    "feeling", "some", "slight", "slightly", "very", "really", "across", "around",
];

const DENIALS: [&str; 14] =
    ["no", "not", "without", "zero", "never", "doesn", "didn", "isn", "wasn", "don", "nothing", "avoid", "any", "if"];

/// Every word of pain or alarm in a text that is not denied, each once, in the order of the list above.
pub fn alarm_words(text: &str) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    for clause in clauses(text) {
        let words = super::words::plain(&clause);
        let mut taken = vec![false; words.len()];
        for word in chest(&words, &mut taken).into_iter().chain(listed(&words, &mut taken)) {
            if !found.contains(&word) {
                found.push(word);
            }
        }
    }
    found
}

/// What a denial reaches: "no change, chest pain" denies no pain.
fn clauses(text: &str) -> Vec<String> {
    let lower = text.to_lowercase().replace(" but ", ",").replace(" then ", ",");
    lower.split([',', ';', '.', '!', '?', '(', ')', '\n', '–', '—', '|']).map(String::from).collect()
}

/// Tightness, pressure or pain beside "chest".
fn chest(words: &[String], taken: &mut [bool]) -> Vec<String> {
    let mut out = Vec::new();
    for (i, _) in words.iter().enumerate().filter(|(_, w)| *w == "chest") {
        let between = |from: usize, to: usize| words[from..to].iter().all(|w| LINKS.contains(&w.as_str()));
        let sign = |k: &usize| CHEST_SIGNS.contains(&words[*k].as_str());
        let after = (i + 1..words.len()).find(sign).filter(|&k| between(i + 1, k));
        let before = (0..i).rev().find(sign).filter(|&k| between(k + 1, i));
        let Some(k) = after.or(before) else { continue };
        let (from, to) = (i.min(k), i.max(k) + 1);
        if denied(words, from, to) {
            continue;
        }
        taken[from..to].iter_mut().for_each(|t| *t = true);
        let word = if words[k].starts_with("tight") {
            "chest tight"
        } else if words[k] == "pressure" {
            "chest pressure"
        } else {
            "chest pain"
        };
        out.push(word.to_string());
    }
    out
}

fn listed(words: &[String], taken: &mut [bool]) -> Vec<String> {
    let mut out = Vec::new();
    for alarm in ALARMS.split(';').map(str::trim) {
        let parts: Vec<&str> = alarm.split(' ').collect();
        for i in 0..(words.len() + 1).saturating_sub(parts.len()) {
            let to = i + parts.len();
            let here = words[i..to].iter().zip(&parts).all(|(w, p)| w == p) && !taken[i..to].iter().all(|t| *t);
            if here && !technique(words, i, to) && !denied(words, i, to) {
                taken[i..to].iter_mut().for_each(|t| *t = true);
                out.push(alarm.to_string());
            }
        }
    }
    let at = |word: &str| words.iter().position(|w| w == word).filter(|&i| !denied(words, i, i + 1));
    if at("sore").is_some() && words.iter().any(|w| PLACES.contains(&w.as_str())) {
        out.push("sore".into());
    }
    // "a faint line" is no fainting.
    if let Some(i) = at("faint") {
        let next = words.get(i + 1).map_or("", String::as_str);
        if next.is_empty() || ["after", "during", "at", "on", "and", "when", "feeling"].contains(&next) {
            out.push("faint".into());
        }
    }
    out
}

/// Words of alarm that are cues of technique here: "locked out", "no locking out", "sharp turn".
fn technique(words: &[String], i: usize, to: usize) -> bool {
    let next = words.get(to).map_or("", String::as_str);
    match words[i].as_str() {
        "locked" | "locking" => ["out", "in", "elbows", "knees", "arms"].contains(&next),
        "sharp" => ["exhale", "breath", "turn", "contraction"].contains(&next),
        "pinch" | "pinching" => ["shoulder", "shoulders", "blades", "the", "grip", "plate", "plates"].contains(&next),
        _ => false,
    }
}

/// "no pain", "does not hurt", "pain free", "stop if it hurts" is a rule, not a complaint.
fn denied(words: &[String], from: usize, to: usize) -> bool {
    let start = from.saturating_sub(3);
    let rule = |k: usize| {
        let next = words.get(k + 1).map_or("", String::as_str);
        words[k] == "stop" && ["if", "when", "at", "before", "with"].contains(&next)
    };
    (start..from).any(|k| DENIALS.contains(&words[k].as_str()) || rule(k)) || words.get(to).is_some_and(|a| a == "free")
}
