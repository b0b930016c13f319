//! Notation of coaches' cells, layouts and the TOML form, row by row. How sets are counted is common practice of the
//! trade, no source.

mod plan_help;

use answer::Status;
use plan_help::{INDEX, show_entry, small_book};
use proptest::prelude::*;
use sheet::grid::{Book, Cell, Grid, Value};
use sheet::plan::alarm::alarm_words;
use sheet::plan::toml_plan::{Wrong, read_toml};
use sheet::plan::words::{is_day, week};
use sheet::plan::{Fate, PlanOptions, PlanRead, read_week, text};

fn read(lines: &str) -> PlanRead {
    read_week(&small_book("Plan", lines), &INDEX, &PlanOptions::default())
}

/// The first entry of a book of one line.
fn check(line: &str, expected: &str) {
    let plan = read(line);
    let e = plan.entries.first().unwrap_or_else(|| panic!("{line}: no entry"));
    let want = format!("{expected}; day Day 1");
    assert_eq!(show_entry(e, &want), want, "{line}");
}

#[test]
fn sets_and_repetitions() {
    for (scheme, expected) in [
        ("3x8", "3; 8; certain"),
        ("3 x 8-10", "3; 8-10; certain"),
        ("3×8–10", "3; 8-10; certain"),
        ("3 X 8 to 10", "3; 8-10; certain"),
        ("4 sets of 6", "4; 6; certain"),
        ("3 sets x 12 reps", "3; 12; certain"),
        ("3 sets of 8-10 reps", "3; 8-10; certain"),
        ("2-3 x 10", "2-3; 10; certain"),
        ("2-3 sets of 10", "2-3; 10; certain"),
        ("3xAMRAP", "3; ; rir 0; certain"),
        ("3 x max", "3; ; rir 0; certain"),
        ("3x8+", "3; 8; assumed"),
        ("12, 10, 8", "3; 8-12; certain"),
        ("5/4/3/2/1", "5; 1-5; certain"),
        ("5/3/1", "3; 1-5; assumed"),
        ("2x5 w/u, 3x5", "3; 5; assumed"),
        ("2x5 (warm-up), 3x5", "3; 5; assumed"),
        ("5x(2+2+2)", "5; 6; assumed"),
        ("3x12, 10, 8", "3; 8-12; certain"),
        ("1x3, 3x5", "4; 3-5; certain"),
        ("3x30s", "3; 30 s; certain"),
        ("3 x 45 sec", "3; 45 s; certain"),
        ("2x1 min", "2; 60 s; certain"),
        ("2x20m", "2; 20 m; certain"),
        ("3x10 each side", "3; 10; each_side; certain"),
        ("3x10 e/s", "3; 10; each_side; certain"),
        ("3x10/leg", "3; 10; each_side; certain"),
        ("3x10 per arm", "3; 10; each_side; certain"),
        ("3x10 each", "3; 10; each_side; certain"),
        ("top set of 5 + 2 back-off sets of 8", "3; 5-8; certain"),
        ("1x5 top set, 2x8 backoff", "3; 5-8; certain"),
        ("3x10 + drop set", "3.5; 10; assumed"),
        ("3x10 +2 drops", "4; 10; assumed"),
        ("1x12 rest-pause", "1.5; 12; assumed"),
        ("1x12+4+3", "2; 12; assumed"),
        ("2x8, 1xAMRAP", "3; 8; assumed"),
        ("3x8 to failure", "3; 8; rir 0; certain"),
    ] {
        check(&format!("Front squat {scheme}"), &format!("front-squat; {expected}"));
    }
}

