//! The client form: fields of a page into the text of a client file and back. The file keeps its comments and what the
//! form does not know.

use toml_edit::{Array, ArrayOfTables, DocumentMut, Item, Table, Value, value};

/// Kind of value a field writes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    Text,
    Number,
    Flag,
    /// Parts between commas or line ends.
    List,
}

/// Fields of the form that are plain keys: key, label, kind, what belongs in it.
pub const PLAIN: [(&str, &str, Kind, &str); 19] = [
    ("name", "Name", Kind::Text, ""),
    ("sex", "Sex (for segment and strength tables)", Kind::Text, ""),
    ("stature_cm", "Height, cm", Kind::Number, "100 to 230"),
    ("mass_kg", "Body mass, kg", Kind::Number, "25 to 300"),
    ("age_years", "Age, years", Kind::Number, ""),
    ("training_years", "Years of training", Kind::Number, "under 1 counts as a beginner"),
    ("kit", "Kit", Kind::List, "a kit id, or what stands there: dumb-bell, bench, cable"),
    ("days", "Days", Kind::List, "Monday, Thursday; or a number of days"),
    ("minutes", "Minutes a day", Kind::Number, ""),
    ("keep", "Movements that stay", Kind::List, ""),
    ("dislikes", "Movements never to bring in", Kind::List, ""),
    ("new_movements", "Movements in their first two weeks", Kind::List, ""),
    ("conditions", "Conditions", Kind::List, "in plain words: hypertension, osteoporosis"),
    ("medicines", "Medicines", Kind::List, ""),
    ("pregnancy_weeks", "Weeks pregnant", Kind::Number, ""),
    ("postpartum_weeks", "Weeks since a birth", Kind::Number, ""),
    ("energy_deficit", "Eats less than is spent", Kind::Flag, ""),
    ("returning", "First two weeks back after a break", Kind::Flag, ""),
    ("notes", "Notes", Kind::Text, ""),
];

/// Tape measures of the form, cm.
pub const TAPES: [(&str, &str); 7] = [
    ("thigh", "Thigh"),
    ("shank", "Shank"),
    ("trunk", "Trunk"),
    ("upper_arm", "Upper arm"),
    ("forearm", "Forearm"),
    ("span", "Arm span"),
    ("biacromial", "Shoulder width"),
];

/// Screening questions of the form.
pub const SCREENING: [(&str, &str); 3] = [
    ("exercises_regularly", "Moderate activity, 30 min on 3 days a week, for the last 3 months?"),
    ("known_disease", "Known heart, metabolic or kidney disease?"),
    ("symptoms", "Chest pain, fainting, breathless at rest, palpitations, swollen ankles?"),
];

/// A pain row of the form: place, score, since, movement.
pub type PainRow = [String; 4];

/// The client file with the form's fields in it. Empty fields are taken out.
///
/// # Errors
/// The text is no TOML: the sentence of its reader.
pub fn filled(file: &str, fields: &[(String, String)]) -> Result<String, String> {
    let mut doc: DocumentMut = file.parse().map_err(|e: toml_edit::TomlError| e.to_string())?;
    let get = |key: &str| fields.iter().find(|(k, _)| k == key).map(|(_, v)| v.trim());
    for (key, _, kind, _) in PLAIN {
        if let Some(text) = get(key) {
            put(&mut doc, key, item(kind, key, text));
        } else if kind == Kind::Flag && get("form").is_some() {
            // A box that is not ticked is not sent.
            put(&mut doc, key, None);
        }
    }
    for (table, prefix) in [("tape_cm", "tape_cm."), ("aims", "aims."), ("screening", "screening.")] {
        let rows: Vec<(&str, &str)> =
            fields.iter().filter_map(|(k, v)| Some((k.strip_prefix(prefix)?, v.trim()))).collect();
        if !rows.is_empty() {
            put_table(&mut doc, table, &rows);
        }
    }
    if get("form").is_some() {
        put_lines(&mut doc, "clearances", get("clearances").unwrap_or_default());
        put_lines(&mut doc, "minutes_by_day", get("minutes_by_day").unwrap_or_default());
        put_pains(&mut doc, fields);
    }
    Ok(doc.to_string())
}

fn item(kind: Kind, key: &str, text: &str) -> Option<Item> {
    if text.is_empty() {
        return None;
    }
    Some(match kind {
        Kind::Text => value(text.replace("\r\n", "\n")),
        Kind::Number => number(text),
        Kind::Flag => value(matches!(text, "yes" | "on" | "true")),
        Kind::List => {
            let parts: Vec<&str> = text.split([',', '\n', ';']).map(str::trim).filter(|p| !p.is_empty()).collect();
            // One word is a kit's id; a number of days is a number.
            match (key, parts.as_slice()) {
                ("kit", [one]) if !one.contains(' ') && one.contains('-') => value(*one),
                ("days", [one]) if one.parse::<f64>().is_ok() => number(one),
                _ => value(Value::Array(parts.into_iter().collect::<Array>())),
            }
        }
    })
}

/// A number as typed, with a decimal comma allowed; what is no number stays a text, so that the reader of the file
/// tells it with its limits.
fn number(text: &str) -> Item {
    let plain = text.replace(',', ".");
    match (plain.parse::<i64>(), plain.parse::<f64>()) {
        (Ok(n), _) => value(n),
        (_, Ok(v)) if v.is_finite() => value(v),
        _ => value(text),
    }
}

