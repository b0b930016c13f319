//! Parsing and checking of everything the program knows.

use crate::faults::FaultSpec;
use crate::reference::ReferenceTable;
use crate::setup_search::Searchable;
use crate::{AskError, data};
use anatomy::heads::{AnatomyTables, Spread};
use mechanics::stops::Stops;
use movement::build::Family;
use movement::catalogue::{Catalogue, CatalogueText};
use movement::names::NameIndex;
use movement::ranges::Ranges;
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, OnceLock};
use stimulus::rules::Rules;

/// `[draw][head]` by seed and number of draws.
pub(crate) type MoreReferences = BTreeMap<(u64, usize), Arc<Vec<Vec<f64>>>>;

/// Everything the program knows, parsed and checked.
pub struct Library {
    pub tables: AnatomyTables,
    pub spreads: Vec<Spread>,
    pub catalogue: Arc<Catalogue>,
    pub ranges: Ranges,
    pub stops: Stops,
    pub rules: Rules,
    /// Settings with the spread with which people perform them, in the setting's unit.
    pub posture_spread: Vec<(String, f64)>,
    pub reference: ReferenceTable,
    /// First coach group of each head, in the order of the heads.
    pub group_of: Vec<String>,
    /// All coach groups of each head.
    pub groups_of: Vec<Vec<String>>,
    /// Movements whose postures and mechanics have been checked.
    pub checked: Vec<String>,
    /// Common faults of every family, in the order of the table.
    pub faults: Vec<FaultSpec>,
    /// Settings that are chosen before the set.
    pub searchable: Vec<Searchable>,
    names: OnceLock<NameIndex>,
    /// Reference values of draws beyond the shipped ones, by seed and number.
    pub(crate) more_references: Mutex<MoreReferences>,
    families: BTreeMap<String, (String, OnceLock<Result<Family, String>>)>,
}

fn problem<E: std::fmt::Display>(what: &str) -> impl Fn(E) -> AskError + '_ {
    move |e| AskError::Problem(format!("{what}: {e}"))
}

fn joined<T: std::fmt::Display>(what: &str, list: &[T]) -> AskError {
    let lines: Vec<String> = list.iter().map(|p| format!("{what}: {p}")).collect();
    AskError::Problem(lines.join("\n"))
}

/// A shipped table with the rows of a further file of the same name appended (its header line left out).
fn with_rows(shipped: &str, name: &str, extra: &[(String, String)]) -> String {
    let mut out = shipped.to_string();
    for (_, text) in extra.iter().filter(|(path, _)| path.rsplit(['/', '\\']).next() == Some(name)) {
        if !out.ends_with('\n') {
            out.push('\n');
        }
        let rows = text.split_once('\n').map_or("", |(_, rows)| rows);
        out.push_str(rows);
    }
    out
}

/// Settings that a further family file defines itself, as rows of the settings table.
fn own_settings(family: &Family) -> String {
    let mut out = String::new();
    if let Some(like) = &family.file.like {
        for line in data::FAMILY_SETTINGS.lines() {
            if let Some(rest) = line.strip_prefix(like.as_str()).filter(|r| r.starts_with(',')) {
                out.push_str(&format!("{}{rest}\n", family.file.id));
            }
        }
    }
    for (key, s) in &family.file.settings {
        let default = s.default.text();
        let default = default.trim_end_matches(".0");
        if s.choices.is_empty() {
            let [lo, hi] = s.range.unwrap_or([-1e6, 1e6]);
            out.push_str(&format!("{},{key},number,{},{lo},{hi},,{default},own file,own\n", family.file.id, s.unit));
        } else {
            let choices = s.choices.join("|");
            out.push_str(&format!("{},{key},choice,,,,{choices},{default},own file,own\n", family.file.id));
        }
    }
    out
}

impl Library {
    /// The data compiled into the program.
    ///
    /// # Errors
    /// Every problem of a table; impossible in a tested build.
    pub fn embedded() -> Result<Library, AskError> {
        Library::with(&[])
    }

