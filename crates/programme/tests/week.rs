//! The ledger, gaps, minutes and proposals on small weeks. Credits are INVENTED TEST DATA (see `common`).

mod common;
use common::*;
use programme::effort::{effort_of, reps_to_failure, value_of_rir};
use programme::week::WeekChoice;

/// Sums of halves and tenths: exact to rounding.
const EXACT: f64 = 1e-9;

/// Text in, text out.
fn check(name: &str, client: &str, plan: &str) {
    insta::assert_snapshot!(name, text_of(&audit_of(client, plan)));
}

#[test]
fn upper_and_lower_week() {
    check(
        "upper_and_lower_week",
        "sex = \"male\"\nstature_cm = 180\nmass_kg = 82\nbirth_year = 1992\ntraining_years = 4\nminutes = 75\n\
         days = [\"Mon\", \"Tue\", \"Thu\", \"Fri\"]\n[aims]\nHamstrings = \"focus\"\n[screening]\n\
         exercises_regularly = true\nknown_disease = false\nsymptoms = false\ndate = \"2026-02-01\"",
        "Monday | back-squat | 4 | 6-8 | rir 2
         Monday | leg-extension | 3 | 12-15 | rir 1
         Tuesday | bench-press | 4 | 6-10 | rir 2
         Tuesday | row | 4 | 8-12 | rir 2 | pair A1
         Tuesday | push-down | 3 | 10-15 | rir 1 | pair A2
         Thursday | back-squat | 4 | 8-10 | rir 2
         Friday | pull-down | 4 | 8-12
         Friday | ?curl | 3 | 10-12 | rir 0
         Friday | ??zottman thing | 3 | 10
         Friday | (warm-up) | 2 | 10",
    );
}

#[test]
fn pain_and_low_bone_mass_change_what_is_proposed() {
    check(
        "pain_and_low_bone_mass",
        "sex = \"female\"\nage_years = 68\ntraining_years = 0.5\nconditions = [\"osteopenia\"]\nminutes = 40\n\
         [[pains]]\nplace = \"right elbow, inner side\"\nscore = 6\nsince = \"2026-01\"\n[screening]\n\
         exercises_regularly = false\nknown_disease = false\nsymptoms = false\ndate = \"2026-02-20\"",
        "Monday | back-squat | 2 | 8-10 | rir 3
         Monday | crunch | 2 | 12 | rir 3
         Thursday | row | 2 | 10-12 | rir 3
         Thursday | curl | 2 | 10-12 | rir 3",
    );
}

#[test]
fn long_head_lags_behind_twelve_push_downs() {
    // Scenario of the trade: keep the total, move sets to the overhead position (Maeo 2023, Eur J Sport Sci 23:1240-1250:
    // long head +28.5 v +19.6 %). The invented credits only say which of the two is better for the long head.
    let a = audit_of(
        // No minutes for more sets: the total is kept. At most three sets of a movement that is new.
        "training_years = 5\nminutes = 15\n[aims]\nrest = \"leave\"\nTriceps = \"focus\"",
        "Monday | push-down | 6 | 10-12 | rir 1\nThursday | push-down | 6 | 10-12 | rir 1",
    );
    let first = &a.proposals[0];
    assert!(matches!(first.kind.as_str(), "swap" | "move"), "{}", first.edit);
    assert!(first.edit.contains("Overhead extension"), "{}", first.edit);
    assert!(first.after["triceps-brachii-long-head"] > first.before["triceps-brachii-long-head"] + 0.5);
}

#[test]
fn elbow_flexors_of_eighteen_pulls_and_twelve_curls() {
    // 12 + 0.5 x 18 = 21 fractional sets (VOL-05; IND-01: a row was worth 0.47 of a curl, Mannarino 2021).
    let a = audit_of(
        "training_years = 3",
        "Mon | row | 6 | 10\nMon | curl | 4 | 10\nWed | pull-down | 6 | 10\nWed | curl | 4 | 10\nFri | row | 6 | 10\n\
         Fri | curl | 4 | 10",
    );
    let r = row(&a, "biceps-brachii-long-head");
    assert!((r.credited_sets.convention - 21.0).abs() < EXACT, "{}", r.credited_sets.convention);
    assert_eq!(r.sessions, 3);
    assert_eq!(r.verdict, "above");
}

