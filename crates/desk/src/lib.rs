//! The one place that asks the rest of the program. In: what a coach typed or clicked, and the bytes of their files;
//! out: answers, drawings and workbooks, or one [`problem::Report`]. Must never know: terminals, web pages, how a number
//! is computed.

mod audit;
mod check;
mod client;
mod data;
mod evidence;
pub mod files;
#[cfg(any(test, feature = "invented"))]
pub mod invented;
pub mod json;
mod kept;
mod kit;
mod lay_out;
pub mod problem;
mod proof;
mod propose;
mod rebuild;
mod rebuild_words;
mod rebuilt_book;
mod scenario;
mod sources;
mod sure;
mod technique;
pub mod text;
mod what_if;
pub mod wish;
mod workbook;

pub use audit::{AuditRequest, ReadPlan, Week, WeekToJudge, rules};
pub use check::{Checked, check};
pub use client::{person, problem as problem_of_client, read as read_client, today};
pub use data::text as data_text;
pub use evidence::{ImportDone, evidence, evidence_of, import_studies, keep_study, study_picture};
pub use kept::Kept;
pub use kit::{equipment, of_items as kit_of_items};
pub use lay_out::{LayOutRequest, load_rules};
pub use proof::{Proof, arms_picture, keep_part, proof};
pub use propose::{ProposeRequest, Proposed};
pub use rebuild::{PresentWeek, Progress, RebuildRequest, rebuild};
pub use rebuilt_book::rebuilt_workbook;
pub use scenario::{AskFile, Asked, Scenario, ScenarioAnswer};
pub use sources::sources;
pub use sure::sure;
pub use technique::technique;
pub use what_if::what_if;

use crate::problem::{Problem, Report};
use crate::wish::Wish;
use ::evidence::trials::Trials;
use answer::{Audit, Compare, Faults, Look, MovementCredit, MovementRow, MuscleRow, Rank, Search, Similar, Why};
use figure::{
    Card, Frames, Opened, Options, View, audit_finding, compare_card, ledger, look_card, posture_svg, rank_card,
};
use library::{Ask, AskError, Library, Person, Sparing};
use movement::catalogue::Kit;
use programme::Client;
use std::path::PathBuf;
use std::sync::{Arc, OnceLock};

/// Frames of a lift in an answer.
pub const FRAMES: usize = 21;
/// Random draws behind a range unless said otherwise.
pub const DRAWS: usize = 32;
/// Seed unless said otherwise.
pub const SEED: u64 = 1;
/// Credits kept by one [`House`]: a few clients with a whole library each.
const MOST_CREDITS: usize = 20_000;

/// For whom and how exactly, as a command line says it.
#[derive(Clone, Debug)]
pub struct Setup {
    /// The client's file; an average man without one.
    pub client: Option<PathBuf>,
    /// Random draws behind each range.
    pub draws: usize,
    pub seed: u64,
    /// Folder with further movements or facts.
    pub from: Option<PathBuf>,
}

/// Unit of a load that is the client's own body; 1 is all of it.
const OWN_BODY: &str = "x body weight";

/// The library with the credits worked out so far; shared by all desks of a process.
pub struct House {
    pub library: Library,
    credits: Kept<String, Result<MovementCredit, String>>,
    trials: OnceLock<Trials>,
    beyond: Kept<String, bool>,
}

