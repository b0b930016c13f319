//! Studies nobody here has seen: good files, bad files, tables.

use answer::Evidence;
use evidence::format::{self, Amount};
use evidence::import::{Source, import};
use library::Library;
use std::sync::LazyLock;

static LIBRARY: LazyLock<Library> = LazyLock::new(|| Library::embedded().expect("the shipped data"));

/// The example of docs/evidence_format.md.
fn example() -> String {
    let page = include_str!("../../../docs/evidence_format.md");
    let from = page.find("```toml\n").expect("an example") + "```toml\n".len();
    page[from..from + page[from..].find("```").expect("its end")].to_string()
}

fn judged(text: &str) -> Evidence {
    evidence::bench::of_files(&LIBRARY, &[("mine/example.toml".into(), text.into())]).expect("calibrated")
}

#[test]
fn the_example_of_the_page_is_predicted() {
    let e = judged(&example());
    assert!(e.unmapped.is_empty(), "{:?}", e.unmapped);
    assert_eq!((e.rows.len(), e.studies.len()), (1, 1));
    assert_eq!(e.rows[0].expected, "left>right");
    assert!(e.rows[0].margin.abs() <= 1.0 && e.classes[0].n == 1 && e.classes[0].unseen.is_none());
    assert_eq!(e.studies[0].conditions[0].sets_per_week, Some(6.0));
    assert!(e.studies[0].results[0].predicted.is_some());
}

#[test]
fn a_bad_row_is_named_with_its_place_and_the_rest_is_run() {
    // What is changed, into what, what must be said, how many rows remain.
    let check = |from: &str, to: &str, said: &str, rows: usize| {
        let text = example();
        assert!(text.contains(from), "{from}");
        let changed = text.replacen(from, to, 1);
        let line = 1 + changed[..changed.find(to).expect("changed")].matches('\n').count();
        let e = judged(&changed);
        let told: Vec<String> = e.unmapped.iter().map(|u| format!("{} {}: {}", u.place, u.what, u.reason)).collect();
        let place = format!("mine/example.toml:{line}:");
        assert!(told.iter().any(|t| t.contains(said) && t.starts_with(&place)), "{to} at {place}: {told:#?}");
        assert_eq!(e.rows.len(), rows, "{to}: {told:#?}");
    };
    check("back-squat{depth_knee_deg=120}", "no-such-lift", "no movement called \"no-such-lift\"", 0);
    check("back-squat{depth_knee_deg=120}", "back-squat{no_key=1}", "no_key", 0);
    check("\"vastus-lateralis\"", "\"vastus-nowhere\"", "no muscle head or measured group \"vastus-nowhere\"", 1);
    check("measure = \"MRI volume\"", "measure = \"furlongs\"", "measure \"furlongs\" is not known", 1);
    check("change_sd = 4.0", "change_sd = -4.0", "a spread is not negative", 1);
    check("change_percent = 6.1", "change_percent = \"much\"", "invalid type", 1);
    check("change_percent = 6.1", "change_in_percent = 6.1", "unknown field", 1);
    check("condition = \"deep\"", "condition = \"deeper\"", "there is no condition \"deeper\"", 1);
    check("expected = \"left>right\"", "expected = \"more\"", "\"more\", expected left>right", 0);
    check("strength = \"significant\"", "strength = \"huge\"", "\"huge\", expected significant", 0);
    check("left = \"deep:", "left = \"deep ", "expected condition:muscle", 0);
    check("weeks = 10", "weeks = \"some\"", "expected the length of the training in weeks", 1);
    check("sets_per_session = 3 ", "sets_per_session = -3 ", "expected a number above 0", 1);
    check("1/2 * leg-press-45", "2/0 * leg-press-45", "is no share", 0);
    // Told at the table it stands in.
    let e = judged(&example().replace("sex = \"women\"", "sex = \"other\""));
    assert!(e.unmapped.iter().any(|u| u.reason.contains("people.sex is \"other\"") && u.place.contains(".toml:7:")));
}

#[test]
fn a_missing_spread_is_no_problem() {
    let e = judged(&example().replace("change_sd = 4.0", ""));
    assert!(e.unmapped.is_empty() && e.rows.len() == 1);
}

#[test]
fn what_is_no_study_ends_in_words() {
    let check = |text: &str, said: &str| {
        let e = judged(text);
        assert!(e.rows.is_empty() && e.studies.is_empty());
        assert!(e.unmapped.iter().any(|u| u.reason.contains(said)), "{text:?}: {:?}", e.unmapped);
    };
    check("id = ", "");
    check("", "missing field");
    check("\u{0}\u{0}", "");
    check("id = \"a\"\ncitation = 3", "expected a string");
    check(&"[[contrast]]\n".repeat(1000), "");
}