#[test]
fn beyond_eleven_in_a_session_is_worth_half() {
    let a = audit_of("", "Mon | curl | 15 | 10");
    let r = row(&a, "brachialis");
    assert!((r.credited_sets.pooled.mid - 13.0).abs() < EXACT, "11 + 4/2");
    assert!((r.largest_session - 15.0).abs() < EXACT);
    let spread = audit_of("", "Mon | curl | 8 | 10\nThu | curl | 7 | 10");
    assert!((row(&spread, "brachialis").credited_sets.pooled.mid - 15.0).abs() < EXACT);
}

#[test]
fn groups_are_volume_weighted_and_a_head_in_two_groups_counts_once() {
    let a = audit_of("", "Mon | leg-extension | 10 | 12");
    let group = |name: &str| a.groups.iter().find(|g| g.group == name).unwrap().credited_sets.pooled.mid;
    // vastus lateralis 9.5, rectus femoris 10, by volume 871 : 282.
    assert!((group("Quadriceps") - (9.5 * 871.0 + 10.0 * 282.0) / 1153.0).abs() < EXACT);
    assert!((group("Hip flexors") - 10.0).abs() < EXACT);
    assert!((programme::ledger::body_total(&a.ledger) - 19.5).abs() < EXACT);
}

#[test]
fn ranges_add_lows_to_lows() {
    let r = row(&audit_of("", "Mon | curl | 2-4 | 10"), "brachialis").credited_sets.clone();
    // Pooled 0.95 / 1 / 1 a set, 2 / 3 / 4 sets.
    assert!(
        (r.pooled.low - 1.9).abs() < EXACT && (r.pooled.mid - 3.0).abs() < EXACT && (r.pooled.high - 4.0).abs() < EXACT
    );
}

#[test]
fn assumed_rows_are_told_apart_and_unknown_rows_are_kept() {
    let a = audit_of("", "Mon | curl | 3 | 10\nMon | ?curl | 2 | 10\nMon | ??rope thing | 4 | 10");
    assert_eq!((a.totals.sets_certain, a.totals.sets_with_assumed, a.totals.entries_unknown), (3.0, 5.0, 1));
    assert_eq!(a.entries.len(), 3);
    assert!(
        row(&a, "brachialis").marks.iter().any(|m| m == "3.0 without assumed rows"),
        "{:?}",
        row(&a, "brachialis").marks
    );
}

#[test]
fn a_movement_without_credit_becomes_a_question() {
    let a = audit_of("", "Mon | flying-carpet | 3 | 10");
    assert!(
        a.messages.iter().any(|m| m.level == "question" && m.place == "Plan!B2" && m.text.contains("does not solve"))
    );
    assert_eq!(a.totals.sets_with_assumed, 0.0);
}

#[test]
fn the_gap_line_of_the_short_head() {
    let a = audit_of("training_years = 3", "Mon | back-squat | 4 | 8 | rir 1\nThu | hinge | 4 | 8 | rir 1");
    let gap = a.gaps.iter().find(|g| g.head == "biceps-femoris-short-head").unwrap();
    assert_eq!(
        gap.reason,
        "Biceps femoris short head 0.0 of 6–10: it crosses only the knee, and no set of this week bends the knee against load."
    );
    assert_eq!(gap.joint, "knee");
    let squat_only = audit_of("training_years = 3", "Mon | back-squat | 4 | 8 | rir 1");
    let gap = squat_only.gaps.iter().find(|g| g.head == "biceps-femoris-long-head").unwrap();
    assert!(gap.reason.contains("it shortens 34 mm at the hip while it lengthens 31 mm at the knee"), "{}", gap.reason);
}

#[test]
fn value_of_a_set_by_repetitions_in_reserve() {
    let rules = rules();
    // definitions: 0-3 full, 4 -> 0.8, 5 or more -> 0.5.
    for (rir, value) in
        [(0.0, 1.0), (1.0, 1.0), (3.0, 1.0), (3.5, 0.9), (4.0, 0.8), (4.5, 0.65), (5.0, 0.5), (9.0, 0.5)]
    {
        assert!((value_of_rir(rir, &rules.constants) - value).abs() < EXACT, "RIR {rir}");
    }
}

