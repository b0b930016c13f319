//! Names as coaches write them, against the library's own tables.

use answer::{SettingValue, Settings};
use movement::catalogue::{Catalogue, CatalogueText, RowProblem, SettingKind, SettingProblem};
use movement::names::{FLOOR, LESS_UNSURE, NameContext, NameIndex, words::words};
use std::path::PathBuf;
use std::sync::{Arc, LazyLock};

fn data(path: &str) -> String {
    let full = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../data").join(path);
    std::fs::read_to_string(&full).unwrap_or_else(|e| panic!("{}: {e}", full.display()))
}

static CATALOGUE: LazyLock<Arc<Catalogue>> = LazyLock::new(|| {
    let [movements, family_settings, kits, load_bands, shorthand, ambiguous] =
        ["movements", "family_settings", "kits", "load_bands", "sheet_shorthand", "ambiguous_terms"]
            .map(|t| data(&format!("movements/{t}.csv")));
    let head_groups = data("anatomy/head_groups.csv");
    let text = CatalogueText {
        movements: &movements,
        family_settings: &family_settings,
        kits: &kits,
        load_bands: &load_bands,
        sheet_shorthand: &shorthand,
        ambiguous_terms: &ambiguous,
        head_groups: &head_groups,
    };
    Arc::new(
        Catalogue::parse(&text)
            .unwrap_or_else(|all| panic!("{}", all.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))),
    )
});
static INDEX: LazyLock<NameIndex> = LazyLock::new(|| NameIndex::new(CATALOGUE.clone()));

/// `expected`: "id", "id key=value …", "?id" for a guess that is asked about, or "-" for no match.
fn check(written: &str, expected: &str) {
    let m = INDEX.find(written, &NameContext::default());
    let (ask, rest) = expected.strip_prefix('?').map_or((false, expected), |r| (true, r));
    let mut words = rest.split(' ');
    let id = words.next().expect("an id");
    if id == "-" {
        assert!(m.best.is_none(), "{written}: matched {:?}", m.best);
        assert!(!m.nearest.is_empty() && m.question.is_some(), "{written}: no help offered");
        return;
    }
    let best = m.best.clone().unwrap_or_else(|| panic!("{written}: nothing matched, nearest {:?}", m.nearest));
    assert_eq!(best.id, id, "{written}: {m:?}");
    let settings: Settings = words
        .map(|w| {
            let (k, v) = w.split_once('=').expect("key=value");
            (k.to_string(), v.parse().map_or(SettingValue::Word(v.into()), SettingValue::Number))
        })
        .collect();
    assert_eq!(best.settings, settings, "{written}");
    if ask {
        assert!(
            best.confidence <= LESS_UNSURE && m.question.is_some() && !m.assumptions.is_empty(),
            "{written}: {m:?}"
        );
    } else {
        assert!(best.confidence >= FLOOR, "{written}: {m:?}");
    }
}

#[test]
fn names_as_coaches_write_them() {
    for (written, expected) in [
        ("back squat", "back-squat"),
        ("BACK SQUATS", "back-squat"),
        ("Barbell Back Squat", "back-squat"),
        ("squat, back (high bar)", "back-squat"),
        ("Bck Squat", "back-squat"),
        ("incline 30 DB press", "dumbbell-incline-press bench_deg=30"),
        ("Incline DB press 45°", "dumbbell-incline-press bench_deg=45"),
        ("incline dumb-bell press", "dumbbell-incline-press"),
        ("low-bar squat to parallel", "low-bar-squat depth_knee_deg=112"),
        ("leg press (high foot)", "leg-press-high-foot"),
        ("lat PD wide", "wide-pull-down"),
        ("Wide Grip Lat Pulldown", "wide-pull-down"),
        ("rope PD", "rope-push-down"),
        ("1-arm DB row", "one-arm-dumbbell-row"),
        ("SA DB Row", "one-arm-dumbbell-row"),
        ("Romainian Deadlift", "romanian-deadlift"),
        ("BB RDLs", "romanian-deadlift"),
        ("CGBP", "close-grip-bench-press"),
        ("paused bench press", "pause-bench-press"),
        ("paused front squat", "front-squat tempo_pause_s=2"),
        ("farmer's walk", "farmer-carry"),
        ("trap-bar deadlift", "hex-bar-deadlift"),
        ("Skullcrushers", "lying-extension"),
        ("seated hamstring curls", "seated-leg-curl"),
        ("back-squat{depth_knee_deg=120}", "back-squat depth_knee_deg=120"),
        ("Barbell Bicep Curls", "barbell-curl"),
        ("deadhang", "dead-hang"),
        ("SLDL", "?stiff-leg-deadlift"),
        ("row", "?bent-over-row"),
        ("Rows", "?bent-over-row"),
        ("leg curl", "?seated-leg-curl"),
        ("french press", "?ez-overhead-extension"),
        ("underwater basket weaving", "-"),
        ("asdf", "-"),
        ("Foam rolling", "-"),
        ("back-squat{depth=120}", "-"),
        ("back-squat{depth_knee_deg=190}", "-"),
    ] {
        check(written, expected);
    }
}

