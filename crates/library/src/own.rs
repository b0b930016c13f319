//! A coach's own movement file: is it readable, can people do it, and where does it go wrong?
//!
//! Every movement that the file names (or its family with the default settings, when it names none) is solved in the
//! three bodies of the shipped movements' gate. What breaks a rule is told with the line that has to do with it.

use crate::{Ask, AskError, Library, Person, Study};
use answer::Scene;
use movement::build::Family;
use movement::catalogue::NamedMovement;
use movement::check::{Finding, What, check as findings};
use movement::family::{FamilyFile, Formula, Problem, line_column};
use std::collections::BTreeMap;
use stimulus::range::Widths;

/// A rule that a movement of the file breaks.
#[derive(Clone, Debug, PartialEq)]
pub struct FileProblem {
    /// 1-based line and column; 0 where it is about the whole file.
    pub line: usize,
    pub column: usize,
    /// Movement, what is wrong, where in the rep and in whom.
    pub text: String,
    pub remedy: &'static str,
}

/// Where a problem is seen in a drawing.
#[derive(Clone, Debug)]
pub struct FaultSeen {
    pub movement: String,
    pub text: String,
    pub scene: Scene,
    /// Index into the scene's frames.
    pub frame: usize,
    /// Named point of the scene; empty where it is about the whole.
    pub point: String,
}

/// What a file says when it is solved.
#[derive(Clone, Debug, Default)]
pub struct FileCheck {
    /// One line per movement: load and limit in the average man.
    pub notes: Vec<String>,
    pub problems: Vec<FileProblem>,
    /// Postures of each problem; when there is none, of the first movement.
    pub faults: Vec<FaultSeen>,
    pub sound: Option<(String, Scene)>,
}

