//! From the bytes of a plan to its audit: read, name, credit, judge.

use super::{Desk, client, data, kit};
use crate::json;
use crate::problem::{Problem, Report};
use crate::wish::Wish;
use answer::{Audit, Message, MovementCredit, SettingValue, Settings};
use library::Ask;
use movement::catalogue::{Catalogue, Kit, SettingKind};
use movement::names::NameIndex;
use programme::screening::PainWord;
use programme::{Client, HeadFacts, Inputs, RuleTexts, Rules, WeekChoice};
use rayon::prelude::*;
use sheet::grid::Book;
use sheet::plan::{ClientField, PlanOptions, PlanRead, toml_plan};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::OnceLock;

/// What an audit is asked for.
#[derive(Clone, Copy)]
pub struct AuditRequest<'a> {
    pub bytes: &'a [u8],
    /// File name, for messages.
    pub name: &'a str,
    pub week: Option<Week>,
    pub kit: Option<&'a str>,
}

/// Which week of a block.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Week {
    Number(u32),
    Mean,
}

/// Rotator-cuff heads: their estimates carry the mark "low confidence", like those of girdle and neck.
const CUFF: [&str; 4] = ["supraspinatus", "infraspinatus", "teres-minor", "subscapularis"];

/// Rules of a week from the shipped tables.
pub fn rules() -> Result<Rules, Report> {
    // Read once: every audit asks for them.
    static RULES: OnceLock<Rules> = OnceLock::new();
    if let Some(rules) = RULES.get() {
        return Ok(rules.clone());
    }
    let texts = RuleTexts {
        constants: data::text("programme/constants.csv")?,
        bands: data::text("programme/bands.csv")?,
        load_reps: data::text("programme/load_reps.csv")?,
        groups: data::text("programme/groups.csv")?,
        safety: data::text("programme/safety.csv")?,
        restrictions: data::text("programme/restrictions.csv")?,
        pain_places: data::text("programme/pain_places.csv")?,
        head_actions: data::text("programme/head_actions.csv")?,
        axis_words: data::text("programme/axis_words.csv")?,
    };
    let rules = Rules::parse(&texts).map_err(|problems| {
        let all: Vec<String> = problems.iter().map(ToString::to_string).collect();
        Report::internal(format!("the shipped rules: {}", all.join("; ")))
    })?;
    Ok(RULES.get_or_init(|| rules).clone())
}

/// Reads a plan out of a workbook, text table or TOML file.
pub(super) fn read_plan(
    bytes: &[u8],
    name: &str,
    index: &NameIndex,
    options: &PlanOptions,
) -> Result<PlanRead, Report> {
    if name.to_lowercase().ends_with(".toml") {
        let text = std::str::from_utf8(bytes)
            .map_err(|e| Report::from(Problem::error(name, format!("not UTF-8 text from byte {}", e.valid_up_to()))))?;
        return toml_plan::read_toml(text, index, options).map_err(|problems| {
            let ours = |p: &toml_plan::TomlProblem| Problem::error(format!("{name}:{}", p.line), p.problem.to_string());
            Report::of(problems.iter().map(ours).collect())
        });
    }
    Ok(sheet::plan::read_week(&open_book(bytes, name)?, index, options))
}

fn open_book(bytes: &[u8], name: &str) -> Result<Book, Report> {
    sheet::read::read_book(bytes, name).map_err(|e| {
        let place = if e.place.is_empty() { e.file.clone() } else { format!("{}, {}", e.file, e.place) };
        Problem::error(place, e.problem.to_string()).remedy(e.problem.what_to_do()).into()
    })
}

/// Row and column, 1-based, of "Sheet!B7".
fn row_and_column(place: &str) -> (u32, u32) {
    let cell = place.rsplit_once('!').map_or(place, |(_, c)| c);
    let digits = cell.find(|c: char| c.is_ascii_digit()).unwrap_or(cell.len());
    let column = cell[..digits]
        .bytes()
        .filter(u8::is_ascii_alphabetic)
        .fold(0u32, |n, b| n.saturating_mul(26).saturating_add(u32::from(b.to_ascii_uppercase() - b'A') + 1));
    (cell[digits..].parse().unwrap_or(0), column)
}