#[test]
fn effort_load_tempo_and_rest() {
    for (scheme, expected) in [
        ("3x8 RIR2", "3; 8; rir 2; certain"),
        ("3x8 RIR 2", "3; 8; rir 2; certain"),
        ("3x8 2 RIR", "3; 8; rir 2; certain"),
        ("3x8 (2 reps in reserve)", "3; 8; rir 2; certain"),
        ("3x8 RIR 1-2", "3; 8; rir 1.5; assumed"),
        ("3x8 RPE 8", "3; 8; rir 2; certain"),
        ("3x8 @RPE8", "3; 8; rir 2; certain"),
        ("3x8@2", "3; 8; rir 2; assumed"),
        ("3x8 @8", "3; 8; rir 2; assumed"),
        ("3x8 @7.5", "3; 8; rir 2.5; assumed"),
        ("3x8 @0", "3; 8; rir 0; assumed"),
        ("3x5 @75%", "3; 5; load 75 %1RM; certain"),
        ("3x5 75 % 1RM", "3; 5; load 75 %1RM; certain"),
        ("3x5 @80kg", "3; 5; load 80 kg; certain"),
        ("3x5 @ 82,5 kg", "3; 5; load 82.5 kg; certain"),
        ("3x5 175 lb", "3; 5; load 175 lb; certain"),
        ("3x5 @100", "3; 5; load 100 kg; assumed"),
        ("3x8 3010", "3; 8; tempo 3-0-1-0; certain"),
        ("3x8 3-0-1-0", "3; 8; tempo 3-0-1-0; certain"),
        ("3x8 tempo 30X0", "3; 8; tempo 3-0-1-0; certain"),
        ("3x8 30X0", "3; 8; tempo 3-0-1-0; certain"),
        ("3x8 t3111", "3; 8; tempo 3-1-1-1; certain"),
        ("3x8 rest 90s", "3; 8; rest 90; certain"),
        ("3x8, 2-3 min rest", "3; 8; rest 150; certain"),
        ("3x8 (rest 2')", "3; 8; rest 120; certain"),
    ] {
        check(&format!("Front squat {scheme}"), &format!("front-squat; {expected}"));
    }
    check("Pull-ups 3x8 BW+10 kg", "pull-up; 3; 8; load 10 bw; certain");
    check("Pull-ups 3x8 BW", "pull-up; 3; 8; load 0 bw; certain");
    check("Front squat | 3 x 8 | 80 kg | RIR 1", "front-squat; 3; 8; rir 1; load 80 kg; certain");
}

#[test]
fn names_around_the_numbers() {
    check("A1) Front squat 3x8", "front-squat; 3; 8; pair A1; certain");
    check("B2. RDL 3x8", "romanian-deadlift; 3; 8; pair B2; certain");
    check("1. RDL 3x8", "romanian-deadlift; 3; 8; certain");
    check("3x8 front squat", "front-squat; 3; 8; certain");
    check("B-stance RDL 3x8", "staggered-romanian-deadlift; 3; 8; certain");
    check("1-arm DB row 3x8", "one-arm-dumbbell-row; 3; 8; certain");
    check("BW squat 3x20", "body-weight-squat; 3; 20; certain");
    check("Y's 3x15", "prone-y-raise; 3; 15; certain");
    check("45 leg press 3x10", "leg-press-45; 3; 10; certain");
    check("Leg press 3x10 (high foot)", "leg-press-high-foot; 3; 10; certain");
    check("back-squat{depth_knee_deg=120} 3x8", "back-squat; 3; 8; set depth_knee_deg=120; certain");
    check("Front squat 3x8 purple socks", "front-squat; 3; 8; assumed");
    check("Front squat | heavy 3x8", "front-squat; 3; 8; assumed");
    check("Front squats and RDL", "; 0; ; unknown");
    check("Front squat 900x8", "front-squat; 0; 8; unknown");
    assert_eq!(read("w/u: front squat 2x10").entries[0].status, Status::Ignored);
}

