//! From the cells of one exercise to its entry.

use super::notation::{Prescription, Reader, Slot};
use super::token::plain_signs;
use super::words::not_training;
use super::{PlanOptions, note};
use answer::{Entry, EntryExtra, Message, Status};
use movement::names::{NameContext, NameIndex, NameMatch};

/// Where an entry stands.
#[derive(Clone, Debug, Default)]
pub struct Place {
    pub sheet: String,
    /// 1-based.
    pub row: u32,
    pub col: u32,
    pub day: String,
    pub week: u32,
    /// For messages: "Push!E5" or "line 12".
    pub name: String,
}

/// What an exercise's cells say, the name cell first.
#[derive(Debug, Default)]
pub struct Written {
    /// As written, for showing.
    pub text: String,
    pub name: String,
    pub pair: Option<String>,
    /// Sets and repetitions stand beside it without headings.
    pub read_as_two: bool,
    reader: Reader,
    /// Words of the name cell behind sets and repetitions.
    behind: String,
    /// Remarks beside it.
    notes: Vec<String>,
}

impl Written {
    /// Takes the cell with the name, which may hold everything ("A1) Back squat 3x8 @2").
    pub fn from_cell(text: &str) -> Written {
        let (pair, rest) = split_mark(text);
        let mut probe = Reader::new();
        probe.read(rest, Slot::Line);
        let mut w = Written { text: text.trim().into(), pair, ..Default::default() };
        let chars: Vec<char> = plain_signs(rest);
        let at = probe.first_group_at.unwrap_or(chars.len()).min(chars.len());
        let own: String = chars[..at].iter().collect();
        let scheme: String = chars[at..].iter().collect();
        w.reader.read(own.trim(), Slot::Line);
        w.name = std::mem::take(w.reader.leftover());
        w.reader.read(&scheme, Slot::Scheme);
        w.behind = std::mem::take(w.reader.leftover());
        if w.name.is_empty() {
            // "3x8 back squat"
            w.name = std::mem::take(&mut w.behind);
        }
        w
    }

    /// Takes a further cell of the row.
    pub fn read(&mut self, text: &str, slot: Slot) {
        if slot == Slot::Notes {
            self.notes.push(text.trim().to_string());
        }
        self.reader.read(text, slot);
    }

    pub fn read_date(&mut self, iso: &str, slot: Slot) {
        self.reader.read_date(iso, slot);
    }

    pub fn has_sets(&self) -> bool {
        self.reader.has_sets()
    }

    pub fn assume(&mut self, text: String) {
        self.reader.assume(text);
    }

    /// The entry, with questions to the coach.
    pub fn entry(mut self, at: Place, index: &NameIndex, options: &PlanOptions, messages: &mut Vec<Message>) -> Entry {
        if let Some(kind) = not_training(&self.name).filter(|_| !self.name.is_empty()) {
            return ignored(&self.text, kind, at);
        }
        let more = [std::mem::take(&mut self.behind), std::mem::take(self.reader.leftover())].join(" ");
        let groups = self.reader.groups();
        let mut p = self.reader.finish();
        let context = NameContext { kit: options.kit, day: &at.day };
        let mut found = index.find(&self.name, &context);
        let mut assumptions = Vec::new();
        if !more.trim().is_empty() {
            let longer = index.find(&format!("{} {}", self.name, more.trim()), &context);
            let sure = |m: &NameMatch| m.best.as_ref().map_or(0.0, |b| b.confidence);
            if longer.assumptions.len() <= found.assumptions.len() + 1 && sure(&longer) >= sure(&found).max(0.9) {
                found = longer;
            } else {
                assumptions.push(format!("“{}” was not used", more.trim()));
            }
        }
        for remark in self.notes.iter().filter(|n| changes_exercise(n)) {
            let with = index.find(&format!("{} {remark}", self.name), &context);
            let other = with
                .best
                .as_ref()
                .zip(found.best.as_ref())
                .is_some_and(|(a, b)| a.confidence >= 0.9 && (a.id != b.id || a.settings != b.settings));
            if other && with.question.is_none() && with.assumptions.len() <= found.assumptions.len() {
                found = with;
                assumptions.push(format!("“{remark}” taken from the remarks"));
            } else {
                assumptions.push(format!("not used, though it may change the exercise: “{remark}”"));
            }
        }
        if self.notes.iter().chain([&more]).any(|t| is_optional(t)) {
            assumptions.push("only if there is time: counted from no set to all".into());
            p.sets = p.sets.map(|(_, high)| (0.0, high));
        }
        if let Some(both) = two_movements(&self.name, &found, index, &context) {
            found = both;
        } else if groups > 1 && names_a_movement(&more, index, &context) {
            // "Squat 5x5, leg curl 3x10": the second name's sets are not the first one's.
            let question = format!("“{}”: several exercises in one cell; please give each a row", self.text);
            found = NameMatch { question: Some(question), nearest: found.nearest, ..Default::default() };
        }
        let known = found.best.is_some();
        if let Some(q) = &found.question {
            messages.push(note(if known { "question" } else { "warning" }, &at.name, q.clone()));
        }
        assumptions.splice(0..0, found.assumptions.iter().cloned());
        let mut entry = build(self.text, self.pair, p, found, assumptions, at, options);
        entry.extra.remarks = self.notes.join("; ");
        entry
    }
}