#[test]
fn every_name_and_nearly_every_alias_finds_its_own_movement() {
    let mut shared = Vec::new();
    let (mut names, mut asked, mut right, mut wrong) = (0, 0, 0, Vec::new());
    for m in &CATALOGUE.movements {
        for written in [&m.name, &m.id] {
            // `dip` is an id and a word that means four movements.
            if INDEX.is_ambiguous(written) {
                println!("asked although a name or id: {written}");
                continue;
            }
            let found = INDEX.find(written, &NameContext::default());
            assert_eq!(found.best.as_ref().map(|b| &b.id), Some(&m.id), "{written}");
            if let Some(q) = &found.question {
                shared.push(q.clone());
            } else {
                assert_eq!(found.assumptions, Vec::<String>::new(), "{written}");
            }
            names += 1;
        }
        for a in &m.aliases {
            if INDEX.is_ambiguous(a) {
                asked += 1;
            } else if INDEX.find(a, &NameContext::default()).best.is_some_and(|b| b.id == m.id) {
                right += 1;
            } else {
                wrong.push(a);
            }
        }
    }
    let total = right + wrong.len();
    println!("{names} names and ids; {right} of {total} aliases right, {asked} ambiguous ones asked; wrong: {wrong:?}");
    println!("names two movements share: {shared:?}");
    assert!(CATALOGUE.movements.len() >= 400 && total > 900 && shared.len() < 4);
    assert!(right as f64 >= 0.95 * total as f64);
}

/// Each alias is taken out of the index in turn and looked up: how names no one has listed would fare. The error
/// that matters is a wrong match without a question.
#[test]
fn unlisted_names_are_found_or_asked_but_seldom_silently_wrong() {
    let (mut right, mut by_setting, mut asked, mut wrong, mut unknown) = (0, 0, 0, Vec::new(), 0);
    let family = |id: &str| CATALOGUE.movement(id).map(|m| m.family.clone());
    let all: Vec<(String, String)> = CATALOGUE
        .movements
        .iter()
        .flat_map(|m| m.aliases.iter().map(|a| (m.id.clone(), a.clone())))
        .filter(|(_, a)| !INDEX.is_ambiguous(a) && words(a).len() > 1)
        .collect();
    for part in 0..12 {
        let part_of = |a: &str| a.bytes().map(usize::from).sum::<usize>() % 12 == part;
        let index = NameIndex::without(CATALOGUE.clone(), |_, a| part_of(a));
        for (id, alias) in all.iter().filter(|(_, a)| part_of(a)) {
            let m = index.find(alias, &NameContext::default());
            match m.best {
                None => unknown += 1,
                Some(b) if b.id == *id => right += 1,
                Some(_) if m.question.is_some() => asked += 1,
                // "incline fly" as the fly with the bench at 30°.
                Some(b) if !b.settings.is_empty() && family(&b.id) == family(id) => by_setting += 1,
                Some(b) => wrong.push(format!("{alias} ({id}) → {} {:.2}", b.id, b.confidence)),
            }
        }
    }
    let n = all.len();
    let silent = wrong.len();
    println!(
        "of {n} unseen aliases: {right} right, {by_setting} right family with the setting, {asked} wrong but asked, \
              {unknown} unknown, {silent} wrong without a question"
    );
    println!("{}", wrong.join("\n"));
    assert!(right * 2 > n, "{right} of {n}");
    assert!(silent * 20 < n, "{silent} of {n}");
}

#[test]
fn a_kit_or_a_day_settles_some_ambiguous_words() {
    let find = |text, kit: &str, day| {
        let context = NameContext { kit: CATALOGUE.kit(kit), day };
        INDEX.find(text, &context).best.expect("a guess")
    };
    assert_eq!(find("curl", "", "Leg day").id, "lying-leg-curl");
    assert_eq!(find("curl", "", "Arms").id, "dumbbell-curl");
    assert_eq!(find("squat", "home-db-24", "").id, "goblet-squat");
    assert!(find("squat", "home-db-24", "").confidence <= LESS_UNSURE);
}

