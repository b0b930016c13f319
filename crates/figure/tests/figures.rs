//! What every figure owes its reader: words inside the picture and not on one another, the same bytes for the same
//! input, no broken numbers whatever the scene.
mod common;

use answer::{EvidenceResult, EvidenceStudy};
use common::answers as a;
use figure::*;
use proptest::prelude::*;

const FORMATS: [Format; 4] = [Format::Page, Format::Phone, Format::Post, Format::Slide];

fn check(name: &str, d: &Drawing) {
    assert_eq!(d.clashes(), Vec::<String>::new(), "{name}");
    assert!(!d.svg.contains("NaN") && !d.svg.contains("inf"), "{name}: broken number");
    assert!(!d.labels.is_empty(), "{name}: no words at all");
}

fn cards(card: &Card) -> Vec<(String, Drawing)> {
    let mut out: Vec<(String, Drawing)> = [a::squat_look(), a::bench_look(), a::crowded_look()]
        .iter()
        .map(|l| (format!("look {}", l.name), look_card(l, card)))
        .collect();
    let mut bare = a::squat_look();
    (bare.heads, bare.scene) = (Vec::new(), None);
    out.push(("empty look".into(), look_card(&bare, card)));
    out.push(("compare".into(), compare_card(&a::compare(), card)));
    let crowd = answer::Compare { looks: vec![a::crowded_look(); 6], ..a::compare() };
    out.push(("crowded compare".into(), compare_card(&crowd, card)));
    out.push(("rank".into(), rank_card(&a::rank(), card)));
    let many = answer::Rank { rows: vec![a::rank().rows; 15].concat(), ..a::rank() };
    out.push(("long rank".into(), rank_card(&many, card)));
    out.push(("empty rank".into(), rank_card(&answer::Rank { rows: Vec::new(), ..a::rank() }, card)));
    out.push(("audit".into(), ledger(&a::audit(), Opened::Groups, card)));
    out.push(("opened audit".into(), ledger(&a::audit(), Opened::Heads, card)));
    out.push(("empty audit".into(), ledger(&answer::Audit::default(), Opened::Heads, card)));
    let mut long = a::audit();
    long.gaps = vec![long.gaps; 12].concat();
    long.groups = vec![long.groups; 6].concat();
    out.push(("long audit".into(), ledger(&long, Opened::Heads, card)));
    out
}

#[test]
fn cards_keep_their_words_apart_and_inside() {
    for format in FORMATS {
        for (name, d) in cards(&Card { format, theme: &LIGHT }) {
            check(&format!("{name} as {format:?}"), &d);
        }
    }
}

#[test]
fn text_is_large_enough_and_pictures_have_the_stated_size() {
    for (format, least, size) in [
        (Format::Page, 13.0, None),
        (Format::Phone, 13.0, None),
        (Format::Post, 24.0, Some((1080.0, 1350.0))),
        (Format::Slide, 24.0, Some((1920.0, 1080.0))),
    ] {
        for (name, d) in cards(&Card { format, theme: &LIGHT }) {
            for part in d.svg.split("font-size=\"").skip(1) {
                let px: f64 = part.split('"').next().and_then(|s| s.parse().ok()).expect("a number");
                assert!(px >= least, "{name} as {format:?}: {px} px");
            }
            if let Some(size) = size {
                assert_eq!((d.width, d.height), size, "{name}");
            }
        }
    }
}

#[test]
fn postures_and_sheets_keep_their_words_apart() {
    let scenes = common::all();
    for (name, s) in &scenes {
        for view in [View::Side, View::Front, View::Top] {
            for frames in [Frames::Hardest, Frames::Three, Frames::One(99)] {
                let o = Options { captions: true, ..Options::default() };
                check(name, &posture_svg(s, view, frames, &o));
            }
        }
        // Small enough for a list: every lever still has its centimetres.
        let o = Options { width: 300.0, height: 300.0, ..Options::default() };
        let d = posture_svg(s, View::Side, Frames::Hardest, &o);
        check(name, &d);
        let levers = s.frames[s.hardest_frame].levers.len();
        assert_eq!(d.labels.iter().filter(|l| l.text.ends_with(" cm")).count(), levers, "{name}");
    }
    let cells: Vec<_> = scenes.iter().map(|(n, s)| (*n, Ok(s))).chain([("Nothing", Err("does not solve"))]).collect();
    let o = SheetOptions { theme: &LIGHT, views: &[View::Side, View::Front], columns: 3, cell_px: 90.0 };
    check("sheet", &contact_sheet("Sheet", &cells, &o));
}

