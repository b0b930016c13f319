//! Client files and client sheets. Clients are invented.

mod common;
use programme::client::{Kit, Sex};
use programme::client_names::{KnownNames, unknown_names};
use programme::{client_from_rows, client_template, parse_client};

/// Problems of a client text, one a line.
fn check(input: &str, expected: &str) {
    let got = match parse_client(input, "c.toml") {
        Ok(c) => format!("{c:?}"),
        Err(problems) => problems.iter().map(|p| p.to_string()).collect::<Vec<_>>().join("\n"),
    };
    assert_eq!(got.trim(), expected.trim(), "\n{got}");
}

#[test]
fn all_problems_come_at_once_with_places() {
    check(
        "name = \"A\"\nhieght_cm = 180\nstature_cm = 1.8\nsex = \"x\"\nminutes = \"long\"\n[aims]\nChest = \"focuss\"\n\
         [screening]\nsymptom = true\n[[pains]]\nscore = 12\n[tape_cm]\nthy = 40\n[clearances]\nscreening = \"soon\"\n",
        "
c.toml:2:1: no field called \"hieght_cm\"; nearest: stature_cm
c.toml:3:14: stature_cm is 1.8; expected a number from 100 to 230
c.toml:4:7: sex is \"x\"; expected \"female\" or \"male\" (which body tables to use)
c.toml:5:11: minutes is \"long\"; expected a number from 5 to 600
c.toml:7:9: no aim called \"focuss\"; expected focus, grow, keep or leave; nearest: focus
c.toml:9:1: no field called \"symptom\"; nearest: symptoms
c.toml:11:9: score is 12; expected a number from 0 to 10
c.toml:10:1: a pain without a place; expected place = \"left knee\"
c.toml:13:1: no field called \"thy\"; expected one of: thigh, shank, trunk, upper_arm, forearm, hand, foot, span, biacromial, bi_iliac, sitting_height, leg_length
c.toml:15:13: screening is \"soon\"; expected a date such as \"2026-01-15\"
",
    );
}

#[test]
fn syntax_errors_have_a_line() {
    let problems = parse_client("name = \"A\"\nsex = \nmass_kg = 70\n", "c.toml").unwrap_err();
    assert_eq!(problems[0].line, 2, "{problems:?}");
}

#[test]
fn loads_below_zero_are_told_not_dropped() {
    for loads in ["\"-2 to 30 by 2\"", "[-4, 4, 8]", "-5", "\"2 to 30 by -2\""] {
        let problems = parse_client(&format!("name = \"A\"\n[loads_kg]\ndumb-bell = {loads}\n"), "c.toml").unwrap_err();
        let told = problems.iter().map(|p| p.to_string()).collect::<Vec<_>>().join("\n");
        assert!(told.starts_with("c.toml:3:") && told.contains("from 0 to 1000"), "{loads}: {told}");
    }
}

#[test]
fn a_client_without_a_name_is_refused() {
    check("mass_kg = 70", "c.toml: the client has no name; expected name = \"…\"");
}

#[test]
fn the_template_parses_as_it_is_and_with_every_example_taken() {
    let plain = parse_client(&client_template(), "t").expect("the template parses");
    assert_eq!(plain.name, "New client");
    let full = client_template().replace("#: ", "");
    let c = parse_client(&full, "t").expect("the template parses with every example");
    assert_eq!((c.sex, c.stature_cm, c.mass_kg), (Some(Sex::Female), Some(168.0), Some(64.5)));
    assert_eq!((c.pains.len(), c.tape_cm.len(), c.aims.len()), (1, 7, 3));
    assert_eq!(c.minutes_on("thursday"), Some(30.0));
    assert_eq!(c.minutes_on("Mon"), Some(45.0));
    assert_eq!(c.screening.exercises_regularly, Some(true));
    assert!((c.tape_m()[0].1 - 0.41).abs() < 1e-12 && c.tape_m()[0].0 == "thigh_m");
}