#[test]
fn effort_from_text() {
    let rules = rules();
    let value = |line: &str| effort_of(&entry(line, 1), &rules);
    assert_eq!(value("Mon | curl | 3 | 10").value.mid, 1.0);
    assert!(value("Mon | curl | 3 | 10").assumptions[0].contains("counted fully"));
    // 10 repetitions at 75 %: the table gives 12.5 to failure, 2.5 in reserve.
    assert_eq!(value("Mon | curl | 3 | 10 | load 75%").value.mid, 1.0);
    // 5 repetitions at 70 %: 10 in reserve.
    assert_eq!(value("Mon | curl | 3 | 5 | load 70%").value.mid, 0.5);
    assert_eq!(value("Mon | (curl) | 3 | 5").counted().mid, 0.0);
    assert!(value("Mon | curl | 3 | 3 | rir 2").assumptions.iter().any(|a| a.contains("fewer than 5")));
    assert_eq!(value("Mon | curl | 3 | 40s").counted().mid, 3.0, "a hold of 40 s is no set of 40 repetitions");
    assert_eq!(value("Mon | curl | 2-3 | 10 | rir 1").counted(), answer::Range { low: 2.0, mid: 2.5, high: 3.0 });
}

#[test]
fn light_sets_count_fully_only_at_failure() {
    let rules = rules();
    let value = |line: &str| effort_of(&entry(line, 1), &rules).value;
    // Lasevicius 2022 (J Strength Cond Res 36:346-351): 30 % 1RM to failure +7.8 %, about 20 repetitions short of it +2.8 %,
    // ratio 0.36; at 80 % failure or not made no difference (+8.1 v +7.7 %).
    assert!((value("Mon | leg-extension | 3 | 20 | load 30%").mid - 2.8 / 7.8).abs() < 0.01);
    assert_eq!(value("Mon | leg-extension | 3 | 34 | load 30% | rir 0").mid, 1.0);
    assert_eq!(value("Mon | leg-extension | 3 | 7 | load 80%").mid, 1.0);
    assert_eq!(value("Mon | curl | 3 | 35 | rir 2").mid, 0.36);
    let unsaid = value("Mon | curl | 3 | 35");
    assert_eq!((unsaid.low, unsaid.high), (0.36, 1.0));
}

#[test]
fn repetitions_to_failure_lie_within_the_published_ones() {
    let rules = rules();
    // Nuzzo 2024 (Sports Med 54:303-321): 5 at 90 %, 15 at 70 % over all exercises; at 80 % bench press 8.8, leg press 13.1.
    assert!((reps_to_failure(90.0, &rules) - 5.0).abs() < EXACT);
    assert!((reps_to_failure(70.0, &rules) - 15.0).abs() < EXACT);
    assert!((8.8..=13.1).contains(&reps_to_failure(80.0, &rules)));
    // The classic load chart (NSCA textbook, from memory) is stricter everywhere: never more than two SD away (SD 2.5 at
    // 80 %, + 0.0925 per % below).
    for (pct, reps) in [(95.0, 2.0), (90.0, 4.0), (85.0, 6.0), (80.0, 8.0), (75.0, 10.0), (70.0, 11.0), (65.0, 15.0)] {
        let sd = 2.51 + 0.0925 * (80.0 - pct);
        assert!((reps_to_failure(pct, &rules) - reps).abs() <= 2.0 * sd, "{pct} %");
    }
}

#[test]
fn minutes_by_hand() {
    // One exercise, single joint, 3 sets of 10 at 4 s a repetition: set-up 60 + work 120 + 2 further sets x 15 + 2 rests of
    // 60-120 s = 330-450 s.
    let day = |plan: &str| audit_of("", plan).minutes["Mon"];
    let m = day("Mon | curl | 3 | 10");
    assert!((m.low - 330.0 / 60.0).abs() < EXACT && (m.high - 450.0 / 60.0).abs() < EXACT);
    // Each side: double work; rests once (low) or doubled (high).
    let m = day("Mon | curl | 3 | 10 | each side");
    assert!((m.low - 450.0 / 60.0).abs() < EXACT && (m.high - 810.0 / 60.0).abs() < EXACT);
    // A pair without common station or head shares its rests: one exercise's rests are saved.
    let apart = day("Mon | curl | 3 | 10\nMon | push-down | 3 | 10");
    let paired = day("Mon | curl | 3 | 10 | pair A1\nMon | push-down | 3 | 10 | pair A2");
    assert!((apart.low - paired.low - 2.0).abs() < EXACT, "2 rests of 60 s saved: {apart:?} {paired:?}");
    // Two exercises for the same head share nothing.
    let same = day("Mon | overhead-extension | 3 | 10 | pair A1\nMon | push-down | 3 | 10 | pair A2");
    assert!((same.low - apart.low).abs() < EXACT);
    // Written rest goes before the default.
    assert!((day("Mon | curl | 3 | 10 | rest 45").low - 300.0 / 60.0).abs() < EXACT);
}

