//! Evidence: why should anyone believe this? The check table, how sure we are, sources.

use crate::App;
use crate::answers::{Answer, blocking};
use crate::ask::Query as Fields;
use crate::page::{Frame, Place, page};
use answer::{Evidence, ProofRow, Sure};
use axum::Router;
use axum::extract::{Query, State};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use desk::Proof;
use desk::problem::Report;
use desk::text;
use maud::{Markup, html};
use std::sync::{Arc, OnceLock};

pub fn routes() -> Router<Arc<App>> {
    Router::new()
        .route("/evidence", get(show))
        .route("/evidence/table", get(table))
        .route("/evidence/studies", get(studies))
        .route("/evidence/studies/parts", get(studies_parts))
        .route("/evidence/sure", get(sure))
        .route("/evidence/sure/parts", get(sure_parts))
        .route("/evidence/sources", get(sources))
}

/// Every comparison, worked out once a run of the program.
fn proof() -> &'static Result<Proof, Report> {
    static DONE: OnceLock<Result<Proof, Report>> = OnceLock::new();
    DONE.get_or_init(|| desk::proof(None, None).map(|(p, _)| p))
}

fn all_sure() -> &'static Result<Sure, Report> {
    static DONE: OnceLock<Result<Sure, Report>> = OnceLock::new();
    DONE.get_or_init(|| desk::sure(None))
}

fn all_studies() -> &'static Result<Evidence, Report> {
    static DONE: OnceLock<Result<Evidence, Report>> = OnceLock::new();
    DONE.get_or_init(|| desk::evidence(None).map(|(e, _)| e))
}

async fn studies(State(_): State<Arc<App>>) -> Answer {
    let body = html! {
        (links("/evidence/studies"))
        div data-load="/evidence/studies/parts" { p.note { "Every study is being predicted; some seconds the first time. " a href="/evidence/studies/parts?page=1" { "Wait for it" } } }
    };
    let about = html! { "What was measured in training, beside what we predict" };
    Ok(page(&Frame { place: Some(Place::Evidence), finding: "Training studies", about }, body).into_response())
}

fn percent(v: f64) -> String {
    format!("{} %", text::number(100.0 * v, 0))
}

async fn studies_parts(State(_): State<Arc<App>>, Query(fields): Query<Fields>) -> Response {
    blocking(move || {
        let e = all_studies().as_ref().map_err(Clone::clone)?;
        let finding = match e.classes.first() {
            Some(c) => format!(
                "{} of {} measured differences go the way we predict ({}); counting sets gets {}",
                (c.right * c.n as f64).round(), c.n, percent(c.right), percent(c.rule_convention_right)
            ),
            None => "No study could be predicted".to_string(),
        };
        let part = html! {
            template data-finding { (finding) }
            section.card { h2 { "Agreement by class" } div.scroll { table {
                thead { tr { th scope="col" { "Class" } th scope="col" { "Rows" } th scope="col" { "We" } th scope="col" { "On unseen halves" } th scope="col" { "Counting sets" } th scope="col" { "Shortening × length" } } }
                tbody { @for c in &e.classes { tr { th scope="row" { (c.class) } td.n { (c.n) } td.n { (percent(c.right)) " (" (percent(c.low)) "–" (percent(c.high)) ")" }
                    td.n { @match &c.unseen { Some(u) => (percent(u.right)), None => "–" } } td.n { (percent(c.rule_convention_right)) } td.n { (percent(c.rule_shortening_right)) } } } }
            } } }
            @for s in &e.studies { details.card { summary { b { (s.citation) } " " span.grey { (s.participants) ", " (text::short(s.weeks, 1)) " weeks" } }
                p { (s.sentence) }
                div.scroll { table { thead { tr { th scope="col" { "Condition" } th scope="col" { "Muscle" } th scope="col" { "Measured" } th scope="col" { "Predicted (1 = a direct movement)" } th scope="col" { "How known" } } }
                    tbody { @for r in &s.results { tr { th scope="row" { (r.condition) } td { (r.muscle) @if !r.region.is_empty() { " " span.grey { (r.region) } } }
                        td.n { @match r.change_percent { Some(v) => { (text::signed(v, 1)) " %" @if let Some(sd) = r.change_sd { " ± " (text::number(sd, 1)) } }, None => "–" } }
                        td.n { (r.predicted.map_or("–".to_string(), |v| text::number(v, 2))) } td.small { (r.how) } } } }
                } }
                @let rows: Vec<_> = e.rows.iter().filter(|r| r.study == s.id).collect();
                @if !rows.is_empty() { ul.lines { @for r in rows { li { @if r.right { "Right: " } @else { b { "Miss: " } } (r.contrast) ": expected " (r.expected) ", predicted " (r.predicted) @if !r.reason.is_empty() { " " span.grey { "(" (r.reason) ")" } } } } } }
                @for n in &s.notes { p.note { (n) } }
            } }
            @if !e.unmapped.is_empty() { details.card { summary { (e.unmapped.len()) " rows could not be used" } ul.lines { @for u in &e.unmapped { li { (u.study) ", " (u.what) ": " (u.reason) } } } } }
            details.card { summary { "How this was worked out" } ul.lines { @for n in &e.notes { li { (n) } } } }
        };
        if fields.contains_key("page") {
            let about = html! { "What was measured in training, beside what we predict" };
            return Ok(page(&Frame { place: Some(Place::Evidence), finding: &finding, about }, html! { (links("/evidence/studies")) (part) }).into_response());
        }
        Ok(part.into_response())
    })
    .await
}

