//! Faults, nearest movements and the search of set-ups.

use answer::{SettingValue, Settings};
use library::{Ask, Library, Person, Sparing};
use std::sync::OnceLock;

fn library() -> &'static Library {
    static L: OnceLock<Library> = OnceLock::new();
    L.get_or_init(|| Library::embedded().expect("the shipped data"))
}

fn ask(movement: &str, draws: usize) -> Ask {
    Ask {
        movement: movement.into(),
        settings: Settings::new(),
        person: Person::average_man(),
        draws,
        seed: 1,
        frames: 21,
        scene: false,
    }
}

#[test]
fn hips_that_rise_first_unload_the_knee_and_load_the_back() {
    let f = library().faults(&ask("back-squat", 8)).expect("faults");
    let fault = f.faults.iter().find(|q| q.fault == "hips rise first").expect("in the table");
    assert_eq!((&fault.from, &fault.to), (&SettingValue::Number(34.0), &SettingValue::Number(18.0)));
    // Statics: Fry, Smith & Schilling 2003 J Strength Cond Res 17:629, shins held back: knee down, hip up.
    let at_same = |axis: &str| {
        let m = fault.moments.iter().find(|m| m.axis == axis).unwrap_or_else(|| panic!("{axis}"));
        (m.from.mid, m.to_at_same_load_nm)
    };
    let (knee, hip, back) = (at_same("knee.extension"), at_same("hip.extension"), at_same("lumbar.extension"));
    // `from` stands at its own, larger load.
    assert!(knee.1 < knee.0 && hip.1 > hip.0 && back.1 > back.0, "{knee:?} {hip:?} {back:?}");
    assert!(fault.matters && fault.heads.iter().any(|h| h.matters));
    for h in &fault.heads {
        assert_eq!(h.matters, h.change.abs() >= answer::MATTERS_FROM && h.from.apart(h.to), "{}", h.id);
    }
    assert_eq!(fault.expected.len(), 7);
}

#[test]
fn a_fault_that_a_movement_cannot_have_is_left_out_and_said() {
    let check = |movement: &str, fault: &str, part: &str| {
        let f = library().faults(&ask(movement, 0)).expect("faults");
        assert!(!f.faults.iter().any(|q| q.fault == fault), "{movement} {fault}");
        let left = f.left_out.iter().find(|l| l.fault == fault).unwrap_or_else(|| panic!("{movement} {fault}"));
        assert!(left.why.contains(part), "{}", left.why);
    };
    check("bench-press", "dumb-bells drift in at the bottom", "dumb-bell");
    check("split-squat", "trail leg jumps (step-up)", "step = up or down");
    check("seated-leg-curl", "hips lift (lying)", "posture = lying");
    // One foot only: the shank follows from balance.
    check("step-up", "front knee slides back", "depends on shank_deg");
}

#[test]
fn a_lift_cut_short_says_what_the_mean_leaves_out() {
    let f = library().faults(&ask("leg-extension", 0)).expect("faults");
    let check = |fault: &str, cut: bool| {
        let q = f.faults.iter().find(|q| q.fault == fault).unwrap_or_else(|| panic!("{fault}"));
        assert_eq!(!q.note.is_empty(), cut, "{fault}: {}", q.note);
    };
    check("stops short", true);
    check("kicks from the bottom", false);
}

