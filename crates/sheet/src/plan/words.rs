//! Words of plans: column headings, days, weeks, rows that are not training.

use super::notation::Slot;

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    Exercise,
    Read(Slot),
    /// Read, but never counted: notes, what was done, muscle groups, warm-up sets.
    Aside,
    /// Order or superset mark.
    Mark,
    Day,
    /// A column that says the week of each row.
    WeekOfRow,
    /// "Week 3": the scheme of that week.
    Week(u32),
}

/// Lower case words of a text, letters and digits only; "%" and "#" stay.
pub fn plain(text: &str) -> Vec<String> {
    let keep = |c: char| c.is_alphanumeric() || c == '%' || c == '#';
    let lower = text.to_lowercase();
    lower.split(|c: char| !keep(c)).filter(|w| !w.is_empty()).map(String::from).collect()
}

/// Role a heading gives its column; `None` for anything else.
pub fn role(text: &str) -> Option<Role> {
    let words = plain(text);
    if words.len() > 6 {
        return None;
    }
    if let Some(week) = week(text) {
        return Some(Role::Week(week));
    }
    let joined = words.join(" ");
    let has = |w: &str| words.iter().any(|x| x == w);
    let kg = has("kg") || has("kgs") || has("kilos");
    let lb = has("lb") || has("lbs") || has("pounds");
    let load_unit = if kg == lb { None } else { Some(if kg { "kg" } else { "lb" }) };
    let first = words.first().map_or("", String::as_str);
    Some(match joined.as_str() {
        "exercise" | "exercises" | "movement" | "movements" | "lift" | "lifts" | "exercise name"
        | "name of exercise" | "main lift" | "drill" => Role::Exercise,
        "sets" | "set" | "# sets" | "#sets" | "no of sets" | "working sets" | "work sets" | "hard sets" | "sets #" => {
            Role::Read(Slot::Sets)
        }
        "reps" | "rep" | "repetitions" | "rep range" | "target reps" | "reps time" | "rep target" | "reps sec"
        | "reps secs" | "# reps" => Role::Read(Slot::Reps),
        "sets x reps" | "sets reps" | "set x rep" | "sets and reps" | "scheme" | "prescription" | "set rep"
        | "sets x rep" | "volume" | "programming" | "dose" | "sxr" | "work" => Role::Read(Slot::Scheme),
        "rir" | "target rir" | "rir target" | "reps in reserve" => Role::Read(Slot::Rir),
        "rpe" | "target rpe" | "rpe target" => Role::Read(Slot::Rpe),
        "effort" | "intensity" | "rpe rir" | "rir rpe" => Role::Read(Slot::Effort),
        "%" | "%1rm" | "% 1rm" | "percent" | "percentage" | "% of 1rm" | "% rm" | "%rm" | "1rm %" => {
            Role::Read(Slot::Percent)
        }
        "rest" | "pause between sets" | "break" => Role::Read(Slot::Rest(None)),
        "notes" | "note" | "comments" | "comment" | "remarks" | "remark" | "cues" | "cue" | "coach notes"
        | "instructions" | "description" | "video" | "link" | "done" | "actual" | "logged" | "result" | "results"
        | "achieved" | "actual reps" | "actual load" | "client notes" | "muscle" | "muscle group" | "target muscle"
        | "bodypart" | "body part" | "feedback" | "equipment" | "warm up sets" | "warmup sets" | "warm up"
        | "wu sets" | "last week" | "date" | "e1rm" | "1rm" | "pattern" | "category" => Role::Aside,
        "#" | "order" | "no" | "nr" | "superset" | "pair" | "block" | "group" | "label" => Role::Mark,
        "day" | "days" | "session" | "workout" => Role::Day,
        "week" | "wk" => Role::WeekOfRow,
        "load" | "weight" | "weights" | "kg" | "lb" | "lbs" | "working weight" | "target load" | "start load"
        | "loads" | "resistance" => Role::Read(Slot::Load(load_unit)),
        _ if first == "tempo" => Role::Read(Slot::Tempo),
        _ if first == "rest" && words.len() <= 3 => {
            let unit = if has("min") || has("mins") || has("minutes") {
                Some(60)
            } else if has("s") || has("sec") || has("secs") || has("seconds") {
                Some(1)
            } else {
                return None;
            };
            Role::Read(Slot::Rest(unit))
        }
        _ if ["load", "weight"].contains(&first) && load_unit.is_some() && words.len() <= 4 => {
            Role::Read(Slot::Load(load_unit))
        }
        _ => return None,
    })
}

/// "Week 3", "Wk 4 (deload)", "W2".
pub fn week(text: &str) -> Option<u32> {
    let words = plain(text);
    let (first, rest) = words.split_first()?;
    let number = |w: &str| w.parse::<u32>().ok().filter(|n| (1..=104).contains(n));
    let glued = ["week", "wk", "w"].iter().find_map(|p| number(first.strip_prefix(p)?));
    let next = || if ["week", "wk"].contains(&first.as_str()) { number(rest.first()?) } else { None };
    let n = glued.or_else(next)?;
    (words.len() <= 5).then_some(n)
}

