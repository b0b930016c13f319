//! Import: a plan out of a file, with a review of every assumption before anything is stored.

use super::start::fields;
use crate::App;
use crate::answers::{Answer, Fields, Refused, back, blocking};
use crate::form;
use crate::page::{Frame, Place, page};
use crate::places::week_plan::cells;
use crate::state::{Row, content, report};
use answer::{Entry, Status};
use axum::Router;
use axum::extract::{DefaultBodyLimit, Form, Multipart, Path, Query, State};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use desk::ReadPlan;
use desk::problem::{Problem, Report};
use maud::{Markup, html};
use programme::Client;
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};
use store::{ClientId, NewClient, WeekContent};

/// Largest file taken, bytes; the reader has limits of its own for what a workbook unpacks to.
const MOST_BYTES: usize = 16 * 1024 * 1024;
/// Files that wait for their review at a time.
const MOST_WAITING: usize = 20;

pub fn routes() -> Router<Arc<App>> {
    Router::new()
        .route("/import", get(ask).post(upload))
        .layer(DefaultBodyLimit::max(MOST_BYTES + 64 * 1024))
        .route("/import/{n}", get(review).post(save))
}

/// Files read and not yet stored. They live as long as the program: nothing is kept of a file nobody accepted.
#[derive(Default)]
pub struct Waiting {
    files: Mutex<(u64, BTreeMap<u64, Arc<Read>>)>,
}

/// A file that was read.
pub struct Read {
    name: String,
    plan: ReadPlan,
    client: Client,
    /// The client it was read for.
    of: Option<ClientId>,
}

impl Waiting {
    fn put(&self, read: Read) -> u64 {
        let mut files = self.files.lock().unwrap_or_else(PoisonError::into_inner);
        files.0 += 1;
        let n = files.0;
        files.1.insert(n, Arc::new(read));
        while files.1.len() > MOST_WAITING {
            files.1.pop_first();
        }
        n
    }
    fn get(&self, n: u64) -> Result<Arc<Read>, Refused> {
        let files = self.files.lock().unwrap_or_else(PoisonError::into_inner);
        files.1.get(&n).cloned().ok_or_else(|| {
            Problem::error("", "this file is not waiting any more").remedy("choose it again under Import").into()
        })
    }
    fn take(&self, n: u64) {
        self.files.lock().unwrap_or_else(PoisonError::into_inner).1.remove(&n);
    }
}

async fn ask(State(app): State<Arc<App>>, Query(query): Query<BTreeMap<String, String>>) -> Answer {
    let clients = app.store.clients(false)?;
    let chosen: Option<ClientId> = query.get("client").and_then(|c| c.parse().ok());
    let body = html! {
        form.card method="post" action="/import" enctype="multipart/form-data" {
            label.block { "For whom"
                select name="client" {
                    option value="" { "a new client (or the one the workbook describes)" }
                    @for c in &clients { option value=(c.id) selected[chosen == Some(c.id)] { (c.name) } }
                }
            }
            label.block { "The plan: .xlsx, .ods, .csv or .toml, up to 16 MB" input type="file" name="plan" accept=".xlsx,.ods,.csv,.toml" required; }
            button { "Read it" }
            p.grey { "Nothing is stored yet: next you see how every row was read, and can correct it." }
        }
        @let matches = app.store.matches()?;
        @if !matches.is_empty() {
            details.card { summary { "Names you have corrected (" (matches.len()) ")" }
                ul.lines { @for m in &matches { li { (m.typed) " means " b { (m.movement) } } } }
            }
        }
    };
    let about = html! { "From the sheet you have" };
    Ok(page(&Frame { place: Some(Place::Week), finding: "Read a plan from a file", about }, body).into_response())
}