    /// The shipped data and further files, given as (path, text): family files (`*.toml` with a `lift`) with the
    /// movements they name, and tables `movements.csv`, `family_settings.csv`, `kits.csv`, `load_bands.csv`,
    /// `family_faults.csv` whose rows are added.
    ///
    /// # Errors
    /// Every problem of a table or file.
    pub fn with(extra: &[(String, String)]) -> Result<Library, AskError> {
        Library::with_named(extra, true)
    }

    /// `named`: with the movements that further family files name themselves.
    pub(crate) fn with_named(extra: &[(String, String)], named: bool) -> Result<Library, AskError> {
        let tables = AnatomyTables::parse(data::ANATOMY).map_err(|p| {
            let lines: Vec<String> = p.iter().map(|q| format!("{q:?}")).collect();
            AskError::Problem(lines.join("\n"))
        })?;
        let mut families: BTreeMap<String, (String, OnceLock<Result<Family, String>>)> =
            data::FAMILIES.iter().map(|(id, text)| (id.to_string(), (text.to_string(), OnceLock::new()))).collect();
        let mut settings = with_rows(data::FAMILY_SETTINGS, "family_settings.csv", extra);
        let mut checked: Vec<String> = data::CHECKED
            .lines()
            .skip(1)
            .filter_map(|l| l.split(',').next())
            .filter(|l| !l.is_empty())
            .map(str::to_string)
            .collect();
        let (mut problems, mut own) = (Vec::new(), Vec::new());
        for (path, text) in extra.iter().filter(|(p, t)| p.ends_with(".toml") && t.contains("lift")) {
            match Family::parse(text, path) {
                Ok(f) => {
                    if !settings.ends_with('\n') {
                        settings.push('\n');
                    }
                    settings.push_str(&own_settings(&f));
                    if named && !f.file.movement.is_empty() {
                        own.push(("movements.csv".to_string(), crate::own::own_movements(&f.file)));
                    }
                    families.insert(f.file.id.clone(), (text.clone(), OnceLock::new()));
                }
                Err(p) => problems.push(p.to_string()),
            }
        }
        if !problems.is_empty() {
            return Err(AskError::Problem(problems.join("\n")));
        }
        let extra = &[extra, &own].concat();
        for (_, text) in extra.iter().filter(|(p, _)| p.ends_with("movements.csv")) {
            checked.extend(text.lines().skip(1).filter_map(|l| l.split(',').next()).map(str::to_string));
        }
        let movements = with_rows(data::MOVEMENTS, "movements.csv", extra);
        let kits = with_rows(data::KITS, "kits.csv", extra);
        let load_bands = with_rows(data::LOAD_BANDS, "load_bands.csv", extra);
        let text = CatalogueText {
            movements: &movements,
            family_settings: &settings,
            kits: &kits,
            load_bands: &load_bands,
            sheet_shorthand: data::SHEET_SHORTHAND,
            ambiguous_terms: data::AMBIGUOUS_TERMS,
            head_groups: data::HEAD_GROUPS,
        };
        let catalogue = Catalogue::parse(&text).map_err(|p| {
            let lines: Vec<String> = p.iter().map(|q| q.to_string()).collect();
            AskError::Problem(lines.join("\n"))
        })?;
        // Rows of a further table keep their own file and line in messages.
        let lines = |p: Vec<String>| AskError::Problem(p.join("\n"));
        let (file, text) = data::FAMILY_FAULTS;
        let mut faults = FaultSpec::parse(text, file, &catalogue).map_err(lines)?;
        for (path, text) in extra.iter().filter(|(p, _)| p.ends_with("family_faults.csv")) {
            faults.extend(FaultSpec::parse(text, path, &catalogue).map_err(lines)?);
        }
        let (file, text) = data::SEARCHABLE_SETTINGS;
        let searchable = Searchable::parse(text, file).map_err(lines)?;
        let ranges =
            Ranges::parse(data::JOINT_RANGES.1, data::JOINT_RANGES.0).map_err(|p| joined("joint ranges", &p))?;
        let stops = Stops::parse(data::STOPS).map_err(|p| AskError::Problem(format!("stops.csv: {p:?}")))?;
        let rules = Rules::parse(data::RULES).map_err(|p| joined("rules.csv", &p))?;
        let posture_spread = posture_spread(data::POSTURE_SPREAD)?;
        let groups_of = groups(&tables);
        let group_of = groups_of.iter().map(|g| g.first().cloned().unwrap_or_default()).collect();
        let reference = ReferenceTable::parse(data::REFERENCE_MOVEMENTS, data::REFERENCE_VALUES, &tables)
            .map_err(problem("reference tables"))?;
        Ok(Library {
            spreads: tables.spreads(),
            tables,
            catalogue: Arc::new(catalogue),
            ranges,
            stops,
            rules,
            posture_spread,
            reference,
            group_of,
            groups_of,
            checked,
            faults,
            searchable,
            names: OnceLock::new(),
            more_references: Mutex::default(),
            families,
        })
    }

