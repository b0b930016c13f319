//! Movement: what does this lift, done this way, train in this body?

use super::movement_parts::{Shown, parts};
use crate::App;
use crate::answers::{Answer, blocking};
use crate::ask::{Asked, Query as Fields, address, asked, word};
use crate::page::{Frame, Place, page};
use crate::places::week::file;
use answer::Look;
use axum::Router;
use axum::extract::{Query, State};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use desk::problem::{Problem, Report};
use figure::{Card, Options, View, compare_finding, finding};
use maud::{Markup, PreEscaped, html};
use movement::catalogue::{SettingKind, SettingSpec};
use std::sync::Arc;

pub fn routes() -> Router<Arc<App>> {
    Router::new()
        .route("/movement", get(show))
        .route("/movement/parts", get(fragment))
        .route("/movement/rep", get(rep))
        .route("/movement/why", get(why))
        .route("/movement/faults", get(faults))
        .route("/movement/similar", get(similar))
        .route("/movement/compare", get(compare))
        .route("/movement/figure", get(figure_file))
}

/// Shown when no movement is named.
const FIRST: &str = "back-squat";

/// One look with its drawing data.
pub fn look(app: &App, asked: &Asked, draws: usize) -> Result<Look, Report> {
    let looks = asked.desk(app, draws).looks(std::slice::from_ref(&asked.wish), true)?;
    looks.into_iter().next().ok_or_else(|| Report::internal("no answer"))
}

/// Draws of an address: middle values first.
fn draws(fields: &Fields) -> usize {
    if fields.get("ranges").is_some_and(|r| r == "1") { crate::state::DRAWS } else { 0 }
}

fn about(look: &Look, asked: &Asked) -> Markup {
    html! {
        (look.name) " · for "
        @match &asked.client { Some((id, _)) => a href={ "/client/" (id) } { (look.body.who) }, None => { (look.body.who) } }
        span.grey { ", " (desk::text::number(look.body.stature_m * 100.0, 0)) " cm, " (desk::text::number(look.body.mass_kg, 0)) " kg" }
    }
}

async fn show(State(app): State<Arc<App>>, Query(fields): Query<Fields>) -> Response {
    blocking(move || {
        let asked = asked(&app, &fields, "m", FIRST)?;
        let look = look(&app, &asked, draws(&fields))?;
        let shown = Shown::of(&fields);
        let clients = app.store.clients(false)?;
        let client = asked.client.as_ref().map(|(id, _)| id.to_string()).unwrap_or_default();
        let body = html! {
            @if !look.read_as.is_empty() { p.note { (look.read_as) } }
            form.movement id="settings" action="/movement" data-live="/movement/parts" {
                input type="hidden" name="m" value=(look.movement);
                div.columns {
                    div.left {
                        div id="posture" { (parts(&look, &shown, &asked, "posture")) }
                        section.card aria-label="Settings" {
                            h2 { "Settings" }
                            @for spec in settings_of(&app, &look) { (control(spec, &look)) }
                            label.line { span { "For" } select name="client" {
                                option value="" { "an average man" }
                                @for c in &clients { option value=(c.id) selected[client == c.id.to_string()] { (c.name) } }
                            } }
                            button.quiet data-without-script { "Show" }
                            p.actions {
                                a href=(address("/movement", [("m", look.movement.clone()), ("client", client.clone())])) { "Back to the usual settings" }
                                a data-with-settings href=(address("/movement/compare", [("a", look.movement.clone()), ("b", word(&look.movement, &look.settings)), ("client", client.clone())])) { "Compare with the usual" }
                            }
                        }
                    }
                    div.right id="answer" aria-live="polite" { (parts(&look, &shown, &asked, "answer")) }
                }
            }
            (cautions(&look))
            section.card data-load=(address("/movement/faults", [("m", word(&look.movement, &asked.wish.settings)), ("client", client.clone())])) { p { "Common faults: " a href=(address("/movement/faults", [("m", look.movement.clone()), ("client", client.clone()), ("page", "1".into())])) { "work them out" } } }
            section.card id="similar" {
                h2 { "Movements that do nearly the same" }
                form.row action="/movement/similar" data-into="similar-list" {
                    input type="hidden" name="m" value=(look.movement);
                    input type="hidden" name="client" value=(client);
                    label { "With this kit" select name="kit" { option value="" { "any" } @for k in &app.house.library.catalogue.kits { option value=(k.id) { (k.name) } } } }
                    label { "Spare" input name="spare" placeholder="knee, shoulder, lower back"; }
                    button { "Find" }
                }
                div id="similar-list" {}
            }
        };
        let about = about(&look, &asked);
        Ok(page(&Frame { place: Some(Place::Movement), finding: &finding(&look), about }, body).into_response())
    })
    .await
}

