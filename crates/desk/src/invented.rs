//! Answers for the tests of texts. Every number and person here is invented.

use answer::*;
use answer::{SourceFile, SourceRow, Sources};
use std::collections::BTreeMap;

fn r(low: f64, mid: f64, high: f64) -> Range {
    Range { low, mid, high }
}

fn map(pairs: &[(&str, f64)]) -> BTreeMap<String, f64> {
    pairs.iter().map(|(k, v)| (k.to_string(), *v)).collect()
}

fn texts(items: &[&str]) -> Vec<String> {
    items.iter().map(|s| s.to_string()).collect()
}

fn head(id: &str, class: Class, stimulus: Range, by_joint: &[(&str, f64)], opposition: f64) -> HeadLook {
    HeadLook {
        id: id.into(),
        plain: id.replace('-', " "),
        group: "Quadriceps".into(),
        class,
        stimulus,
        length: Span { min: 0.821, max: 1.139 },
        length_change_mm: LengthChange { total: by_joint.iter().map(|(_, mm)| mm).sum(), by_joint: map(by_joint) },
        opposition,
        credit: Credit { mechanics: stimulus, convention: 0.5, trials: None, pooled: stimulus },
        long_share: 0.4,
        activation: 0.5,
        force_n: 812.0,
        ranges: HeadRanges {
            length_min: r(0.78, 0.821, 0.86),
            length_max: r(1.09, 1.139, 1.2),
            activation: r(0.4, 0.5, 0.7),
            force_n: r(700.0, 812.0, 990.0),
            by_joint_mm: by_joint.iter().map(|(j, mm)| (j.to_string(), r(mm - 2.0, *mm, mm + 2.0))).collect(),
            ..HeadRanges::default()
        },
        marks: Vec::new(),
        range_sources: BTreeMap::new(),
        ribbon: None,
    }
}

pub fn look() -> Look {
    let mut gluteus = head(
        "gluteus-medius-anterior-part-with-a-rather-long-coach-name",
        Class::Some,
        r(0.18, 0.24, 0.33),
        &[("hip", -14.2)],
        0.0,
    );
    gluteus.marks = texts(&["low confidence"]);
    Look {
        schema: "lengthwise.look/1".into(),
        movement: "back-squat".into(),
        name: "Back squat, high bar".into(),
        read_as: String::new(),
        settings: [
            ("depth_knee_deg".to_string(), SettingValue::Number(120.0)),
            ("bar_place".to_string(), SettingValue::Word("high".into())),
        ]
        .into(),
        body: BodyNote { who: "Demo client A".into(), sex: "woman".into(), stature_m: 1.68, mass_kg: 64.5 },
        limiting_joint: "knee".into(),
        sticking_phase: 0.31,
        load_kg: 62.5,
        load_range: r(0.9 * 62.5, 62.5, 1.2 * 62.5),
        load_unit: "kg on the bar".into(),
        residual_nm: 0.004,
        load_note: String::new(),
        contact_forces: map(&[("knee", 7.1), ("hip", 5.25)]),
        ranges: LookRanges {
            sticking_phase: r(0.2, 0.31, 0.4),
            residual_nm: r(0.001, 0.004, 0.1),
            contact_forces: [("knee".to_string(), r(5.9, 7.1, 8.4)), ("hip".to_string(), r(4.8, 5.25, 6.0))].into(),
        },
        one_leg: false,
        heads: vec![
            head("soleus", Class::Little, r(0.05, 0.09, 0.12), &[("ankle", 6.0)], 0.0),
            head("rectus-femoris", Class::Some, r(0.15, 0.22, 0.31), &[("hip", 25.3), ("knee", -37.4)], 0.68),
            head("vastus-lateralis", Class::Prime, r(0.91, 0.98, 1.05), &[("knee", -61.0)], 0.0),
            head("vastus-medialis", Class::Prime, r(0.88, 0.96, 1.02), &[("knee", -58.0)], 0.0),
            gluteus,
        ],
        moments: Vec::new(),
        cautions: texts(&["low back", "safety arms near failure"]),
        stop_signs: texts(&["sharp or catching joint pain"]),
        notes: texts(&["feet push straight down unless fixed"]),
        range_note: String::new(),
        trials: Vec::new(),
        scene: None,
    }
}