    /// Index of movement names, made on first use.
    pub fn names(&self) -> &NameIndex {
        self.names.get_or_init(|| NameIndex::new(self.catalogue.clone()))
    }

    /// A family by its id.
    ///
    /// # Errors
    /// Unknown family, or a file that does not parse.
    pub fn family(&self, id: &str) -> Result<&Family, AskError> {
        let Some((text, cell)) = self.families.get(id) else {
            return Err(AskError::Problem(format!(
                "the mechanics of the family \"{id}\" are not written yet; known families: {}",
                self.families.keys().cloned().collect::<Vec<_>>().join(", ")
            )));
        };
        let path = format!("families/{id}.toml");
        cell.get_or_init(|| Family::parse(text, &path).map_err(|p| p.to_string()))
            .as_ref()
            .map_err(|e| AskError::Problem(e.clone()))
    }

    /// Text of a family's file; empty for an unknown one.
    pub(crate) fn family_text(&self, id: &str) -> &str {
        self.families.get(id).map_or("", |f| f.0.as_str())
    }

    /// Mix up the direct and indirect lists of all movements: a test's way to show that mechanics ignores them.
    #[doc(hidden)]
    pub fn shuffle_convention(&mut self, seed: usize) {
        let mut catalogue = (*self.catalogue).clone();
        let n = catalogue.movements.len();
        let lists: Vec<_> =
            catalogue.movements.iter().map(|m| (m.direct_heads.clone(), m.indirect_heads.clone())).collect();
        for (i, m) in catalogue.movements.iter_mut().enumerate() {
            (m.direct_heads, m.indirect_heads) = lists[(i * 31 + seed * 17 + 5) % n].clone();
        }
        self.catalogue = Arc::new(catalogue);
        self.names = OnceLock::new();
    }

    pub fn family_ids(&self) -> impl Iterator<Item = &str> {
        self.families.keys().map(String::as_str)
    }
}

/// Rows key, sd of the table of posture spreads.
fn posture_spread(text: &str) -> Result<Vec<(String, f64)>, AskError> {
    let mut out = Vec::new();
    for r in csv::Reader::from_reader(text.as_bytes()).records() {
        let r = r.map_err(problem("posture_spread.csv"))?;
        let sd = r.get(1).and_then(|v| v.parse::<f64>().ok()).filter(|v| *v >= 0.0);
        let key = r.get(0).unwrap_or("").to_string();
        let sd = sd.ok_or_else(|| AskError::Problem(format!("posture_spread.csv: {key}: sd is not a number ≥ 0")))?;
        out.push((key, sd));
    }
    Ok(out)
}

/// Coach groups of each head from the table of groups.
fn groups(tables: &AnatomyTables) -> Vec<Vec<String>> {
    let mut out = vec![Vec::new(); tables.heads.len()];
    let mut reader = csv::Reader::from_reader(data::HEAD_GROUPS.as_bytes());
    for r in reader.records().flatten() {
        if r.get(1) != Some("coach group") {
            continue;
        }
        for id in r.get(2).unwrap_or("").split(';') {
            if let Some(i) = tables.head_index(id.trim()) {
                out[i].push(r.get(0).unwrap_or("").to_string());
            }
        }
    }
    out
}