/// Parts of the page after a slider moved: title, figure, answer.
async fn fragment(State(app): State<Arc<App>>, Query(fields): Query<Fields>) -> Response {
    blocking(move || {
        let asked = asked(&app, &fields, "m", FIRST)?;
        let look = look(&app, &asked, draws(&fields))?;
        let shown = Shown::of(&fields);
        Ok(html! {
            div data-part="title" { (finding(&look)) }
            div data-part="posture" { (parts(&look, &shown, &asked, "posture")) }
            div data-part="answer" { (parts(&look, &shown, &asked, "answer")) }
        }
        .into_response())
    })
    .await
}

/// Settings a coach can move here, those of the family first.
fn settings_of<'a>(app: &'a App, look: &Look) -> Vec<&'a SettingSpec> {
    let library = &app.house.library;
    let family = library.catalogue.movement(&look.movement).map_or("", |m| m.family.as_str());
    let read = |s: &&SettingSpec| library.reads(&look.movement, &s.key).unwrap_or(false);
    let all = library.catalogue.settings.iter();
    let own = all.clone().filter(|s| s.family == family).filter(read);
    own.chain(all.filter(|s| s.family == "(any)").filter(read)).collect()
}

fn control(spec: &SettingSpec, look: &Look) -> Markup {
    let (label, unit) = figure::setting_label(&spec.key);
    let now = look.settings.get(&spec.key).or(spec.default.as_ref());
    let id = format!("set-{}", spec.key);
    let name = format!("set.{}", spec.key);
    html! {
        @match (&spec.kind, now) {
            (SettingKind::Number { min, max, .. }, Some(answer::SettingValue::Number(v))) => {
                @let step = step(*min, *max);
                @let (factor, decimals) = if unit == "cm" && spec.key.ends_with("_m") { (100.0, 1) } else { (1.0, 2) };
                label.line for=(id) { span { (figure::words::capital(label)) }
                    input type="range" id=(id) name=(name) min=(min) max=(max) step=(step) value=(v);
                    output for=(id) data-factor=(factor) data-unit=(unit) { (desk::text::short(v * factor, decimals)) @if !unit.is_empty() { " " (unit) } }
                }
            }
            (SettingKind::Choice { options }, now) => {
                @let now = match now { Some(answer::SettingValue::Word(w)) => w.as_str(), _ => "" };
                label.line for=(id) { span { (figure::words::capital(label)) }
                    select id=(id) name=(name) { @for o in options { option value=(o) selected[o == now] { (o.replace('-', " ")) } } }
                }
            }
            _ => {}
        }
    }
}

/// About a hundred steps over a range, each a round number.
fn step(min: f64, max: f64) -> f64 {
    let raw = ((max - min) / 100.0).max(1e-4);
    let ten = 10f64.powf(raw.log10().floor());
    [1.0, 2.0, 5.0].map(|k| k * ten).into_iter().find(|s| *s >= raw * 0.999).unwrap_or(10.0 * ten)
}

fn cautions(look: &Look) -> Markup {
    html! {
        @if !look.stop_signs.is_empty() { section.stop { h2 { "Stop and ask for help when" } ul { @for s in &look.stop_signs { li { (s) } } } } }
        @if !look.cautions.is_empty() { section.note { h2 { "Mind" } ul { @for c in &look.cautions { li { (c) } } } } }
    }
}

/// Every frame as a drawing, for playing and scrubbing.
async fn rep(State(app): State<Arc<App>>, Query(fields): Query<Fields>) -> Response {
    blocking(move || {
        let asked = asked(&app, &fields, "m", FIRST)?;
        let look = look(&app, &asked, 0)?;
        let shown = Shown::of(&fields);
        let scene = look.scene.as_ref().ok_or_else(|| Report::internal("no posture"))?;
        let within = figure::scene_box(scene, shown.view);
        Ok(html! {
            @for i in 0..scene.frames.len() { div.still hidden[i + 1 < scene.frames.len()] { (PreEscaped(super::movement_parts::one(scene, shown.view, i, within))) } }
        }
        .into_response())
    })
    .await
}