#[test]
fn a_bad_table_of_faults_is_refused_with_its_line() {
    let head = "family,fault,setting,from_value,to_value,only_when,effect,coach_cares,expected_head_load,why_a_coach_cares_or_not,how\n";
    let check = |row: &str, part: &str| {
        let file = ("mine/family_faults.csv".to_string(), format!("{head}{row}\n"));
        let e = Library::with(&[file]).err().map(|e| e.to_string()).unwrap_or_default();
        assert!(e.contains("mine/family_faults.csv:2") && e.contains(part), "{e}");
    };
    check("squat,f,shank,20,30,,e,yes,,w,h", "no setting `shank`");
    check("squat,f,shank_deg,20,900,,e,yes,,w,h", "`to_value`");
    check("squat,f,shank_deg,20,20,,e,yes,,w,h", "the same as `from_value`");
    check("squat,f,shank_deg,20,30,,e,often,,w,h", "`coach_cares`");
    check("squat,f,shank_deg,20,30,now,e,yes,,w,h", "`only_when`");
    check("squat,f,shank_deg,20,30,,e,yes,soleus:more,w,h", "`expected_head_load`");
    check("squat,,shank_deg,20,30,,e,yes,,w,h", "`fault` is empty");
    let mine = ("family_faults.csv".to_string(), format!("{head}squat,mine,shank_deg,20,30,,e,yes,soleus:up,w,h\n"));
    let lib = Library::with(&[mine]).expect("a good table");
    let f = lib.faults(&ask("back-squat", 0)).expect("faults");
    assert!(f.faults.iter().any(|q| q.fault == "mine"));
}

#[test]
fn the_nearest_movements_come_first_and_a_spared_joint_carries_less() {
    let lib = library();
    let near = lib.similar(&ask("bench-press", 0), None, None, 400).expect("similar");
    assert!(near.rows.windows(2).all(|w| w[0].distance <= w[1].distance));
    assert!(near.rows.iter().all(|r| (0.0..=1.0).contains(&r.distance) && r.movement != "bench-press"));
    let place = |id: &str| near.rows.iter().position(|r| r.movement == id).unwrap_or_else(|| panic!("{id}"));
    assert!(place("smith-bench-press") < place("push-up") && place("push-up") < place("back-squat"));
    let spare = Sparing::new("shoulder", "shoulder", vec!["shoulder".into()]).expect("a joint");
    let spared = lib.similar(&ask("bench-press", 0), None, Some(&spare), 400).expect("similar");
    assert_eq!(spared.rows.len() + spared.not_sparing + spared.left_out.len(), spared.compared);
    assert!(spared.rows.len() < near.rows.len() && spared.spare.is_some_and(|s| s.moment_nm > 50.0));
    for r in &spared.rows {
        assert!(!r.avoids.is_empty() && !r.cautions.iter().any(|c| c.contains("shoulder")), "{}", r.movement);
    }
    // A trunk that stands still without a number is not called spared.
    let back = Sparing::new("low back", "lumbar", vec!["low back".into()]).expect("a joint");
    let spared = lib.similar(&ask("conventional-deadlift", 0), None, Some(&back), 400).expect("similar");
    assert!(!spared.rows.iter().any(|r| r.movement == "bent-over-row"));
    assert!(Sparing::new("x", "tail", Vec::new()).is_none());
}

#[test]
fn the_search_gains_within_ranges_and_says_the_same_twice() {
    let lib = library();
    let kit = lib.catalogue.kit("home-db-24");
    assert!(kit.is_some());
    let search = || lib.search_setups("gluteus-maximus-inferior-part", kit, &ask("", 0)).expect("a search");
    let found = search();
    assert_eq!(found, search());
    let mut gained = 0;
    for r in &found.rows {
        let family = &lib.catalogue.movement(&r.movement).expect("known").family;
        for (key, value) in &r.settings {
            assert!(r.tried.contains(key), "{} {key}", r.movement);
            lib.catalogue.check_setting(family, key, &value.to_string()).unwrap_or_else(|e| panic!("{e}"));
        }
        assert_eq!(r.settings.is_empty(), r.stimulus == r.usual_stimulus, "{}", r.movement);
        assert!(r.stimulus >= r.usual_stimulus);
        gained += usize::from(!r.settings.is_empty());
        // What is promised is what the set-up gives when asked for.
        let look = lib.look(&Ask { settings: r.settings.clone(), ..ask(&r.movement, 0) }).expect("solved");
        let head = look.heads.iter().find(|h| h.id == found.head).expect("in the list");
        assert!((head.stimulus.mid - r.stimulus).abs() < 1e-9, "{}", r.movement);
    }
    assert!(gained > 0);
    assert!(lib.search_setups("gluteus-maximos", None, &ask("", 0)).is_err());
}
