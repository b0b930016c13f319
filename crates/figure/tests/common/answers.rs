//! Invented answers: numbers for looking at figures, of nobody and from nowhere.

use answer::*;
use std::collections::BTreeMap;

pub fn range(low: f64, mid: f64, high: f64) -> Range {
    Range { low, mid, high }
}

fn head(plain: &str, class: Class, s: [f64; 3], length: [f64; 2], joints: &[(&str, f64)]) -> HeadLook {
    let by_joint: BTreeMap<String, f64> = joints.iter().map(|(j, v)| (j.to_string(), *v)).collect();
    let total: f64 = by_joint.values().sum();
    let (up, down) = by_joint.values().fold((0.0f64, 0.0f64), |(u, d), v| (u + v.max(0.0), d - v.min(0.0)));
    let opposition = if up.max(down) > 0.0 { 2.0 * up.min(down) / (up + down) } else { 0.0 };
    let curve = |v: f64| (0..21).map(|i| v * (1.0 - (i as f64 / 20.0 * std::f64::consts::PI).cos()) / 2.0).collect();
    let ribbon =
        Ribbon { total_mm: curve(total), by_joint_mm: by_joint.iter().map(|(j, v)| (j.clone(), curve(*v))).collect() };
    HeadLook {
        id: plain.to_lowercase().replace(' ', "-"),
        plain: plain.into(),
        group: "Thigh".into(),
        class,
        stimulus: range(s[0], s[1], s[2]),
        length: Span { min: length[0], max: length[1] },
        length_change_mm: LengthChange { total, by_joint },
        opposition,
        credit: Credit::default(),
        long_share: 0.4,
        activation: 0.5,
        force_n: 900.0,
        ranges: HeadRanges::default(),
        marks: Vec::new(),
        range_sources: BTreeMap::new(),
        ribbon: Some(ribbon),
    }
}

pub fn squat_look() -> Look {
    use Class::*;
    let mut settings = Settings::new();
    settings.insert("depth_knee_deg".into(), SettingValue::Number(120.0));
    settings.insert("stance_x".into(), SettingValue::Number(1.8));
    Look {
        schema: "look/1".into(),
        movement: "back-squat".into(),
        name: "Back squat".into(),
        read_as: String::new(),
        settings,
        body: BodyNote { who: "Demo client A (invented)".into(), sex: "male".into(), stature_m: 1.78, mass_kg: 82.0 },
        limiting_joint: "hip".into(),
        sticking_phase: 0.15,
        load_kg: 117.5,
        load_range: range(100.0, 117.5, 130.0),
        load_unit: "kg on the bar".into(),
        residual_nm: 0.0,
        load_note: String::new(),
        contact_forces: BTreeMap::new(),
        ranges: LookRanges::default(),
        one_leg: false,
        heads: vec![
            head("Vastus lateralis", Prime, [0.84, 0.89, 0.93], [1.10, 1.28], &[("knee", -41.0)]),
            head("Vastus medialis", Prime, [0.80, 0.86, 0.92], [1.08, 1.25], &[("knee", -40.0)]),
            head("Adductor magnus, hamstring part", Strong, [0.52, 0.61, 0.71], [1.02, 1.19], &[("hip", -30.0)]),
            head("Gluteus maximus, lower", Strong, [0.49, 0.60, 0.70], [0.98, 1.22], &[("hip", -38.0)]),
            head("Semimembranosus", Little, [0.04, 0.11, 0.14], [0.96, 1.04], &[("hip", -34.0), ("knee", 31.0)]),
            head("Rectus femoris", Little, [0.05, 0.12, 0.15], [0.83, 0.90], &[("hip", 38.0), ("knee", -33.0)]),
            head("Soleus", Some, [0.18, 0.26, 0.35], [0.95, 1.12], &[("ankle", -9.0)]),
            head(
                "Gastrocnemius, medial head",
                Little,
                [0.03, 0.08, 0.13],
                [0.90, 1.0],
                &[("knee", 9.0), ("ankle", -7.0)],
            ),
            head("Erector spinae", Some, [0.20, 0.30, 0.39], [1.0, 1.1], &[("lumbar", -6.0), ("trunk", -4.0)]),
        ],
        moments: Vec::new(),
        cautions: vec!["knees that ache under load: shallower first".into()],
        stop_signs: vec![
            "sharp pain".into(),
            "numbness or swelling".into(),
            "pain above 5 of 10 that lasts to the next day".into(),
        ],
        notes: vec!["Feet do not slide: the sideways push is left free within rubber friction".into()],
        range_note: String::new(),
        trials: Vec::new(),
        scene: Option::Some(super::squat()),
    }
}

