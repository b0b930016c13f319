//! Client: who is this? Body, kit, time, aims, pains and the screening gate.

use super::start::{day, fields};
use crate::App;
use crate::answers::{Answer, Fields, back, blocking};
use crate::form::{self, Kind, PLAIN, SCREENING, TAPES};
use crate::page::{Frame, Place, page};
use crate::state::Known;
use answer::Flag;
use axum::Router;
use axum::extract::{Form, Path, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use desk::problem::Report;
use maud::{Markup, html};
use programme::Client;
use std::sync::Arc;
use store::{ClientId, ClientRow, NewClient};
use toml_edit::{DocumentMut, Item};

type Rows = Form<Vec<(String, String)>>;

pub fn routes() -> Router<Arc<App>> {
    Router::new()
        .route("/client", get(|| async { axum::response::Redirect::to("/") }))
        .route("/client/new", get(new).post(add))
        .route("/client/{id}", get(show).post(save))
        .route("/client/{id}/text", get(text).post(save_text))
        .route("/client/{id}/copy", post(copy))
        .route("/client/{id}/away", post(away))
        .route("/client/{id}/week", post(add_week))
        .route("/clients/away", get(put_away))
}

/// A new client's file: nothing but the name, with the template's comments kept for whoever opens it as text.
fn blank() -> String {
    desk::client_template().replacen("name = \"New client\"", "name = \"\"", 1)
}

async fn new(State(app): State<Arc<App>>) -> Answer {
    let body = form_of(&app, "/client/new", &blank(), None, &Report::default(), "Add this client");
    let about = html! { "Only the name is needed; what is missing is assumed and said." };
    Ok(page(&Frame { place: Some(Place::Client), finding: "A new client", about }, body).into_response())
}

async fn add(State(app): State<Arc<App>>, rows: Rows) -> Response {
    blocking(move || {
        let sent = fields(rows);
        match read_form(&blank(), &sent) {
            Ok((client, file)) => {
                let id = app.store.add_client(&NewClient { name: &client.name, file: &file })?;
                back(&format!("/client/{id}"))
            }
            Err((file, report)) => Ok(again(&app, "/client/new", &file, None, &report, "Add this client")),
        }
    })
    .await
}

/// The page of a form that was not accepted; what was typed stays.
fn again(app: &App, to: &str, file: &str, row: Option<&ClientRow>, report: &Report, word: &str) -> Response {
    let body = form_of(app, to, file, row, report, word);
    let frame = Frame {
        place: Some(Place::Client),
        finding: "Not saved yet: please look at the marked fields",
        about: html! {},
    };
    (StatusCode::UNPROCESSABLE_ENTITY, page(&frame, body)).into_response()
}

/// Client and file out of a form, or the file with all its problems.
fn read_form(file: &str, sent: &Fields) -> Result<(Client, String), (String, Report)> {
    let file = form::filled(file, &sent.0)
        .map_err(|e| (file.to_string(), desk::problem::Problem::error("the file", e).into()))?;
    if sent.get("name").trim().is_empty() {
        return Err((file, desk::problem::Problem::error("", "name is empty").expected("a name, at least").into()));
    }
    match desk::read_client(&file, "") {
        Ok((client, _)) => Ok((client, file)),
        Err(report) => Err((file, report)),
    }
}

async fn show(State(app): State<Arc<App>>, Path(id): Path<ClientId>) -> Response {
    blocking(move || {
        let known = app.known(id)?;
        Ok(client_page(&app, &known)?.into_response())
    })
    .await
}

fn client_page(app: &App, known: &Known) -> Result<Markup, crate::answers::Refused> {
    let (row, client) = (&known.row, &known.client);
    let today = desk::today();
    let gate = programme::screening::screen(client, &[], &[], today, &app.rules);
    let weeks = app.store.weeks(row.id)?;
    let finding = format!("{}: {}", row.name, gate_said(&gate.flags));
    let percentiles = app.house.library.percentiles(&desk::person(client)).unwrap_or_default();
    let missing = client.missing();
    let about = html! { (client.summary(today)) };
    let body = html! {
        (flags(&gate.flags))
        section.card id="weeks" aria-labelledby="weeks-title" {
            h2 id="weeks-title" { "Weeks" }
            @if weeks.is_empty() { p { "None yet." } }
            ul.lines {
                @for w in &weeks {
                    li { a href={ "/week/" (w.id) } { (w.name) } span.grey { " · changed " (day(&w.changed)) } }
                }
            }
            form.row method="post" action={ "/client/" (row.id) "/week" } {
                label { "Name of a new week" input name="name" value="New week" required; }
                @let templates = app.store.templates()?;
                label { "Begin with"
                    select name="from" {
                        option value="" { "an empty week" }
                        @for t in &templates { option value={ "template:" (t.id) } { "template: " (t.name) } }
                        @for w in &weeks { option value={ "week:" (w.id) } { "a copy of " (w.name) } }
                    }
                }
                button { "Add week" }
                a.button.quiet href={ "/import?client=" (row.id) } { "Read one from a file" }
            }
        }
        @if !percentiles.is_empty() {
            section.card aria-labelledby="body-title" {
                h2 id="body-title" { "Proportions" }
                p.grey { "Percentile: so many of a hundred of the same sex in the source have less. They are soldiers, younger and leaner than most people." }
                table { thead { tr { th scope="col" { "Measure" } th.n scope="col" { "Value" } th.n scope="col" { "Percentile" } th scope="col" { "Source" } } }
                    tbody { @for p in &percentiles {
                        tr { th scope="row" { (figure::words::capital(&p.what)) } td.n { (measure(p)) } td.n { (format!("{:.0}", p.percentile)) } td.grey { (p.source) } }
                    } }
                }
            }
        }
        @if !missing.is_empty() {
            section.note { h2 { "Assumed, because it is not said" } ul { @for m in &missing { li { (m) } } } }
        }
        h2 { "Change" }
        (form_of(app, &format!("/client/{}", row.id), &row.file, Some(row), &Report::default(), "Save"))
        details.card {
            summary { "The client file as text" }
            form method="post" action={ "/client/" (row.id) "/text" } {
                input type="hidden" name="version" value=(row.version);
                label.block { "Every field of the file, with its comments" textarea name="file" rows="24" spellcheck="false" { (row.file) } }
                button { "Save the text" }
                a.button.quiet href={ "/client/" (row.id) "/text" } download { "Save it to a file" }
            }
        }
        form.row method="post" action={ "/client/" (row.id) "/copy" } { button.quiet { "Copy this client" } }
        form.row method="post" action={ "/client/" (row.id) "/away" } {
            input type="hidden" name="away" value=(if row.put_away { "no" } else { "yes" });
            button.quiet { (if row.put_away { "Back onto the list" } else { "Put away" }) }
            span.grey { "Nothing is deleted." }
        }
    };
    Ok(page(&Frame { place: Some(Place::Client), finding: &finding, about }, body))
}

/// What the gate asks for before training, in one clause: the most urgent flag and who lifts it.
pub fn gate_said(flags: &[Flag]) -> String {
    let Some(f) = flags.first() else { return "nothing said so far stands against training".into() };
    let short = f.text.split([':', ';', '[']).next().unwrap_or_default().trim().trim_end_matches('.');
    let small = |part: &str| -> String {
        let mut letters = part.chars();
        letters.next().map_or(String::new(), |c| c.to_lowercase().chain(letters).collect())
    };
    // "Week 20. Pregnant" becomes part of a sentence.
    let what = short.split(". ").map(small).collect::<Vec<_>>().join(", ");
    let who = f.who_lifts.split([',', ';']).next().unwrap_or_default().trim();
    match f.level.as_str() {
        "stop" => format!("do not train yet: {what}"),
        "clearance" if !who.is_empty() => format!("a word from the {who} comes first ({what})"),
        "clearance" => format!("a clearance comes first ({what})"),
        "refer" => format!("see a clinician about this first: {what}"),
        _ => format!("mind {what}"),
    }
}

/// "180 cm", "82 kg", "0.26": a length in centimetres, a ratio without a unit.
fn measure(p: &answer::Percentile) -> String {
    match p.unit.as_str() {
        "m" => format!("{} cm", desk::text::number(100.0 * p.value, 0)),
        "1" => desk::text::number(p.value, 2),
        unit => format!("{} {unit}", desk::text::short(p.value, 1)),
    }
}

/// Cautions, most urgent first: what, who lifts it, signs on which to stop.
pub fn flags(flags: &[Flag]) -> Markup {
    html! {
        @if !flags.is_empty() {
            section.flags aria-label="Cautions" {
                @for f in flags {
                    div class=(if matches!(f.level.as_str(), "stop" | "clearance" | "refer") { "stop" } else { "note" }) {
                        p { b { (figure::words::capital(&f.level)) } ": " (f.text)
                            @if !f.who_lifts.is_empty() { " " span.grey { "Lifted by: " (f.who_lifts) "." } } }
                        @if !f.stop_signs.is_empty() {
                            details { summary { "Stop and ask for help when" } ul { @for s in &f.stop_signs { li { (s) } } } }
                        }
                    }
                }
            }
        }
    }
}

async fn save(State(app): State<Arc<App>>, Path(id): Path<ClientId>, rows: Rows) -> Response {
    blocking(move || {
        let sent = fields(rows);
        let row = app.store.client(id)?;
        match read_form(&row.file, &sent) {
            Ok((client, file)) => {
                let seen = sent.number("version")?;
                app.store.save_client(id, &NewClient { name: &client.name, file: &file }, seen)?;
                back(&format!("/client/{id}"))
            }
            Err((file, report)) => Ok(again(&app, &format!("/client/{id}"), &file, Some(&row), &report, "Save")),
        }
    })
    .await
}

async fn text(State(app): State<Arc<App>>, Path(id): Path<ClientId>) -> Answer {
    let row = app.store.client(id)?;
    let headers = [
        (header::CONTENT_TYPE, "text/plain; charset=utf-8".to_string()),
        (header::CONTENT_DISPOSITION, format!("attachment; filename=\"client-{id}.toml\"")),
    ];
    Ok((headers, row.file).into_response())
}

async fn save_text(State(app): State<Arc<App>>, Path(id): Path<ClientId>, rows: Rows) -> Response {
    blocking(move || {
        let sent = fields(rows);
        let file = sent.get("file").replace("\r\n", "\n");
        let (client, _) = desk::read_client(&file, "the client file")?;
        app.store.save_client(id, &NewClient { name: &client.name, file: &file }, sent.number("version")?)?;
        back(&format!("/client/{id}"))
    })
    .await
}

async fn copy(State(app): State<Arc<App>>, Path(id): Path<ClientId>) -> Answer {
    let row = app.store.client(id)?;
    let name = format!("{} (copy)", row.name);
    let sent = [("name".to_string(), name.clone())];
    let file = form::filled(&row.file, &sent).map_err(|e| Report::from(desk::problem::Problem::error(&row.name, e)))?;
    let new = app.store.add_client(&NewClient { name: &name, file: &file })?;
    back(&format!("/client/{new}"))
}

async fn away(State(app): State<Arc<App>>, Path(id): Path<ClientId>, rows: Rows) -> Answer {
    app.store.put_away_client(id, fields(rows).get("away") == "yes")?;
    back("/")
}

async fn put_away(State(app): State<Arc<App>>) -> Answer {
    let rows: Vec<ClientRow> = app.store.clients(true)?.into_iter().filter(|c| c.put_away).collect();
    let body = html! {
        @if rows.is_empty() { p { "None." } }
        ul.lines { @for c in &rows { li { a href={ "/client/" (c.id) } { (c.name) } } } }
    };
    let frame = Frame {
        place: Some(Place::Client),
        finding: "Clients put away",
        about: html! { a href="/" { "All clients" } },
    };
    Ok(page(&frame, body).into_response())
}

async fn add_week(State(app): State<Arc<App>>, Path(id): Path<ClientId>, rows: Rows) -> Answer {
    let sent = fields(rows);
    let name = sent.get("name").trim();
    let name = if name.is_empty() { "New week" } else { name };
    let from = sent.get("from");
    let number = |text: &str| text.parse::<i64>().unwrap_or_default();
    let week = match from.split_once(':') {
        Some(("week", n)) => app.store.copy_week(number(n), id, name)?,
        Some(("template", n)) => {
            app.store.add_week(id, name, None, &app.store.template(number(n))?, "from a template")?
        }
        _ => {
            let days = app.known(id)?.client.days;
            let days = if days.is_empty() { vec!["Day 1".into()] } else { days };
            let content = store::WeekContent { days, ..Default::default() };
            app.store.add_week(id, name, None, &content, "empty")?
        }
    };
    back(&format!("/week/{week}"))
}

/// The whole form, filled from a client file, with problems beside their fields.
fn form_of(app: &App, to: &str, file: &str, row: Option<&ClientRow>, report: &Report, word: &str) -> Markup {
    let doc: DocumentMut = file.parse().unwrap_or_default();
    let wrong = |key: &str| report.problems.iter().find(|p| p.what.starts_with(key));
    let elsewhere: Vec<_> =
        report.problems.iter().filter(|p| !PLAIN.iter().any(|(k, ..)| p.what.starts_with(k))).collect();
    let groups = &answer_groups();
    html! {
        datalist id="kits" { @for k in &app.house.library.catalogue.kits { option value=(k.id) { (k.name) } } }
        form.client method="post" action=(to) {
            input type="hidden" name="form" value="1";
            @if let Some(row) = row { input type="hidden" name="version" value=(row.version); }
            @if !elsewhere.is_empty() {
                ul.problems role="alert" { @for p in &elsewhere { li.stop { (p.what) @if !p.expected.is_empty() { "; expected " (p.expected) } } } }
            }
            fieldset.card { legend { "Who, where, when" }
                div.fields {
                    @for (key, label, kind, hint) in PLAIN { (plain_field(&doc, key, label, kind, hint, wrong(key))) }
                }
            }
            fieldset.card { legend { "Tape measures, cm" }
                div.fields { @for (key, label) in TAPES {
                    label { (label) input name={ "tape_cm." (key) } inputmode="decimal" value=(inner(&doc, "tape_cm", key)); }
                } }
            }
            fieldset.card { legend { "Aims by muscle group" }
                p.grey { "Nothing chosen: the group goes with the rest, or is left alone where nobody usually trains it." }
                div.fields { @for group in groups {
                    @let now = inner(&doc, "aims", group);
                    label { (if group == "rest" { "All others" } else { group.as_str() })
                        select name={ "aims." (group) } {
                            @for (value, word) in [("", "not said"), ("focus", "focus"), ("grow", "grow"), ("keep", "keep"), ("leave", "leave")] {
                                option value=(value) selected[now == value] { (word) }
                            }
                        }
                    }
                } }
            }
            fieldset.card { legend { "Screening: three questions, and when they were answered" }
                div.fields {
                    @for (key, question) in SCREENING {
                        @let now = match inner(&doc, "screening", key).as_str() { "true" => "yes", "false" => "no", _ => "" };
                        label { (question) select name={ "screening." (key) } {
                            @for (value, word) in [("", "not asked"), ("no", "no"), ("yes", "yes")] { option value=(value) selected[now == value] { (word) } }
                        } }
                    }
                    label { "Answered on" input type="date" name="screening.date" value=(inner(&doc, "screening", "date")); }
                    label { "Clearances given, one a line: what = day" textarea name="clearances" rows="2" placeholder="hypertension = 2026-01-20" { (lines(&doc, "clearances")) } }
                    label { "Minutes of single days, one a line" textarea name="minutes_by_day" rows="2" placeholder="Thursday = 30" { (lines(&doc, "minutes_by_day")) } }
                }
            }
            fieldset.card { legend { "Pains" }
                p.grey { "Place in the client's words, 0 to 10, since when, with which movement. Strong, new or nightly pain belongs to a clinician first." }
                @for pain in pains(&doc) { div.pain {
                    label { "Place" input name="pain.place" value=(pain[0]); }
                    label { "0 to 10" input name="pain.score" inputmode="decimal" value=(pain[1]); }
                    label { "Since" input name="pain.since" value=(pain[2]); }
                    label { "With which movement" input name="pain.movement" value=(pain[3]); }
                } }
            }
            div.save { button { (word) } }
            datalist id="kits" { @for k in &app.house.library.catalogue.kits { option value=(k.id) { (k.name) } } }
        }
    }
}

fn plain_field(
    doc: &DocumentMut,
    key: &str,
    label: &str,
    kind: Kind,
    hint: &str,
    wrong: Option<&desk::problem::Problem>,
) -> Markup {
    let now = shown(doc.get(key));
    let id = format!("f-{key}");
    let described = wrong.map(|_| format!("w-{key}"));
    html! {
        div.field {
            @if kind == Kind::Flag {
                label.tick { input type="checkbox" name=(key) value="yes" checked[now == "true"]; " " (label) }
            } @else {
                label for=(id) { (label) @if !hint.is_empty() { span.grey { " (" (hint) ")" } } }
                @if key == "sex" {
                    select id=(id) name=(key) { @for (v, w) in [("", "not said"), ("female", "female"), ("male", "male")] { option value=(v) selected[now == v] { (w) } } }
                } @else if key == "notes" {
                    textarea id=(id) name=(key) rows="2" { (now) }
                } @else {
                    input id=(id) name=(key) value=(now) inputmode=[(kind == Kind::Number).then_some("decimal")]
                        list=[(key == "kit").then_some("kits")] required[key == "name"]
                        aria-invalid=[wrong.map(|_| "true")] aria-describedby=[described.as_deref()];
                }
            }
            @if let Some(p) = wrong {
                p.wrong id={ "w-" (key) } { (p.what) @if !p.expected.is_empty() { "; expected " (p.expected) }
                    @if !p.nearest.is_empty() { "; nearest: " (p.nearest.join(", ")) } }
            }
        }
    }
}

/// A value as its field shows it.
fn shown(item: Option<&Item>) -> String {
    match item {
        None | Some(Item::None) => String::new(),
        Some(item) => match (item.as_str(), item.as_array()) {
            (Some(text), _) => text.to_string(),
            (_, Some(list)) => list
                .iter()
                .map(|v| v.as_str().map_or_else(|| v.to_string().trim().to_string(), String::from))
                .collect::<Vec<_>>()
                .join(", "),
            _ => item.to_string().trim().to_string(),
        },
    }
}

fn inner(doc: &DocumentMut, table: &str, key: &str) -> String {
    shown(doc.get(table).and_then(|t| t.get(key)))
}

fn lines(doc: &DocumentMut, table: &str) -> String {
    let rows = doc.get(table).and_then(Item::as_table_like);
    rows.into_iter()
        .flat_map(|t| t.iter())
        .map(|(k, v)| format!("{k} = {}", shown(Some(v))))
        .collect::<Vec<_>>()
        .join("\n")
}

/// Pains of the file, with two empty rows to write into.
fn pains(doc: &DocumentMut) -> Vec<form::PainRow> {
    let list = doc.get("pains").and_then(Item::as_array_of_tables);
    let cell = |t: &toml_edit::Table, key: &str| shown(t.get(key));
    let mut rows: Vec<form::PainRow> = list
        .into_iter()
        .flat_map(|l| l.iter())
        .map(|t| ["place", "score", "since", "movement"].map(|k| cell(t, k)))
        .collect();
    rows.extend([form::PainRow::default(), form::PainRow::default()]);
    rows
}

/// Coach groups, and "rest" for all others.
fn answer_groups() -> Vec<String> {
    let mut groups: Vec<String> =
        desk::rules().map(|r| r.groups.iter().map(|g| g.group.clone()).collect()).unwrap_or_default();
    groups.push("rest".into());
    groups
}
