//! Shared by the test suites. The credits below are INVENTED TEST DATA: round numbers chosen to make arithmetic easy to
//! follow by hand, no statement about any movement. Volumes and joints of the heads are those of the muscle table
//! (Handsfield 2014 and Holzbaur 2007, restated).
#![allow(dead_code)]

use answer::*;
use programme::week::{HeadFacts, WeekChoice};
use programme::{Client, Date, Inputs, RuleTexts, Rules, audit, parse_client};

pub const TODAY: Date = Date { year: 2026, month: 3, day: 1 };

macro_rules! data {
    ($name:literal) => {
        include_str!(concat!("../../../../data/programme/", $name))
    };
}

pub const TEXTS: RuleTexts<'static> = RuleTexts {
    constants: data!("constants.csv"),
    bands: data!("bands.csv"),
    load_reps: data!("load_reps.csv"),
    groups: data!("groups.csv"),
    safety: data!("safety.csv"),
    restrictions: data!("restrictions.csv"),
    pain_places: data!("pain_places.csv"),
    head_actions: data!("head_actions.csv"),
    axis_words: data!("axis_words.csv"),
};

pub fn rules() -> Rules {
    Rules::parse(&TEXTS).expect("the shipped rules parse")
}

/// head | groups | volume, cm³ | joints
const HEADS: &str = "
vastus-lateralis | Quadriceps | 871.0 | knee
rectus-femoris | Quadriceps;Hip flexors | 282.0 | hip;knee
biceps-femoris-long-head | Hamstrings | 216.5 | hip;knee
biceps-femoris-short-head | Hamstrings | 104.9 | knee
gluteus-maximus-inferior-part | Glutes | 293.9 | hip
latissimus-dorsi-lumbar-part | Lats | 131.1 | glenohumeral
pectoralis-major-sternocostal-part | Chest | 181.2 | glenohumeral
biceps-brachii-long-head | Biceps side of the arm | 95.2 | glenohumeral;elbow;forearm
brachialis | Biceps side of the arm | 179.6 | elbow
triceps-brachii-long-head | Triceps | 172.1 | glenohumeral;elbow
triceps-brachii-lateral-head | Triceps | 172.1 | elbow
infraspinatus | Cuff and serratus | 148.2 | glenohumeral
erector-spinae-longissimus | Lower back | 315 | lumbar-flexion
";

pub fn heads() -> Vec<HeadFacts> {
    let row = |line: &str| {
        let cells: Vec<&str> = line.split('|').map(str::trim).collect();
        let list = |t: &str| t.split(';').map(String::from).collect();
        HeadFacts {
            head: cells[0].into(),
            plain: cells[0].replace('-', " "),
            groups: list(cells[1]),
            volume_cm3: cells[2].parse().unwrap(),
            joints: list(cells[3]),
            low_confidence: cells[0] == "infraspinatus",
        }
    };
    HEADS.trim().lines().map(row).collect()
}

/// INVENTED: id | m(ulti) or s(ingle) | equipment | loaded axes | cautions | head=mechanics/convention[!long][@joint:mm,joint:mm]
const MOVEMENTS: &str = "
back-squat | m | barbell;rack | knee.extension;hip.extension | | vastus-lateralis=1/1!long rectus-femoris=0.2/0.5@hip:20,knee:-26 gluteus-maximus-inferior-part=0.8/1!long biceps-femoris-long-head=0.1/0.5@hip:-34,knee:31 erector-spinae-longissimus=0.4/0.5
hinge | m | barbell | hip.extension;lumbar.extension | low back | biceps-femoris-long-head=0.9/1!long@hip:-60,knee:0 gluteus-maximus-inferior-part=0.7/1!long erector-spinae-longissimus=0.7/0.5
seated-leg-curl | s | leg-curl-machine | knee.flexion | | biceps-femoris-long-head=1/1!long@knee:-50 biceps-femoris-short-head=1/1@knee:-35
lying-leg-curl | s | leg-curl-machine | knee.flexion | | biceps-femoris-long-head=0.7/1@knee:-50 biceps-femoris-short-head=1/1@knee:-35
leg-extension | s | leg-extension-machine | knee.extension | anterior knee | vastus-lateralis=0.9/1 rectus-femoris=1/1
row | m | cable | elbow.flexion;girdle.retraction;shoulder.swing | | latissimus-dorsi-lumbar-part=0.9/1 biceps-brachii-long-head=0.3/0.5@elbow:-40,shoulder:22 brachialis=0.7/0.5
pull-down | m | cable | elbow.flexion;girdle.depression;shoulder.swing | | latissimus-dorsi-lumbar-part=1/1!long biceps-brachii-long-head=0.4/0.5@elbow:-40,shoulder:20 brachialis=0.7/0.5
curl | s | dumb-bell | elbow.flexion | | biceps-brachii-long-head=1/1@elbow:-50 brachialis=1/1
bench-press | m | barbell;bench | elbow.extension;shoulder.swing | bar over the face | pectoralis-major-sternocostal-part=1/1!long triceps-brachii-lateral-head=0.6/0.5 triceps-brachii-long-head=0.2/0.5
push-down | s | cable | elbow.extension | | triceps-brachii-lateral-head=1/1 triceps-brachii-long-head=0.5/1
overhead-extension | s | dumb-bell | elbow.extension | | triceps-brachii-lateral-head=0.8/1 triceps-brachii-long-head=1/1!long
crunch | s | mat | lumbar.flexion | osteoporosis | 
";