#[test]
fn layouts() {
    // A heading with the day in the place of "Exercise"; sets missing; a continuation under a merged name.
    let plan = read("Push day|Sets|Reps\nBench press|3|8\nDips|x|8\n");
    assert_eq!(plan.entries[0].day, "Push day");
    assert_eq!((plan.entries[1].status, plan.entries[1].sets_high), (Status::Unknown, 0.0));
    // Two days side by side with their own columns.
    let plan =
        read("Monday|||Thursday\nExercise|Sets|Reps|Exercise|Sets|Reps\nBench press|3|8|RDL|4|6\n|||Leg ext|2|15\n");
    let got: Vec<(String, String, f64)> =
        plan.entries.iter().map(|e| (e.day.clone(), e.movement.clone().unwrap_or_default(), e.sets_low)).collect();
    let want =
        [("Monday", "bench-press", 3.0), ("Thursday", "romanian-deadlift", 4.0), ("Thursday", "leg-extension", 2.0)];
    assert_eq!(got, want.map(|(d, m, s)| (d.to_string(), m.to_string(), s)));
    // No headings at all: assumed, and said so.
    let plan = read("Bench press|3|8\nRDL|4|6\n");
    assert!(plan.entries.iter().all(|e| e.status == Status::Assumed && e.sets_low >= 3.0), "{:?}", plan.entries);
    // A day and its exercises in one line.
    let plan = read("Mon: Front squat 5x5 @80%, lying leg curl 3x10\nWed: Bench press 5x5\n");
    let got: Vec<(&str, f64)> = plan.entries.iter().map(|e| (e.day.as_str(), e.sets_low)).collect();
    assert_eq!(got, [("Mon", 5.0), ("Mon", 3.0), ("Wed", 5.0)]);
    let plan = read("Mon: Front squat\nBench press 3x5\n");
    assert_eq!((plan.entries.len(), plan.entries[0].status), (2, Status::Unknown), "an exercise is no day");
    // In a table the same is asked about: the second name's sets are not the first one's.
    let plan = read("Exercise|Notes\nFront squat 5x5 leg press 3x10|\n");
    assert_eq!(plan.entries[0].status, Status::Unknown);
    // Several lines in one cell of a day.
    let mut book = small_book("Plan", "Mon|Wed\nx|RDL 3x8\n");
    book.sheets[0].rows[1][0].value = Value::Text("Bench press 3x8\nDB fly 2x12".into());
    let plan = read_week(&book, &INDEX, &PlanOptions::default());
    assert_eq!(plan.entries.len(), 3);
    assert_eq!((plan.entries[1].row, plan.entries[1].col, plan.entries[1].day.as_str()), (2, 1, "Mon"));
    // A name merged over two rows: top set and back-offs.
    let mut book = small_book("Plan", "Exercise|Sets|Reps\nFront squat|1|5\n|2|8\n");
    book.sheets[0].rows[1][0].span = (2, 1);
    let plan = read_week(&book, &INDEX, &PlanOptions::default());
    assert_eq!(plan.entries.iter().map(|e| e.sets_low).sum::<f64>(), 3.0);
    assert!(plan.entries.iter().all(|e| e.movement.as_deref() == Some("front-squat")));
}

#[test]
fn a_drop_said_twice_is_one_drop() {
    let plan = read("Exercise|Sets|Reps|Notes\nFront squat|3|12+drop|last set dropset\n");
    assert_eq!(plan.entries[0].sets_high, 3.5, "{:?}", plan.entries[0]);
    let plan = read("Exercise|Sets|Reps|Notes\nFront squat|3|12|last set dropset\n");
    assert_eq!(plan.entries[0].sets_high, 3.5, "{:?}", plan.entries[0]);
}

#[test]
fn remarks_that_change_the_exercise_are_used_or_said() {
    let plan = read(
        "Exercise|Sets|Reps|Notes\nFront squat|3|8|heels on wedge\nDips|3|8|leaning forward\nFront squat|3|8|slow and tidy\n\
         Triceps pushdown|3|12|rope\nBench press|3|8|if time\n",
    );
    for e in &plan.entries[..2] {
        assert_eq!(e.status, Status::Assumed, "{e:?}");
        assert!(e.assumptions.iter().any(|a| a.contains("not used") || a.contains("from the remarks")), "{e:?}");
    }
    assert_eq!(plan.entries[2].status, Status::Certain, "{:?}", plan.entries[2]);
    assert_ne!(plan.entries[3].status, Status::Certain, "{:?}", plan.entries[3]);
    assert_eq!((plan.entries[4].sets_low, plan.entries[4].sets_high), (0.0, 3.0), "{:?}", plan.entries[4]);
}

#[test]
fn weeks_as_headings_above_rows_are_weeks() {
    let plan = read(
        "Week 1\nExercise|Sets|Reps\nFront squat|3|8\nBench press|3|8\nWeek 2\nExercise|Sets|Reps\nFront squat|4|8\n\
         Bench press|4|8\n",
    );
    let got: Vec<(u32, &str, f64)> = plan.entries.iter().map(|e| (e.week, e.day.as_str(), e.sets_high)).collect();
    assert_eq!(got, [(1, "Day 1", 3.0), (1, "Day 1", 3.0), (2, "Day 1", 4.0), (2, "Day 1", 4.0)]);
    assert_eq!(plan.weeks, 2);
    // Without headings again, with days below, in plain lines.
    let plan = read("Week 1\nMonday\nFront squat 3x8\nWeek 2\nMonday\nFront squat 4x8\n");
    let got: Vec<(u32, &str, f64)> = plan.entries.iter().map(|e| (e.week, e.day.as_str(), e.sets_high)).collect();
    assert_eq!(got, [(1, "Monday", 3.0), (2, "Monday", 4.0)]);
    let plan = read("Exercise|Sets|Reps\nWeek 1 - Monday\nFront squat|3|8\nWeek 2 - Monday\nFront squat|4|8\n");
    let got: Vec<(u32, &str, f64)> = plan.entries.iter().map(|e| (e.week, e.day.as_str(), e.sets_high)).collect();
    assert_eq!(got, [(1, "Monday", 3.0), (2, "Monday", 4.0)]);
}