fn links(here: &str) -> Markup {
    html! { nav.actions aria-label="Evidence" {
        @for (to, word) in [("/evidence", "Comparisons"), ("/evidence/studies", "Training studies"), ("/evidence/sure", "How sure are we"), ("/evidence/sources", "Sources")] {
            a href=(to) aria-current=[(to == here).then_some("page")] { (word) }
        }
    } }
}

async fn show(State(_): State<Arc<App>>) -> Answer {
    let body = html! {
        (links("/evidence"))
        div data-load="/evidence/table" { p.note { "Every comparison is being worked out; this takes a few seconds the first time. " a href="/evidence/table?page=1" { "Wait for it" } } }
    };
    let about = html! { "Why should anyone believe this?" };
    Ok(page(&Frame { place: Some(Place::Evidence), finding: "What we compute beside what was measured", about }, body)
        .into_response())
}

async fn table(State(_): State<Arc<App>>, Query(fields): Query<Fields>) -> Response {
    blocking(move || {
        let proof = proof().as_ref().map_err(Clone::clone)?;
        let inside = proof.rows.iter().filter(|r| r.pass).count();
        let finding = format!("{inside} of {} published numbers lie inside their spread; every miss is listed", proof.rows.len());
        let part = html! {
            template data-finding { (finding) }
            @for s in group_names(&proof.rows) {
                @let rows: Vec<&ProofRow> = proof.rows.iter().filter(|r| r.group == s).collect();
                @let right = rows.iter().filter(|r| r.pass).count();
                details.card { summary { b { (figure::words::capital(&s.replace('-', " "))) } ": " (right) " of " (rows.len()) " inside (" (text::number(100.0 * right as f64 / rows.len() as f64, 0)) " %)" }
                    @let misses: Vec<&&ProofRow> = rows.iter().filter(|r| !r.pass).collect();
                    @if misses.is_empty() { p { "No miss." } } @else {
                        div.scroll { table { thead { tr { th scope="col" { "Miss" } th scope="col" { "Ours" } th scope="col" { "Published" } th scope="col" { "Source" } th scope="col" { "Cause we believe" } } }
                            tbody { @for r in misses { tr { th scope="row" { (r.id) br; span.grey.small { (r.note) } }
                                td.n { (r.value.map_or("–".to_string(), |v| text::short(v, 2))) } td.n { (text::short(r.published, 2)) " ± " (text::short(r.tolerance, 2)) " " (r.unit) }
                                td.small { (r.source) br; span.grey { (r.how) } } td.small { (r.reason) } } } }
                        } }
                    }
                }
            }
        };
        if fields.contains_key("page") {
            let about = html! { "Why should anyone believe this?" };
            return Ok(page(&Frame { place: Some(Place::Evidence), finding: &finding, about }, html! { (links("/evidence")) (part) }).into_response());
        }
        Ok(part.into_response())
    })
    .await
}