pub fn bench_look() -> Look {
    use Class::*;
    let mut l = squat_look();
    l.name = "Bench press".into();
    l.settings = Settings::from([("grip_x".to_string(), SettingValue::Number(1.8))]);
    l.limiting_joint = "shoulder".into();
    l.heads = vec![
        head("Pectoralis major, sternal part", Prime, [0.8, 0.9, 1.0], [0.9, 1.3], &[("shoulder", -52.0)]),
        head("Pectoralis major, clavicular part", Strong, [0.41, 0.52, 0.66], [0.9, 1.2], &[("shoulder", -36.0)]),
        head("Triceps, lateral head", Strong, [0.5, 0.6, 0.69], [0.8, 1.15], &[("elbow", -30.0)]),
        head("Triceps, long head", Some, [0.2, 0.28, 0.37], [0.9, 1.0], &[("elbow", -28.0), ("shoulder", 19.0)]),
    ];
    l.scene = Option::Some(super::bench_press());
    l
}

/// Names, notes and heads far longer and more numerous than a card has room for.
pub fn crowded_look() -> Look {
    let mut l = squat_look();
    l.name = "Paused heels-raised close-stance safety-bar squat to a low box with chains & bands <slow>".into();
    l.body.who = "Wilhelmina-Aleksandra Featherstonehaugh-Östergård de la Peña y Villanueva (invented)".into();
    for i in 0..30 {
        let mut h = l.heads[i % 9].clone();
        h.id = format!("{}-{i}", h.id);
        h.plain = format!("{} of the uppermost superficial slip, number {i}", h.plain);
        l.heads.push(h);
    }
    l.heads[4].plain = "Semimembranosus with its reflected tendon and every expansion to capsule and ligament".into();
    l.notes = (0..12)
        .map(|i| format!("Assumption number {i} about how the feet, the bar and the bench were taken to behave"))
        .collect();
    l.stop_signs = l.notes.clone();
    for i in 0..12 {
        l.settings.insert(format!("another_setting_{i}_deg"), SettingValue::Number(f64::from(i) * 3.25));
    }
    l
}

pub fn compare() -> Compare {
    let (a, b) = (squat_look(), {
        let mut b = squat_look();
        b.name = "Leg extension".into();
        b.settings.clear();
        b.scene = Option::Some(super::leg_extension());
        b
    });
    let difference = |plain: &str, x: Range, y: Range, matters: bool| HeadDifference {
        id: plain.to_lowercase().replace(' ', "-"),
        plain: plain.into(),
        stimulus: vec![x, y],
        change: y.mid - x.mid,
        change_range: Range::default(),
        matters,
        marks: Vec::new(),
    };
    Compare {
        schema: "compare/1".into(),
        looks: vec![a, b],
        differences: vec![
            difference("Rectus femoris", range(0.05, 0.12, 0.15), range(0.86, 0.95, 1.0), true),
            difference("Gluteus maximus, lower", range(0.49, 0.60, 0.70), range(0.0, 0.0, 0.01), true),
            difference("Vastus lateralis", range(0.84, 0.89, 0.93), range(0.80, 0.87, 0.96), false),
        ],
    }
}

pub fn rank() -> Rank {
    let row = |name: &str, class: Class, s: [f64; 3], reason: &str| RankRow {
        movement: name.to_lowercase(),
        name: name.into(),
        equipment: vec!["cable".into(), "bench".into()],
        class,
        stimulus: range(s[0], s[1], s[2]),
        length: Span { min: 0.82, max: 1.21 },
        credit: Credit::default(),
        limiting_joint: "knee".into(),
        reason: reason.into(),
    };
    Rank {
        schema: "rank/1".into(),
        head: "semimembranosus".into(),
        plain: "Semimembranosus".into(),
        marks: Vec::new(),
        kit: Some("small gym".into()),
        rows: vec![
            row("Seated leg curl", Class::Prime, [0.85, 0.93, 1.0], "bent hip keeps it long while the knee bends"),
            row(
                "Romanian deadlift",
                Class::Strong,
                [0.48, 0.60, 0.69],
                "loaded long at the hip, the knee hardly moves",
            ),
            row("Lying leg curl", Class::Strong, [0.42, 0.55, 0.66], "straight hip leaves it short"),
            row("Back squat", Class::Little, [0.04, 0.11, 0.14], "hip and knee cancel: net −3 mm"),
        ],
        left_out: vec!["Nordic lower: no anchor in this kit".into()],
    }
}