/// The client of a sheet in the plan's own workbook; problems become messages, for the plan stands without them.
fn client_of(fields: &[ClientField], file: &str, messages: &mut Vec<Message>) -> Client {
    let rows: Vec<((u32, u32), String, String)> =
        fields.iter().map(|f| (row_and_column(&f.place), f.key.clone(), f.value.clone())).collect();
    let sheet = fields.first().and_then(|f| f.place.rsplit_once('!')).map_or(file, |(s, _)| s);
    let (client, problems) = programme::client_from_rows(&rows, sheet);
    messages.extend(problems.iter().map(|p| Message {
        level: "warning".into(),
        place: p.place(),
        text: Problem { place: String::new(), ..client::problem(p) }.to_string().replace("\n  ", "; "),
    }));
    client
}

/// Heads with all their coach groups, from the list of muscles and the shipped groups.
pub(super) fn heads(desk: &Desk) -> Result<Vec<HeadFacts>, Report> {
    let mut groups: BTreeMap<String, Vec<String>> = BTreeMap::new();
    let text = data::text("anatomy/head_groups.csv")?;
    let wrong = |e: csv::Error| Report::internal(format!("data/anatomy/head_groups.csv: {e}"));
    for record in csv::ReaderBuilder::new().flexible(true).from_reader(text.as_bytes()).records() {
        let record = record.map_err(wrong)?;
        if let (Some(name), Some("coach group"), Some(list)) = (record.get(0), record.get(1), record.get(2)) {
            for head in list.split(';') {
                groups.entry(head.trim().to_string()).or_default().push(name.to_string());
            }
        }
    }
    Ok(desk
        .muscles()?
        .into_iter()
        .map(|m| {
            let mut of = groups.remove(&m.id).unwrap_or_default();
            if let Some(at) = of.iter().position(|g| *g == m.group) {
                of.swap(0, at);
            } else if !m.group.is_empty() {
                of.insert(0, m.group);
            }
            // Heads that turn nothing but the girdle or the neck, and the cuff.
            let girdle_or_neck = m.joints.iter().all(|j| j == "girdle" || j == "neck");
            let low_confidence = girdle_or_neck || CUFF.contains(&m.id.as_str());
            let (head, plain, joints) = (m.id, m.plain, m.joints);
            HeadFacts { head, plain, groups: of, volume_cm3: m.volume_cm3, joints, low_confidence }
        })
        .collect())
}

/// The kit proposals keep to: asked for, else the client's own, else none.
pub(super) fn kit_of(asked: Option<&str>, client: &Client, catalogue: &Catalogue) -> Result<Option<Kit>, Report> {
    match (asked, &client.kit) {
        (Some(word), _) => Ok(Some(kit::read(word, catalogue)?.kit)),
        (None, Some(programme::client::Kit::Id(id))) => Ok(Some(kit::read(id, catalogue)?.kit)),
        (None, Some(programme::client::Kit::Items(items))) => Ok(Some(kit::of_items("the client's kit", items))),
        (None, None) => Ok(None),
    }
}

/// Other ways to do a movement: each angle and width its family lets a coach set, halfway to either end of its range.
fn variants(catalogue: &Catalogue, movement: &str, settings: &Settings) -> Vec<Settings> {
    let Some(named) = catalogue.movement(movement) else { return Vec::new() };
    let mut out = Vec::new();
    for spec in catalogue.settings.iter().filter(|s| s.family == named.family) {
        let SettingKind::Number { unit, min, max } = &spec.kind else { continue };
        // A trunk that swings along is a fault, no other way to do it.
        if spec.key == "trunk_move_deg" {
            continue;
        }
        let decimals = match unit.as_str() {
            "deg" => 1.0,
            "x" => 10.0,
            _ => continue,
        };
        let now = settings.get(&spec.key).or(named.settings.get(&spec.key)).or(spec.default.as_ref());
        let Some(SettingValue::Number(now)) = now else { continue };
        for end in [min, max] {
            let halfway = (0.5 * (now + end) * decimals).round() / decimals;
            if halfway != *now {
                let mut variant = settings.clone();
                variant.insert(spec.key.clone(), SettingValue::Number(halfway));
                out.push(variant);
            }
        }
    }
    out
}

/// A plan as it was read, before it is judged.
pub struct ReadPlan {
    pub entries: Vec<answer::Entry>,
    pub messages: Vec<Message>,
    pub pain_words: Vec<PainWord>,
    /// Weeks of the file.
    pub weeks: u32,
}