#[test]
fn a_block_is_judged_by_week_and_by_mean() {
    let plan = "Mon | curl | 4 | 10\nMon | curl | 8 | 10 | week 2";
    let of = |week| audit_with("training_years = 3", plan, week, &[]);
    let sets = |a: &answer::Audit| row(a, "brachialis").credited_sets.pooled.mid;
    assert_eq!(sets(&of(WeekChoice::First)), 4.0);
    assert_eq!(sets(&of(WeekChoice::Week(2))), 8.0);
    assert_eq!(sets(&of(WeekChoice::Mean)), 6.0);
    assert_eq!(of(WeekChoice::Week(2)).week, "week 2 of 2");
    assert!(of(WeekChoice::Mean).week.starts_with("mean of 2 weeks"));
    assert!(of(WeekChoice::First).notes.iter().any(|n| n.contains("Brachialis 4.0 v 6.0")));
    assert!(of(WeekChoice::Week(9)).messages.iter().any(|m| m.text.contains("no week 9")));
}

#[test]
fn proposals_respect_the_clock_and_say_so() {
    let tight = audit_of("training_years = 3\nminutes = 10", "Mon | curl | 4 | 10 | rir 1");
    assert!(tight.proposals.iter().all(|p| p.kind != "add"), "{}", text_of(&tight));
    assert!(tight.notes.iter().any(|n| n.contains("no minutes left")), "{}", text_of(&tight));
    let open = audit_of("training_years = 3", "Mon | curl | 4 | 10 | rir 1");
    assert!(open.proposals.iter().any(|p| p.kind == "add"));
}

#[test]
fn before_and_after_are_the_ledger_itself() {
    // The first proposal, done by hand, gives the figures it showed. Three sets each: nothing can be moved or swapped away
    // without leaving the keep band.
    let plan = "Mon | back-squat | 3 | 8 | rir 1\nThu | hinge | 3 | 8 | rir 1";
    let base = "training_years = 3\n[aims]\nrest = \"keep\"\nHamstrings = \"grow\"\nChest = \"leave\"";
    let a = audit_of(base, plan);
    let p = a.proposals.iter().find(|p| p.edit.contains("of Seated leg curl")).expect("a leg curl is added");
    assert_eq!(p, &a.proposals[0], "{}", text_of(&a));
    let sets: f64 = p.edit.split_whitespace().nth(1).unwrap().parse().unwrap();
    let day = if p.edit.contains("on Mon") { "Mon" } else { "Thu" };
    let edited = audit_of(base, &format!("{plan}\n{day} | seated-leg-curl | {sets} | 8-12 | rir 3"));
    assert!(!p.after.is_empty());
    for (head, after) in &p.after {
        assert!((row(&edited, head).credited_sets.pooled.mid - after).abs() < EXACT, "{head}");
        assert!((row(&a, head).credited_sets.pooled.mid - p.before[head]).abs() < EXACT, "{head}");
    }
    let minutes = |a: &answer::Audit| 0.5 * (a.minutes[day].low + a.minutes[day].high);
    assert!((minutes(&edited) - minutes(&a) - p.minutes).abs() < EXACT);
}

#[test]
fn a_setting_is_cheaper_than_a_swap() {
    let (client, rules, heads) =
        (client("training_years = 3\n[aims]\nrest = \"leave\"\nTriceps = \"grow\""), rules(), heads());
    // INVENTED: the same push-down with the arm in front of the body, better for the long head.
    let mut option = credit("push-down", &Default::default()).unwrap();
    option.settings.insert("shoulder_flex_deg".into(), answer::SettingValue::Number(60.0));
    let long = option.heads.iter_mut().find(|h| h.head == "triceps-brachii-long-head").unwrap();
    long.credit.pooled = answer::Range::point(1.0);
    let a = programme::audit(programme::Inputs {
        entries: entries("Mon | push-down | 6 | 10 | rir 1"),
        messages: Vec::new(),
        pain_words: &[],
        client: &client,
        today: TODAY,
        heads: &heads,
        credits: &credit,
        candidates: &movements(),
        setting_options: &[option],
        kit_lacks: &Default::default(),
        percentiles: Vec::new(),
        week: WeekChoice::First,
        rules: &rules,
    });
    assert_eq!(a.proposals[0].kind, "setting");
    assert_eq!(a.proposals[0].edit, "Change Push down on Mon: shoulder_flex_deg to 60");
    assert_eq!(a.proposals[0].minutes, 0.0);
}

