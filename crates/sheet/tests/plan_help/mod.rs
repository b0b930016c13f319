//! What the plan tests share: the library's names and an entry in one line.

use answer::{Entry, Status};
use movement::catalogue::{Catalogue, CatalogueText};
use movement::names::NameIndex;
use sheet::grid::{Book, Cell, Grid, Value};
use std::path::PathBuf;
use std::sync::{Arc, LazyLock};

fn data(path: &str) -> String {
    let full = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../data").join(path);
    std::fs::read_to_string(&full).unwrap_or_else(|e| panic!("{}: {e}", full.display()))
}

pub static INDEX: LazyLock<NameIndex> = LazyLock::new(|| {
    let [movements, family_settings, kits, load_bands, sheet_shorthand, ambiguous_terms] =
        ["movements", "family_settings", "kits", "load_bands", "sheet_shorthand", "ambiguous_terms"]
            .map(|t| data(&format!("movements/{t}.csv")));
    let head_groups = data("anatomy/head_groups.csv");
    let text = CatalogueText {
        movements: &movements,
        family_settings: &family_settings,
        kits: &kits,
        load_bands: &load_bands,
        sheet_shorthand: &sheet_shorthand,
        ambiguous_terms: &ambiguous_terms,
        head_groups: &head_groups,
    };
    NameIndex::new(Arc::new(Catalogue::parse(&text).expect("the library's own tables")))
});

/// A book of one sheet out of lines with "|" between cells.
#[allow(dead_code, reason = "each test binary uses its share of these")]
pub fn small_book(sheet: &str, lines: &str) -> Book {
    let cell = |t: &str| {
        let value = match t.trim() {
            "" => Value::Empty,
            t => t.parse().map_or(Value::Text(t.to_string()), Value::Number),
        };
        Cell { value, span: (1, 1) }
    };
    let rows = lines.lines().map(|l| l.split('|').map(cell).collect()).collect();
    Book { sheets: vec![Grid { name: sheet.into(), rows }], notes: Vec::new() }
}

fn span(low: f64, high: f64) -> String {
    if low == high { format!("{low}") } else { format!("{low}-{high}") }
}

/// The entry as `make_plans.py` writes expectations: "movement; sets; reps; facts". Gives back `want` where the facts
/// are the same in any order, else what was read.
#[allow(dead_code, reason = "each test binary uses its share of these")]
pub fn show_entry(e: &Entry, want: &str) -> String {
    if e.status == Status::Ignored {
        return "ignored".into();
    }
    let unit = if e.reps_unit == "reps" { String::new() } else { format!(" {}", e.reps_unit) };
    let reps = e.reps_low.zip(e.reps_high).map_or(String::new(), |(a, b)| span(a, b) + &unit);
    let head = [e.movement.clone().unwrap_or_default(), span(e.sets_low, e.sets_high), reps];
    let mut facts = vec![format!("{:?}", e.status).to_lowercase(), format!("day {}", e.day)];
    if e.week != 1 || want.contains("week 1") {
        facts.push(format!("week {}", e.week));
    }
    facts.extend(e.rir.map(|r| format!("rir {r}")));
    facts.extend(e.load.map(|l| format!("load {l} {}", e.unit.as_deref().unwrap_or("?"))));
    facts.extend(e.extra.rest_s.map(|s| format!("rest {s}")));
    facts.extend(e.extra.pair.as_ref().map(|p| format!("pair {p}")));
    facts.extend(e.extra.each_side.then(|| "each_side".to_string()));
    facts.extend(e.settings.iter().map(|(k, v)| format!("set {k}={v}")));
    // A lift "as fast as possible" (X) is written as one second.
    facts.extend(e.extra.tempo_s.map(|t| format!("tempo {}-{}-{}-{}", t[0], t[1], t[2], t[3])));
    facts.sort();
    let wanted: Vec<String> = want.replace("-X-", "-1-").split(';').map(|p| p.trim().to_string()).collect();
    let mut wanted_facts = wanted.get(3..).unwrap_or_default().to_vec();
    wanted_facts.sort();
    if wanted.get(..3) == Some(&head) && wanted_facts == facts {
        return want.to_string();
    }
    format!("{}; {}   {:?}", head.join("; "), facts.join("; "), e.assumptions)
}
