//! The question box: a movement, a head, a group or a client by what a coach types.

use crate::App;
use crate::answers::{Answer, blocking};
use crate::ask::{Query as Fields, address, word};
use crate::page::{Frame, page};
use axum::extract::{Query, State};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::get;
use axum::{Json, Router};
use maud::html;
use movement::names::NameContext;
use serde::Serialize;
use std::sync::Arc;

pub fn routes() -> Router<Arc<App>> {
    Router::new().route("/find", get(find)).route("/find/suggest", get(suggest))
}

/// Something that was found.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Hit {
    pub name: String,
    /// movement, head, group, client.
    pub kind: &'static str,
    pub to: String,
    /// 0 to 1.
    #[serde(skip)]
    pub score: f64,
}

/// Hits shown.
const MOST: usize = 12;

/// How well a name answers what was typed: whole, from its start, from the start of a word, inside; else by near spelling.
fn score(name: &str, typed: &str) -> f64 {
    let plain =
        |t: &str| t.to_lowercase().replace(['-', '_', ','], " ").split_whitespace().collect::<Vec<_>>().join(" ");
    let (name, typed) = (plain(name), plain(typed));
    if typed.is_empty() {
        return 0.0;
    }
    if name == typed {
        1.0
    } else if name.starts_with(&typed) {
        0.9
    } else if name.split(' ').any(|w| w.starts_with(&typed)) || name.contains(&format!(" {typed}")) {
        0.8
    } else if typed.split(' ').all(|t| name.split(' ').any(|w| w.starts_with(t))) {
        0.75
    } else if !desk::nearest(&typed, &[name.as_str()]).is_empty() {
        0.6
    } else {
        0.0
    }
}

fn hits(app: &App, typed: &str) -> Result<Vec<Hit>, crate::answers::Refused> {
    let mut hits = Vec::new();
    let mut put = |name: String, kind: &'static str, to: String, score: f64| {
        if score > 0.0 {
            hits.push(Hit { name, kind, to, score });
        }
    };
    // A name with settings inside is read as the audit reads it.
    let found = app.house.library.names().find(typed, &NameContext::default());
    if let Some(best) = &found.best {
        let name = app.house.library.catalogue.movement(&best.id).map_or(best.id.clone(), |m| m.name.clone());
        let said: Vec<String> = best.settings.iter().map(|(k, v)| figure::setting_said(k, v)).collect();
        let name = if said.is_empty() { name } else { format!("{name}, {}", said.join(", ")) };
        put(name, "movement", address("/movement", [("m", word(&best.id, &best.settings))]), 0.95 * best.confidence);
    }
    for m in &app.house.library.catalogue.movements {
        if found.best.as_ref().is_some_and(|b| b.id == m.id && b.settings.is_empty()) {
            continue;
        }
        let best = m
            .aliases
            .iter()
            .map(|a| 0.97 * score(a, typed))
            .fold(score(&m.name, typed).max(score(&m.id, typed)), f64::max);
        put(m.name.clone(), "movement", address("/movement", [("m", m.id.clone())]), 0.9 * best);
    }
    let muscles = app.house.library.muscles();
    let mut groups: Vec<&str> = muscles.iter().map(|m| m.group.as_str()).collect();
    groups.sort_unstable();
    groups.dedup();
    for m in &muscles {
        let best = [&m.plain, &m.latin, &m.id].map(|n| score(n, typed)).into_iter().fold(0.0, f64::max);
        put(figure::words::capital(&m.plain), "muscle head", address("/muscle", [("h", m.id.clone())]), best);
    }
    for rule in app.rules.groups.iter().filter(|g| groups.contains(&g.group.as_str())) {
        let best = rule.words.iter().map(|w| score(w, typed)).fold(score(&rule.group, typed), f64::max);
        put(rule.group.clone(), "muscle group", address("/muscle", [("group", rule.group.clone())]), 1.01 * best);
    }
    for c in app.store.clients(false)? {
        put(c.name.clone(), "client", format!("/client/{}", c.id), 1.02 * score(&c.name, typed));
    }
    hits.sort_by(|a, b| b.score.total_cmp(&a.score).then_with(|| a.name.cmp(&b.name)));
    hits.dedup_by(|a, b| a.to == b.to);
    hits.truncate(MOST);
    Ok(hits)
}

async fn suggest(State(app): State<Arc<App>>, Query(fields): Query<Fields>) -> Answer {
    Ok(Json(hits(&app, fields.get("q").map_or("", String::as_str))?).into_response())
}

async fn find(State(app): State<Arc<App>>, Query(fields): Query<Fields>) -> Response {
    blocking(move || {
        let typed = fields.get("q").map_or("", String::as_str).trim();
        let hits = hits(&app, typed)?;
        // One clear answer is gone to at once.
        if let Some(first) = hits.first().filter(|f| f.score >= 0.85 && hits.get(1).is_none_or(|s| s.score < f.score - 0.08)) {
            return Ok(Redirect::to(&first.to).into_response());
        }
        let finding = match hits.len() {
            0 if typed.is_empty() => "What are you looking for?".to_string(),
            0 => format!("Nothing is called “{typed}”"),
            1 => format!("Nothing is called “{typed}”; did you mean this?"),
            n => format!("“{typed}” may mean one of {n}"),
        };
        let body = html! {
            @if hits.is_empty() { p { "Try a movement (“incline 30 DB press”), a muscle (“outer hamstring”) or a client’s name." } }
            ul.lines { @for h in &hits { li { a href=(h.to) { (h.name) } " " span.grey { (h.kind) } } } }
        };
        Ok(page(&Frame { place: None, finding: &finding, about: html! { "Found" } }, body).into_response())
    })
    .await
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_found_by_its_start_a_word_and_a_slip() {
        let check = |name: &str, typed: &str, want: bool| assert_eq!(score(name, typed) > 0.5, want, "{name} {typed}");
        check("Back squat, high bar", "back", true);
        check("Back squat, high bar", "high bar", true);
        check("Outer hamstring, short head", "hamstring short", true);
        check("soleus", "soelus", true);
        check("soleus", "chest", false);
        check("soleus", "", false);
    }
}
