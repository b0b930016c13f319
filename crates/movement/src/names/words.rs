//! Words of movement names: one spelling for the many a coach uses, and how alike two words are.

/// Short forms and variants of one word → the words they stand for. Both the library's names and the coach's text go
/// through this table, so a rough entry ("pd" is a pull-down) does no harm where an alias says otherwise ("rope PD").
const WORDS: &[(&str, &str)] = &[
    ("bb", "barbell"),
    ("bbell", "barbell"),
    ("db", "dumbbell"),
    ("dumbell", "dumbbell"),
    ("dbell", "dumbbell"),
    ("kb", "kettlebell"),
    ("ez", "ezbar"),
    ("angled", "ezbar"),
    ("sm", "smith"),
    ("mach", "machine"),
    ("cbl", "cable"),
    ("bw", "bodyweight"),
    ("sa", "singlearm"),
    ("1a", "singlearm"),
    ("sl", "singleleg"),
    ("1l", "singleleg"),
    ("uni", "unilateral"),
    ("alt", "alternating"),
    ("alternate", "alternating"),
    ("inc", "incline"),
    ("incl", "incline"),
    ("dec", "decline"),
    ("ext", "extension"),
    ("extn", "extension"),
    ("abd", "abduction"),
    ("rev", "reverse"),
    ("oh", "overhead"),
    ("btn", "behind neck"),
    ("ng", "neutral grip"),
    ("neut", "neutral"),
    ("wg", "wide grip"),
    ("cg", "close grip"),
    ("rg", "reverse grip"),
    ("uh", "underhand"),
    ("cs", "chest supported"),
    ("supp", "supported"),
    ("support", "supported"),
    ("he", "heel raised"),
    ("elevated", "raised"),
    ("elev", "raised"),
    ("rdl", "romanian deadlift"),
    ("dl", "deadlift"),
    ("sq", "squat"),
    ("pd", "pulldown"),
    ("pu", "pushup"),
    ("ohp", "overhead press"),
    ("ht", "hip thrust"),
    ("hexagonal", "hex"),
    ("trap", "trap"),
    ("lm", "landmine"),
    ("tri", "triceps"),
    ("tricep", "triceps"),
    ("bi", "biceps"),
    ("bicep", "biceps"),
    ("ham", "hamstring"),
    ("hammy", "hamstring"),
    ("quads", "quad"),
    ("delts", "deltoid"),
    ("delt", "deltoid"),
    ("flye", "fly"),
    ("flies", "fly"),
    ("flys", "fly"),
    ("calves", "calf"),
    ("raises", "raise"),
    ("raising", "raise"),
    ("supine", "lying"),
    ("prone", "prone"),
    ("supinated", "underhand"),
    ("pronated", "overhand"),
    ("pron", "overhand"),
    ("bulgarians", "bulgarian"),
    ("degree", "deg"),
    ("ab", "abs"),
    ("def", "deficit"),
    ("pse", "paused"),
    ("pause", "paused"),
    ("banded", "band"),
    ("std", "standing"),
    ("legged", "leg"),
    ("armed", "arm"),
    ("handed", "hand"),
];