/// Words of a remark after which it is another exercise, or the same one done otherwise.
const CHANGES: &str = "heel;heels;wedge;elevated;lean;leaning;low to high;high to low;rope;straight bar;v bar;ez bar;\
    wide;narrow;close grip;neutral;neutral grip;supinated;pronated;underhand;overhand;incline;decline;seated;standing;\
    kneeling;half kneeling;deficit;partials;lengthened partials;unilateral;single arm;single leg;one arm;one leg;banded;\
    with band;with bands;chains;machine;smith;cable;cables;dumbbell;dumbbells;db;dbs;kettlebell;kb;barbell;sumo;\
    straight legs;chest supported;box;off blocks;behind the back;behind the neck;preacher;feet up;feet high;feet low;\
    sissy;reverse grip;half reps;bottom half;top half;eccentric only;negatives";

fn changes_exercise(remark: &str) -> bool {
    let said = format!(" {} ", super::words::plain(remark).join(" "));
    CHANGES.split(';').any(|w| said.contains(&format!(" {} ", w.trim())))
}

fn is_optional(text: &str) -> bool {
    let said = format!(" {} ", super::words::plain(text).join(" "));
    ["if time", "if you have time", "if there s time", "if there is time", "time permitting", "optional"]
        .iter()
        .any(|w| said.contains(&format!(" {w} ")))
}

fn build(
    text: String,
    pair: Option<String>,
    p: Prescription,
    found: NameMatch,
    mut assumptions: Vec<String>,
    at: Place,
    options: &PlanOptions,
) -> Entry {
    assumptions.extend(p.assumptions);
    let mut unit = p.unit;
    if p.load.is_some() && unit.is_none() {
        unit = Some(options.unit.unwrap_or("kg").to_string());
        if options.unit.is_none() {
            assumptions.push("the load has no unit: kg assumed".into());
        }
    }
    let known = found.best.is_some();
    if p.sets.is_none() {
        assumptions.push("no number of sets could be read: not counted".into());
    }
    let status = match (known, p.sets) {
        (true, Some(_)) if assumptions.is_empty() => Status::Certain,
        (true, Some(_)) => Status::Assumed,
        _ => Status::Unknown,
    };
    let (sets_low, sets_high) = p.sets.unwrap_or_default();
    let (movement, settings, confidence) = match found.best {
        Some(b) => (Some(b.id), b.settings, b.confidence),
        None => (None, Default::default(), found.nearest.first().map_or(0.0, |n| n.1).min(1.0)),
    };
    Entry {
        sheet: at.sheet,
        row: at.row,
        col: at.col,
        day: at.day,
        week: at.week,
        text,
        name: movement.clone().unwrap_or_default(),
        movement,
        settings,
        confidence,
        sets_low,
        sets_high,
        reps_low: p.reps.map(|r| r.0),
        reps_high: p.reps.map(|r| r.1),
        reps_unit: p.reps_unit,
        rir: p.rir,
        load: p.load,
        unit,
        status,
        assumptions,
        extra: EntryExtra {
            tempo_s: p.tempo_s,
            rest_s: p.rest_s,
            each_side: p.each_side,
            pair,
            nearest: found.nearest,
            remarks: String::new(),
        },
    }
}

/// A row understood and not counted.
pub fn ignored(text: &str, kind: &str, at: Place) -> Entry {
    Entry { assumptions: vec![format!("{kind}: not counted")], status: Status::Ignored, ..blank(text, at) }
}

/// A row not understood.
pub fn unknown(text: &str, why: &str, at: Place) -> Entry {
    Entry { assumptions: vec![why.to_string()], status: Status::Unknown, ..blank(text, at) }
}

fn blank(text: &str, at: Place) -> Entry {
    let Place { sheet, row, col, day, week, .. } = at;
    Entry { sheet, row, col, day, week, text: text.trim().into(), reps_unit: "reps".into(), ..Default::default() }
}