#[test]
fn new_movements_stay_at_three_sets_and_sessions_under_the_cap() {
    let a = audit_of(
        "training_years = 3\n[aims]\nHamstrings = \"focus\"",
        "Mon | back-squat | 4 | 8 | rir 1\nThu | curl | 3 | 8 | rir 1",
    );
    let curls: Vec<&str> = a.proposals.iter().map(|p| p.edit.as_str()).filter(|e| e.contains("leg curl")).collect();
    assert!(!curls.is_empty());
    assert!(curls.iter().all(|e| !e.contains("sets to") && !e.contains("set to")), "never more than three: {curls:?}");
}

#[test]
fn painful_work_that_cannot_be_replaced_is_named() {
    let a = audit_of("training_years = 3\n[[pains]]\nplace = \"elbow\"\nscore = 6", "Mon | row | 8 | 8 | rir 1");
    let swapped = a.proposals.iter().any(|p| p.edit.contains("Swap Row"));
    let named = a.flags.iter().any(|f| f.text.contains("Row on Mon: still in the plan"));
    assert!(swapped != named, "{}", text_of(&a));
    assert!(a.proposals.iter().all(|p| !p.edit.contains("of Curl") && !p.edit.contains("of Pull down")));
}

#[test]
fn painful_rows_stand_on_top_and_a_swap_does_their_work() {
    // Nothing offered trains the front thigh without the knee: the squat stays, said in a flag with its place.
    let a =
        audit_of("training_years = 3\n[[pains]]\nplace = \"left knee\"\nscore = 7", "Mon | back-squat | 4 | 8 | rir 2");
    assert!(a.proposals.iter().all(|p| p.kind != "swap"), "{}", text_of(&a));
    let flag = a.flags.iter().find(|f| f.text.contains("Back squat on Mon: still in the plan")).expect("a flag");
    assert_eq!((flag.place.as_str(), flag.level.as_str()), ("Plan!B2", "caution"));
    assert!(flag.text.contains("7/10"), "{}", flag.text);
}

#[test]
fn a_swap_to_a_new_movement_brings_at_most_three_sets() {
    // Pain of the trunk leaves the hinge out; another movement for the glutes does its work.
    let a = audit_of("training_years = 3\n[[pains]]\nplace = \"low back\"\nscore = 7", "Mon | hinge | 5 | 8 | rir 2");
    for p in a.proposals.iter().filter(|p| p.kind == "swap") {
        assert!(p.edit.contains("3 sets instead of 5"), "{}", text_of(&a));
    }
}

#[test]
fn rows_that_break_a_flag_are_named() {
    let text = "training_years = 3\nconditions = [\"hypertension\"]";
    let a = audit_of(
        text,
        "Mon | back-squat | 4 | 8 | rir 1\nMon | curl | 3 | 10 | rir 0\nMon | row | 3 | 10 | rir 3\nMon | hinge | 2 | 40s",
    );
    let near = a.flags.iter().find(|f| f.text.contains("near failure")).expect("a flag");
    assert!(near.text.contains("RPE 9") && near.text.contains("to failure"), "{}", near.text);
    assert_eq!(near.place, "Plan!B2, Plan!B3");
    let hold = a.flags.iter().find(|f| f.text.contains("long holds and carries")).expect("a flag");
    assert!(hold.text.contains("40 s") && hold.place == "Plan!B5", "{hold:?}");
}

#[test]
fn planned_work_against_a_restriction_is_mentioned() {
    let a = audit_of(
        "training_years = 3\nconditions = [\"osteoporosis\"]",
        "Mon | hinge | 3 | 8 | rir 3\nMon | crunch | 3 | 10 | rir 3",
    );
    assert!(
        a.flags.iter().any(|f| f.text.contains("Hinge on Mon") && f.text.contains("neutral trunk")),
        "{}",
        text_of(&a)
    );
    assert!(a.flags.iter().any(|f| f.text.contains("Crunch on Mon") && f.text.contains("a change is")));
    assert!(a.proposals.iter().any(|p| p.edit.contains("Take out Crunch")), "{}", text_of(&a));
    assert!(a.proposals.iter().all(|p| p.kind != "add"), "{}", text_of(&a));
}