#[test]
fn a_clash_is_seen() {
    let mut b = svg::Board::new(100.0, 50.0);
    let t = svg::Type::new(16.0, "#000000");
    b.text(5.0, 20.0, "one", t);
    b.text(10.0, 25.0, "two", t);
    b.text(90.0, 45.0, "outside", t);
    let d = b.finish("", "", "#ffffff");
    assert_eq!(d.clashes().len(), 2, "{:?}", d.clashes());
}

#[test]
fn same_input_same_bytes() {
    let card = Card::default();
    assert_eq!(look_card(&a::squat_look(), &card).svg, look_card(&a::squat_look(), &card).svg);
}

#[test]
fn only_presentation_attributes() {
    for (name, d) in cards(&Card::default()) {
        for word in ["<style", "style=", "class=", "var(", "href", "<script", "<image"] {
            assert!(!d.svg.contains(word), "{name} has {word}");
        }
        assert_eq!(d.svg.matches("<title>").count(), 1, "{name}");
    }
}

/// Hands hold the bar: in the painted order the plate comes before the body, the bar's end after it; and the hand
/// reaches the bar.
#[test]
fn hands_are_on_the_bar_and_before_the_plate() {
    for s in [common::squat(), common::bench_press(), common::hip_thrust()] {
        let o = Options { loads: false, levers: false, joints: false, ..Options::default() };
        let d = posture_svg(&s, View::Side, Frames::Hardest, &o);
        let skin = d.svg.find(LIGHT.near.fill).expect("a near side");
        let plate = d.svg.find(LIGHT.iron_fill).expect("a plate");
        let bar = d.svg.rfind("<circle").expect("the bar's end");
        assert!(plate < skin && skin < bar);
        let f = &s.frames[s.hardest_frame];
        let p = body::Person::of(f).expect("a person");
        assert_eq!(p.grips.len(), 2);
        for (g, arm) in p.grips.iter().zip(p.limbs.iter().filter(|l| l.arm)) {
            let hand = arm.parts.last().and_then(|h| h.balls.last()).expect("a mitt");
            assert!(geom::norm(geom::sub(hand.at, *g)) < 0.03);
        }
    }
}

/// Neighbouring parts of a limb share a ball, so that no gap can open at a joint.
#[test]
fn limbs_have_no_gaps() {
    for (name, s) in common::all() {
        for f in &s.frames {
            for limb in &body::Person::of(f).expect("a person").limbs {
                assert_eq!(limb.parts.len(), 3, "{name}");
                for pair in limb.parts.windows(2) {
                    let shared = pair[0]
                        .balls
                        .iter()
                        .any(|x| pair[1].balls.iter().any(|y| geom::norm(geom::sub(x.at, y.at)) < 1e-9));
                    assert!(shared, "{name}");
                }
            }
        }
    }
}

/// Stature read back from the scene: 1.75 m is what its lengths were made with (de Leva 1996 fractions).
#[test]
fn stature_is_read_from_segment_lengths() {
    for (name, s) in common::all() {
        let k = body::scale_of(&s.frames[0]);
        assert!((k - 1.0).abs() < 0.005, "{name}: {k}");
    }
}

#[test]
fn soles_are_flat_on_the_floor() {
    let s = common::standing();
    let p = body::Person::of(&s.frames[0]).expect("a person");
    for leg in p.limbs.iter().filter(|l| !l.arm) {
        let mut points = Vec::new();
        for b in &leg.parts[2].balls[1..] {
            geom::outline(b, View::Side, 64, 0.0, &mut points);
            let low = geom::bounds(points.drain(..)).expect("points")[1];
            assert!(low.abs() < 0.002, "sole {low} m above the floor");
        }
    }
}