/// Two words in a row that are one.
const COMPOUNDS: &[(&str, &str, &str)] = &[
    ("dumb", "bell", "dumbbell"),
    ("kettle", "bell", "kettlebell"),
    ("bar", "bell", "barbell"),
    ("body", "weight", "bodyweight"),
    ("pull", "down", "pulldown"),
    ("push", "down", "pushdown"),
    ("press", "down", "pushdown"),
    ("pull", "up", "pullup"),
    ("push", "up", "pushup"),
    ("press", "up", "pushup"),
    ("chin", "up", "chinup"),
    ("sit", "up", "situp"),
    ("step", "up", "stepup"),
    ("step", "down", "stepdown"),
    ("roll", "out", "rollout"),
    ("pull", "over", "pullover"),
    ("pull", "through", "pullthrough"),
    ("pull", "apart", "pullapart"),
    ("kick", "back", "kickback"),
    ("dead", "lift", "deadlift"),
    ("cross", "over", "crossover"),
    ("face", "pull", "facepull"),
    ("leg", "press", "legpress"),
    ("leg", "curl", "legcurl"),
    ("bench", "press", "bench"),
    ("skull", "crusher", "skullcrusher"),
    ("good", "morning", "goodmorning"),
    ("t", "bar", "tbar"),
    ("v", "bar", "vbar"),
    ("v", "squat", "vsquat"),
    ("ezbar", "bar", "ezbar"),
    ("hex", "bar", "hexbar"),
    ("trap", "bar", "hexbar"),
    ("b", "stance", "bstance"),
    ("single", "arm", "singlearm"),
    ("one", "arm", "singlearm"),
    ("1", "arm", "singlearm"),
    ("single", "leg", "singleleg"),
    ("one", "leg", "singleleg"),
    ("1", "leg", "singleleg"),
    ("smith", "machine", "smith"),
    ("stiff", "leg", "stiffleg"),
    ("straight", "leg", "stiffleg"),
    ("close", "hand", "closehand"),
    ("push", "downs", "pushdown"),
];

/// Single spellings that compounds already written together should reach.
const JOINED: &[(&str, &str)] = &[
    ("pressdown", "pushdown"),
    ("pressup", "pushup"),
    ("trapbar", "hexbar"),
    ("benchpress", "bench"),
    ("stiffs", "stiffleg"),
    ("chin", "chinup"),
];

const STOP: &[&str] =
    &["the", "a", "an", "of", "on", "in", "to", "with", "w", "for", "at", "and", "or", "your", "per", "from", "by"];

/// Name → words in order: lower case, one spelling, compounds joined, singular, without filler words.
pub fn words(text: &str) -> Vec<String> {
    join(pieces(text).iter().flat_map(|w| spell(w)).filter(|w| !STOP.contains(&w.as_str())).collect())
}

/// The same without opening short forms: "PD" stays "pd", so that it can be asked about.
pub fn words_as_written(text: &str) -> Vec<String> {
    join(pieces(text).iter().map(|w| singular(w)).filter(|w| !STOP.contains(&w.as_str())).collect())
}

fn pieces(text: &str) -> Vec<String> {
    let mut raw: Vec<String> = Vec::new();
    let mut word = String::new();
    let end = |word: &mut String, raw: &mut Vec<String>| {
        if !word.is_empty() {
            raw.push(std::mem::take(word));
        }
    };
    let chars: Vec<char> = text.chars().flat_map(char::to_lowercase).collect();
    for (i, &ch) in chars.iter().enumerate() {
        let digits = |at: Option<&char>| at.is_some_and(char::is_ascii_digit);
        let inside_number = digits(i.checked_sub(1).and_then(|p| chars.get(p))) && digits(chars.get(i + 1));
        match ch {
            '\'' | '’' | '‘' => {}
            '½' => word.push_str("1/2"),
            '¼' => word.push_str("1/4"),
            '°' => {
                end(&mut word, &mut raw);
                raw.push("deg".into());
            }
            '/' | '.' | ',' if inside_number => word.push(if ch == ',' { '.' } else { ch }),
            c if c.is_alphanumeric() => word.push(c),
            _ => end(&mut word, &mut raw),
        }
    }
    end(&mut word, &mut raw);
    raw
}

fn spell(word: &str) -> Vec<String> {
    let look_up = |w: &str| WORDS.iter().find(|(from, _)| *from == w).map(|(_, to)| *to);
    let split = |to: &str| to.split(' ').map(String::from).collect();
    if let Some(to) = look_up(word) {
        return split(to);
    }
    // "30deg" is a number and its unit.
    if let Some(number) = word.strip_suffix("degrees").or(word.strip_suffix("deg")).filter(|n| is_number(n)) {
        return vec![number.to_string(), "deg".into()];
    }
    let one = singular(word);
    if let Some(to) = look_up(&one) {
        return split(to);
    }
    vec![JOINED.iter().find(|(from, _)| *from == one).map_or(one, |(_, to)| to.to_string())]
}