async fn why(State(app): State<Arc<App>>, Query(fields): Query<Fields>) -> Response {
    blocking(move || {
        let asked = asked(&app, &fields, "m", FIRST)?;
        let head = fields.get("h").map_or("", String::as_str);
        let why = asked.desk(&app, 0).why(&asked.wish, head)?;
        let part = super::movement_parts::why(&why);
        if fields.contains_key("part") {
            return Ok(part.into_response());
        }
        let about = html! { a href=(address("/movement", [("m", word(&why.movement, &asked.wish.settings))])) { (why.name) } " · for " (why.body.who) };
        Ok(page(&Frame { place: Some(Place::Movement), finding: &why.finding, about }, part).into_response())
    })
    .await
}

async fn faults(State(app): State<Arc<App>>, Query(fields): Query<Fields>) -> Response {
    blocking(move || {
        let asked = asked(&app, &fields, "m", FIRST)?;
        let faults = asked.desk(&app, 8).faults(&asked.wish)?;
        let matter = faults.faults.iter().filter(|f| f.matters).count();
        let finding = format!("{}: {matter} of {} common faults matter", faults.name, faults.faults.len());
        let part = super::movement_parts::faults(&faults);
        if fields.contains_key("page") {
            let about = html! { (faults.body.who) };
            return Ok(page(&Frame { place: Some(Place::Movement), finding: &finding, about }, part).into_response());
        }
        Ok(html! { h2 { (finding) } (part) }.into_response())
    })
    .await
}

async fn similar(State(app): State<Arc<App>>, Query(fields): Query<Fields>) -> Response {
    blocking(move || {
        let asked = asked(&app, &fields, "m", FIRST)?;
        let some = |key: &str| fields.get(key).map(String::as_str).filter(|v| !v.trim().is_empty());
        let near = asked.desk(&app, 0).similar(&asked.wish, some("kit"), some("spare"), 8)?;
        let client = asked.client.as_ref().map(|(id, _)| id.to_string()).unwrap_or_default();
        let finding = match near.rows.first() {
            Some(r) => format!("Nearest to {}: {}", near.name, r.name),
            None => format!("Nothing near {} is left by these wishes", near.name),
        };
        let part = html! {
            @if let Some(s) = &near.spare { p.grey { (near.name) " itself loads the " (answer::joint_word(&s.joint)) " with " (desk::text::number(s.moment_nm, 0)) " N·m and turns it by " (desk::text::number(s.turn_deg, 0)) "°." } }
            @if near.rows.is_empty() { p.note { (finding) "." } }
            ul.lines { @for r in &near.rows { li {
                b { a href=(address("/movement", [("m", r.movement.clone()), ("client", client.clone())])) { (r.name) } }
                " " span.grey { "distance " (desk::text::number(r.distance, 2)) " (0 the same, 1 no head in common)" }
                br; (r.difference) @if !r.avoids.is_empty() { " " b { (r.avoids) } }
                " " a href=(address("/movement/compare", [("a", near.movement.clone()), ("b", r.movement.clone()), ("client", client.clone())])) { "side by side" }
            } } }
        };
        if fields.contains_key("part") {
            return Ok(part.into_response());
        }
        let about = html! { (near.body.who) };
        Ok(page(&Frame { place: Some(Place::Movement), finding: &finding, about }, part).into_response())
    })
    .await
}