/// A week to be judged, wherever it comes from.
pub struct WeekToJudge<'a> {
    pub plan: ReadPlan,
    pub client: &'a Client,
    /// What proposals keep to.
    pub kit: Option<&'a Kit>,
    pub week: WeekChoice,
}

/// Reads a week out of a file; the client of the workbook comes beside when the desk has none.
pub(super) fn read(desk: &Desk, request: &AuditRequest) -> Result<(ReadPlan, Client, Option<Kit>), Report> {
    let catalogue: &Catalogue = &desk.library().catalogue;
    let week = match request.week {
        Some(Week::Number(n)) => Some(n),
        _ => None,
    };
    let known_kit = desk.client.as_ref().map_or(Ok(None), |c| kit_of(request.kit, c, catalogue))?;
    let plan = read_plan(
        request.bytes,
        request.name,
        desk.library().names(),
        &PlanOptions { week, unit: None, kit: known_kit.as_ref() },
    )?;
    let mut messages = plan.messages;
    if let Some(n) = week.filter(|n| *n > plan.weeks.max(1)) {
        let what =
            format!("there is no week {n}; the file has {}", crate::text::many(plan.weeks as usize, "week", "weeks"));
        return Err(Problem::error(request.name, what).into());
    }
    let client = match &desk.client {
        Some(client) => client.clone(),
        None => client_of(&plan.client_fields, request.name, &mut messages),
    };
    let kit = if desk.client.is_some() { known_kit } else { kit_of(request.kit, &client, catalogue)? };
    let pain_words =
        plan.pain_flags.into_iter().map(|f| PainWord { place: f.place, word: f.word, text: f.text }).collect();
    Ok((ReadPlan { entries: plan.entries, messages, pain_words, weeks: plan.weeks }, client, kit))
}

/// The grid of a plan with what became of its cells; `None` for a plan that is no table.
pub(super) fn read_with_book(desk: &Desk, request: &AuditRequest) -> Result<Option<(Book, PlanRead)>, Report> {
    if request.name.to_lowercase().ends_with(".toml") {
        return Ok(None);
    }
    let book = open_book(request.bytes, request.name)?;
    let kit = desk.client.as_ref().map_or(Ok(None), |c| kit_of(request.kit, c, &desk.library().catalogue))?;
    let week = match request.week {
        Some(Week::Number(n)) => Some(n),
        _ => None,
    };
    let read =
        sheet::plan::read_week(&book, desk.library().names(), &PlanOptions { week, unit: None, kit: kit.as_ref() });
    Ok(Some((book, read)))
}

/// The week meant by a request.
pub(super) fn choice(week: Option<Week>) -> WeekChoice {
    match week {
        None => WeekChoice::First,
        Some(Week::Number(n)) => WeekChoice::Week(n),
        Some(Week::Mean) => WeekChoice::Mean,
    }
}

/// Reads and judges a week.
pub(super) fn audit(desk: &Desk, request: &AuditRequest) -> Result<Audit, Report> {
    let (plan, client, kit) = read(desk, request)?;
    judge(desk, WeekToJudge { plan, client: &client, kit: kit.as_ref(), week: choice(request.week) })
}