pub fn compare() -> Compare {
    let mut other = look();
    other.name = "Leg press on a forty-five degree sled with the feet placed low".into();
    other.load_kg = 140.0;
    other.load_range = r(121.0, 140.0, 155.5);
    let d = |id: &str, a: Range, b: Range, matters: bool| HeadDifference {
        id: id.into(),
        plain: id.replace('-', " "),
        stimulus: vec![a, b],
        change: b.mid - a.mid,
        change_range: r(b.low - a.high, b.mid - a.mid, b.high - a.low),
        matters,
        marks: Vec::new(),
    };
    Compare {
        schema: "lengthwise.compare/1".into(),
        looks: vec![look(), other],
        differences: vec![
            d("soleus", r(0.02, 0.05, 0.08), r(0.03, 0.06, 0.09), false),
            d("vastus-lateralis", r(0.91, 0.98, 1.05), r(0.90, 0.97, 1.0), false),
            d(
                "gluteus-medius-anterior-part-with-a-rather-long-coach-name",
                r(0.60, 0.71, 0.80),
                r(0.31, 0.38, 0.45),
                true,
            ),
        ],
    }
}

pub fn rank() -> Rank {
    let row = |id: &str, class: Class, stimulus: Range| RankRow {
        movement: id.into(),
        name: id.replace('-', " "),
        equipment: texts(&["machine"]),
        class,
        stimulus,
        length: Span { min: 0.9, max: 1.2 },
        credit: Credit { mechanics: stimulus, convention: 1.0, trials: Some(0.9), pooled: stimulus },
        limiting_joint: "knee".into(),
        reason: "bends the knee against load with the hip bent, so the long heads start long".into(),
    };
    Rank {
        schema: "lengthwise.rank/1".into(),
        head: "semitendinosus".into(),
        plain: "semitendinosus".into(),
        marks: Vec::new(),
        kit: Some("Small studio".into()),
        rows: vec![
            row("seated-leg-curl", Class::Prime, r(0.85, 0.92, 0.98)),
            row("lying-leg-curl", Class::Strong, r(0.55, 0.64, 0.75)),
            row("back-squat", Class::Little, Range::point(0.08)),
        ],
        left_out: (1..=7).map(|n| format!("Machine {n}: not in this kit")).collect(),
    }
}

pub fn why() -> Why {
    let l = look();
    Why {
        schema: "lengthwise.why/1".into(),
        movement: l.movement.clone(),
        name: l.name.clone(),
        settings: l.settings.clone(),
        body: l.body.clone(),
        head: "semitendinosus".into(),
        plain: "semitendinosus".into(),
        class: Class::Little,
        stimulus: r(0.05, 0.12, 0.2),
        finding:
            "semitendinosus gets little (0.12 of its reference movement): hip extension asks for it, but the knee takes 86 % of \
                  that call away, because it must make knee extension and the head works against that."
                .into(),
        activation: 0.08,
        phase: 0.9,
        joints: vec![
            WhyJoint {
                joint: "hip".into(),
                pull: 0.54,
                moment_nm: 210.0,
                axis: "hip.extension".into(),
                arm_m: 0.06,
                change_mm: -90.0,
            },
            WhyJoint {
                joint: "knee".into(),
                pull: -0.46,
                moment_nm: 140.0,
                axis: "knee.extension".into(),
                arm_m: -0.04,
                change_mm: 84.0,
            },
        ],
        length: WhyLength { span: Span { min: 0.9, max: 0.96 }, force_share: 0.97, weight: 1.02 },
        partners: vec![
            WhyPartner { head: "gluteus-maximus-middle-part".into(), plain: "middle glute max".into(), share: 0.41 },
            WhyPartner { head: "semitendinosus".into(), plain: "semitendinosus".into(), share: 0.03 },
        ],
        fixed_contact: Some(0.1),
        flips: vec![
            WhyFlip {
                setting: "shank_deg".into(),
                unit: "deg".into(),
                from: SettingValue::Number(34.0),
                to: SettingValue::Number(12.5),
                class: Class::Some,
                stimulus: 0.17,
            },
            WhyFlip {
                setting: "guide".into(),
                unit: String::new(),
                from: SettingValue::Word("free".into()),
                to: SettingValue::Word("wall".into()),
                class: Class::Some,
                stimulus: 0.21,
            },
        ],
        steady: vec![WhySteady { setting: "stance_x".into(), span: Span { min: 0.1, max: 0.14 } }],
        marks: texts(&["low confidence"]),
    }
}