async fn upload(State(app): State<Arc<App>>, mut parts: Multipart) -> Response {
    let (mut name, mut bytes, mut of) = (String::new(), None, None);
    loop {
        let part = match parts.next_field().await {
            Ok(Some(part)) => part,
            Ok(None) => break,
            Err(e) => return too_large(&e.body_text()).into_response(),
        };
        match part.name() {
            Some("plan") => {
                // The name is for messages alone; no path is made of it.
                name = part.file_name().unwrap_or("plan").rsplit(['/', '\\']).next().unwrap_or("plan").to_string();
                match part.bytes().await {
                    Ok(b) => bytes = Some(b),
                    Err(e) => return too_large(&e.body_text()).into_response(),
                }
            }
            Some("client") => of = part.text().await.ok().and_then(|t| t.parse::<ClientId>().ok()),
            _ => {}
        }
    }
    blocking(move || {
        let bytes = bytes.filter(|b| !b.is_empty()).ok_or_else(|| Problem::error("the plan", "no file was chosen"))?;
        if bytes.len() > MOST_BYTES {
            return Err(too_large("the file is larger than 16 MB"));
        }
        let client = of.map(|id| app.known(id)).transpose()?.map(|k| k.client);
        let desk = app.desk(client, 0);
        let request = desk::AuditRequest { bytes: &bytes, name: &name, week: None, kit: None };
        let (mut plan, client) = desk.read_plan_and_client(&request)?;
        app.name_rows(&mut plan.entries);
        remembered(&app, &client, &mut plan.entries)?;
        let n = app.waiting.put(Read { name, plan, client, of });
        back(&format!("/import/{n}"))
    })
    .await
}

fn too_large(what: &str) -> Refused {
    Problem::error("the plan", format!("it could not be taken: {what}"))
        .remedy("save the sheet with the plan alone in a new workbook")
        .into()
}

/// Names a coach has corrected before are read as they were meant.
fn remembered(app: &App, client: &Client, entries: &mut [Entry]) -> Result<(), Refused> {
    let matches = app.store.matches()?;
    for e in entries.iter_mut() {
        let typed = e.text.to_lowercase();
        if matches.iter().any(|m| m.typed == typed.trim()) {
            *e = named(app, client, e, &e.text.clone())?;
        }
    }
    Ok(())
}

/// An entry under another name; sets, repetitions and the rest stay as they were read.
fn named(app: &App, client: &Client, e: &Entry, exercise: &str) -> Result<Entry, Report> {
    let row =
        Row { day: e.day.clone(), exercise: exercise.into(), sets: "1".into(), reps: "1".into(), ..Row::default() };
    let new = app.read_row(client, &row)?;
    let status = if new.movement.is_some() && e.sets_high > 0.0 { Status::Assumed } else { new.status };
    let mut assumptions = e.assumptions.clone();
    assumptions.push(format!("“{}” taken as {}", e.text, new.name));
    Ok(Entry {
        movement: new.movement,
        name: new.name,
        settings: new.settings,
        confidence: new.confidence,
        status,
        assumptions,
        ..e.clone()
    })
}

async fn review(State(app): State<Arc<App>>, Path(n): Path<u64>) -> Answer {
    let read = app.waiting.get(n)?;
    let counted = |s: Status| read.plan.entries.iter().filter(|e| e.status == s).count();
    let (certain, assumed, unknown) = (counted(Status::Certain), counted(Status::Assumed), counted(Status::Unknown));
    let exercises = certain + assumed + unknown;
    let finding = format!(
        "{exercises} exercises in {}: {certain} read as written, {assumed} with an assumption, {unknown} not understood",
        read.name
    );
    let left_out: Vec<&Entry> = read.plan.entries.iter().filter(|e| e.status == Status::Ignored).collect();
    let clients = app.store.clients(false)?;
    let of = read.of.and_then(|id| clients.iter().find(|c| c.id == id));
    let body = html! {
        form method="post" action={ "/import/" (n) } {
            @if !read.plan.messages.is_empty() {
                section.card { h2 { "What the reader says" } ul.lines { @for m in &read.plan.messages {
                    li { b { (m.level) } " " span.grey { (m.place) } " " (m.text) }
                } } }
            }
            table.card.review { thead { tr { th scope="col" { "Where" } th scope="col" { "As written" } th scope="col" { "Read as" } th scope="col" { "Sets and the rest" } th scope="col" { "Assumed" } } }
                tbody { @for (i, e) in read.plan.entries.iter().enumerate().filter(|(_, e)| e.status != Status::Ignored) { (row(&app, i, e)) } }
            }
            @if !left_out.is_empty() { details.card { summary { (left_out.len()) " rows are no exercises and count nowhere" }
                ul.lines { @for e in &left_out { li { span.grey { (e.sheet) " " (e.row) " " } (e.text) " " span.grey { (e.assumptions.join("; ")) } } } }
            } }
            section.card { h2 { "Store it" }
                @match of {
                    Some(c) => { input type="hidden" name="client" value=(c.id); p { "As a week of " b { (c.name) } "." } }
                    None => {
                        label.block { "For whom" select name="client" {
                            option value="" { "a new client" }
                            @for c in &clients { option value=(c.id) { (c.name) } }
                        } }
                        label.block { "Name of the new client" input name="name" value=(read.client.name); }
                    }
                }
                label.block { "Name of the week" input name="week" value=(week_name(&read.name)); }
                button { "Store" @if read.plan.weeks > 1 { " all " (read.plan.weeks) " weeks" } }
            }
        }
        datalist id="movements" { @for m in &app.house.library.catalogue.movements { option value=(m.name) {} } }
    };
    let about = html! { "Nothing is stored yet. Correct a name where it was read wrongly: it is remembered for the next sheet." };
    Ok(page(&Frame { place: Some(Place::Week), finding: &finding, about }, body).into_response())
}