fn group_names(rows: &[ProofRow]) -> Vec<&str> {
    let mut names: Vec<&str> = Vec::new();
    for r in rows {
        if !names.contains(&r.group.as_str()) {
            names.push(&r.group);
        }
    }
    names
}

async fn sure(State(_): State<Arc<App>>) -> Answer {
    let body = html! {
        (links("/evidence/sure"))
        div data-load="/evidence/sure/parts" { p.note { "Being worked out; a few seconds the first time. " a href="/evidence/sure/parts?page=1" { "Wait for it" } } }
    };
    let about = html! { "Muscle group by muscle group" };
    Ok(page(&Frame { place: Some(Place::Evidence), finding: "How sure are we?", about }, body).into_response())
}

async fn sure_parts(State(_): State<Arc<App>>, Query(fields): Query<Fields>) -> Response {
    blocking(move || {
        let sure = all_sure().as_ref().map_err(Clone::clone)?;
        let part = html! {
            @for g in &sure.groups { details.card { summary { b { (g.group) } ": " (g.sentence) }
                div.scroll { table { thead { tr { th scope="col" { "Kind of comparison" } th scope="col" { "Inside" } th scope="col" { "In words" } } }
                    tbody { @for k in &g.kinds { tr { th scope="row" { (k.kind) } td.n { (k.inside) " of " (k.rows) } td { (k.words) } } } }
                } }
                @if !g.misses.is_empty() { p { "Where it misses, and why we believe so:" } ul { @for m in &g.misses { li { (m.reason) " " span.grey { "(" (m.rows) ")" } } } } }
                @if !g.low_confidence.is_empty() { p { "Low confidence: " (g.low_confidence.iter().map(|h| h.plain.as_str()).collect::<Vec<_>>().join(", ")) } }
                p.grey.small { "Its numbers: " (g.basis.looked_up) " looked up, " (g.basis.fitted) " fitted to published numbers, " (g.basis.from_memory) " from memory, " (g.basis.own_estimate) " own estimates" @if g.basis.other > 0 { ", " (g.basis.other) " told in other words" } "." }
            } }
        };
        if fields.contains_key("page") {
            let about = html! { "Muscle group by muscle group" };
            return Ok(page(&Frame { place: Some(Place::Evidence), finding: "How sure are we?", about }, html! { (links("/evidence/sure")) (part) }).into_response());
        }
        Ok(part.into_response())
    })
    .await
}

async fn sources(State(_): State<Arc<App>>, Query(fields): Query<Fields>) -> Response {
    blocking(move || {
        let id = fields.get("id").map(|i| i.trim()).filter(|i| !i.is_empty());
        let sources = desk::sources(id)?;
        let finding = match &sources.id {
            Some(id) => format!("{} rows of the data stand behind {id}", sources.rows.len()),
            None => format!("{} data files, every row with its source", sources.files.len()),
        };
        let body = html! {
            (links("/evidence/sources"))
            form.row action="/evidence/sources" { label { "Rows about" input name="id" value=(id.unwrap_or_default()) placeholder="soleus"; } button { "Show" } }
            @if sources.id.is_none() {
                div.scroll { table.card { thead { tr { th scope="col" { "File" } th scope="col" { "Rows" } th scope="col" { "How they are known" } } }
                    tbody { @for f in &sources.files { tr { th scope="row" { (f.file) } td.n { (f.rows) } td { (f.how.iter().take(4).map(|(h, n)| format!("{n} {h}")).collect::<Vec<_>>().join(", ")) } } } }
                } }
            }
            @for r in &sources.rows { details.card open[sources.rows.len() <= 4] { summary { b { (r.file) } " line " (r.line) }
                dl { @for (k, v) in r.cells.iter().filter(|(_, v)| !v.is_empty()) { dt.grey { (k) } dd { (v) } } }
            } }
        };
        let about = html! { "Where the numbers come from" };
        Ok(page(&Frame { place: Some(Place::Evidence), finding: &finding, about }, body).into_response())
    })
    .await
}