#[test]
fn words_of_days_weeks_and_pain() {
    for t in [
        "Monday",
        "Mon - Legs",
        "Day 1",
        "DAY 2: Upper",
        "Tuesday: quads and hams",
        "Session A",
        "Push",
        "Upper A",
        "Full body",
        "Leg day",
        "D3",
    ] {
        assert!(is_day(t), "{t}");
    }
    for t in ["Push press", "Leg press", "Rest day", "Sunday: 10k steps", "Back squat", "Pull-ups", "12", "Arm curls"] {
        assert!(!is_day(t), "{t}");
    }
    assert_eq!(
        [week("Week 3"), week("Wk 4 (deload)"), week("W2"), week("Weekly"), week("Workout 3")],
        [Some(3), Some(4), Some(2), None, None]
    );
    for (t, word) in [
        ("sharp pain in knee", Some("pain")),
        ("left knee hurts", Some("hurts")),
        ("sore elbow since Tuesday", Some("sore")),
        ("quads very sore", None),
        ("no pain", None),
        ("pain-free", None),
        ("doesn't hurt any more", None),
        ("stop if it hurts", None),
        ("dizzy after set 2", Some("dizzy")),
        ("fingers go numb", Some("numb")),
        ("no problem, but shoulder aches at the top", Some("aches")),
    ] {
        assert_eq!(alarm_words(t).first().map(String::as_str), word, "{t}");
    }
}

#[test]
fn every_word_of_alarm_in_a_cell_is_found() {
    // Signs of the referral table in coaches' words; what a coach cues is no complaint.
    for (t, want) in [
        ("chest tightness last set", &["chest tight"][..]),
        ("felt tightness in the chest", &["chest tight"]),
        ("pressure across her chest", &["chest pressure"]),
        ("passed out after", &["passed out"]),
        ("nearly blacked out", &["blacked out"]),
        ("felt faint", &["faint"]),
        ("left knee twinge", &["twinge"]),
        ("numb fingers, short of breath", &["numb", "short of breath"]),
        ("no change, chest pain on the last one", &["chest pain"]),
        ("had to stop chest pain", &["chest pain"]),
        ("light-headed and elbow aches", &["light headed", "aches"]),
        ("stay tight, chest up", &[]),
        ("chest up, core tight", &[]),
        ("arms locked out", &[]),
        ("pinch shoulder blades", &[]),
        ("no chest pain", &[]),
        ("stop if short of breath", &[]),
        ("a faint line on the floor", &[]),
    ] {
        let found = alarm_words(t);
        assert!(want.iter().all(|w| found.iter().any(|f| f == w)) && found.len() == want.len(), "{t}: {found:?}");
    }
}

#[test]
fn toml_gives_the_same_entries_as_a_sheet() {
    let toml = "[[day]]\nname = \"Legs\"\n[[day.exercise]]\nname = \"Back squat\"\nsets = 3\nreps = \"6-8\"\nrir = 2\n\
                load = \"82,5 kg\"\nrest = \"3 min\"\n[[day.exercise]]\nname = \"RDL 3x8 @2\"\nnotes = \"knee hurts\"\n";
    let plan = read_toml(toml, &INDEX, &PlanOptions::default()).expect("a plan");
    let sheet = read(
        "Legs\nExercise|Sets|Reps|RIR|Load|Rest|Notes\nBack squat|3|6-8|2|82,5 kg|3 min\nRDL 3x8 @2||||||knee hurts\n",
    );
    for (a, b) in plan.entries.iter().zip(&sheet.entries) {
        let mut a = a.clone();
        (a.sheet, a.row, a.col) = (b.sheet.clone(), b.row, b.col);
        assert_eq!(a, *b);
    }
    assert_eq!((plan.entries.len(), plan.entries[1].row), (2, 11));
    assert_eq!(plan.pain_flags[0].place, "line 12");
}