#[test]
fn small_drawings_stay_as_they_are() {
    let r = a::squat_look().heads[4].ribbon.clone().expect("a ribbon");
    let few = |v: &Vec<f64>| v.iter().step_by(5).copied().collect::<Vec<_>>();
    let r = answer::Ribbon {
        total_mm: few(&r.total_mm),
        by_joint_mm: r.by_joint_mm.iter().map(|(j, v)| (j.clone(), few(v))).collect(),
    };
    let o = RibbonOptions {
        width: 360.0,
        height: 200.0,
        theme: &LIGHT,
        font_px: 13.0,
        title: "semimembranosus",
        from_word: "bottom",
        to_word: "standing",
    };
    insta::assert_snapshot!("ribbon", ribbon_svg(&r, &o).svg);
    let o = Options { width: 120.0, height: 120.0, detail: 8, loads: false, levers: false, ..Options::default() };
    insta::assert_snapshot!("standing", posture_svg(&common::standing(), View::Side, Frames::Turn, &o).svg);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]
    #[test]
    fn no_scene_breaks_a_path(
        numbers in prop::collection::vec(prop_oneof![
            6 => -2.0..2.0f64, 1 => Just(0.0), 1 => Just(f64::NAN), 1 => Just(f64::INFINITY), 1 => Just(1e300), 1 => Just(-1e-300),
        ], 60),
        keep in prop::collection::vec(prop::bool::weighted(0.9), 25),
    ) {
        let mut s = common::squat();
        let mut next = numbers.iter().cycle().copied();
        let mut p = move || [next.next().unwrap_or(0.0), next.next().unwrap_or(0.0), next.next().unwrap_or(0.0)];
        s.frames.truncate(1);
        for f in &mut s.frames {
            let names: Vec<String> = f.points.keys().cloned().collect();
            for (n, k) in names.iter().zip(&keep) {
                if *k { f.points.insert(n.clone(), p()); } else { f.points.remove(n); }
            }
            use answer::Thing::*;
            f.things.extend([
                Bar { at: p(), half_length_m: p()[0], plate_radius_m: p()[0] }, DumbBell { at: p(), axis: p() },
                KettleBell { at: p() }, Plate { at: p(), radius_m: p()[0], axis: p() }, Cable { from: p(), to: p() },
                Pulley { at: p() }, Board { from: p(), to: p(), thickness_m: p()[0], width_m: p()[0] },
                Pad { at: p(), radius_m: p()[0] }, Rail { from: p(), to: p() }, Slab { from: p(), to: p() },
                Block { at: p(), half_length_m: p()[0], height_m: p()[0], half_width_m: p()[0] },
            ]);
            f.forces.push(answer::ForceArrow { at: p(), force_n: p(), what: "load".into() });
            f.levers.push(answer::Lever { joint: "hip".into(), joint_at: p(), line_at: p(), length_m: p()[0] });
        }
        s.floor_y_m = p()[0];
        for view in [View::Side, View::Front, View::Top] {
            let d = posture_svg(&s, view, Frames::Hardest, &Options { detail: 10, contacts: true, ..Options::default() });
            prop_assert!(!d.svg.contains("NaN") && !d.svg.contains("inf"));
            prop_assert_eq!(d.clashes(), Vec::<String>::new());
        }
        let r = answer::Ribbon { total_mm: numbers[..20].to_vec(), by_joint_mm: [("hip".to_string(), numbers[20..40].to_vec()), ("knee".to_string(), numbers[30..50].to_vec())].into() };
        let o = RibbonOptions { width: 300.0, height: 180.0, theme: &DARK, font_px: 13.0, title: "t", from_word: "a", to_word: "b" };
        let d = ribbon_svg(&r, &o);
        prop_assert!(!d.svg.contains("NaN") && !d.svg.contains("inf"));
    }
}

/// An invented curve with points inside and outside.
fn arms(heads: &str, scale: f64) -> answer::ArmCurve {
    let point = |angle_deg: f64, arm_mm: f64| answer::ArmPoint {
        angle_deg,
        arm_mm: arm_mm * scale,
        tolerance_mm: 5.0 * scale,
        inside: angle_deg < 90.0,
        fitted: angle_deg > 0.0,
    };
    answer::ArmCurve {
        heads: heads.into(),
        axis: "knee.flexion".into(),
        moving: "hip=0/0/0 knee=…".into(),
        ours: (0..=40).map(|i| [3.0 * f64::from(i), scale * (20.0 + f64::from(i % 7))]).collect(),
        published: vec![point(0.0, 19.0), point(60.0, 28.0), point(90.0, 45.0), point(120.0, 20.0)],
    }
}