impl House {
    pub fn new(library: Library) -> House {
        House { library, credits: Kept::new(MOST_CREDITS), beyond: Kept::new(MOST_CREDITS), trials: OnceLock::new() }
    }
    /// With the shipped data.
    pub fn embedded() -> Result<House, Report> {
        let library = Library::embedded().map_err(|e| Report::internal(format!("the shipped data: {e}")))?;
        Ok(House::new(library))
    }
    /// What a hard set gives to the heads; the same question is worked out once.
    pub fn credit(&self, ask: &Ask) -> Arc<Result<MovementCredit, String>> {
        self.credits.get(format!("{ask:?}"), || {
            let mut credit = self.library.credit(ask).map_err(|e| e.to_string())?;
            let heads = credit.heads.iter_mut().map(|h| (h.head.as_str(), &mut h.credit));
            self.trials().fill(&self.library, heads);
            Ok(credit)
        })
    }
    /// What training studies say, for the trials column.
    fn trials(&self) -> &Trials {
        self.trials.get_or_init(|| Trials::shipped(&self.library))
    }
    /// The look with its trials column filled.
    fn with_trials(&self, mut look: Look) -> Look {
        let heads = look.heads.iter_mut().map(|h| (h.id.as_str(), &mut h.credit));
        let trials = self.trials().fill(&self.library, heads);
        Look { trials, schema: json::LOOK.into(), ..look }
    }
    /// A hard set of this body weight movement would be with less than the whole body: one repetition needs help.
    fn beyond_own_body(&self, ask: &Ask) -> bool {
        let short = |l: Look| l.load_unit == OWN_BODY && l.load_kg < 1.0;
        *self.beyond.get(format!("{ask:?}"), || self.library.look(ask).ok().is_some_and(short))
    }
}