fn put(doc: &mut DocumentMut, key: &str, new: Option<Item>) {
    match new {
        Some(new) if doc.contains_key(key) => doc[key] = new,
        Some(new) => {
            doc.insert(key, new);
        }
        None => {
            doc.remove(key);
        }
    }
}

fn table<'a>(doc: &'a mut DocumentMut, name: &str) -> Option<&'a mut Table> {
    if !doc.contains_table(name) {
        doc.insert(name, Item::Table(Table::new()));
    }
    doc.get_mut(name).and_then(Item::as_table_mut)
}

fn put_table(doc: &mut DocumentMut, name: &str, rows: &[(&str, &str)]) {
    let Some(t) = table(doc, name) else { return };
    for (key, text) in rows {
        let new = match (name, *key, *text) {
            (_, _, "") => None,
            ("tape_cm", _, text) => Some(number(text)),
            ("screening", "date", text) => Some(value(text)),
            ("screening", _, text) => Some(value(text == "yes")),
            (_, _, text) => Some(value(text)),
        };
        match new {
            Some(new) => {
                t.insert(key, new);
            }
            None => {
                t.remove(key);
            }
        }
    }
    if t.is_empty() {
        doc.remove(name);
    }
}

/// Lines "what = value" as a table.
fn put_lines(doc: &mut DocumentMut, name: &str, text: &str) {
    doc.remove(name);
    let lines = text.lines().filter_map(|l| l.split_once(['=', ':']));
    for (key, text) in lines.map(|(k, v)| (k.trim(), v.trim())).filter(|(k, v)| !k.is_empty() && !v.is_empty()) {
        if let Some(t) = table(doc, name) {
            t.insert(key, if name == "clearances" { value(text) } else { number(text) });
        }
    }
}

fn put_pains(doc: &mut DocumentMut, fields: &[(String, String)]) {
    let column =
        |key: &'static str| -> Vec<&str> { fields.iter().filter(|(k, _)| k == key).map(|(_, v)| v.trim()).collect() };
    let [places, scores, since, movements] = ["pain.place", "pain.score", "pain.since", "pain.movement"].map(column);
    let mut list = ArrayOfTables::new();
    for (i, place) in places.iter().enumerate().filter(|(_, p)| !p.is_empty()) {
        let mut t = Table::new();
        t.insert("place", value(*place));
        let cell = |c: &[&str]| c.get(i).copied().unwrap_or_default().to_string();
        let [score, since, movement] = [&scores, &since, &movements].map(|c| cell(c));
        if !score.is_empty() {
            t.insert("score", number(&score));
        }
        for (key, text) in [("since", since), ("movement", movement)] {
            if !text.is_empty() {
                t.insert(key, value(text));
            }
        }
        list.push(t);
    }
    doc.remove("pains");
    if !list.is_empty() {
        doc.insert("pains", Item::ArrayOfTables(list));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Fields as sent → lines that stand in the file, lines that do not, and the file is a client file.
    fn check(file: &str, fields: &[(&str, &str)], there: &[&str], gone: &[&str]) {
        let fields: Vec<(String, String)> = fields.iter().map(|(k, v)| (k.to_string(), v.to_string())).collect();
        let text = filled(file, &fields).expect("readable");
        for line in there {
            assert!(text.contains(line), "{line} is not in\n{text}");
        }
        for line in gone {
            assert!(!text.contains(line), "{line} is still in\n{text}");
        }
        programme::parse_client(&text, "form").expect("a client file");
    }

    #[test]
    fn fields_go_into_the_file_and_empty_ones_out_of_it() {
        check(
            "# mine\nname = \"Mia\"\nmass_kg = 64\n",
            &[
                ("form", "1"),
                ("mass_kg", "65,5"),
                ("stature_cm", "170"),
                ("kit", "home-db-24"),
                ("days", "Monday, Friday"),
            ],
            &[
                "# mine",
                "mass_kg = 65.5",
                "stature_cm = 170",
                "kit = \"home-db-24\"",
                "days = [\"Monday\", \"Friday\"]",
            ],
            &[],
        );
        check("name = \"Mia\"\nmass_kg = 64\n", &[("form", "1"), ("mass_kg", "")], &[], &["mass_kg"]);
        check("name = \"Mia\"\nreturning = true\n", &[("form", "1")], &[], &["returning"]);
        check(
            "name = \"Mia\"\n[aims]\nChest = \"keep\"\n",
            &[("aims.Chest", ""), ("aims.rest", "grow")],
            &["rest = \"grow\""],
            &["Chest"],
        );
        check(
            "name = \"Mia\"\n",
            &[
                ("form", "1"),
                ("screening.known_disease", "no"),
                ("screening.date", "2026-03-01"),
                ("pain.place", "left knee"),
                ("pain.score", "3"),
                ("pain.place", ""),
                ("clearances", "hypertension = 2026-01-20"),
                ("tape_cm.thigh", "41,5"),
            ],
            &[
                "known_disease = false",
                "[[pains]]",
                "place = \"left knee\"",
                "hypertension = \"2026-01-20\"",
                "thigh = 41.5",
            ],
            &[],
        );
    }

    #[test]
    fn what_is_no_number_is_told_by_the_reader_with_its_limits() {
        let fields = [("mass_kg".to_string(), "heavy".to_string())];
        let text = filled("name = \"Mia\"\n", &fields).expect("TOML");
        let told = programme::parse_client(&text, "form").expect_err("not a number");
        assert!(told[0].what.starts_with("mass_kg"), "{}", told[0].what);
    }
}