#[test]
fn amounts_in_words() {
    let check = |text: &str, want: Option<f64>| assert_eq!(Amount::Words(text.into()).number(), want, "{text}");
    check("3-6", Some(4.5));
    check("~1.8 (15-17 sessions)", Some(1.8));
    check("daily", Some(7.0));
    check("1 (from-memory, medium)", Some(1.0));
    check("equal", None);
    check("", None);
}

const RESULTS: &str = "study_id,citation,doi,design,participants,weeks,sessions_per_week,sets_per_session,condition,\
exercise_description,rom,load,to_failure,muscle,region,measure,change_percent,change_sd,significant_within,\
between_condition_p,how,confidence,notes\n";
const CONTRASTS: &str = "study_id,kind,left,right,expected,effect,strength,how,notes\n";

fn tables(results: &str, contrasts: &str) -> evidence::import::Imported {
    let (r, c) = (format!("{RESULTS}{results}"), format!("{CONTRASTS}{contrasts}"));
    import(&LIBRARY, Source { file: "r.csv", text: &r }, Source { file: "c.csv", text: &c }, None)
}

/// An invented study of two arms.
const TWO: &str = "invented-1,Invented (2030),,within,10 untrained women,8,2,3,deep-squat,\"barbell back squat, knee \
flexion to 120 deg\",,,yes,quadriceps-femoris,whole,MRI volume,5,3,yes,,invented,,\n\
invented-1,Invented (2030),,within,10 untrained women,8,2,3,leg-extension,leg-extension machine,knee 90-0 deg,,yes,\
quadriceps-femoris,whole,MRI volume,4,3,yes,,invented,,\n";

#[test]
fn tables_become_files_that_are_read_back() {
    let made = tables(
        TWO,
        "invented-1,x,deep-squat:quadriceps-femoris,leg-extension:quadriceps-femoris,about-equal,,null,invented,\n",
    );
    assert!(made.issues.is_empty(), "{:?}", made.issues);
    assert_eq!(made.studies.len(), 1);
    let study = &made.studies[0];
    assert_eq!((study.people.n, study.people.sex.as_str()), (Some(10.0), "women"));
    assert!(study.condition[1].movements[0].starts_with("leg-extension"), "{:?}", study.condition[1].movements);
    let text = format::write(study).expect("written");
    let mut issues = Vec::new();
    let read = format::read("a.toml", &text, &mut issues).expect("a study");
    assert!(issues.is_empty(), "{issues:?}");
    let rows = |r: &format::ReadStudy| format::StudyFile {
        condition: r.conditions.iter().map(|c| c.row.clone()).collect(),
        result: r.results.iter().map(|c| c.row.clone()).collect(),
        contrast: r.contrasts.iter().map(|c| c.row.clone()).collect(),
        ..r.head.row.clone()
    };
    assert_eq!(&rows(&read), study);
}

#[test]
fn bad_tables_are_told_with_line_and_column() {
    let check = |results: &str, contrasts: &str, said: &str| {
        let made = tables(results, contrasts);
        let told: Vec<String> = made.issues.iter().map(|i| i.to_string()).collect();
        assert!(told.iter().any(|t| t.contains(said)), "{said}: {told:#?}");
    };
    check(&TWO.replace(",5,3,yes", ",5 to 6,3,yes"), "", "r.csv:2:17: result deep-squat:quadriceps-femoris");
    check(&TWO.replace("invented-1", ""), "", "r.csv:2:1: a result: study_id is empty");
    check(TWO, "nobody,x,a:b,,left~0,,null,h,\n", "c.csv:2:1: contrast a:b: no study \"nobody\"");
    check(
        &TWO.replace("deep-squat,\"barbell back squat, knee flexion to 120 deg\"", "qqq,zzz zzz"),
        "",
        "no movement of this name",
    );
    let short =
        import(&LIBRARY, Source { file: "r.csv", text: "a,b\n1,2\n" }, Source { file: "c.csv", text: CONTRASTS }, None);
    assert!(short.issues[0].text.contains("these columns are missing: study_id"), "{:?}", short.issues);
}

#[test]
fn every_shipped_study_fits_the_schema_of_the_file() {
    let schema = serde_json::to_value(format::schema()).expect("a schema");
    let validator = jsonschema::validator_for(&schema).expect("a valid schema");
    for (path, text) in evidence::data::STUDIES {
        let table: toml::Table = text.parse().expect(path);
        let value = serde_json::to_value(&table).expect(path);
        let errors: Vec<String> = validator.iter_errors(&value).map(|e| e.to_string()).collect();
        assert!(errors.is_empty(), "{path}: {errors:?}");
    }
    let mut broken: toml::Table = example().parse().expect("the example");
    broken.remove("citation");
    assert!(!validator.is_valid(&serde_json::to_value(&broken).expect("a value")));
}