pub fn movements() -> Vec<MovementCredit> {
    MOVEMENTS.trim().lines().map(movement).collect()
}

fn movement(line: &str) -> MovementCredit {
    let cells: Vec<&str> = line.split('|').map(str::trim).collect();
    let list = |t: &str| t.split(';').filter(|w| !w.is_empty()).map(String::from).collect::<Vec<_>>();
    let title = programme::head_title(cells[0]);
    let multi = cells[1] == "m";
    MovementCredit {
        movement: cells[0].into(),
        name: title,
        multi_joint: multi,
        setup_s: 60.0,
        rep_s: 4.0,
        equipment: list(cells[2]),
        loaded_axes: list(cells[3]),
        cautions: list(cells[4]),
        heads: cells[5].split_whitespace().map(head_credit).collect(),
        ..MovementCredit::default()
    }
}

fn head_credit(text: &str) -> HeadCredit {
    let (text, by_joint) = text.split_once('@').unwrap_or((text, ""));
    let long = text.contains("!long");
    let (head, numbers) = text.trim_end_matches("!long").split_once('=').unwrap();
    let (mechanics, convention) = numbers.split_once('/').unwrap();
    let (mid, convention): (f64, f64) = (mechanics.parse().unwrap(), convention.parse().unwrap());
    let mechanics = Range { low: (mid - 0.1).max(0.0), mid, high: (mid + 0.1).min(1.0) };
    let pooled = Range {
        low: 0.5 * (mechanics.low + convention),
        mid: 0.5 * (mid + convention),
        high: 0.5 * (mechanics.high + convention),
    };
    let by_joint_mm: std::collections::BTreeMap<String, f64> = by_joint
        .split(',')
        .filter_map(|p| p.split_once(':'))
        .map(|(j, mm)| (j.to_string(), mm.parse().unwrap()))
        .collect();
    let (net, sum) = by_joint_mm.values().fold((0.0, 0.0), |(n, s), mm: &f64| (n + mm, s + mm.abs()));
    let opposition = if sum > 0.0 { 1.0 - f64::abs(net) / sum } else { 0.0 };
    HeadCredit {
        head: head.into(),
        credit: Credit { mechanics, convention, trials: None, pooled },
        long,
        opposition,
        by_joint_mm,
    }
}

pub fn credit(movement: &str, settings: &Settings) -> Result<MovementCredit, String> {
    let found = movements().into_iter().find(|m| m.movement == movement);
    found
        .map(|m| MovementCredit { settings: settings.clone(), ..m })
        .ok_or_else(|| format!("{movement} does not solve"))
}

/// "Monday | back-squat | 3 | 8-10 | rir 2 | each side | pair A1 | week 2": day, movement ("?" before it: assumed; "??":
/// unknown), sets, repetitions, then marks in any order.
pub fn entry(line: &str, row: u32) -> Entry {
    let cells: Vec<&str> = line.split('|').map(str::trim).collect();
    let status = match cells[1] {
        n if n.starts_with("??") => Status::Unknown,
        n if n.starts_with('?') => Status::Assumed,
        n if n.starts_with('(') => Status::Ignored,
        _ => Status::Certain,
    };
    let id = cells[1].trim_start_matches('?').trim_matches(['(', ')']);
    let span = |t: &str| -> Option<(f64, f64)> {
        let (a, b) = t.split_once('-').unwrap_or((t, t));
        Some((a.parse().ok()?, b.parse().ok()?))
    };
    let (sets_low, sets_high) = cells.get(2).and_then(|t| span(t)).unwrap_or_default();
    let written = cells.get(3).copied().unwrap_or_default();
    let unit = if written.ends_with('s') { "s" } else { "reps" };
    let reps = span(written.trim_end_matches('s'));
    let mut e = Entry {
        sheet: "Plan".into(),
        row,
        col: 2,
        day: cells[0].into(),
        week: 1,
        text: cells[1].into(),
        movement: (status != Status::Unknown).then(|| id.to_string()),
        name: programme::head_title(id),
        confidence: 1.0,
        sets_low,
        sets_high,
        reps_low: reps.map(|r| r.0),
        reps_high: reps.map(|r| r.1),
        reps_unit: unit.into(),
        status,
        ..Entry::default()
    };
    for mark in cells.iter().skip(4) {
        let (word, value) = mark.split_once(' ').unwrap_or((mark, ""));
        match word {
            "rir" => e.rir = value.parse().ok(),
            "load" => (e.load, e.unit) = (value.trim_end_matches('%').parse().ok(), Some("%1RM".into())),
            "each" => e.extra.each_side = true,
            "pair" => e.extra.pair = Some(value.into()),
            "rest" => e.extra.rest_s = value.parse().ok(),
            "week" => e.week = value.parse().unwrap(),
            other => panic!("unknown mark {other}"),
        }
    }
    e
}