fn row(app: &App, i: usize, e: &Entry) -> Markup {
    let name = if e.movement.is_some() { e.name.as_str() } else { "" };
    html! {
        tr.unknown[e.status == Status::Unknown] {
            td.grey { (e.sheet) " " (e.row) br; (e.day) @if e.week > 1 { ", week " (e.week) } }
            td { (e.text) }
            td {
                @if e.status == Status::Ignored { span.grey { "left out: warm-up, cardio, a title or a total" } } @else {
                    input name={ "as" (i) } value=(name) list="movements" aria-label={ "Read " (e.text) " as" } placeholder="type a movement";
                    @if e.status == Status::Unknown { p.wrong { "Not understood." (app.nearest(e)) } }
                }
            }
            td { (dose(e)) }
            td { (e.assumptions.join("; ")) }
        }
    }
}

/// "3 sets × 8, RIR 2, 60 kg, rest 120 s": the cells of a row as they were read.
fn dose(e: &Entry) -> String {
    let [sets, reps, rir, load, rest] = cells(e);
    if e.sets_high <= 0.0 {
        return String::new();
    }
    let mut said = format!("{sets} {}", if sets == "1" { "set" } else { "sets" });
    let mut put = |before: &str, cell: &str, after: &str| {
        if !cell.is_empty() {
            said.push_str(&format!("{before}{cell}{after}"));
        }
    };
    put(" × ", &reps, "");
    put(", RIR ", &rir, "");
    put(", ", &load, "");
    put(", rest ", &rest, " s");
    said
}

/// A file's name without its ending.
fn week_name(file: &str) -> String {
    file.rsplit_once('.').map_or(file, |(stem, _)| stem).to_string()
}

async fn save(State(app): State<Arc<App>>, Path(n): Path<u64>, rows: Form<Vec<(String, String)>>) -> Response {
    blocking(move || {
        let sent = fields(rows);
        let read = app.waiting.get(n)?;
        let client = match sent.get("client") {
            "" => None,
            id => Some(app.known(id.parse().map_err(|_| Problem::error("client", "no such client"))?)?),
        };
        let whose = client.as_ref().map_or(&read.client, |k| &k.client);
        let entries = corrected(&app, whose, &read, &sent)?;
        let id = match &client {
            Some(known) => known.row.id,
            None => new_client(&app, &read.client, sent.get("name"))?,
        };
        let name = sent.get("week").trim();
        let name = if name.is_empty() { "New week" } else { name };
        let (mut first, weeks) = (None, read.plan.weeks.max(1));
        // The newest of several comes last, so that it stands first in the list.
        for w in 1..=weeks {
            let of_week: Vec<Entry> =
                entries.iter().filter(|e| weeks == 1 || e.week == w).cloned().map(|e| Entry { week: 1, ..e }).collect();
            if of_week.is_empty() {
                continue;
            }
            let plan = ReadPlan {
                entries: of_week,
                messages: read.plan.messages.clone(),
                pain_words: read.plan.pain_words.clone(),
                weeks: 1,
            };
            let title = if weeks > 1 { format!("{name}, week {w}") } else { name.to_string() };
            let week = app.store.add_week(id, &title, None, &content(plan), &format!("read from {}", read.name))?;
            first = first.or(Some(week));
        }
        let week = match first {
            Some(week) => week,
            None => app.store.add_week(id, name, None, &WeekContent::default(), &format!("read from {}", read.name))?,
        };
        app.waiting.take(n);
        back(&format!("/week/{week}"))
    })
    .await
}

