//! Rebuilt weeks through the desk, with the shipped library and the invented demo client.

use answer::{Rebuild, WhatIf};
use desk::problem::Report;
use desk::{AuditRequest, Desk, House, PresentWeek, RebuildRequest, json, rebuild, rebuilt_workbook, what_if};
use programme::Client;
use programme::client::{Kit, Pain};
use std::sync::{Arc, OnceLock};

const PLAN: &[u8] = include_bytes!("../../../examples/demo-week.xlsx");
const CLIENT: &str = include_str!("../../../examples/demo-client.toml");

fn house() -> Arc<House> {
    static HOUSE: OnceLock<Arc<House>> = OnceLock::new();
    HOUSE.get_or_init(|| Arc::new(House::embedded().expect("the shipped data"))).clone()
}

fn demo() -> Client {
    desk::read_client(CLIENT, "demo-client.toml").expect("the demo client").0
}

fn desk_for(change: impl Fn(&mut Client)) -> Desk {
    let mut client = demo();
    change(&mut client);
    Desk::of(house(), Some(client), 0, 1)
}

fn plan() -> PresentWeek<'static> {
    PresentWeek::File { bytes: PLAN, name: "demo-week.xlsx" }
}

fn built(desk: &Desk, request: &RebuildRequest) -> Result<Rebuild, Report> {
    rebuild(desk, request, &mut |_| true)
}

fn rows(r: &Rebuild) -> Vec<(String, String, u32)> {
    r.days.iter().flat_map(|d| d.lines.iter().map(|l| (d.day.clone(), l.movement.clone(), l.sets))).collect()
}

#[test]
fn the_demo_week_gets_better_fits_its_days_and_reads_back() {
    let desk = desk_for(|_| {});
    let r = built(&desk, &RebuildRequest { present: plan(), ..RebuildRequest::default() }).expect("a week");
    let (before, after) = (r.before.as_ref().expect("a present week"), r.after.as_ref().expect("a week"));
    assert!(after.gaps.len() < before.gaps.len(), "{} gaps, then {}", before.gaps.len(), after.gaps.len());
    assert!(r.proof.value > r.proof.present.expect("a present week"), "{:?}", r.proof);
    assert!(r.proof.value <= r.proof.bound && r.proof.gap < 0.05, "{:?}", r.proof);
    for d in &r.days {
        let has = d.minutes.available.expect("minutes");
        assert!(d.minutes.high <= has + 1e-6, "{}: {:?}", d.day, d.minutes);
    }
    for row in &after.ledger {
        assert!(row.band.high == 0.0 || row.largest_session <= 11.0 + 1e-6, "{}: {}", row.head, row.largest_session);
    }
    // The same once more, byte for byte.
    let again = built(&desk, &RebuildRequest { present: plan(), ..RebuildRequest::default() }).expect("a week");
    assert_eq!(json::text(&r).expect("text"), json::text(&again).expect("text"));
    // The workbook holds the same week.
    let bytes = rebuilt_workbook(&r).expect("a workbook");
    let read =
        desk.read_plan(&AuditRequest { bytes: &bytes, name: "new.xlsx", week: None, kit: None }).expect("a plan");
    let counted = read.entries.iter().filter(|e| e.movement.is_some());
    let mut back: Vec<(String, String, u32)> =
        counted.map(|e| (e.day.clone(), e.movement.clone().unwrap_or_default(), e.sets_low as u32)).collect();
    let mut there = rows(&r);
    back.sort();
    there.sort();
    assert_eq!(back, there);
}

#[test]
fn a_pain_bars_what_loads_the_joint_also_without_a_plan() {
    let hurt = |c: &mut Client| {
        c.pains.push(Pain { place: "left knee".into(), score: Some(8.0), ..Pain::default() });
    };
    let desk = desk_for(hurt);
    for present in [plan(), PresentWeek::None] {
        let r = built(&desk, &RebuildRequest { present, ..RebuildRequest::default() }).expect("a week");
        assert!(!rows(&r).is_empty());
        for (day, movement, _) in rows(&r) {
            let wish = desk::wish::parse_wish(&movement).expect("a movement");
            let look = &desk.looks(&[wish], false).expect("a look")[0];
            let ask = library::Ask { draws: 0, ..ask_of(look) };
            let credit = house().credit(&ask);
            let axes = credit.as_ref().as_ref().expect("a credit").loaded_axes.clone();
            assert!(axes.iter().all(|a| !a.starts_with("knee")), "{movement} on {day} loads {axes:?}");
        }
        assert!(r.flags.iter().any(|f| f.text.contains("knee")));
    }
}

fn ask_of(look: &answer::Look) -> library::Ask {
    library::Ask {
        movement: look.movement.clone(),
        settings: answer::Settings::new(),
        person: desk::person(&demo()),
        draws: 0,
        seed: 1,
        frames: desk::FRAMES,
        scene: false,
    }
}

#[test]
fn wishes_that_clash_say_what_frees_them() {
    let desk = desk_for(|_| {});
    let check = |request: RebuildRequest, expected: &str| {
        let r = built(&desk, &RebuildRequest { present: plan(), ..request }).expect("an answer");
        let clash = r.clash.as_ref().expect("a clash");
        assert!(r.days.is_empty() && clash.proven, "{clash:?}");
        assert!(clash.give_way.join("; ").contains(expected), "{clash:?}");
    };
    // Four sets of squats need more than ten minutes.
    check(
        RebuildRequest { keep: vec!["back squat".into()], minutes: Some(10.0), ..RebuildRequest::default() },
        "Monday: ",
    );
}