pub fn entries(plan: &str) -> Vec<Entry> {
    let lines = plan.lines().map(str::trim).filter(|l| !l.is_empty());
    lines.enumerate().map(|(i, l)| entry(l, i as u32 + 2)).collect()
}

pub fn client(text: &str) -> Client {
    parse_client(&format!("name = \"Test client (invented)\"\n{text}"), "client.toml").expect("a valid client")
}

/// Audit of a plan for a client, with every invented movement as a candidate.
pub fn audit_of(client_text: &str, plan: &str) -> Audit {
    audit_with(client_text, plan, WeekChoice::First, &movements())
}

pub fn audit_with(client_text: &str, plan: &str, week: WeekChoice, candidates: &[MovementCredit]) -> Audit {
    let (client, rules, heads) = (client(client_text), rules(), heads());
    audit(Inputs {
        entries: entries(plan),
        messages: Vec::new(),
        pain_words: &[],
        client: &client,
        today: TODAY,
        heads: &heads,
        credits: &credit,
        candidates,
        setting_options: &[],
        kit_lacks: &Default::default(),
        percentiles: Vec::new(),
        week,
        rules: &rules,
    })
}

pub fn row<'a>(audit: &'a Audit, head: &str) -> &'a LedgerRow {
    audit.ledger.iter().find(|r| r.head == head).expect("the head is in the ledger")
}

/// The audit as a coach could read it in plain text.
pub fn text_of(a: &Audit) -> String {
    use std::fmt::Write;
    let mut t = String::new();
    let _ = writeln!(t, "{}: {}", a.week, a.client.summary);
    for f in &a.flags {
        let _ =
            writeln!(t, "[{}] {}: {} -> {}; stop: {}", f.level, f.place, f.text, f.who_lifts, f.stop_signs.join(", "));
    }
    for g in &a.groups {
        let _ = writeln!(
            t,
            "{} ({}) {:.1} ({:.1}-{:.1}) of {:.1}-{:.1} {}",
            g.group,
            g.aim,
            g.credited_sets.pooled.mid,
            g.credited_sets.pooled.low,
            g.credited_sets.pooled.high,
            g.band.low,
            g.band.high,
            g.verdict
        );
        for h in &g.heads {
            let r = row(a, h);
            let c = &r.credited_sets;
            let _ = writeln!(
                t,
                "  {h}: mech {:.1} ({:.1}-{:.1}) conv {:.1} pooled {:.1} ({:.1}-{:.1}) days {} long {:.2} largest {:.1} {} {:?}",
                c.mechanics.mid,
                c.mechanics.low,
                c.mechanics.high,
                c.convention,
                c.pooled.mid,
                c.pooled.low,
                c.pooled.high,
                r.sessions,
                r.long_length_share,
                r.largest_session,
                r.verdict,
                r.marks
            );
        }
    }
    for g in &a.gaps {
        let _ = writeln!(t, "GAP {} @ {}: {}", g.head, g.joint, g.reason);
    }
    for (day, m) in &a.minutes {
        let _ = writeln!(t, "{day}: {:.0}-{:.0} min of {:?}", m.low, m.high, m.available);
    }
    for p in &a.proposals {
        let _ = writeln!(t, "{}: {} ({:+.0} min)\n   {}", p.kind.to_uppercase(), p.edit, p.minutes, p.reason);
        for c in &p.cautions {
            let _ = writeln!(t, "   ! {c}");
        }
    }
    for m in &a.messages {
        let _ = writeln!(t, "{} {}: {}", m.level, m.place, m.text);
    }
    for n in &a.notes {
        let _ = writeln!(t, "note: {n}");
    }
    let _ = writeln!(t, "totals: {:?}", a.totals);
    t
}