/// The bodies in which a movement has to work: the average man, and people near the 5th and 95th percentile of stature
/// and mass of adults in large surveys (figures from memory, rounded outward).
pub fn gate_bodies() -> [(&'static str, Person); 3] {
    let man = Person::average_man();
    let of =
        |female, stature_m, mass_kg, who: &str| Person { female, stature_m, mass_kg, who: who.into(), ..man.clone() };
    [
        ("an average man", man.clone()),
        ("a small woman", of(true, 1.51, 49.0, "a small woman")),
        ("a large man", of(false, 1.88, 118.0, "a large man")),
    ]
}

/// Rows of the table of movements for what the file names, with the table's header.
pub(crate) fn own_movements(family: &FamilyFile) -> String {
    let header = "id,name,family,settings,equipment,sides,aliases,ambiguous_aliases,skill,setup_s,load_step_rule,\
                  direct_heads,indirect_heads,heads_how,two_joint,cautions";
    let mut out = csv::WriterBuilder::new().flexible(true).from_writer(Vec::new());
    for m in &family.movement {
        let settings: Vec<String> = m.settings.iter().map(|(k, v)| format!("{k}={}", plain(v.get_ref()))).collect();
        let equipment = if m.equipment.is_empty() { "body-weight".into() } else { m.equipment.join("+") };
        let sides = m.sides.as_ref().map_or("bilateral", |s| s.get_ref().as_str());
        let row = [
            m.id.get_ref(),
            &m.name,
            &family.id,
            &settings.join(";"),
            &equipment,
            sides,
            &m.aliases.join(";"),
            "",
            "2",
            "60",
            "",
            &m.direct.join(";"),
            &m.indirect.join(";"),
            "own file",
            "",
            &m.cautions.join(";"),
        ];
        // Writing to memory does not fail.
        let _ = out.write_record(row);
    }
    let rows = out.into_inner().ok().and_then(|b| String::from_utf8(b).ok()).unwrap_or_default();
    format!("{header}\n{rows}")
}

fn plain(f: &Formula) -> String {
    let t = f.text();
    t.strip_suffix(".0").map_or(t.clone(), str::to_string)
}

/// The worst finding of a rule, who meets it, and the frame and scene in which it is worst.
struct Met {
    worst: Finding,
    who: Vec<&'static str>,
    seen: Option<(usize, Scene)>,
}

impl Library {
    /// Whether a movement file works.
    ///
    /// # Errors
    /// Every problem that keeps the file from being solved, with line and column.
    pub fn check_file(text: &str, path: &str) -> Result<FileCheck, Vec<Problem>> {
        let family = Family::parse(text, path).map_err(|p| vec![p])?;
        let at = |offset: usize, text_of: String| {
            let (line, column) = line_column(text, offset);
            Problem { file: path.into(), line, column, text: text_of }
        };
        let whole = |text: String| vec![Problem { file: path.into(), line: 0, column: 0, text }];
        let file = &family.file;
        // Without the movements first, so that their settings can be told with their places.
        let bare = Library::with_named(&[(path.into(), text.into())], false).map_err(|e| whole(e.to_string()))?;
        let mut problems = Vec::new();
        for m in &file.movement {
            let shipped = bare.catalogue.movement(m.id.get_ref());
            if let Some(other) = shipped {
                let what = format!("the id {} is taken by \"{}\": choose another", m.id.get_ref(), other.name);
                problems.push(at(m.id.span().start, what));
            }
            for (key, value) in &m.settings {
                if let Err(e) = bare.catalogue.check_setting(&file.id, key, &plain(value.get_ref())) {
                    problems.push(at(value.span().start, format!("{}: {e}", m.name)));
                }
            }
            let sides = ["bilateral", "unilateral", "alternating"];
            if let Some(s) = m.sides.as_ref().filter(|s| !sides.contains(&s.get_ref().as_str())) {
                problems.push(at(s.span().start, format!("sides \"{}\": {}", s.get_ref(), sides.join(", "))));
            }
        }
        let twice = |i: &usize| file.movement[..*i].iter().any(|m| m.id.get_ref() == file.movement[*i].id.get_ref());
        for i in (0..file.movement.len()).filter(twice) {
            let id = &file.movement[i].id;
            problems.push(at(id.span().start, format!("the id {} stands twice", id.get_ref())));
        }
        if !problems.is_empty() {
            return Err(problems);
        }
        let mut extra = vec![(path.to_string(), text.to_string())];
        let mut ids: Vec<String> = file.movement.iter().map(|m| m.id.get_ref().clone()).collect();
        if ids.is_empty() {
            let id = format!("{}-as-written", file.id);
            let row =
                FamilyFile { movement: vec![movement::family::OwnMovement::named(&id, &file.name)], ..file.clone() };
            extra.push(("movements.csv".into(), own_movements(&row)));
            ids.push(id);
        }
        let lib = Library::with(&extra).map_err(|e| whole(e.to_string()))?;
        let mut out = FileCheck::default();
        for id in &ids {
            lib.check_one(id, file, text, path, &mut out)?;
        }
        Ok(out)
    }

    fn check_one(
        &self,
        id: &str,
        file: &FamilyFile,
        text: &str,
        path: &str,
        out: &mut FileCheck,
    ) -> Result<(), Vec<Problem>> {
        let name = self.catalogue.movement(id).map_or(id, |m: &NamedMovement| m.name.as_str()).to_string();
        // Per rule and name: the worst finding and the bodies that meet it.
        let mut met: BTreeMap<(What, String), Met> = BTreeMap::new();
        let mut general: BTreeMap<(usize, String, &'static str), Vec<&str>> = BTreeMap::new();
        for (who, person) in gate_bodies() {
            let ask = Ask { person, scene: true, ..Ask::middle(id) };
            // Expressions are read when a body is known: all their problems at once.
            self.problems_of_plan(&ask, path)?;
            let study = self
                .study(&ask, &Widths::default())
                .map_err(|e| vec![Problem { file: path.into(), line: 0, column: 0, text: e.to_string() }])?;
            let load = study.solved.load.load;
            if who == "an average man" {
                out.notes.push(format!(
                    "{name}: a hard set of {who} is about {load:.1} {}; the {} ends it.",
                    study.rep.load.unit,
                    match study.solved.load.ended_by() {
                        "none" => "load cap",
                        end => answer::joint_word(end),
                    }
                ));
            }
            let once = |f: &Finding| !(study.rep.symmetric && f.name.ends_with("-left"));
            for f in findings(&study.plan, &study.rep, &study.body, &self.ranges).into_iter().filter(once) {
                let slot = met.entry((f.what, f.name.clone())).or_insert_with(|| Met {
                    worst: f.clone(),
                    who: Vec::new(),
                    seen: None,
                });
                slot.who.push(who);
                if slot.seen.is_none() || f.size > slot.worst.size {
                    let off = |i: &usize| (study.rep.frames[*i].phase - f.phase).abs();
                    let frame = (0..study.rep.frames.len()).min_by(|a, b| off(a).total_cmp(&off(b))).unwrap_or(0);
                    (slot.worst, slot.seen) = (f, Some((frame, self.scene_of(&study, load))));
                }
            }
            for (offset, what, remedy) in forces(&study, file) {
                general.entry((offset, what, remedy)).or_default().push(who);
            }
            if out.sound.is_none() {
                out.sound = Some((name.clone(), self.scene_of(&study, load)));
            }
        }
        for ((what, _), Met { worst: f, who, seen }) in met {
            let (line, column) = place_of(file, text, what, &f.name);
            let percent = 100.0 * f.phase;
            let words = &file.words;
            let told = format!(
                "{name}: {} ({percent:.0} % of the way from {} to {}, {})",
                f.text,
                words[0],
                words[1],
                whom(&who)
            );
            if let Some((frame, scene)) = seen {
                let point = point_of(what, &f.name);
                out.faults.push(FaultSeen { movement: name.clone(), text: f.text.clone(), scene, frame, point });
            }
            out.problems.push(FileProblem { line, column, text: told, remedy: remedy(what) });
        }
        for ((offset, what, remedy), who) in general {
            let (line, column) = if offset == usize::MAX { (0, 0) } else { line_column(text, offset) };
            out.problems.push(FileProblem { line, column, text: format!("{name}: {what} ({})", whom(&who)), remedy });
        }
        out.problems.sort_by_key(|p| (p.line, p.column));
        Ok(())
    }
}

/// What stands above a copied family.
const HEAD: &str = "\
# A movement of your own. It began as a copy of the family \"FAMILY\"; every line may be changed.
# What the fields mean: docs/movement_files.md. Units stand in the names: _m metres, _deg degrees, _kg kilograms.
# Is it right?   lengthwise check THIS-FILE --figure picture.png
# Use it:        lengthwise look my-FAMILY --from FOLDER-OF-THIS-FILE
";

impl Library {
    /// A commented starting file for a coach's own movement: a family under a new name, with one movement.
    ///
    /// # Errors
    /// Unknown family.
    pub fn own_file(&self, family: &str) -> Result<String, AskError> {
        let file = &self.family(family)?.file;
        let text = self.family_text(family);
        let mut out = HEAD.replace("FAMILY", family);
        for line in text.lines() {
            // The new family takes over the settings of the old one.
            match line.split('=').next().map(str::trim) {
                Some("id") if !out.contains("\nid = ") => {
                    out += &format!("id = \"my-{family}-family\"\nlike = \"{family}\"\n");
                }
                Some("name") if !out.contains("\nname = ") => {
                    out += &format!("name = \"My {}\"\n", file.name.to_lowercase())
                }
                _ => out += &format!("{line}\n"),
            }
        }
        out += "\n# The movements of this file. Settings: what differs from these defaults,\n";
        for s in self.catalogue.settings_for(family) {
            use movement::catalogue::SettingKind;
            let default = s.default.as_ref().map_or("none".into(), std::string::ToString::to_string);
            let range = match &s.kind {
                SettingKind::Number { unit, min, max } => format!("{min} to {max} {unit}"),
                SettingKind::Choice { options } => options.join(", "),
            };
            out += &format!("#   {} = {default}  ({})\n", s.key, range.trim());
        }
        let equipment = self.catalogue.movements.iter().find(|m| m.family == family).map(|m| m.equipment.clone());
        let equipment: Vec<String> = equipment.unwrap_or_default().iter().map(|e| format!("\"{e}\"")).collect();
        out += &format!(
            "[[movement]]\nid = \"my-{family}\"\nname = \"My {}\"\nsettings = {{}}\nequipment = [{}]\nsides = \"bilateral\"\n\
             aliases = []\n",
            file.name.to_lowercase(),
            equipment.join(", ")
        );
        Ok(out)
    }
}

fn whom(who: &[&str]) -> String {
    if who.len() == gate_bodies().len() { "in all three bodies".into() } else { who.join(", ") }
}

/// Faults of forces rather than of postures: offset into the file, what, remedy.
fn forces(s: &Study, file: &FamilyFile) -> Vec<(usize, String, &'static str)> {
    let balanced = file.balanced.first().map_or(usize::MAX, |b| b.span().start);
    let contact = file.contact.first().map_or(balanced, |c| c.on.span().start);
    let mut out = Vec::new();
    if s.solved.load.unlimited {
        out.push((
            balanced,
            "no muscle limits the load".into(),
            "does the load act on a joint that `balanced` lists, and not through a contact that carries it?",
        ));
    }
    let residual_nm = s.solved.shares.residual_nm;
    if residual_nm.is_nan() || residual_nm >= mechanics::solve::unbalanced_limit_nm(&s.body) {
        out.push((
            balanced,
            format!("about {:.0} N·m stay unbalanced at one point of the rep", residual_nm),
            "the load is found from the rest of the rep: does the posture there fit what carries and pulls?",
        ));
    }
    if !s.solved.load.impossible.is_empty() {
        out.push((
            contact,
            "in a part of the rep the muscles cannot hold the body itself".into(),
            "look at `contact` (what carries the body?) and `balanced` (what is held by a pad after all?)",
        ));
    }
    out
}

fn remedy(what: What) -> &'static str {
    match what {
        What::JointRange => "change the angle, or what forces the joint there",
        What::RequiredPlace => "bring the place nearer, or add a joint to `solve`",
        What::RequiredAngle => "ask less of the angle, or add a joint to `solve`",
        What::Balance => "move the feet, the load or `at_pct`; or say what else carries",
        What::LoadPath => "a free bar goes up and down: hold the hands nearer to one vertical line",
        What::FootSlides => "hold the foot at one place over the whole rep",
        What::ThroughFloor => "raise the point, or lower what it should touch",
        What::ThroughBench => "move the bench or the body; `size_m` is the thickness of a board",
        What::FootFloats => {
            "put the foot on the floor (`y_m`), or draw what it stands on (`thing`: block, board, slab)"
        }
        What::BarThroughBody => "move the bar in front of the leg, or bend the joint earlier",
        What::NotFinite => {
            "an expression has no value here: look for a division by zero or a root of a negative number"
        }
    }
}

/// The place in the file that has to do with a rule: line and column, 0 where none was found.
fn place_of(file: &FamilyFile, text: &str, what: What, name: &str) -> (usize, usize) {
    let hold = |kind: &[&str], of: &dyn Fn(&str) -> bool| {
        file.hold.iter().find_map(|h| {
            let o = h.of.as_ref();
            let right = kind.contains(&h.what.get_ref().as_str()) && of(o.map_or("", |o| o.get_ref()));
            right.then(|| o.map_or(h.what.span().start, |o| o.span().start))
        })
    };
    let any = |_: &str| true;
    let joint = name.split('.').next().unwrap_or("");
    let part = name.trim_end_matches("-right").trim_end_matches("-left");
    let solved =
        || file.solve.iter().find(|s| s.get_ref().split([' ', '.']).next() == Some(joint)).map(|s| s.span().start);
    let carries = || file.contact.first().map(|c| c.on.span().start);
    let load = || file.load.first().map(|l| l.kind.span().start);
    let opposite = match name {
        "ankle.plantarflexion" => "ankle.dorsiflexion",
        "hip.internal-rotation" => "hip.external-rotation",
        "shoulder.internal-rotation" => "shoulder.external-rotation",
        "forearm.pronation" => "forearm.supination",
        "wrist.flexion" => "wrist.extension",
        n => n,
    };
    let offset = match what {
        What::JointRange => hold(&["angle"], &|o| o == name || o == opposite)
            .or_else(|| hold(&[joint], &any))
            .or_else(solved)
            .or_else(|| hold(&["point", "foot", "lean"], &any)),
        What::RequiredPlace => {
            let of = name.trim_start_matches("place of the ");
            hold(&["point"], &|o| o == of)
                .or_else(|| hold(&["foot", "balance"], &any))
                .or_else(|| hold(&["point"], &any))
        }
        What::RequiredAngle => {
            let of = name.trim_start_matches("lean of the ");
            hold(&["angle", "lean"], &|o| o == of || o == opposite).or_else(|| hold(&["sole", "foot", "lean"], &any))
        }
        What::Balance => hold(&["balance"], &any).or_else(carries),
        What::LoadPath => hold(&["point"], &|o| o == "hand" || o == "wrist").or_else(load),
        What::FootSlides | What::FootFloats => hold(&["foot"], &any)
            .or_else(|| hold(&["point"], &|o| ["toe", "ball", "heel", "ankle"].contains(&o)))
            .or_else(carries),
        What::ThroughFloor => {
            hold(&["point"], &|o| o == part).or_else(|| hold(&["foot", "place"], &any)).or_else(carries)
        }
        What::ThroughBench => file.thing.iter().find(|t| t.kind.get_ref() == "board").map(|t| t.kind.span().start),
        What::BarThroughBody => load(),
        What::NotFinite => None,
    };
    offset.map_or((0, 0), |o| line_column(text, o))
}

/// The point of the drawing at which a rule is broken.
fn point_of(what: What, name: &str) -> String {
    let joint = name.split('.').next().unwrap_or("");
    let right = |p: &str| match p {
        "hip" | "knee" | "ankle" | "heel" | "ball" | "toe" | "shoulder" | "elbow" | "wrist" => format!("{p}-right"),
        "foot" => "ball-right".into(),
        "hand" | "grip" => "grip-right".into(),
        "forearm" => "wrist-right".into(),
        "girdle" => "shoulder-right".into(),
        "lumbar" | "neck" | "pelvis" => p.into(),
        _ => String::new(),
    };
    match what {
        What::JointRange => right(joint),
        What::RequiredPlace => right(name.trim_start_matches("place of the ")),
        What::RequiredAngle => right(joint),
        What::LoadPath => "grip-right".into(),
        What::FootSlides => "ball-right".into(),
        What::Balance => "pelvis".into(),
        What::ThroughFloor | What::ThroughBench | What::FootFloats | What::BarThroughBody => name.into(),
        What::NotFinite => String::new(),
    }
}