#[test]
fn a_dose_beyond_the_week_says_what_would_do() {
    let desk = desk_for(|_| {});
    let request = RebuildRequest { present: plan(), must: vec!["Hamstrings=60".into()], ..RebuildRequest::default() };
    let r = built(&desk, &request).expect("an answer");
    let clash = r.clash.as_ref().expect("a clash");
    assert!(clash.proven && clash.give_way.join("; ").contains("Hamstrings: be content"), "{clash:?}");
}

#[test]
fn bad_wishes_get_a_sentence_that_says_what_to_change() {
    let check = |change: &dyn Fn(&mut Client), request: RebuildRequest, expected: &str| {
        let report = built(&desk_for(change), &request).expect_err("no week").to_string();
        let report = report.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(report.contains(expected), "{report}");
    };
    let with = || RebuildRequest { present: plan(), ..RebuildRequest::default() };
    let same = |_: &mut Client| {};
    check(&same, RebuildRequest { minutes: Some(0.0), ..with() }, "has 0 minutes");
    check(&same, RebuildRequest { minutes: Some(-20.0), ..with() }, "give the day more minutes");
    check(&same, RebuildRequest { days: Some("0"), ..with() }, "from 1 to 7");
    check(&same, RebuildRequest { days: Some("9"), ..with() }, "from 1 to 7");
    check(&same, RebuildRequest { days: Some(","), ..with() }, "0 days make no week");
    check(&same, RebuildRequest { kit: Some("moon-base"), ..with() }, "no kit called \"moon-base\"");
    check(&same, RebuildRequest { must: vec!["Hamstings".into()], ..with() }, "Hamstrings");
    check(&same, RebuildRequest { must: vec!["Hamstrings=-3".into()], ..with() }, "credited sets a week above 0");
    check(&same, RebuildRequest { must: vec!["Neck".into()], ..with() }, "no aim");
    let both = || vec!["back squat".to_string()];
    check(&same, RebuildRequest { keep: both(), avoid: both(), ..with() }, "to stay and to be avoided");
    check(&same, RebuildRequest { keep: vec!["leg press horizontal zzz".into()], ..with() }, "--keep");
    check(&same, RebuildRequest { keep: both(), ..RebuildRequest::default() }, "the plan does not hold it");
    let hurt = |c: &mut Client| c.pains.push(Pain { place: "knee".into(), score: Some(9.0), ..Pain::default() });
    check(&hurt, RebuildRequest { keep: both(), ..with() }, "should stay, but it loads the knee");
    let ill = |c: &mut Client| {
        c.screening.symptoms = Some(true);
    };
    check(&ill, with(), "nothing is built until it is lifted by");
    let young = |c: &mut Client| c.age_years = Some(15.0);
    check(&young, RebuildRequest::default(), "no sets may be added for now");
    let report = built(&Desk::of(house(), None, 0, 1), &RebuildRequest::default()).expect_err("nothing to build for");
    assert!(report.to_string().contains("neither a plan nor a client"));
}

#[test]
fn an_empty_kit_leaves_the_body() {
    let desk = desk_for(|c| c.kit = Some(Kit::Items(Vec::new())));
    let r = built(&desk, &RebuildRequest::default()).expect("a week");
    for (_, movement, _) in rows(&r) {
        let equipment = desk.movement_row(&movement).equipment;
        assert!(equipment.iter().all(|e| e == "body-weight"), "{movement}: {equipment:?}");
    }
}

#[test]
fn no_volume_is_added_where_the_gate_holds_it() {
    let desk = desk_for(|c| c.pregnancy_weeks = Some(20.0));
    let r = built(&desk, &RebuildRequest { present: plan(), ..RebuildRequest::default() }).expect("a week");
    let before = r.before.as_ref().expect("a present week").totals.sets_with_assumed;
    let after: u32 = rows(&r).iter().map(|r| r.2).sum();
    assert!(f64::from(after) <= before + 1e-9, "{before} sets, then {after}");
}

fn asked(changes: &[&str]) -> Result<WhatIf, Report> {
    let changes: Vec<String> = changes.iter().map(|c| c.to_string()).collect();
    let request = RebuildRequest { present: plan(), ..RebuildRequest::default() };
    what_if(&desk_for(|_| {}), &request, &changes, false, &mut |_| true)
}

#[test]
fn another_body_moves_heads_and_says_by_which_movements() {
    let longer = asked(&["thigh=46"]).expect("an answer");
    assert!(!longer.moved.is_empty() && !longer.because.is_empty(), "{longer:?}");
    assert_eq!(longer.changed, ["thigh 41 cm to 46 cm"]);
    let nothing = asked(&["thigh=41"]).expect("an answer");
    assert!(nothing.moved.is_empty(), "{nothing:?}");
    let kit = asked(&["kit=home-db-24"]).expect("an answer");
    assert!(kit.moved.is_empty() && kit.barred.iter().any(|b| b.contains("leg press")), "{kit:?}");
    let pain = asked(&["pain=left knee 7"]).expect("an answer");
    assert!(!pain.new_flags.is_empty() && pain.barred.iter().any(|b| b.contains("squat")), "{pain:?}");
    let check = |change: &str, expected: &str| {
        let report = asked(&[change]).expect_err("no answer").to_string();
        assert!(report.contains(expected), "{report}");
    };
    check("tigh=46", "thigh");
    check("thigh", "KEY=VALUE");
    check("thigh=-4", "from 5 to 260 cm");
    check("pain=left elbo", "0 to 10");
    check("pain=left wing 5", "no place called \"left wing\"");
    check("pain=left wing 5", "knee");
}
