//! The screening gate. Source of the eight combinations: ACSM 2015 pre-participation screening (Riebe 2015, Med Sci Sports
//! Exerc 47:2473-2479), recalled; every other row names its own source in `safety.csv`.

mod common;
use common::*;
use programme::screening::{Gate, PainWord, objections, screen};

fn gate(client_text: &str) -> Gate {
    screen(&client(client_text), &[], &[], TODAY, &rules())
}

/// First flag's level, "go" without any.
fn check(client_text: &str, expected: &str) {
    let g = gate(client_text);
    let got = g.flags.first().map_or("go", |f| f.level.as_str());
    assert_eq!(got, expected, "{client_text}: {:?}", g.flags);
}

#[test]
fn the_eight_combinations() {
    // exercises regularly, disease, symptoms -> action
    for (regular, disease, symptoms, expected) in [
        (false, false, false, "go"),
        (false, true, false, "clearance"),
        (false, false, true, "clearance"),
        (false, true, true, "clearance"),
        (true, false, false, "go"),
        (true, true, false, "clearance"),
        (true, false, true, "stop"),
        (true, true, true, "stop"),
    ] {
        let text = format!(
            "[screening]\nexercises_regularly = {regular}\nknown_disease = {disease}\nsymptoms = {symptoms}\ndate = \"2026-02-01\""
        );
        check(&text, expected);
    }
}

#[test]
fn a_clearance_of_the_last_twelve_months_lifts_the_vigorous_gate() {
    let asked =
        "[screening]\nexercises_regularly = true\nknown_disease = true\nsymptoms = false\ndate = \"2026-02-01\"\n";
    check(asked, "clearance");
    check(&format!("{asked}[clearances]\nscreening = \"2025-09-01\""), "caution");
    check(&format!("{asked}[clearances]\nscreening = \"2024-09-01\""), "clearance");
    check(&format!("{asked}[clearances]\nscreening = \"2027-01-01\""), "clearance");
    // Symptoms are not lifted by an old letter.
    let signs =
        "[screening]\nexercises_regularly = true\nknown_disease = true\nsymptoms = true\ndate = \"2026-02-01\"\n";
    check(&format!("{signs}[clearances]\nscreening = \"2026-01-01\""), "stop");
}

#[test]
fn open_answers_are_asked_and_bad_answers_count() {
    check("", "caution");
    check("[screening]\nsymptoms = true", "clearance");
    check("[screening]\nexercises_regularly = true\nsymptoms = true", "stop");
}

#[test]
fn conditions_and_states() {
    for (text, level) in [
        ("conditions = [\"unstable angina\"]", "stop"),
        ("conditions = [\"uncontrolled blood pressure\"]", "stop"),
        ("conditions = [\"Hypertension\"]", "clearance"),
        ("conditions = [\"glaucoma\"]", "clearance"),
        ("conditions = [\"type 2 diabetes\"]", "clearance"),
        ("conditions = [\"osteoporosis\"]", "clearance"),
        ("conditions = [\"recent concussion\"]", "stop"),
        ("conditions = [\"lost periods\"]", "refer"),
        ("conditions = [\"something rare\"]", "caution"),
        ("medicines = [\"atorvastatin\"]", "caution"),
        ("pregnancy_weeks = 20", "clearance"),
        ("age_years = 15", "caution"),
        ("age_years = 68", "caution"),
        ("[[pains]]\nplace = \"elbow\"\nscore = 6", "refer"),
    ] {
        check(text, level);
    }
}

#[test]
fn pregnancy_leaves_out_flat_on_the_back() {
    let (g, rules) = (gate("pregnancy_weeks = 20"), rules());
    let of = |id: &str| objections(&credit(id, &Default::default()).unwrap(), &g, &rules);
    assert!(of("bench-press").leave_out.is_some());
    assert!(of("lying-leg-curl").leave_out.is_some());
    assert!(of("seated-leg-curl").leave_out.is_none());
    assert!(of("row").leave_out.is_none());
    assert!(g.hold_volume, "maintenance volumes");
    let cleared = gate("pregnancy_weeks = 20\n[clearances]\npregnancy = \"2026-02-01\"");
    assert!(cleared.flags.iter().all(|f| f.level == "caution"), "{:?}", cleared.flags);
    assert!(!cleared.restrict.is_empty(), "the clearance does not lift the posture rules");
}

#[test]
fn low_bone_mass_leaves_out_loaded_trunk_flexion_not_the_hinge() {
    let (g, rules) = (gate("conditions = [\"osteopenia\"]"), rules());
    let of = |id: &str| objections(&credit(id, &Default::default()).unwrap(), &g, &rules);
    assert!(of("crunch").leave_out.is_some());
    assert!(of("hinge").leave_out.is_none());
    assert!(of("hinge").cautions.iter().any(|c| c.contains("neutral trunk")));
}

#[test]
fn pain_above_five_leaves_out_below_it_warns() {
    let rules = rules();
    let of = |score: u32, id: &str| {
        let g = gate(&format!("[[pains]]\nplace = \"inner elbow\"\nscore = {score}"));
        objections(&credit(id, &Default::default()).unwrap(), &g, &rules)
    };
    assert!(of(6, "curl").leave_out.is_some());
    assert!(of(5, "curl").leave_out.is_none() && of(5, "curl").cautions[0].contains("5/10"));
    assert!(of(2, "curl").cautions.is_empty());
    assert!(of(9, "back-squat").leave_out.is_none());
}