/// A whole number of degrees or the like.
pub fn is_number(word: &str) -> bool {
    !word.is_empty() && word.parse::<f64>().is_ok_and(f64::is_finite)
}

fn singular(word: &str) -> String {
    let n = word.len();
    if n > 3 && word.ends_with('s') && !["ss", "us", "ps"].iter().any(|e| word.ends_with(e)) {
        return word[..n - 1].to_string();
    }
    // "ups", "dips", "biceps": the first two are plurals.
    let keep = ["biceps", "triceps", "quadriceps"];
    if n > 2 && word.ends_with("ps") && !keep.contains(&word) { word[..n - 1].to_string() } else { word.to_string() }
}

fn join(words: Vec<String>) -> Vec<String> {
    let mut out: Vec<String> = Vec::with_capacity(words.len());
    for w in words {
        let joined = out
            .last()
            .and_then(|last| COMPOUNDS.iter().find(|(a, b, _)| a == last && *b == w))
            .map(|(_, _, both)| both.to_string());
        match (joined, out.last_mut()) {
            (Some(both), Some(last)) => *last = both,
            _ => out.push(w),
        }
    }
    out
}

/// Smallest number of insertions, deletions, changes and swaps of neighbours that turn `a` into `b` (optimal string
/// alignment; Damerau 1964, Levenshtein 1966), or `None` when more than `limit`.
pub fn edits(a: &str, b: &str, limit: usize) -> Option<usize> {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    if a.len().abs_diff(b.len()) > limit {
        return None;
    }
    let mut two_ago = vec![0usize; b.len() + 1];
    let mut last: Vec<usize> = (0..=b.len()).collect();
    for i in 1..=a.len() {
        let mut row = vec![i; b.len() + 1];
        for j in 1..=b.len() {
            let change = last[j - 1] + usize::from(a[i - 1] != b[j - 1]);
            row[j] = change.min(last[j] + 1).min(row[j - 1] + 1);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                row[j] = row[j].min(two_ago[j - 2] + 1);
            }
        }
        if row.iter().all(|&d| d > limit) {
            return None;
        }
        two_ago = std::mem::replace(&mut last, row);
    }
    Some(last[b.len()]).filter(|d| *d <= limit)
}

/// How alike two words are, 0 to 1. Words of up to three letters must be equal; longer ones forgive one slip in four
/// letters and two in seven; a beginning of at least three letters counts 0.8.
pub fn alike(a: &str, b: &str) -> f64 {
    if a == b {
        return 1.0;
    }
    let (short, long) = if a.len() <= b.len() { (a, b) } else { (b, a) };
    if short.len() < 3 || short.bytes().any(|c| c.is_ascii_digit()) {
        return 0.0;
    }
    if long.starts_with(short) {
        return 0.8;
    }
    let limit = match long.len() {
        0..=3 => return 0.0,
        4..=6 => 1,
        _ => 2,
    };
    // Slips rarely change the first letter; without this "seated" would be "heated", "row" a "bow".
    if a.as_bytes()[0] != b.as_bytes()[0] && limit == 1 {
        return 0.0;
    }
    edits(a, b, limit).map_or(0.0, |d| 1.0 - d as f64 / long.chars().count() as f64)
}

/// Share of three-letter pieces two texts have in common (Dice), for lists of near names when no word fits.
pub fn pieces_in_common(a: &str, b: &str) -> f64 {
    let pieces = |t: &str| {
        let padded: Vec<char> = format!("  {} ", t.to_lowercase()).chars().collect();
        let mut p: Vec<[char; 3]> = padded.windows(3).map(|w| [w[0], w[1], w[2]]).collect();
        p.sort_unstable();
        p.dedup();
        p
    };
    let (a, b) = (pieces(a), pieces(b));
    let both = a.iter().filter(|p| b.binary_search(p).is_ok()).count();
    2.0 * both as f64 / (a.len() + b.len()) as f64
}