#[test]
fn one_word_form_is_checked_against_the_settings() {
    let problems = CATALOGUE.one_word("back-squat{depth_nee_deg=120,stance_x=9,bar_place=sideways}").unwrap_err();
    assert_eq!(problems.len(), 3);
    let SettingProblem::NoKey { nearest, .. } = &problems[0] else { panic!("{problems:?}") };
    assert_eq!(nearest[0], "depth_knee_deg");
    assert!(matches!(&problems[1], SettingProblem::OutOfRange { min, max, .. } if (*min, *max) == (0.7, 2.4)));
    assert!(matches!(&problems[2], SettingProblem::NotAnOption { options, .. } if options.contains(&"low".into())));
    let SettingProblem::NoMovement { nearest, .. } = &CATALOGUE.one_word("bak-squat").unwrap_err()[0] else { panic!() };
    assert!(nearest.contains(&"back-squat".to_string()));
}

#[test]
fn tables_report_every_problem_with_its_line() {
    let text = CatalogueText {
        family_settings: "family,setting,kind,unit,min,max,options,default,how\nsquat,depth,number,deg,0,x,,5,m\n",
        movements: "id,name,family,settings,equipment,sides,aliases,ambiguous_aliases,skill,setup_s,load_step_rule,\
                    direct_heads,indirect_heads,cautions\na,A,squat,dept=3,barbell,both,,,1,60,,,,\na,B,squat,,,bilateral,\
                    ,,1,60,,,,\n",
        kits: "kit,kit_name,item,provides,real_loads,note\n",
        load_bands: "movement,low,high,unit,for,how\nb,1,2,kg,,\n",
        sheet_shorthand: "written,meaning,effect_on_movement_or_log\n",
        ambiguous_terms: "written_term,candidate_movements,question_to_ask\nx,a nobody,?\n",
        head_groups: "name,kind,heads\n",
    };
    let problems = Catalogue::parse(&text).unwrap_err();
    let lines: Vec<(&str, u64)> = problems.iter().map(|p| (p.table, p.line)).collect();
    let expected = [
        ("family_settings.csv", 2),
        ("movements.csv", 2),
        ("movements.csv", 2),
        ("movements.csv", 3),
        ("load_bands.csv", 2),
        ("ambiguous_terms.csv", 2),
    ];
    assert_eq!(lines, expected, "{problems:?}");
    assert!(problems.iter().any(|p| matches!(p.problem, RowProblem::Twice(_))));
}

/// Counting convention of the trade: a direct set 1, an indirect one ½ (fractional counting, e.g. Pelland 2024).
#[test]
fn convention_opens_lumped_names_and_lets_neighbours_inherit() {
    let of = |id: &str, head: &str| {
        let all = CATALOGUE.convention(id).expect("a movement");
        all.iter().find(|(h, _)| h == head).map_or(0.0, |(_, v)| *v)
    };
    // Erector spinae is two columns, full credit each.
    assert_eq!(of("back-squat", "erector-spinae-iliocostalis"), 0.5);
    assert_eq!(of("back-squat", "erector-spinae-longissimus"), 0.5);
    assert_eq!(of("back-squat", "erector-spinae"), 0.0);
    assert_eq!(of("back-squat", "vastus-lateralis"), 1.0);
    assert_eq!(of("back-squat", "biceps-brachii-long-head"), 0.0);
    // The middle part of adductor magnus stands in no list.
    assert_eq!(of("back-squat", "adductor-magnus-middle-part"), 1.0);
    assert_eq!(of("hammer-curl", "pronator-quadratus"), of("hammer-curl", "pronator-teres"));
}

#[test]
fn settings_of_a_family_come_before_those_of_any() {
    let squat = CATALOGUE.settings_for("squat");
    assert_eq!(squat[0].key, "depth_knee_deg");
    assert!(
        matches!(&squat[0].kind, SettingKind::Number { unit, min, max } if (unit.as_str(), *min, *max) == ("deg", 50.0, 140.0))
    );
    assert!(squat.iter().any(|s| s.key == "tempo_down_s"));
    let kit = CATALOGUE.kit("barbell-rack-only").expect("a kit");
    assert!(kit.allows(&["barbell".into(), "body-weight".into()]) && !kit.allows(&["leg-curl-seated".into()]));
}
