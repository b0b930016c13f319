//! Muscle: what trains this head best with this kit, in this body?

use super::movement_parts::class;
use crate::App;
use crate::answers::{Answer, blocking};
use crate::ask::{Query as Fields, address, client_of, word};
use crate::page::{Frame, Place, page};
use crate::state::DRAWS;
use answer::{MuscleRow, Rank, joint_word};
use axum::Router;
use axum::extract::{Query, State};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use desk::text;
use figure::rank_finding;
use maud::{Markup, html};
use std::sync::Arc;

pub fn routes() -> Router<Arc<App>> {
    Router::new()
        .route("/muscle", get(show))
        .route("/muscle/search", get(search))
        .route("/muscle/figure", get(figure_file))
}

/// Movements shown before the rest is opened.
const FIRST: usize = 12;

async fn show(State(app): State<Arc<App>>, Query(fields): Query<Fields>) -> Response {
    blocking(move || match fields.get("h").filter(|h| !h.is_empty()) {
        Some(head) => one(&app, &fields, head),
        None => all(&app, fields.get("group").map(String::as_str)),
    })
    .await
}

/// Every head by its group, or the heads of one.
fn all(app: &App, only: Option<&str>) -> Answer {
    let muscles = app.house.library.muscles();
    let mut groups: Vec<&str> = app.rules.groups.iter().map(|g| g.group.as_str()).collect();
    groups.retain(|g| only.is_none_or(|o| o == *g));
    let of = |g: &str| muscles.iter().filter(|m| m.group == *g).collect::<Vec<&MuscleRow>>();
    let finding = match only {
        Some(g) => format!("{g}: {} heads", of(g).len()),
        None => format!("{} muscle heads in {} groups", muscles.len(), groups.len()),
    };
    let body = html! {
        div.days { @for g in &groups { section.card { h2 { a href=(address("/muscle", [("group", g.to_string())])) { (g) } }
            ul.lines { @for m in of(g) { li {
                a href={ "/muscle?h=" (m.id) } { (figure::words::capital(&m.plain)) } br;
                span.grey.small { (m.latin) ", " (text::number(m.volume_cm3, 0)) " cm³, " (m.joints.iter().map(|j| joint_word(j)).collect::<Vec<_>>().join(" and ")) }
            } } }
        } } }
    };
    let about = html! { "What trains it best?" @if only.is_some() { " · " a href="/muscle" { "all groups" } } };
    Ok(page(&Frame { place: Some(Place::Muscle), finding: &finding, about }, body).into_response())
}

fn ranked(app: &App, fields: &Fields, head: &str) -> Result<Rank, crate::answers::Refused> {
    let client = client_of(app, fields)?.map(|(_, c)| c);
    let kit = kit_of(fields, client.as_ref());
    Ok(app.desk(client, 0).rank(head, kit.as_deref())?)
}

/// The kit of an address; a client's own when none is named.
fn kit_of(fields: &Fields, client: Option<&programme::Client>) -> Option<String> {
    let asked = fields.get("kit").filter(|k| !k.is_empty()).cloned();
    asked.or_else(|| match client?.kit.as_ref()? {
        programme::client::Kit::Id(id) => Some(id.clone()),
        programme::client::Kit::Items(_) => None,
    })
}

fn one(app: &App, fields: &Fields, head: &str) -> Answer {
    let rank = ranked(app, fields, head)?;
    let facts = app.house.library.muscles().into_iter().find(|m| m.id == rank.head);
    let clients = app.store.clients(false)?;
    let client = fields.get("client").cloned().unwrap_or_default();
    let kit = fields.get("kit").cloned().unwrap_or_default();
    let (first, rest) = rank.rows.split_at(rank.rows.len().min(FIRST));
    let body = html! {
        @for m in &rank.marks { p.note { b { (m) } ": the numbers of this head rest on little; see " a href="/evidence/sure" { "how sure are we" } "." } }
        form.row action="/muscle" {
            input type="hidden" name="h" value=(rank.head);
            label { "Kit" select name="kit" { option value="" { "any (the client's own where one is chosen)" } @for k in &app.house.library.catalogue.kits { option value=(k.id) selected[k.id == kit] { (k.name) } } } }
            label { "For" select name="client" { option value="" { "an average man" } @for c in &clients { option value=(c.id) selected[c.id.to_string() == client] { (c.name) } } } }
            button { "Show" }
        }
        section.card aria-labelledby="ranked" { h2 id="ranked" { "Best first" }
            (table(first, &client))
            @if !rest.is_empty() { details { summary { (rest.len()) " more" } (table(rest, &client)) } }
            @if !rank.left_out.is_empty() { details { summary { (rank.left_out.len()) " left out" } ul { @for l in &rank.left_out { li { (l) } } } } }
        }
        section.card { h2 { "Is there a better set-up?" }
            form.row action="/muscle/search" data-into="found" {
                input type="hidden" name="h" value=(rank.head); input type="hidden" name="kit" value=(kit); input type="hidden" name="client" value=(client);
                button { "Search bench angles, pulley heights, stances" } span.grey { "A few seconds; middle values only." }
            }
            div id="found" aria-live="polite" {}
        }
        @if let Some(m) = &facts {
            section.card { h2 { "The head" }
                p { (m.latin) ": crosses the " (m.joints.iter().map(|j| joint_word(j)).collect::<Vec<_>>().join(" and the ")) ", " (text::number(m.volume_cm3, 0)) " cm³ in an average man. "
                    a href=(address("/evidence/sources", [("id", m.id.clone())])) { "Where its numbers come from" } }
            }
        }
        p.actions.small { "Save the ranking as " @for (k, name) in [("svg", "SVG"), ("png", "PNG"), ("slide", "slide 1920 × 1080"), ("post", "post 1080 × 1350")] {
            a href=(address("/muscle/figure", [("h", rank.head.clone()), ("kit", kit.clone()), ("client", client.clone()), ("kind", k.into())])) { (name) } " " } }
    };
    let about = html! { (figure::words::capital(&rank.plain)) @if let Some(f) = &facts { span.grey { " · " (f.latin) " · " (f.group) } } };
    Ok(page(&Frame { place: Some(Place::Muscle), finding: &rank_finding(&rank), about }, body).into_response())
}

