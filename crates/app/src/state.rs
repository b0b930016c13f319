//! What all requests share: the open house, the store, and the answers worked out so far.

use crate::answers::Refused;
use crate::jobs::Jobs;
use crate::login::Login;
use crate::places::import::Waiting;
use answer::{Audit, Entry};
use desk::problem::{Problem, Report};
use desk::{Desk, House, Kept, ReadPlan, WeekToJudge};
use programme::{Client, Rules, WeekChoice};
use std::path::Path;
use std::sync::Arc;
use store::{ClientId, ClientRow, NewClient, Opened, Store, StoreError, Week, WeekContent};

/// Draws behind the ranges of a page; middle values come first, ranges follow.
pub const DRAWS: usize = desk::DRAWS;
/// Weeks whose judgement is kept.
const MOST_AUDITS: usize = 200;

/// The open house of one coach.
pub struct App {
    pub house: Arc<House>,
    pub store: Store,
    pub rules: Rules,
    /// How the data was found at the start.
    pub opened: Opened,
    /// The password before everything, when other machines may ask.
    pub login: Option<Login>,
    /// Weeks being built anew.
    pub jobs: Jobs,
    /// Files read and not yet stored.
    pub waiting: Waiting,
    audits: Kept<String, Result<Audit, Report>>,
}

/// A stored client, read.
pub struct Known {
    pub row: ClientRow,
    pub client: Client,
}

/// Invented clients of a first start: client file and week.
const DEMO: [(&str, &str); 4] = [
    (include_str!("../demo/1-home.toml"), include_str!("../demo/1-home.csv")),
    (include_str!("../demo/2-sixty-six.toml"), include_str!("../demo/2-sixty-six.csv")),
    (include_str!("../demo/3-arms.toml"), include_str!("../demo/3-arms.csv")),
    (include_str!("../demo/4-pregnant.toml"), include_str!("../demo/4-pregnant.csv")),
];

impl App {
    /// Opens the data of a folder; a first start gets the invented demo clients.
    pub fn open(folder: &Path) -> Result<App, Report> {
        let (store, opened) = Store::open(folder).map_err(|e| report(&e))?;
        let app = App {
            house: Arc::new(House::embedded()?),
            store,
            rules: desk::rules()?,
            opened,
            login: None,
            jobs: Jobs::default(),
            waiting: Waiting::default(),
            audits: Kept::new(MOST_AUDITS),
        };
        if app.opened == Opened::New {
            for (file, plan) in DEMO {
                app.add_demo(file, plan)?;
            }
        }
        Ok(app)
    }

    /// The same with a password before everything.
    pub fn behind(self, login: Login) -> App {
        App { login: Some(login), ..self }
    }

    fn add_demo(&self, file: &str, plan: &str) -> Result<(), Report> {
        let (client, _) = desk::read_client(file, "the demo client")?;
        let read = self.read(Some(client.clone()), plan.as_bytes(), "demo.csv")?;
        let id = self.store.add_client(&NewClient { name: &client.name, file }).map_err(|e| report(&e))?;
        let week = self.store.add_week(id, "Demo week (invented)", None, &content(read), "invented for the demo");
        week.map(|_| ()).map_err(|e| report(&e))
    }

    /// A desk for a client; the average man without one.
    pub fn desk(&self, client: Option<Client>, draws: usize) -> Desk {
        Desk::of(self.house.clone(), client, draws, desk::SEED)
    }

    /// A plan's bytes as entries.
    pub fn read(&self, client: Option<Client>, bytes: &[u8], name: &str) -> Result<ReadPlan, Report> {
        let mut read = self.desk(client, 0).read_plan(&desk::AuditRequest { bytes, name, week: None, kit: None })?;
        self.name_rows(&mut read.entries);
        Ok(read)
    }

    /// Name of a movement by its id.
    pub fn movement_name<'a>(&'a self, id: &'a str) -> &'a str {
        self.house.library.catalogue.movement(id).map_or(id, |m| m.name.as_str())
    }

    /// " Nearest: Cable rotation, Russian twist." for a row that was not understood; empty where nothing is near.
    pub fn nearest(&self, e: &Entry) -> String {
        let names: Vec<&str> = e.extra.nearest.iter().take(3).map(|(id, _)| self.movement_name(id)).collect();
        if names.is_empty() { String::new() } else { format!(" Nearest: {}.", names.join(", ")) }
    }