/// SVGs of a movement, each with its view ("side", "front").
pub type Views = Vec<(&'static str, String)>;

/// An answer to be drawn.
pub enum Drawn<'a> {
    Looks(&'a [Look]),
    Compare(&'a Compare),
    Rank(&'a Rank),
    Audit(&'a Audit),
}

/// The desk, with the person asked for.
pub struct Desk {
    house: Arc<House>,
    /// As the client's file says; `None` without one.
    client: Option<Client>,
    person: Person,
    draws: usize,
    seed: u64,
}

impl Desk {
    /// For the lists, which need no person.
    pub fn plain() -> Result<Desk, Report> {
        Ok(Desk::of(Arc::new(House::embedded()?), None, 0, SEED))
    }

    /// For a client of a house that is open already; an average man without one.
    pub fn of(house: Arc<House>, client: Option<Client>, draws: usize, seed: u64) -> Desk {
        let person = client.as_ref().map_or_else(Person::average_man, client::person);
        Desk { house, client, person, draws, seed }
    }

    /// With the flags of the command line; warnings of the client's file come beside.
    pub fn open(setup: &Setup) -> Result<(Desk, Report), Report> {
        let house = match &setup.from {
            None => House::embedded()?,
            Some(folder) => House::new(
                Library::with(&files::folder(folder)?)
                    .map_err(|e| Report::from(Problem::error(folder.display().to_string(), e.to_string())))?,
            ),
        };
        let (mut client, mut warnings) = (None, Report::default());
        if let Some(path) = &setup.client {
            let text = files::read_text(path)?;
            let (read, beside) = client::read(&text, &path.display().to_string())?;
            (client, warnings) = (Some(read), beside);
        }
        Ok((Desk::of(Arc::new(house), client, setup.draws, setup.seed), warnings))
    }

    /// The data and the engine behind the answers.
    pub fn library(&self) -> &Library {
        &self.house.library
    }
    /// The client asked for; `None` for the average man.
    pub fn client(&self) -> Option<&Client> {
        self.client.as_ref()
    }

    pub(crate) fn ask(&self, wish: &Wish, scene: bool) -> Ask {
        Ask {
            movement: wish.movement.clone(),
            settings: wish.settings.clone(),
            person: self.person.clone(),
            draws: self.draws,
            seed: self.seed,
            frames: FRAMES,
            scene,
        }
    }

    /// One answer a wish; all problems of all wishes at once.
    pub fn looks(&self, wishes: &[Wish], scene: bool) -> Result<Vec<Look>, Report> {
        let mut looks = Vec::new();
        let mut report = Report::default();
        for wish in wishes {
            match self.library().look(&self.ask(wish, scene)) {
                Ok(look) => looks.push(self.house.with_trials(look)),
                Err(e) => report.problems.push(problem_of(&e, &wish.movement)),
            }
        }
        if report.problems.is_empty() { Ok(looks) } else { Err(report) }
    }

    /// Why a movement does what it does to a head.
    pub fn why(&self, wish: &Wish, head: &str) -> Result<Why, Report> {
        let why = self.library().why(&self.ask(wish, false), head);
        why.map(|w| Why { schema: json::WHY.into(), ..w }).map_err(|e| problem_of(&e, &wish.movement).into())
    }

    /// What the common faults of a movement change.
    pub fn faults(&self, wish: &Wish) -> Result<Faults, Report> {
        let faults = self.library().faults(&self.ask(wish, false));
        faults.map(|f| Faults { schema: json::FAULTS.into(), ..f }).map_err(|e| problem_of(&e, &wish.movement).into())
    }

    pub fn compare(&self, wishes: &[Wish], scene: bool) -> Result<Compare, Report> {
        let asks: Vec<Ask> = wishes.iter().map(|w| self.ask(w, scene)).collect();
        match self.library().compare(&asks) {
            Ok(compare) => {
                let looks = compare.looks.into_iter().map(|l| self.house.with_trials(l)).collect();
                Ok(Compare { schema: json::COMPARE.into(), looks, ..compare })
            }
            // The report on the single movements names each problem; the joint one only the first.
            Err(e) => Err(self.looks(wishes, false).err().unwrap_or_else(|| problem_of(&e, "").into())),
        }
    }

    pub fn rank(&self, head: &str, kit: Option<&str>) -> Result<Rank, Report> {
        let like = self.ask(&Wish { movement: String::new(), settings: answer::Settings::new() }, false);
        let kit = kit.map(|k| kit::read(k, &self.library().catalogue)).transpose()?;
        let id = kit.as_ref().and_then(|k| k.shipped.then_some(k.kit.id.as_str()));
        let mut rank = self.library().rank(head, id, &like).map_err(|e| problem_of(&e, head))?;
        for row in &mut rank.rows {
            self.house.trials().of_movement(&row.movement, &rank.head, &mut row.credit);
        }
        if let Some(kit) = &kit {
            rank.kit = Some(kit.kit.name.clone());
            rank.rows.retain(|row| {
                let stays = kit.kit.allows(&row.equipment);
                if !stays {
                    rank.left_out.push(format!("{}: needs {}", row.name, row.equipment.join(", ")));
                }
                stays
            });
        }
        Ok(Rank { schema: json::RANK.into(), ..rank })
    }

    /// The best set-up of every movement for a head.
    pub fn search(&self, head: &str, kit: Option<&str>) -> Result<Search, Report> {
        let like = self.ask(&Wish { movement: String::new(), settings: answer::Settings::new() }, false);
        let kit = kit.map(|k| kit::read(k, &self.library().catalogue)).transpose()?;
        let search = self.library().search_setups(head, kit.as_ref().map(|k| &k.kit), &like);
        search.map(|s| Search { schema: json::SEARCH.into(), ..s }).map_err(|e| problem_of(&e, head).into())
    }

    /// The nearest movements, with a place spared where one is named.
    pub fn similar(&self, wish: &Wish, kit: Option<&str>, spare: Option<&str>, n: usize) -> Result<Similar, Report> {
        let kit = kit.map(|k| kit::read(k, &self.library().catalogue)).transpose()?;
        let spare = spare.map(sparing).transpose()?;
        let similar = self.library().similar(&self.ask(wish, false), kit.as_ref().map(|k| &k.kit), spare.as_ref(), n);
        similar
            .map(|s| Similar { schema: json::SIMILAR.into(), ..s })
            .map_err(|e| problem_of(&e, &wish.movement).into())
    }

    pub fn muscles(&self) -> Result<Vec<MuscleRow>, Report> {
        filled(self.library().muscles(), "the list of muscles")
    }

    /// All movements, or those a kit allows.
    pub fn movements(&self, kit: Option<&str>) -> Result<Vec<MovementRow>, Report> {
        let mut rows = filled(self.library().movements(), "the list of movements")?;
        if let Some(kit) = kit {
            let kit = kit::read(kit, &self.library().catalogue)?;
            rows.retain(|r| kit.kit.allows(&r.equipment));
        }
        Ok(rows)
    }

    /// A movement's line of the list; its id alone where the list has no line (a word that was read as a movement).
    pub fn movement_row(&self, id: &str) -> MovementRow {
        self.library().movements().into_iter().find(|r| r.id == id).unwrap_or_else(|| MovementRow {
            id: id.into(),
            name: id.into(),
            family: "other".into(),
            equipment: Vec::new(),
            settings: answer::Settings::new(),
        })
    }

    /// An answer as one SVG.
    pub fn figure(&self, drawn: Drawn) -> Result<String, Report> {
        let card = Card::default();
        Ok(match drawn {
            Drawn::Looks([look]) => look_card(look, &card).svg,
            Drawn::Looks(looks) => {
                let remedy = "ask for one, or use compare";
                let what = format!("a figure shows one movement, not {}", looks.len());
                return Err(Problem::error("--figure", what).remedy(remedy).into());
            }
            Drawn::Compare(compare) => compare_card(compare, &card).svg,
            Drawn::Rank(rank) => rank_card(rank, &card).svg,
            Drawn::Audit(audit) => ledger(audit, Opened::Groups, &card).svg,
        })
    }

    /// Id of the movement and its postures from the side and the front.
    pub fn postures(&self, wish: &Wish) -> Result<(String, Views), Report> {
        let ask = Ask { draws: 0, ..self.ask(wish, true) };
        let look = self.library().look(&ask).map_err(|e| problem_of(&e, &wish.movement))?;
        let scene = look.scene.as_ref().ok_or_else(|| Report::internal("the answer has no drawing data"))?;
        let options = Options { width: 1100.0, captions: true, ..Options::default() };
        let view = |v: View| (v.word(), posture_svg(scene, v, Frames::Three, &options).svg);
        Ok((look.movement, vec![view(View::Side), view(View::Front)]))
    }

    pub fn audit(&self, request: &AuditRequest) -> Result<Audit, Report> {
        audit::audit(self, request)
    }

    /// Reads a plan without judging it: its entries, messages and pain words.
    pub fn read_plan(&self, request: &AuditRequest) -> Result<ReadPlan, Report> {
        audit::read(self, request).map(|(plan, _, _)| plan)
    }

    /// The same with the client that a workbook's own sheet describes (the desk's client where it has one).
    pub fn read_plan_and_client(&self, request: &AuditRequest) -> Result<(ReadPlan, Client), Report> {
        audit::read(self, request).map(|(plan, client, _)| (plan, client))
    }

    /// What the client of this desk trains with; `None` where nothing is said.
    pub fn kit(&self) -> Result<Option<Kit>, Report> {
        self.client.as_ref().map_or(Ok(None), |c| audit::kit_of(None, c, &self.library().catalogue))
    }

    /// Judges a week that was read or edited.
    pub fn judge(&self, week: WeekToJudge) -> Result<Audit, Report> {
        audit::judge(self, week)
    }

    /// What to change first, and the week after it.
    pub fn propose(&self, request: &ProposeRequest) -> Result<Proposed, Report> {
        propose::propose(self, request)
    }

    /// The plan with the proposals taken, in its own layout, as an .xlsx file.
    pub fn proposed_workbook(&self, request: &ProposeRequest, done: &Proposed) -> Result<Vec<u8>, Report> {
        written(&propose::book(self, request, done)?)
    }

    /// Loads and repetitions of a plan over several weeks.
    pub fn lay_out(&self, request: &LayOutRequest) -> Result<answer::LayOut, Report> {
        lay_out::lay_out(self, request)
    }

    /// The weeks in the plan's own layout as an .xlsx file.
    pub fn laid_out_workbook(&self, request: &LayOutRequest, out: &answer::LayOut) -> Result<Vec<u8>, Report> {
        written(&lay_out::book(self, request, out)?)
    }

    /// Plan as read, ledger and proposals as an .xlsx file.
    pub fn workbook(&self, audit: &Audit) -> Result<Vec<u8>, Report> {
        written(&workbook::of(audit, &audit_finding(audit)))
    }
}

fn written(book: &sheet::write::WorkbookOut) -> Result<Vec<u8>, Report> {
    sheet::write::write_book(book).map_err(|e| Problem::error("--write", e.to_string()).into())
}

/// An SVG as a PNG of its own size.
pub fn png(svg: &str) -> Result<Vec<u8>, Report> {
    figure::png::png(svg, figure::png::Size::Own).map_err(|e| Report::internal(e.to_string()))
}

/// The family meant by a word; an unknown one is told with the known ones near it.
pub fn known_family(place: &str, word: &str, known: &[&str]) -> Result<String, Report> {
    let plain = |t: &str| t.to_lowercase().replace([' ', '_'], "-");
    known.iter().find(|k| plain(k) == plain(word)).map(|k| k.to_string()).ok_or_else(|| {
        let problem = Problem::error(place, format!("no family called \"{word}\"")).nearest(nearest(word, known));
        problem.remedy("lengthwise movements lists them").into()
    })
}

/// A movement file that begins as a copy of a family.
pub fn movement_template(family: &str) -> Result<String, Report> {
    let desk = Desk::plain()?;
    let known: Vec<&str> = desk.library().family_ids().collect();
    let id = known_family("FAMILY", family, &known)?;
    desk.library().own_file(&id).map_err(|e| Report::internal(e.to_string()))
}

/// The commented client file.
pub fn client_template() -> String {
    programme::client_template()
}

/// A place no rule knows: the nearest words, or all of them where none is near.
pub(crate) fn unknown_place(at: &str, place: &str, known: &[&str]) -> Problem {
    let problem = Problem::error(at, format!("no place called \"{place}\""));
    let near = nearest(place, known);
    if near.is_empty() { problem.expected(format!("one of {}", known.join(", "))) } else { problem.nearest(near) }
}

/// A place of pain in a client's words, with its joint.
fn sparing(place: &str) -> Result<Sparing<'_>, Report> {
    let rules = audit::rules()?;
    let unknown = || {
        let known: Vec<&str> = rules.pain_places.iter().map(|(_, word)| word.as_str()).collect();
        unknown_place("--spare", place, &known)
    };
    let joint = rules.joint_of_pain(place).ok_or_else(unknown)?;
    let words = rules.pain_places.iter().filter(|(j, _)| j == joint).map(|(_, word)| word.clone()).collect();
    Sparing::new(place, joint, words).ok_or_else(|| unknown().into())
}

/// Known names nearest to a word.
pub fn nearest(word: &str, known: &[&str]) -> Vec<String> {
    programme::nearest(word, known)
}

/// What this build cannot do yet, in plain words.
fn missing(place: &str, what: &str) -> Report {
    Problem::error(place, format!("{what} is not available in this build")).into()
}

fn filled<T>(rows: Vec<T>, what: &str) -> Result<Vec<T>, Report> {
    if rows.is_empty() { Err(missing("", what)) } else { Ok(rows) }
}

/// What the desk could not answer, placed at what was asked.
fn problem_of(e: &AskError, asked: &str) -> Problem {
    match e {
        AskError::UnknownMovement { name, nearest } => Problem::error("", format!("no movement called \"{name}\""))
            .nearest(nearest.clone())
            .remedy("lengthwise movements --find WORD lists what is known"),
        AskError::UnknownHead { name, nearest } => Problem::error("", format!("no muscle head called \"{name}\""))
            .nearest(nearest.clone())
            .remedy("lengthwise muscles lists what is known"),
        AskError::UnknownSetting { movement, key, nearest } => {
            Problem::error(movement.clone(), format!("no setting called \"{key}\""))
                .nearest(nearest.clone())
                .remedy(format!("lengthwise movements --find \"{movement}\" --json lists its settings"))
        }
        // The place stands in front already.
        AskError::Problem(text) => {
            let rest = text.strip_prefix(asked).and_then(|t| t.strip_prefix(": ")).unwrap_or(text);
            Problem::error(asked, rest)
        }
    }
}