/// Judges a week for its client.
pub(super) fn judge(desk: &Desk, week: WeekToJudge) -> Result<Audit, Report> {
    let rules = rules()?;
    let catalogue: &Catalogue = &desk.library().catalogue;
    let (plan, client, kit) = (week.plan, week.client, week.kit);
    let person = client::person(client);

    let ask = |movement: &str, settings: &Settings, draws: usize| -> Ask {
        let wish = Wish { movement: movement.into(), settings: settings.clone() };
        Ask { person: person.clone(), draws, ..desk.ask(&wish, false) }
    };
    // Every different movement of the plan is worked out once, with its range.
    let wanted: BTreeSet<(String, String)> = plan
        .entries
        .iter()
        .filter_map(|e| Some((e.movement.clone()?, serde_json::to_string(&e.settings).ok()?)))
        .collect();
    let wanted: Vec<(String, String)> = wanted.into_iter().collect();
    let known: BTreeMap<(String, String), Result<MovementCredit, String>> = wanted
        .into_par_iter()
        .map(|(movement, settings)| {
            let values: Settings = serde_json::from_str(&settings).unwrap_or_default();
            let credit = (*desk.house.credit(&ask(&movement, &values, desk.draws))).clone();
            ((movement, settings), credit)
        })
        .collect::<Vec<_>>()
        .into_iter()
        .collect();
    let credits = |movement: &str, settings: &Settings| -> Result<MovementCredit, String> {
        let key = (movement.to_string(), serde_json::to_string(settings).unwrap_or_default());
        if let Some(credit) = known.get(&key) {
            return credit.clone();
        }
        // Settings that only the search asks for.
        (*desk.house.credit(&ask(movement, settings, desk.draws))).clone()
    };
    // Proposals are weighed by middle values, which need no draws.
    let rows = desk.movements(None)?;
    let usable: Vec<&answer::MovementRow> =
        rows.iter().filter(|r| kit.is_none_or(|k| k.allows(&r.equipment))).collect();
    let none = Settings::new();
    // A proposal needs mechanics behind it, not the convention alone.
    let computed = |c: &MovementCredit| !c.loaded_axes.is_empty();
    // Nobody proposes a repetition that this body cannot do: what asks for the whole body where a hard set would be with
    // less of it needs help first.
    let beyond = |r: &answer::MovementRow| {
        let own_body = r.equipment.iter().any(|e| e.contains("body-weight"));
        own_body && desk.house.beyond_own_body(&ask(&r.id, &none, 0))
    };
    let candidates: Vec<MovementCredit> = usable
        .par_iter()
        .filter(|r| !beyond(r))
        .filter_map(|r| (*desk.house.credit(&ask(&r.id, &none, 0))).clone().ok().filter(computed))
        .collect();
    let options: Vec<MovementCredit> = known
        .par_iter()
        .filter_map(|((movement, settings), _)| Some((movement, serde_json::from_str(settings).ok()?)))
        .flat_map(|(movement, settings)| {
            let variants = variants(catalogue, movement, &settings).into_par_iter();
            variants.filter_map(|v| (*desk.house.credit(&ask(movement, &v, 0))).clone().ok().filter(computed))
        })
        .collect();

    // What the plan asks for and the kit does not hold.
    let lacks = |id: &str| {
        let row = rows.iter().find(|r| r.id == id);
        kit.is_some_and(|k| row.is_some_and(|r| !k.allows(&r.equipment)))
    };
    let kit_lacks: BTreeSet<String> = known.keys().map(|(id, _)| id).filter(|id| lacks(id)).cloned().collect();
    let heads = heads(desk)?;
    let audit = programme::audit(Inputs {
        entries: plan.entries,
        messages: plan.messages,
        pain_words: &plan.pain_words,
        client,
        today: client::today(),
        heads: &heads,
        credits: &credits,
        candidates: &candidates,
        setting_options: &options,
        kit_lacks: &kit_lacks,
        percentiles: desk.library().percentiles(&person).unwrap_or_default(),
        week: week.week,
        rules: &rules,
    });
    Ok(Audit { schema: json::AUDIT.into(), ..audit })
}

#[cfg(test)]
mod tests {
    use super::*;
    use sheet::plan::alarm::alarm_words;

    #[test]
    fn every_word_of_alarm_is_found_in_a_plan_and_has_its_row() {
        let rules = rules().expect("the shipped rules");
        for row in rules.safety.iter().filter(|r| r.kind == "word") {
            for word in &row.words {
                let found = alarm_words(&format!("knee {word}"));
                let meant = |f: &String| rules.row_of_word(f).is_some_and(|r| r.id == row.id);
                assert!(found.iter().any(meant), "{}: \"{word}\" gives {found:?}", row.id);
            }
        }
        for text in
            ["chest tightness last set", "passed out after", "numb fingers, short of breath", "left knee twinge"]
        {
            let found = alarm_words(text);
            assert!(!found.is_empty() && found.iter().all(|f| rules.row_of_word(f).is_some()), "{text}: {found:?}");
        }
    }

    #[test]
    fn cells_are_read_as_a_spreadsheet_names_them() {
        let check = |place: &str, want: (u32, u32)| assert_eq!(row_and_column(place), want, "{place}");
        check("Client!B7", (7, 2));
        check("AA12", (12, 27));
        check("", (0, 0));
        check("Wow!!ZZZZZZZZZZ99999999999", (0, u32::MAX));
    }

    #[test]
    fn the_shipped_rules_are_readable() {
        assert!(rules().is_ok_and(|r| !r.bands.is_empty()));
    }
}