#[test]
fn focus_comes_first_and_small_heads_are_kept() {
    let a = audit_of(
        "training_years = 3\n[aims]\nBiceps = \"focus\"\nrest = \"grow\"\n\"Cuff and serratus\" = \"grow\"",
        "Mon | back-squat | 3 | 8 | rir 1",
    );
    let titles = ["biceps-brachii-long-head", "brachialis"];
    assert!(titles.contains(&a.gaps[0].head.as_str()) && titles.contains(&a.gaps[1].head.as_str()), "{}", text_of(&a));
    assert!(
        a.proposals[0].reason.starts_with("Biceps") || a.proposals[0].reason.starts_with("Brachialis"),
        "{}",
        text_of(&a)
    );
    assert_eq!(a.gaps.last().map(|g| g.head.as_str()), Some("infraspinatus"), "low confidence comes last");
    for p in &a.proposals {
        for head in titles {
            let change = p.after.get(head).zip(p.before.get(head)).map_or(0.0, |(after, before)| after - before);
            assert!(change >= 0.0, "{}: {head} falls", p.edit);
        }
    }
}

#[test]
fn what_is_left_alone_has_no_band_and_no_gap() {
    let a = audit_of("[aims]\nChest = \"leave\"", "Mon | curl | 3 | 10");
    let r = row(&a, "pectoralis-major-sternocostal-part");
    assert_eq!((r.verdict.as_str(), r.band), ("no aim", answer::Band::default()));
    assert!(a.gaps.iter().all(|g| g.head != r.head));
    assert!(a.groups.iter().any(|g| g.group == "Chest" && g.verdict == "no aim"));
}

#[test]
fn a_deficit_adds_no_sets_and_a_stop_proposes_nothing() {
    let deficit = audit_of("training_years = 3\nenergy_deficit = true", "Mon | back-squat | 4 | 8 | rir 1");
    assert!(deficit.proposals.iter().all(|p| p.kind != "add"));
    let band = row(&deficit, "vastus-lateralis").band;
    assert!((band.low - 4.2).abs() < EXACT && (band.high - 8.0).abs() < EXACT, "6-10 x 0.7-0.8");
    let stop = audit_of(
        "[screening]\nexercises_regularly = true\nknown_disease = false\nsymptoms = true\ndate = \"2026-02-01\"",
        "Mon | back-squat | 4 | 8 | rir 1",
    );
    assert_eq!(stop.flags[0].level, "stop");
    assert!(stop.proposals.is_empty() && stop.notes.iter().any(|n| n.contains("stop flag")));
}

#[test]
fn bands_follow_the_client() {
    let band = |text: &str| row(&audit_of(text, "Mon | curl | 4 | 10"), "brachialis").band;
    let is = |b: answer::Band, low: f64, high: f64| {
        assert!((b.low - low).abs() < EXACT && (b.high - high).abs() < EXACT, "{b:?}")
    };
    is(band("training_years = 3"), 6.0, 10.0);
    is(band("training_years = 0.5"), 4.0, 8.0);
    is(band("[aims]\nbiceps = \"focus\""), 10.0, 18.0);
    is(band("training_years = 0.5\n[aims]\nbiceps = \"focus\""), 6.0, 12.0);
    is(band("[aims]\nbiceps = \"keep\""), 2.0, 4.0);
    is(band("age_years = 70\n[aims]\nbiceps = \"keep\""), 3.0, 5.0);
    // 1.2 x 12 own sets (Scarpelli 2022), plus or minus one.
    is(band("[aims]\nbiceps = \"focus\"\n[past_sets]\nbiceps = 12"), 13.4, 15.4);
    is(band("new_movements = [\"curl\"]"), 6.0, 8.0);
    is(band("returning = true"), 6.0, 8.0);
}

#[test]
fn what_names_nothing_is_asked() {
    let a = audit_of("[aims]\nwings = \"focus\"\n[past_sets]\nfins = 4", "Mon | curl | 3 | 10");
    for word in ["wings", "fins"] {
        assert!(a.messages.iter().any(|m| m.text.contains(word)), "{:?}", a.messages);
    }
}

#[test]
fn late_direct_work_of_a_focus_head_is_noted() {
    let a = audit_of("[aims]\nbiceps = \"focus\"", "Mon | row | 12 | 10\nMon | curl | 3 | 10");
    assert!(a.notes.iter().any(|n| n.starts_with("Curl on Mon comes after 6 or more")), "{:?}", a.notes);
}

#[test]
fn the_same_input_gives_the_same_answer() {
    let plan = "Mon | back-squat | 4 | 8\nTue | bench-press | 4 | 8\nThu | row | 4 | 10";
    assert_eq!(audit_of("minutes = 60", plan), audit_of("minutes = 60", plan));
}