fn table(rows: &[answer::RankRow], client: &str) -> Markup {
    html! {
        div.scroll { table.stack {
            thead { tr { th scope="col" { "Movement" } th scope="col" { "One hard set" } th.n scope="col" { "Stimulus" } th.n scope="col" { "Length reached" } th.n scope="col" { "Credit" } th scope="col" { "Why" } } }
            tbody { @for r in rows { tr {
                th scope="row" { a href=(address("/movement", [("m", r.movement.clone()), ("client", client.to_string())])) { (r.name) } br; span.grey.small { (r.equipment.join(", ")) } }
                td data-label="One hard set" { (class(r.class)) }
                td.n data-label="Stimulus" { (text::number(r.stimulus.mid, 2)) }
                td.n data-label="Length reached" { (text::span(r.length, 2)) }
                td.n data-label="Credit" { (text::number(r.credit.pooled.mid, 2)) }
                td { (r.reason) }
            } } }
        } }
    }
}

async fn search(State(app): State<Arc<App>>, Query(fields): Query<Fields>) -> Response {
    blocking(move || {
        let head = fields.get("h").map_or("", String::as_str);
        let client = client_of(&app, &fields)?.map(|(_, c)| c);
        let kit = kit_of(&fields, client.as_ref());
        let id = fields.get("client").cloned().unwrap_or_default();
        let found = app.desk(client, 0).search(head, kit.as_deref())?;
        let part = html! {
            ul.lines { @for r in found.rows.iter().take(8) { li {
                b { a href=(address("/movement", [("m", word(&r.movement, &r.settings)), ("client", id.clone())])) { (r.name) } }
                " " (class(r.class)) " " (text::number(r.stimulus, 2))
                br; @if r.settings.is_empty() { span.grey { "its usual set-up is the best found (" (r.solved) " tried)" } } @else {
                    (r.settings.iter().map(|(k, v)| figure::setting_said(k, v)).collect::<Vec<_>>().join(", "))
                    span.grey { " instead of the usual " (text::number(r.usual_stimulus, 2)) " (" (r.solved) " tried, " (r.refused) " refused for joints)" }
                }
            } } }
        };
        if fields.contains_key("part") {
            return Ok(part.into_response());
        }
        let finding = match found.rows.first() {
            Some(r) => format!("Best set-up found: {} with {}", r.name, text::number(r.stimulus, 2)),
            None => "No movement of this kit loads it".into(),
        };
        Ok(page(&Frame { place: Some(Place::Muscle), finding: &finding, about: html! { (found.plain) } }, part).into_response())
    })
    .await
}

async fn figure_file(State(app): State<Arc<App>>, Query(fields): Query<Fields>) -> Response {
    blocking(move || {
        let head = fields.get("h").map_or("", String::as_str);
        let client = client_of(&app, &fields)?.map(|(_, c)| c);
        let kit = kit_of(&fields, client.as_ref());
        let rank = app.desk(client, DRAWS).rank(head, kit.as_deref())?;
        let kind = fields.get("kind").map_or("svg", String::as_str);
        let format = match kind {
            "slide" => figure::Format::Slide,
            "post" => figure::Format::Post,
            _ => figure::Format::Page,
        };
        let svg = figure::rank_card(&rank, &figure::Card { format, ..figure::Card::default() }).svg;
        super::movement::picture(&rank.head, kind, svg)
    })
    .await
}