pub fn audit() -> Audit {
    let sets = |low: f64, mid: f64, high: f64| CreditedSets {
        mechanics: r(low, mid, high),
        convention: mid + 1.0,
        trials: None,
        pooled: r(low, mid, high),
    };
    let ledger = |head: &str, group: &str, s: CreditedSets, verdict: &str| LedgerRow {
        head: head.into(),
        plain: head.replace('-', " "),
        group: group.into(),
        credited_sets: s,
        sessions: 2,
        long_length_share: 0.4,
        largest_session: 5.0,
        band: Band { low: 6.0, high: 10.0 },
        band_basis: "grow, adult (own estimate)".into(),
        verdict: verdict.into(),
        marks: Vec::new(),
        from: vec![("back-squat".into(), 4.0), ("leg-extension".into(), 2.0)],
    };
    let group = |name: &str, s: CreditedSets, verdict: &str, heads: &[&str]| GroupRow {
        group: name.into(),
        credited_sets: s,
        band: Band { low: 6.0, high: 10.0 },
        band_basis: "grow, adult (own estimate)".into(),
        aim: "grow".into(),
        verdict: verdict.into(),
        heads: texts(heads),
    };
    let entry = |row: u32, text: &str, name: &str, status: Status, assumptions: &[&str]| Entry {
        sheet: "Week 1".into(),
        row,
        col: 2,
        day: "Monday".into(),
        week: 1,
        text: text.into(),
        movement: (!name.is_empty()).then(|| name.to_lowercase().replace(' ', "-")),
        name: name.into(),
        confidence: 0.9,
        sets_low: 3.0,
        sets_high: 4.0,
        reps_low: Some(8.0),
        reps_high: Some(8.0),
        reps_unit: "reps".into(),
        rir: Some(2.0),
        load: Some(62.5),
        unit: Some("kg".into()),
        status,
        assumptions: texts(assumptions),
        ..Entry::default()
    };
    let mut lost = entry(9, "zercher thing 3x8", "", Status::Unknown, &[]);
    lost.extra.nearest = vec![("Zercher squat".into(), 0.61), ("Front squat".into(), 0.4)];
    Audit {
        schema: "lengthwise.audit/1".into(),
        week: "week 1 of 4".into(),
        entries: vec![
            entry(4, "Squat 3-4x8 @2", "Back squat", Status::Assumed, &["squat taken as the high-bar back squat"]),
            entry(5, "Warm-up", "", Status::Ignored, &[]),
            entry(6, "Leg extension 3x8", "Leg extension", Status::Certain, &[]),
            lost,
        ],
        messages: vec![Message { level: "question".into(), place: "Week 1!D4".into(), text: "kg or lb?".into() }],
        flags: vec![Flag {
            level: "clearance".into(),
            place: "client: conditions".into(),
            text: "uncontrolled blood pressure: a doctor decides before hard sets".into(),
            who_lifts: "doctor".into(),
            stop_signs: texts(&["chest pain or pressure", "dizziness or fainting"]),
        }],
        client: ClientNote {
            name: "Mia (invented)".into(),
            demo: true,
            summary: "woman, 34 years, 168 cm; 2 days of 45 min".into(),
            missing: texts(&["kit: every movement is open to proposals"]),
            percentiles: vec![Percentile {
                what: "thigh".into(),
                value: 40.2,
                unit: "cm".into(),
                percentile: 61.0,
                source: "invented survey".into(),
            }],
        },
        groups: vec![
            group("Hamstrings", sets(0.6, 1.2, 2.0), "below", &["biceps-femoris-short-head"]),
            group("Quadriceps", sets(6.1, 7.0, 8.2), "within", &["vastus-lateralis"]),
        ],
        ledger: vec![
            ledger("biceps-femoris-short-head", "Hamstrings", sets(0.0, 0.1, 0.2), "below"),
            ledger("vastus-lateralis", "Quadriceps", sets(6.1, 7.0, 8.2), "within"),
        ],
        gaps: vec![Gap {
            head: "biceps-femoris-short-head".into(),
            plain: "biceps femoris short head".into(),
            joint: "knee".into(),
            reason:
                "Biceps femoris short head 0.1 of 6–10: it crosses only the knee, and no set of this week bends the \
                     knee against load."
                    .into(),
            short_by: 5.9,
        }],
        minutes: [("Monday".to_string(), Minutes { low: 38.0, high: 52.0, available: Some(45.0) })].into(),
        proposals: vec![Proposal {
            edit: "Add 3 sets of seated leg curl on Monday".into(),
            reason: "It bends the knee against load.".into(),
            before: map(&[("biceps-femoris-short-head", 0.1), ("semitendinosus", 1.9)]),
            after: map(&[("biceps-femoris-short-head", 3.0), ("semitendinosus", 4.8)]),
            kind: "add".into(),
            cautions: texts(&["cramp at the start"]),
            minutes: 9.0,
            costs: texts(&["9 min"]),
            stop_signs: texts(&["sudden pain at the back of the thigh"]),
            joint_sets: vec![JointSets {
                joint: "knee".into(),
                before: 6.0,
                after: 9.0,
                before_nm: 600.0,
                after_nm: 840.0,
            }],
            change: Change {
                kind: "add".into(),
                day: "Monday".into(),
                week: 1,
                movement: "seated-leg-curl".into(),
                name: "Seated leg curl".into(),
                sets: 3.0,
                ..Change::default()
            },
        }],
        totals: Totals { sets_certain: 3.0, sets_with_assumed: 6.5, entries_unknown: 1 },
        notes: texts(&["ranges add low to low and high to high"]),
    }
}