#[test]
fn names_that_nothing_answers_to_come_with_line_and_nearest() {
    let (rules, heads) = (common::rules(), common::heads());
    let known = KnownNames {
        rules: &rules,
        heads: &heads,
        kits: &["commercial-gym", "home-db-24"],
        equipment: &["bench", "dumb-bell"],
        movements: &["back-squat", "Back squat"],
    };
    let check = |text: &str, expected: &str| {
        let found: Vec<String> = unknown_names(text, "c.toml", &known).iter().map(ToString::to_string).collect();
        assert!(found.len() == usize::from(!expected.is_empty()), "{text}: {found:?}");
        assert!(expected.is_empty() || found[0].contains(expected), "{text}: {found:?}");
    };
    check(
        "name = \"A\"\ndays = [\"Moonday\", \"Thu\"]",
        "c.toml:2:9: no day called \"Moonday\"; expected a weekday, or the day's name in the plan; nearest: Monday",
    );
    check("days = [\"Push\", \"Monday (legs)\", \"Day 1\"]", "");
    check("[aims]\nHamstring = \"focus\"", "c.toml:2:1: no coach group or head called \"Hamstring\"");
    check("[aims]\nquads = \"focus\"\nbrachialis = \"keep\"\nrest = \"grow\"", "");
    check("[[pains]]\nplace = \"left kne\"\nscore = 3", "nearest: knee");
    check("kit = \"comercial-gym\"", "c.toml:1:7: no kit called \"comercial-gym\"; nearest: commercial-gym");
    check("kit = [\"bench\", \"dumbell\"]", "no equipment called \"dumbell\"; nearest: dumb-bell");
    check("kit = \"own.toml\"", "");
}

#[test]
fn a_sheet_of_labels_and_values() {
    let rows = [
        ("Client", "Demo B (invented)"),
        ("Height (cm)", "172,5 cm"),
        ("Weight", "70 kg"),
        ("Sex", "F"),
        ("Age", "34"),
        ("Equipment", "dumb-bell, bench"),
        ("Focus", "hamstrings; glutes"),
        ("Injuries", "left knee 4/10 since March; low back 2"),
        ("Symptoms", "no"),
        ("Thigh length", "41"),
        ("Star sign", "Leo"),
        ("Minutes", "about an hour"),
        ("Medication", ""),
    ];
    let rows: Vec<_> =
        rows.iter().enumerate().map(|(i, (k, v))| ((i as u32 + 1, 1), k.to_string(), v.to_string())).collect();
    let (c, problems) = client_from_rows(&rows, "Client");
    assert_eq!(
        (c.name.as_str(), c.stature_cm, c.mass_kg, c.age_years),
        ("Demo B (invented)", Some(172.5), Some(70.0), Some(34.0))
    );
    assert_eq!(c.kit, Some(Kit::Items(vec!["dumb-bell".into(), "bench".into()])));
    assert_eq!(c.aims.len(), 2);
    assert_eq!(
        (c.pains[0].place.as_str(), c.pains[0].score, c.pains[0].since.as_deref()),
        ("left knee", Some(4.0), Some("March"))
    );
    assert_eq!((c.pains[1].place.as_str(), c.pains[1].score), ("low back", Some(2.0)));
    assert_eq!(c.screening.symptoms, Some(false));
    assert_eq!(c.tape_cm, vec![("thigh".to_string(), 41.0)]);
    let places: Vec<usize> = problems.iter().map(|p| p.line).collect();
    assert_eq!(places, [11, 12], "{problems:?}");
    assert!(problems.iter().all(|p| p.warning));
}

proptest::proptest! {
    #[test]
    fn no_text_makes_the_reader_panic(text in "[a-z_\\[\\]=\"0-9.\\n #{},-]{0,120}") {
        let _ = parse_client(&text, "x");
    }
    #[test]
    fn no_cell_makes_the_reader_panic(key in ".{0,24}", value in ".{0,40}") {
        let _ = client_from_rows(&[((1, 1), key, value)], "x");
    }
}