#[test]
fn words_in_a_plan() {
    let flags = |word: &str, text: &str| {
        let hit = PainWord { place: "Plan!D9".into(), word: word.into(), text: text.into() };
        screen(&client(""), &[], &[hit], TODAY, &rules()).flags
    };
    let has = |word: &str, text: &str, level: &str| {
        let found = flags(word, text);
        assert!(found.iter().any(|f| f.level == level && f.place == "Plan!D9"), "{text}: {found:?}");
    };
    has("chest pain", "stopped early, chest pain", "stop");
    has("chest tight", "chest tightness last set", "stop");
    has("passed out", "passed out after", "stop");
    has("short of breath", "numb fingers, short of breath", "clearance");
    has("twinge", "left knee twinge", "caution");
    // The word counts, not the text in which another is denied.
    let denied = flags("hurts", "no chest pain, knee hurts");
    assert!(denied.iter().all(|f| f.level != "stop"), "{denied:?}");
    has("pain", "knee pain 3/10", "caution");
    has("numb", "fingers numb after rows", "refer");
    has("popped", "shoulder popped", "refer");
    has("niggle", "elbow niggle", "caution");
    has("unheard", "a word only the reader knows", "caution");
}

#[test]
fn the_worst_word_of_a_cell_stands_first_and_all_are_listed() {
    let hit =
        |word: &str| PainWord { place: "Plan!D9".into(), word: word.into(), text: "numb, passed out, aches".into() };
    let flags = screen(&client(""), &[], &[hit("aches"), hit("numb"), hit("passed out")], TODAY, &rules()).flags;
    let here: Vec<&str> = flags.iter().filter(|f| f.place == "Plan!D9").map(|f| f.level.as_str()).collect();
    assert_eq!(here, ["stop", "refer", "caution"], "{flags:?}");
}

#[test]
fn a_condition_is_a_word_not_a_part_of_one() {
    let texts = |said: &str| -> Vec<String> {
        let flags = gate(&format!("conditions = [\"{said}\"]")).flags;
        flags.into_iter().filter(|f| f.place == "conditions").map(|f| f.text).collect()
    };
    let check = |said: &str, expected: &str| {
        let found = texts(said);
        assert!(found.len() == 1 && found[0].contains(expected), "{said}: {found:?}");
    };
    check("lumbar disc herniation", "Disc history");
    check("herniated disc L4/L5", "Disc history");
    check("hernia", "hernia");
    check("rotator cuff tear", "cuff");
    check("uncontrolled hypertension", "Uncontrolled");
    check("stroke 2019", "Stroke");
    check("tennis elbow", "Tendon");
    check("knee osteoarthritis", "cartilage");
}

#[test]
fn no_sets_are_added_while_a_clearance_is_missing() {
    for said in ["osteoporosis", "glaucoma", "hernia", "knee replacement", "pacemaker", "diabetes", "stroke"] {
        let text = format!("conditions = [\"{said}\"]");
        assert!(gate(&text).hold_volume, "{said}");
        let id = rules()
            .safety
            .iter()
            .find(|r| r.kind == "condition" && r.words.iter().any(|w| w == said))
            .unwrap()
            .id
            .clone();
        assert!(!gate(&format!("{text}\n[clearances]\n{id} = \"2026-02-01\"")).hold_volume, "{said} cleared");
    }
}

#[test]
fn unsupported_stances_are_not_proposed_in_pregnancy() {
    let (g, rules) = (gate("pregnancy_weeks = 24"), rules());
    let hinge = objections(&credit("hinge", &Default::default()).unwrap(), &g, &rules);
    assert!(hinge.leave_out.is_none() && hinge.not_new.is_some(), "{hinge:?}");
}

#[test]
fn pain_in_the_chest_is_asked_as_a_sign_of_the_heart() {
    check("[[pains]]\nplace = \"chest\"\nscore = 3", "clearance");
}

#[test]
fn new_work_is_limited() {
    let c = client("new_movements = [\"hinge\"]");
    let plan = entries("Mon | hinge | 5 | 10 | rir 0\nTue | curl | 5 | 10 | rir 0");
    let g = screen(&c, &plan, &[], TODAY, &rules());
    let found: Vec<_> = g.flags.iter().filter(|f| f.text.contains("2-3 sets")).collect();
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].place, "Plan!B2");
    assert!(found[0].stop_signs.iter().any(|s| s.contains("dark urine")));
}

#[test]
fn wording_rules() {
    for row in rules().safety {
        let text = row.text.to_lowercase();
        for never in ["diagnos", "you have", "prevents", "guarantee", "will heal", "injury-free", "worst pain"] {
            assert!(!text.contains(never), "{}: {text}", row.id);
        }
        assert!(!text.contains('\n'), "{}: one line", row.id);
        if !row.level.is_empty() {
            assert!(!row.who_lifts.is_empty() && !row.source.is_empty() && !row.how.is_empty(), "{}", row.id);
        }
        if row.level == "stop" && row.kind != "word" {
            assert!(!row.stop_signs.is_empty(), "{}: stop signs beside the advice", row.id);
        }
    }
}

#[test]
fn most_urgent_first() {
    let g =
        gate("age_years = 68\nconditions = [\"concussion\", \"osteoporosis\"]\n[[pains]]\nplace = \"knee\"\nscore = 7");
    let levels: Vec<&str> = g.flags.iter().map(|f| f.level.as_str()).collect();
    let rank = |l: &&str| ["stop", "clearance", "refer", "caution"].iter().position(|x| x == l);
    assert!(levels.iter().map(rank).collect::<Vec<_>>().is_sorted(), "{levels:?}");
    assert_eq!(levels[0], "stop");
}