pub fn muscles() -> Vec<MuscleRow> {
    let row = |id: &str, group: &str, joints: &[&str], volume_cm3: f64| MuscleRow {
        id: id.into(),
        latin: format!("Musculus {}", id.replace('-', " ")),
        plain: id.replace('-', " "),
        group: group.into(),
        joints: texts(joints),
        two_joint: joints.len() > 1,
        volume_cm3,
    };
    vec![
        row("vastus-lateralis", "Quadriceps", &["knee"], 870.0),
        row("rectus-femoris", "Quadriceps", &["hip", "knee"], 282.4),
        row("soleus", "Calves", &["ankle"], 460.0),
    ]
}

pub fn movements() -> Vec<MovementRow> {
    let row = |id: &str, family: &str, equipment: &[&str]| MovementRow {
        id: id.into(),
        name: id.replace('-', " "),
        family: family.into(),
        equipment: texts(equipment),
        settings: Settings::new(),
    };
    vec![
        row("back-squat", "squat", &["barbell", "rack"]),
        row("seated-leg-curl", "leg-curl", &["machine"]),
        row("front-squat-with-a-heel-wedge-and-crossed-arms", "squat", &["barbell", "rack", "wedge", "step"]),
    ]
}

pub fn source_files() -> Sources {
    Sources {
        schema: "lengthwise.sources/1".into(),
        id: None,
        files: vec![
            SourceFile {
                file: "anatomy/heads.csv".into(),
                rows: 82,
                how: ["looked-up", "from memory, high", "own-estimate", "fitted"]
                    .iter()
                    .zip([40, 30, 10, 2])
                    .map(|(h, n)| (h.to_string(), n))
                    .collect(),
            },
            SourceFile { file: "programme/bands.csv".into(), rows: 8, how: vec![("own-estimate".into(), 8)] },
        ],
        rows: Vec::new(),
    }
}

pub fn source_rows() -> Sources {
    let cell = |k: &str, v: &str| (k.to_string(), v.to_string());
    Sources {
        schema: "lengthwise.sources/1".into(),
        id: Some("soleus".into()),
        files: Vec::new(),
        rows: vec![SourceRow {
            file: "anatomy/heads.csv".into(),
            line: 61,
            cells: vec![
                cell("id", "soleus"),
                cell("volume_cm3", "460"),
                cell("note", ""),
                cell("volume_source", "an invented paper with a long title that has to be wrapped onto a second line"),
            ],
        }],
    }
}

pub fn sure() -> Sure {
    let agreement = |kind: &str, rows, inside, fitted_rows, fitted_inside, words: &str| Agreement {
        kind: kind.into(),
        rows,
        inside,
        fitted_rows,
        fitted_inside,
        words: words.into(),
    };
    let miss = |reason: &str, rows: usize| MissClass {
        reason: reason.into(),
        rows,
        kinds: texts(&["lever arms", "loads lifted"]),
        ids: (0..rows).map(|i| format!("moment-arms invented-{i}")).collect(),
    };
    let low = LowHead { head: "an-invented-head".into(), plain: "invented head".into(), why: "invented too".into() };
    Sure {
        schema: "lengthwise.sure/1".into(),
        groups: vec![GroupSure {
            group: "Invented group".into(),
            heads: texts(&["an-invented-head", "another-invented-head"]),
            sentence: "Invented group: a sentence for a client that is long enough to be wrapped onto a second line."
                .into(),
            all: agreement("all", 44, 31, 20, 18, "agrees about half the time"),
            kinds: vec![
                agreement("lever arms", 40, 30, 20, 18, "agrees more often than not"),
                agreement("loads lifted", 4, 1, 0, 0, "few comparisons"),
            ],
            misses: (1..9).rev().map(|n| miss(&format!("invented cause {n}"), n)).collect(),
            basis: Basis { looked_up: 5, from_memory: 4, own_estimate: 3, fitted: 2, other: 1 },
            low_confidence: vec![low],
        }],
        general: vec![agreement("textbook problems", 9, 9, 9, 9, "few comparisons")],
    }
}