const WEEKDAYS: [&str; 21] = [
    "monday",
    "tuesday",
    "wednesday",
    "thursday",
    "friday",
    "saturday",
    "sunday",
    "mon",
    "tue",
    "tues",
    "wed",
    "thu",
    "thur",
    "thurs",
    "fri",
    "sat",
    "sun",
    "weds",
    "mo",
    "we",
    "fr",
];
const SPLITS: [&str; 34] = [
    "push",
    "pull",
    "leg",
    "legs",
    "upper",
    "lower",
    "full",
    "body",
    "arms",
    "arm",
    "shoulders",
    "shoulder",
    "chest",
    "back",
    "torso",
    "glutes",
    "glute",
    "limbs",
    "day",
    "session",
    "workout",
    "and",
    "a",
    "b",
    "c",
    "d",
    "heavy",
    "light",
    "1",
    "2",
    "3",
    "4",
    "5",
    "6",
];

/// Whether a text names a day or session.
pub fn is_day(text: &str) -> bool {
    let words = plain(text);
    let Some(first) = words.first() else { return false };
    if words.len() > 8 || is_not_training(text) {
        return false;
    }
    let label =
        |w: &String| w.parse::<u32>().is_ok_and(|n| n <= 14) || w.len() == 1 && w.as_bytes()[0].is_ascii_lowercase();
    let numbered = ["day", "session", "workout", "training"].contains(&first.as_str())
        && words.get(1).is_some_and(|w| label(w) || SPLITS.contains(&w.as_str()) || w == "day");
    let glued =
        first.strip_prefix("day").or(first.strip_prefix('d')).is_some_and(|n| n.parse::<u32>().is_ok_and(|n| n <= 14));
    let weekday =
        WEEKDAYS.contains(&first.as_str()) && words.iter().all(|w| w.parse::<f64>().is_err() && !is_scheme(w));
    let only_split =
        words.iter().all(|w| SPLITS.contains(&w.as_str())) && first.parse::<u32>().is_err() && first.len() > 1;
    numbered || glued || weekday || only_split && first != "and"
}

/// "5x5"
fn is_scheme(word: &str) -> bool {
    word.split_once('x').is_some_and(|(a, b)| [a, b].iter().all(|n| n.starts_with(|c: char| c.is_ascii_digit())))
}

/// Rows that are understood and not counted: what kind, in a word.
pub fn not_training(text: &str) -> Option<&'static str> {
    let words = plain(text);
    let joined = format!(" {} ", words.join(" "));
    let starts = |list: &[&str]| list.iter().any(|w| joined.starts_with(&format!(" {w} ")));
    let has = |list: &[&str]| list.iter().any(|w| joined.contains(&format!(" {w} ")));
    if words.is_empty() {
        return Some("a mark");
    }
    if starts(&["warm up", "warmup", "wu", "w u", "warm", "general warm up", "activation", "ramp up", "warm ups"]) {
        return Some("warm-up");
    }
    if starts(&[
        "cool down",
        "cooldown",
        "stretch",
        "stretching",
        "stretches",
        "mobility",
        "foam roll",
        "foam rolling",
        "foam roller",
        "yoga",
    ]) {
        return Some("mobility");
    }
    if has(&["rest day", "day off", "off day"])
        || ["rest", "off", "rest off", "recovery", "free"].contains(&joined.trim())
    {
        return Some("rest day");
    }
    if starts(&[
        "cardio",
        "treadmill",
        "elliptical",
        "liss",
        "hiit",
        "jog",
        "jogging",
        "run",
        "running",
        "bike",
        "walk",
        "swim",
        "swimming",
        "conditioning",
        "stairmaster",
        "rower",
        "cross trainer",
        "spin",
    ]) || has(&["steps", "zone 2", "zone2", "liss", "hiit", "k steps", "10k steps"])
    {
        return Some("cardio");
    }
    if starts(&[
        "total",
        "totals",
        "sum",
        "total sets",
        "weekly total",
        "weekly sets",
        "volume total",
        "avg",
        "average",
        "subtotal",
    ]) {
        return Some("a total");
    }
    if starts(&[
        "legend",
        "key",
        "note",
        "notes",
        "nb",
        "goal",
        "goals",
        "focus",
        "remember",
        "progression",
        "start date",
        "date",
        "week of",
        "coach",
        "client",
        "deload",
        "instructions",
    ]) {
        return Some("a remark");
    }
    None
}

pub fn is_not_training(text: &str) -> bool {
    not_training(text).is_some()
}

/// Fields of a client sheet.
pub fn is_client_field(text: &str) -> bool {
    let joined = plain(text).join(" ");
    let exact = [
        "name",
        "client",
        "client name",
        "sex",
        "gender",
        "age",
        "height",
        "stature",
        "weight",
        "body weight",
        "bodyweight",
        "body mass",
        "mass",
        "training age",
        "experience",
        "goal",
        "goals",
        "injuries",
        "injury",
        "pain",
        "medication",
        "medications",
        "conditions",
        "medical",
        "days",
        "days per week",
        "minutes",
        "minutes per day",
        "session length",
        "equipment",
        "kit",
        "gym",
        "priorities",
        "priority",
        "date of birth",
        "dob",
        "born",
        "thigh",
        "shank",
        "arm span",
        "span",
        "trunk",
        "sitting height",
        "sleep",
        "email",
        "notes",
        "diet",
        "phase",
        "limits",
        "training experience",
        "focus",
        "upper arm",
        "forearm",
        "occupation",
        "session minutes",
    ];
    exact.contains(&joined.as_str())
}