/// Entries with the coach's corrections, each remembered.
fn corrected(app: &App, client: &Client, read: &Read, sent: &Fields) -> Result<Vec<Entry>, Refused> {
    let mut entries = read.plan.entries.clone();
    for (i, e) in entries.iter_mut().enumerate() {
        let want = sent.get(&format!("as{i}")).trim();
        let now = if e.movement.is_some() { e.name.as_str() } else { "" };
        if want.is_empty() || want == now {
            continue;
        }
        let new = named(app, client, e, want)?;
        let Some(movement) = &new.movement else {
            let problem = Problem::error(&e.text, format!("\"{want}\" is no movement that is known"));
            return Err(problem.nearest(new.extra.nearest.iter().map(|(n, _)| n.clone()).take(3).collect()).into());
        };
        app.store.remember_match(&e.text, movement, &new.settings)?;
        *e = new;
    }
    Ok(entries)
}

/// A new client out of what the workbook said.
fn new_client(app: &App, client: &Client, name: &str) -> Result<ClientId, Refused> {
    let name = if name.trim().is_empty() { client.name.trim() } else { name.trim() };
    if name.is_empty() {
        return Err(Problem::error("name", "the new client needs a name").into());
    }
    let mut sent = vec![("name".to_string(), name.to_string())];
    let mut put = |key: &str, value: Option<String>| sent.extend(value.map(|v| (key.to_string(), v)));
    let number = |v: Option<f64>| v.map(|v| desk::text::short(v, 2));
    put("sex", client.sex.map(|s| if s == programme::client::Sex::Female { "female".into() } else { "male".into() }));
    put("stature_cm", number(client.stature_cm));
    put("mass_kg", number(client.mass_kg));
    put("age_years", number(client.age(desk::today())));
    put("training_years", number(client.training_years));
    put("minutes", number(client.minutes));
    put("pregnancy_weeks", number(client.pregnancy_weeks));
    put("postpartum_weeks", number(client.postpartum_weeks));
    let list = |l: &[String]| Some(l.join("; ")).filter(|t| !t.is_empty());
    put("days", list(&client.days).or_else(|| number(client.days_per_week)));
    put("conditions", list(&client.conditions));
    put("medicines", list(&client.medicines));
    put("new_movements", list(&client.new_movements));
    put("notes", Some(client.notes.clone()).filter(|n| !n.is_empty()));
    put("energy_deficit", client.energy_deficit.then(|| "yes".into()));
    put("returning", client.returning.then(|| "yes".into()));
    match &client.kit {
        Some(programme::client::Kit::Id(id)) => put("kit", Some(id.clone())),
        Some(programme::client::Kit::Items(items)) => put("kit", list(items)),
        None => {}
    }
    for (tape, cm) in &client.tape_cm {
        put(&format!("tape_cm.{tape}"), number(Some(*cm)));
    }
    for (group, aim) in &client.aims {
        put(&format!("aims.{group}"), Some(aim.word().into()));
    }
    let answers = [
        ("exercises_regularly", client.screening.exercises_regularly),
        ("known_disease", client.screening.known_disease),
        ("symptoms", client.screening.symptoms),
    ];
    for (key, answer) in answers {
        put(&format!("screening.{key}"), answer.map(|a| if a { "yes".into() } else { "no".into() }));
    }
    put("screening.date", client.screening.date.map(|d| d.to_string()));
    if !client.pains.is_empty() {
        for p in &client.pains {
            put("pain.place", Some(p.place.clone()));
            put("pain.score", Some(number(p.score).unwrap_or_default()));
            put("pain.since", Some(p.since.clone().unwrap_or_default()));
            put("pain.movement", Some(p.movement.clone().unwrap_or_default()));
        }
        put("form", Some("1".into()));
    }
    let file =
        form::filled(&desk::client_template(), &sent).map_err(|e| Report::internal(format!("the client file: {e}")))?;
    // What was read is inside its limits; the file must be readable again.
    desk::read_client(&file, name)?;
    app.store.add_client(&NewClient { name, file: &file }).map_err(|e| report(&e).into())
}