    /// Rows get the names of their movements: the reader of sheets knows ids alone.
    pub fn name_rows(&self, entries: &mut [Entry]) {
        for e in entries {
            if let Some(m) = e.movement.as_deref().and_then(|id| self.house.library.catalogue.movement(id)) {
                e.name.clone_from(&m.name);
            }
        }
    }

    /// A stored client, with its file read.
    ///
    /// # Errors
    /// No such client, or a file that cannot be read.
    pub fn known(&self, id: ClientId) -> Result<Known, Refused> {
        let row = self.store.client(id)?;
        let (client, _) = desk::read_client(&row.file, &row.name)?;
        Ok(Known { row, client })
    }

    /// The judgement of a week, kept until week or client change.
    pub fn judged(&self, known: &Known, week: &Week) -> Arc<Result<Audit, Report>> {
        self.audits.get(audit_key(known, week), || self.judge(&known.client, &week.content))
    }

    /// The judgement if it is there already.
    pub fn judged_already(&self, known: &Known, week: &Week) -> Option<Arc<Result<Audit, Report>>> {
        self.audits.peek(&audit_key(known, week))
    }

    /// Judges entries for a client.
    pub fn judge(&self, client: &Client, content: &WeekContent) -> Result<Audit, Report> {
        let desk = self.desk(Some(client.clone()), DRAWS);
        let kit = desk.kit()?;
        let plan = ReadPlan {
            entries: content.entries.clone(),
            messages: content.messages.clone(),
            pain_words: content.pain_words.clone(),
            weeks: 1,
        };
        desk.judge(WeekToJudge { plan, client, kit: kit.as_ref(), week: WeekChoice::First })
    }

    /// One row as typed: day, exercise with its settings, and the cells of a set. Corrected names are known.
    pub fn read_row(&self, client: &Client, row: &Row) -> Result<Entry, Report> {
        let mut exercise = row.exercise.trim().to_string();
        if exercise.is_empty() {
            return Err(Problem::error("exercise", "nothing is written")
                .expected("a name, for instance Back squat 3x8 @2")
                .into());
        }
        let matches = self.store.matches().map_err(|e| report(&e))?;
        let plain = exercise.to_lowercase();
        let own = matches.iter().find(|m| m.typed == plain);
        if let Some(own) = own {
            exercise.clone_from(&own.movement);
        }
        let cells = [&row.day, &exercise, &row.sets, &row.reps, &row.rir, &row.load, &row.rest, &row.notes];
        let quoted = cells.map(|c| format!("\"{}\"", c.trim().replace('"', "\"\"").replace(['\n', '\r'], " ")));
        let text = format!("Day,Exercise,Sets,Reps,RIR,Load,Rest,Notes\n{}\n", quoted.join(","));
        let read = self.read(Some(client.clone()), text.as_bytes(), "this row.csv")?;
        let mut entry = read.entries.into_iter().next().ok_or_else(|| {
            let problem = Problem::error(row.exercise.trim(), "this was not understood as an exercise");
            Report::from(problem.expected("a name and sets, for instance Back squat 3x8 @2"))
        })?;
        if let Some(own) = own {
            entry.settings.extend(own.settings.clone());
            entry.text.clone_from(&row.exercise);
        }
        Ok(entry)
    }
}

/// A row as typed, every cell a text.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Row {
    pub day: String,
    pub exercise: String,
    pub sets: String,
    pub reps: String,
    pub rir: String,
    pub load: String,
    pub rest: String,
    pub notes: String,
}

fn audit_key(known: &Known, week: &Week) -> String {
    format!("{}/{}/{}/{}", known.row.id, known.row.version, week.row.id, week.row.version)
}

/// What a reader returned, as it is stored.
pub fn content(read: ReadPlan) -> WeekContent {
    let mut days: Vec<String> = Vec::new();
    for e in &read.entries {
        if !days.contains(&e.day) {
            days.push(e.day.clone());
        }
    }
    WeekContent { entries: read.entries, messages: read.messages, pain_words: read.pain_words, days }
}

/// A problem of the store in a coach's words.
pub fn report(e: &StoreError) -> Report {
    match e {
        StoreError::File { path, what, remedy } => Problem::error(path, what).remedy(remedy.clone()).into(),
        StoreError::Conflict { .. } => {
            Problem::error("", e.to_string()).remedy("look at the newer one first; yours was not saved").into()
        }
        StoreError::Database(_) | StoreError::Json(_) => Report::internal(e.to_string()),
        _ => Problem::error("", e.to_string()).into(),
    }
}
