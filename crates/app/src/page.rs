//! The frame around every place: head, places, question box, cautions, and the pages of errors.

use crate::assets;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use desk::problem::{Level, Report};
use maud::{DOCTYPE, Markup, html};

/// The places of the product, in the order a coach needs them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    Client,
    Week,
    Movement,
    Muscle,
    Evidence,
    Export,
}

impl Place {
    pub const ALL: [Place; 6] =
        [Place::Client, Place::Week, Place::Movement, Place::Muscle, Place::Evidence, Place::Export];
    pub fn word(self) -> &'static str {
        match self {
            Place::Client => "Client",
            Place::Week => "Week",
            Place::Movement => "Movement",
            Place::Muscle => "Muscle",
            Place::Evidence => "Evidence",
            Place::Export => "Export",
        }
    }
    pub fn address(self) -> &'static str {
        match self {
            Place::Client => "/client",
            Place::Week => "/week",
            Place::Movement => "/movement",
            Place::Muscle => "/muscle",
            Place::Evidence => "/evidence",
            Place::Export => "/export",
        }
    }
}

/// What stands around a page's body.
pub struct Frame<'a> {
    /// Where we are; `None` on error pages.
    pub place: Option<Place>,
    /// The finding: a sentence with the number that matters. Also the window's title.
    pub finding: &'a str,
    /// For whom and under which settings, above the finding.
    pub about: Markup,
}

/// A whole page.
pub fn page(frame: &Frame, body: Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (frame.finding) " · Lengthwise" }
                link rel="stylesheet" href=(assets::address("theme.css"));
                link rel="stylesheet" href=(assets::address("style.css"));
                link rel="icon" href="data:,";
                script src=(assets::address("app.js")) defer {}
                script src=(assets::address("movement.js")) defer {}
            }
            body {
                a.skip href="#main" { "Skip to the answer" }
                header.top {
                    a.home href="/" { "Lengthwise" }
                    nav aria-label="Places" {
                        @for place in Place::ALL {
                            a href=(place.address()) aria-current=[(frame.place == Some(place)).then_some("page")] {
                                (place.word())
                            }
                        }
                    }
                    form.ask role="search" action="/find" {
                        label.unseen for="q" { "Find a movement, a muscle or a client" }
                        input id="q" name="q" type="search" placeholder="Find: movement, muscle, client" autocomplete="off";
                    }
                }
                main id="main" {
                    p.about { (frame.about) }
                    h1 { (frame.finding) }
                    (body)
                }
                footer {
                    p {
                        "Estimates with ranges, for coaches. Lengthwise informs; it diagnoses nothing and treats nothing. "
                        a href="/about" { "What it is not" }
                    }
                }
            }
        }
    }
}

/// All problems of a request as a page, worst first; nothing was changed.
pub fn problems(status: StatusCode, report: &Report) -> Response {
    let mut sorted: Vec<_> = report.problems.iter().collect();
    sorted.sort_by_key(|p| p.level);
    let what = if report.internal {
        "A fault of the program; nothing was changed"
    } else {
        "That did not work; nothing was changed"
    };
    let body = html! {
        ul.problems {
            @for p in sorted {
                li.stop[p.level == Level::Error] {
                    @if !p.place.is_empty() { b { (p.place.trim_start_matches("--")) } ": " }
                    (p.what)
                    @if !p.expected.is_empty() { br; span.grey { "Expected: " (p.expected) } }
                    @if !p.nearest.is_empty() { br; span.grey { "Nearest: " (p.nearest.join("; ")) } }
                    @if p.remedy.starts_with("lengthwise ") { br; span.grey { "What to do: look for it in the question box above" } }
                    @else if !p.remedy.is_empty() { br; span.grey { "What to do: " (p.remedy) } }
                }
            }
        }
    };
    (status, page(&Frame { place: None, finding: what, about: html! {} }, body)).into_response()
}

pub async fn not_found() -> Response {
    no_such_page()
}

/// Refusals that the frame below us writes in its own words (a number that is none, a wrong method) as pages of ours.
pub async fn in_our_words(answer: Response) -> Response {
    let kind = answer.headers().get(header::CONTENT_TYPE).and_then(|k| k.to_str().ok()).unwrap_or_default();
    let status = answer.status();
    if !status.is_client_error() || !(kind.is_empty() || kind.starts_with("text/plain")) {
        return answer;
    }
    match status {
        StatusCode::BAD_REQUEST | StatusCode::NOT_FOUND => no_such_page(),
        StatusCode::METHOD_NOT_ALLOWED => {
            let body = html! { p { "This address takes no such request. " a href="/" { "To the start" } } };
            let frame = Frame { place: None, finding: "That cannot be asked here", about: html! {} };
            (status, page(&frame, body)).into_response()
        }
        _ => {
            let body = html! { p { "What was sent could not be read, so nothing was changed. Go back, reload the page and send it again." } };
            let frame = Frame { place: None, finding: "That was not understood; nothing was changed", about: html! {} };
            (status, page(&frame, body)).into_response()
        }
    }
}

/// The page of an address that is none.
pub fn no_such_page() -> Response {
    let body = html! { p { "There is no page at this address. " a href="/" { "To the start" } } };
    (StatusCode::NOT_FOUND, page(&Frame { place: None, finding: "No such page", about: html! {} }, body))
        .into_response()
}