async fn compare(State(app): State<Arc<App>>, Query(fields): Query<Fields>) -> Response {
    blocking(move || {
        let a = asked(&app, &fields, "a", FIRST)?;
        let b = asked(&app, &fields, "b", "front-squat")?;
        let compare = a.desk(&app, crate::state::DRAWS).compare(&[a.wish.clone(), b.wish.clone()], true)?;
        let labels = figure::variant_labels(&compare.looks);
        let options = Options { width: 420.0, height: 460.0, mass: true, ..Options::default() };
        let client = fields.get("client").cloned().unwrap_or_default();
        let body = html! {
            form.row action="/movement/compare" {
                label { "One" input name="a" list="movements" value=(fields.get("a").map_or(FIRST, String::as_str)); }
                label { "The other" input name="b" list="movements" value=(fields.get("b").map_or("front-squat", String::as_str)); }
                input type="hidden" name="client" value=(client);
                button { "Compare" }
            }
            div.two { @for (look, label) in compare.looks.iter().zip(&labels) {
                section.card { h2 { (label) }
                    @if let Some(s) = &look.scene { (PreEscaped(figure::theme::follow_page(&figure::posture_svg(s, View::Side, figure::Frames::Turn, &options).svg))) }
                    p { "A hard set: " (desk::text::short_range(look.load_range, 0)) " " (look.load_unit) "; the " (answer::joint_word(&look.limiting_joint)) " ends it." }
                    @if !look.settings.is_empty() { p.grey { (look.settings.iter().map(|(k, v)| figure::setting_said(k, v)).collect::<Vec<_>>().join(", ")) } }
                }
            } }
            table.card.stack { thead { tr { th scope="col" { "Head" } @for l in &labels { th.n scope="col" { (l) } } th.n scope="col" { "Difference" } th scope="col" { "" } } }
                tbody { @for d in compare.differences.iter().filter(|d| d.change.abs() >= 0.05).take(30) { tr {
                    th scope="row" { (figure::words::capital(&d.plain)) @for m in &d.marks { " " span.mark { (m) } } }
                    @for (s, l) in d.stimulus.iter().zip(&labels) { td.n data-label=(l) { (desk::text::range(*s, 2)) } }
                    td.n data-label="Difference" { (desk::text::range_by(d.change_range, |v| desk::text::signed(v, 2))) }
                    td { @if d.matters { b { "matters" } } @else if d.change.abs() < answer::MATTERS_FROM { span.grey { "too small to matter" } } @else { span.grey { "inside the ranges" } } }
                } } }
            }
            datalist id="movements" { @for m in &app.house.library.catalogue.movements { option value=(m.name) {} } }
            p.actions { a href=(address("/movement/figure", [("a", fields.get("a").cloned().unwrap_or(FIRST.into())), ("b", fields.get("b").cloned().unwrap_or("front-squat".into())), ("client", client.clone()), ("kind", "png".into())])) { "Save as PNG" } }
        };
        let about = html! { "Side by side · for " (compare.looks[0].body.who) };
        Ok(page(&Frame { place: Some(Place::Movement), finding: &compare_finding(&compare), about }, body).into_response())
    })
    .await
}

/// The card of a movement (or of two) as a file: svg, png, slide, post, gif.
async fn figure_file(State(app): State<Arc<App>>, Query(fields): Query<Fields>) -> Response {
    blocking(move || {
        let kind = fields.get("kind").map_or("svg", String::as_str);
        let format = match kind {
            "slide" => figure::Format::Slide,
            "post" => figure::Format::Post,
            _ => figure::Format::Page,
        };
        let card = Card { format, ..Card::default() };
        let (name, svg) = if fields.contains_key("b") {
            let (a, b) = (asked(&app, &fields, "a", FIRST)?, asked(&app, &fields, "b", "front-squat")?);
            let compare = a.desk(&app, crate::state::DRAWS).compare(&[a.wish.clone(), b.wish.clone()], true)?;
            ("compare".to_string(), figure::compare_card(&compare, &card).svg)
        } else {
            let asked = asked(&app, &fields, "m", FIRST)?;
            let look = look(&app, &asked, crate::state::DRAWS)?;
            if kind == "gif" {
                let head = Shown::of(&fields).head(&look).ok_or_else(|| Report::internal("no head to show"))?;
                let bytes =
                    figure::gif::rep_gif(&look, head, &figure::LIGHT).map_err(|e| Report::internal(e.to_string()))?;
                return Ok(file("image/gif", &format!("{}.gif", look.movement), bytes));
            }
            (look.movement.clone(), figure::look_card(&look, &card).svg)
        };
        picture(&name, kind, svg)
    })
    .await
}

/// An SVG as the kind of file asked for.
pub fn picture(name: &str, kind: &str, svg: String) -> Answer {
    match kind {
        "svg" => Ok(file("image/svg+xml", &format!("{name}.svg"), svg.into_bytes())),
        "png" | "slide" | "post" => Ok(file("image/png", &format!("{name}-{kind}.png"), desk::png(&svg)?)),
        other => Err(Problem::error("kind", format!("\"{other}\" is no kind of picture"))
            .expected("svg, png, slide, post, gif")
            .into()),
    }
}