pub fn audit() -> Audit {
    let band = Band { low: 6.0, high: 10.0 };
    let credited = |low, mid, high| CreditedSets { pooled: range(low, mid, high), ..CreditedSets::default() };
    let ledger = |plain: &str, group: &str, s: [f64; 3], verdict: &str| LedgerRow {
        head: plain.to_lowercase(),
        plain: plain.into(),
        group: group.into(),
        credited_sets: credited(s[0], s[1], s[2]),
        band,
        verdict: verdict.into(),
        ..LedgerRow::default()
    };
    let gap = |plain: &str, joint: &str, reason: &str, short_by: f64| Gap {
        head: plain.to_lowercase(),
        plain: plain.into(),
        joint: joint.into(),
        reason: reason.into(),
        short_by,
    };
    let group = |name: &str, s: [f64; 3], verdict: &str, heads: &[&str]| GroupRow {
        group: name.into(),
        credited_sets: credited(s[0], s[1], s[2]),
        band,
        aim: "grow".into(),
        verdict: verdict.into(),
        heads: heads.iter().map(|h| h.to_lowercase()).collect(),
        ..GroupRow::default()
    };
    Audit {
        schema: "audit/1".into(),
        week: "Week 1 of 4".into(),
        client: ClientNote {
            name: "Demo client A".into(),
            demo: true,
            summary: "4 days".into(),
            ..ClientNote::default()
        },
        gaps: vec![
            gap(
                "Biceps femoris, short head",
                "knee",
                "crosses only the knee; no set of this week bends the knee against load",
                5.9,
            ),
            gap("Rectus femoris", "hip", "9 squat sets: −33 mm at the knee, +38 mm at the hip, net +5 mm", 3.9),
            gap(
                "Semimembranosus",
                "hip",
                "squats: −34 mm at the hip, +31 mm at the knee; only 3 hinge sets load it long",
                2.9,
            ),
        ],
        ledger: vec![
            ledger("Biceps femoris, short head", "Hamstrings", [0.0, 0.1, 0.3], "below"),
            ledger("Semimembranosus", "Hamstrings", [2.0, 3.1, 4.4], "below"),
            ledger("Rectus femoris", "Quadriceps", [0.9, 2.1, 3.8], "below"),
            ledger("Vastus lateralis", "Quadriceps", [8.2, 9.8, 11.1], "within"),
        ],
        groups: vec![
            group("Hamstrings", [1.8, 2.9, 4.0], "below", &["Biceps femoris, short head", "Semimembranosus"]),
            group("Quadriceps", [7.0, 8.4, 9.7], "within", &["Rectus femoris", "Vastus lateralis"]),
            group("Gluteals", [7.2, 8.4, 10.1], "within", &[]),
            group("Chest", [9.1, 11.0, 12.6], "above", &[]),
        ],
        minutes: BTreeMap::from([
            ("Monday".to_string(), Minutes { low: 52.0, high: 63.0, available: Some(60.0) }),
            ("Thursday".to_string(), Minutes { low: 66.0, high: 78.0, available: Some(60.0) }),
            ("Saturday".to_string(), Minutes { low: 40.0, high: 49.0, available: None }),
        ]),
        totals: Totals { sets_certain: 61.0, sets_with_assumed: 66.0, entries_unknown: 2 },
        entries: ["Monday", "Thursday", "Saturday"].map(|d| Entry { day: d.into(), ..Entry::default() }).to_vec(),
        flags: vec![Flag { level: "stop".into(), text: "sharp pain, numbness, swelling".into(), ..Flag::default() }],
        notes: vec!["Ranges cover body, anatomy and method".into()],
        ..Audit::default()
    }
}