#[test]
fn lever_arms_keep_their_words_apart() {
    let long = "gastrocnemius-medial-head+gastrocnemius-lateral-head+soleus";
    let curves = [arms("soleus", 1.0), arms(long, -0.4), arms("semitendinosus", 2.5), arms("sartorius", 0.0)];
    for format in FORMATS {
        for n in 1..=curves.len() {
            let d = arms_card(&curves[..n], &Card { format, theme: &DARK }).expect("curves");
            check(&format!("{n} curves as {format:?}"), &d);
        }
    }
    assert!(arms_card(&[], &Card::default()).is_none());
    assert!(arms_finding(&curves).starts_with("8 of 16 published"), "{}", arms_finding(&curves));
}

#[test]
fn a_ranking_draws_what_is_worth_reading_and_says_how_many_more() {
    let mut many = a::rank();
    let (good, little) = (many.rows[0].clone(), many.rows[many.rows.len() - 1].clone());
    assert_eq!(little.class, answer::Class::Little);
    many.rows = [vec![good; 20], vec![little; 7]].concat();
    let d = rank_card(&many, &Card::default());
    let has = |t: &str| d.labels.iter().any(|l| l.text == t);
    assert!(has("15") && !has("16"));
    let words: String = d.labels.iter().map(|l| format!("{} ", l.text)).collect();
    assert!(words.contains("5 more movements are not drawn. 7 movements give it little"), "{words}");
}

#[test]
fn cautions_and_reasons_of_an_audit_stand_in_full_above_the_ledger() {
    let mut audit = a::audit();
    let long = "uncontrolled blood pressure: a doctor decides before hard sets, and until then nothing is held to failure \
                or with a held breath; sit down and wait when the head swims, and ask for help";
    audit.flags = vec![answer::Flag { level: "clearance".into(), text: long.into(), ..Default::default() }];
    audit.gaps[0].reason = format!("{0}; {0}; {0}; end of it", audit.gaps[0].reason);
    for format in [Format::Page, Format::Phone] {
        let d = ledger(&audit, Opened::Groups, &Card { format, theme: &LIGHT });
        let at = |t: &str| d.labels.iter().find(|l| l.text.contains(t)).map(|l| l.y0);
        assert!(at("ask for help").is_some_and(|y| at("Gaps").is_some_and(|g| y < g)), "{format:?}");
        assert!(at("of it").is_some() && d.labels.iter().all(|l| !l.text.ends_with('…')), "{format:?}");
    }
}

/// An invented study of two arms and five muscles.
fn invented_study(id: &str) -> EvidenceStudy {
    let result =
        |muscle: &str, condition: &str, measured: f64, sd: Option<f64>, predicted: Option<f64>| EvidenceResult {
            condition: condition.into(),
            muscle: muscle.into(),
            region: "whole".into(),
            measure: "MRI volume".into(),
            change_percent: Some(measured),
            change_sd: sd,
            predicted,
            how: "invented".into(),
            confidence: String::new(),
        };
    let muscles =
        ["quadriceps-femoris", "gluteus-maximus", "an-invented-muscle-with-a-very-long-name-indeed", "soleus"];
    let results = muscles.iter().enumerate().flat_map(|(i, m)| {
        let v = 3.0 * i as f64 - 1.0;
        [result(m, "deep-squat", v, Some(2.5), Some(i as f64)), result(m, "half-squat", v * 0.5, None, Some(1.0))]
    });
    EvidenceStudy {
        id: id.into(),
        citation: "Invented A, Invented B (2030) Journal of Inventions 1:1-9".into(),
        participants: "17 invented men of whom a long description tells more than fits".into(),
        sentence: "17 invented men, over 10 weeks: the gluteus maximus grew more with deep squat than with half squat."
            .into(),
        results: results.collect(),
        notes: vec!["Only 4 weeks: growth is hard to tell from swelling.".into()],
        ..EvidenceStudy::default()
    }
}

#[test]
fn studies_fit_their_card_in_every_format() {
    let studies: Vec<EvidenceStudy> = (0..7).map(|i| invented_study(&format!("invented-{}", 2030 + i))).collect();
    for format in FORMATS {
        for n in [1, 2, 7] {
            let some: Vec<&EvidenceStudy> = studies[..n].iter().collect();
            let d = study_card(&some, &Card { format, theme: &DARK }).expect("results");
            check(&format!("{n} studies as {format:?}"), &d);
        }
    }
    let mut silent = invented_study("silent");
    silent.results.iter_mut().for_each(|r| r.predicted = None);
    assert!(study_card(&[&silent], &Card::default()).is_none() && study_card(&[], &Card::default()).is_none());
}