#[test]
fn toml_reports_every_problem_with_its_line() {
    let toml =
        "[[day]]\nnme = \"Legs\"\n[[day.exercise]]\nsets = 3\n[[day.exercise]]\nname = \"RDL\"\nsetz = 3\nreps = []\n";
    let problems = read_toml(toml, &INDEX, &PlanOptions::default()).expect_err("problems");
    let lines: Vec<usize> = problems.iter().map(|p| p.line).collect();
    assert_eq!(lines, [2, 3, 7, 8], "{problems:?}");
    assert!(matches!(&problems[2].problem, Wrong::Key { nearest, .. } if nearest[0] == "sets"));
    let broken = read_toml("[[day]\n", &INDEX, &PlanOptions::default()).expect_err("a problem");
    assert!(matches!(broken[0].problem, Wrong::Syntax(_)));
    assert!(matches!(read_toml("", &INDEX, &PlanOptions::default()).expect_err("none")[0].problem, Wrong::NoDay));
}

/// Pieces that plans are made of, and anything else.
fn cell_text() -> impl Strategy<Value = String> {
    let pieces = prop::sample::select(vec![
        "3x8",
        "@",
        "RIR",
        "2",
        "-",
        "/",
        "+",
        "BW",
        "kg",
        "lb",
        "%",
        "Week 1",
        "Week 2",
        "Exercise",
        "Sets",
        "Reps",
        "Monday",
        "Day 2",
        "Back squat",
        "curl",
        "x",
        ",",
        "12, 10, 8",
        "AMRAP",
        "drop set",
        "top set",
        "rest",
        "tempo",
        "3010",
        "30X0",
        "each",
        "side",
        "pin",
        "A1)",
        "Total",
        "(",
        ")",
        "=",
        "\n",
        "9999999999999999999999",
        "½",
        "é",
        "back-off",
        "°",
        "back-squat{",
        "}",
        "1e308",
        "0",
        "RPE",
        "#",
        "p/h",
        "'",
        "\"",
        ":",
        "Load (kg)",
        "Name",
        "Sex",
        "Age",
        "Height",
    ]);
    prop_oneof![prop::collection::vec(pieces, 0..6).prop_map(|v| v.join(" ")), ".{0,20}", "[0-9x@,./+ -]{0,12}"]
}

fn any_book() -> impl Strategy<Value = Book> {
    let value = prop_oneof![
        4 => cell_text().prop_map(Value::Text),
        1 => any::<f64>().prop_map(Value::Number),
        1 => Just(Value::Empty),
        1 => "[0-9]{0,4}-?[0-9]{0,2}-?[0-9é]{0,3}".prop_map(Value::Date),
        1 => Just(Value::Error("#REF!".into())),
        1 => any::<bool>().prop_map(Value::Bool),
    ];
    let cell = (value, 1u32..4, 1u32..4).prop_map(|(value, r, c)| Cell { value, span: (r, c) });
    let grid = (prop::collection::vec(prop::collection::vec(cell, 0..6), 0..8), cell_text())
        .prop_map(|(rows, name)| Grid { name, rows });
    prop::collection::vec(grid, 0..3).prop_map(|sheets| Book { sheets, notes: vec![] })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1500, failure_persistence: None, ..ProptestConfig::default() })]
    /// Never a panic; no cell vanishes; nothing certain rests on an assumption; numbers are finite.
    #[test]
    fn any_cells_are_read_and_none_vanishes(book in any_book()) {
        let plan = read_week(&book, &INDEX, &PlanOptions::default());
        let filled: usize = book.sheets.iter().flat_map(|s| &s.rows).flatten().filter(|c| !text(&c.value).is_empty()).count();
        prop_assert_eq!(filled, plan.cells.len());
        for c in &plan.cells {
            if let Fate::Entry(i) = c.fate {
                prop_assert!(i < plan.entries.len());
            }
        }
        for e in &plan.entries {
            prop_assert!(e.status != Status::Certain || e.assumptions.is_empty());
            prop_assert!(e.sets_low.is_finite() && e.sets_high.is_finite() && e.sets_low <= e.sets_high);
            prop_assert!(e.load.is_none_or(f64::is_finite) && e.rir.is_none_or(f64::is_finite));
        }
    }

    #[test]
    fn any_toml_is_read_or_refused(text in "(\\[\\[day\\]\\]\n|\\[\\[day.exercise\\]\\]\n|name = \"RDL 3x8\"\n|sets = .{0,4}\n|.{0,12}\n){0,8}") {
        drop(read_toml(&text, &INDEX, &PlanOptions::default()));
    }
}