/// "EZ curl + rope push-down": two movements that the coach wrote into one cell; neither is chosen.
fn two_movements(name: &str, whole: &NameMatch, index: &NameIndex, context: &NameContext) -> Option<NameMatch> {
    let plain = whole.best.as_ref().is_some_and(|b| b.confidence > 0.97) && whole.assumptions.is_empty();
    if plain || name.contains('{') {
        return None;
    }
    let lower = name.to_lowercase();
    let bare = lower.trim_start_matches("superset").trim_start_matches("ss").trim_start_matches([':', ' ']);
    let separators =
        [" + ", " / ", " -> ", " & ", " superset with ", " ss ", " into ", "+", " w/ ", " super ", " and "];
    let parts: Vec<&str> = separators.iter().find(|s| bare.contains(*s)).map(|s| bare.split(s).collect())?;
    let matches: Vec<NameMatch> = parts.iter().map(|p| index.find(p, context)).collect();
    let ids: Vec<&str> = matches.iter().filter_map(|m| m.best.as_ref()).map(|b| b.id.as_str()).collect();
    if ids.len() < 2 || ids.len() < parts.len() || ids.windows(2).all(|w| w[0] == w[1]) {
        return None;
    }
    Some(NameMatch {
        question: Some(format!("“{name}”: two movements in one cell ({}); please give each a row", ids.join(", "))),
        nearest: matches.iter().filter_map(|m| m.best.as_ref()).map(|b| (b.id.clone(), b.confidence)).collect(),
        ..Default::default()
    })
}

fn names_a_movement(text: &str, index: &NameIndex, context: &NameContext) -> bool {
    index.find(text, context).best.is_some() || text.split_whitespace().count() > 3
}

/// One line out of "squat 5x5, leg curl 3x10; calf raise 4x12", if every piece has a name and sets.
pub fn several_lines(text: &str) -> Vec<&str> {
    let lines: Vec<&str> = text.lines().map(str::trim).filter(|l| !l.is_empty()).collect();
    if lines.len() > 1 {
        return lines;
    }
    let pieces: Vec<&str> = text.split([',', ';']).map(str::trim).collect();
    let whole = |p: &&str| {
        let w = Written::from_cell(p);
        w.has_sets() && w.name.chars().filter(|c| c.is_alphabetic()).count() > 1
    };
    if pieces.len() > 1 && pieces.iter().all(whole) { pieces } else { vec![text] }
}

/// Whether a text names two movements.
pub fn names_two(name: &str, index: &NameIndex) -> bool {
    two_movements(name, &NameMatch::default(), index, &NameContext::default()).is_some()
}

/// "A1) Back squat" → ("A1", "Back squat"); list numbers and bullets are dropped.
pub fn split_mark(text: &str) -> (Option<String>, &str) {
    let text = text.trim().trim_start_matches(['•', '*', '·', '▪']).trim_start();
    let text = text.strip_prefix("- ").unwrap_or(text).trim_start();
    let Some(end) = text.find([')', '.', ':', '-', ' ']).filter(|&e| (1..=3).contains(&e)) else {
        return (None, text);
    };
    let mark = &text[..end];
    let rest = text[end..].trim_start_matches([')', '.', ':', '-', ' ']);
    let mut chars = mark.chars();
    let first = chars.next().unwrap_or(' ');
    let digits = chars.clone().all(|c| c.is_ascii_digit());
    let spaced = text[end..].contains(' ') && (text[end + 1..].starts_with(' ') || text.as_bytes()[end] == b' ');
    if rest.is_empty() || !spaced {
        return (None, text);
    }
    let letter = first.is_ascii_alphabetic() && digits;
    if letter && (mark.len() > 1 || text.as_bytes()[end] != b' ') && !(mark.len() == 1 && text.as_bytes()[end] == b'-')
    {
        return (Some(mark.to_uppercase()), rest);
    }
    let listed = mark.chars().all(|c| c.is_ascii_digit()) && [b')', b'.'].contains(&text.as_bytes()[end]);
    if listed { (None, rest) } else { (None, text) }
}

/// A cell of a superset column: "A1", "b", "2a"; plain row numbers mark nothing.
pub fn pair_mark(text: &str) -> Option<String> {
    let mark = text.trim().trim_end_matches([')', '.', ':']);
    let fits = (1..=3).contains(&mark.len()) && mark.chars().all(|c| c.is_ascii_alphanumeric());
    (fits && mark.chars().any(|c| c.is_ascii_alphabetic())).then(|| mark.to_uppercase())
}
