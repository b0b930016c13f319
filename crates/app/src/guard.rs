//! What stands before every page: who may ask, from where, and what a browser may do with the answer.
//!
//! The host must be a name of this machine, or with `--listen` one that no stranger can own: a page elsewhere that makes
//! its own name point here (DNS rebinding) is refused. A change must come from a page of ours (Origin, and Sec-Fetch-Site
//! where it is sent); a page elsewhere may link here but take no part of ours into itself. With `--listen` a password
//! stands before everything; see [`crate::login`].

use crate::App;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use desk::problem::Problem;
use std::net::IpAddr;
use std::sync::Arc;

/// Nothing from elsewhere, nothing inline, in no frame of another page.
const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; font-src 'self'; \
                      connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

/// Names of this machine.
const HERE: [&str; 3] = ["127.0.0.1", "localhost", "[::1]"];

pub async fn guard(State(app): State<Arc<App>>, request: Request, next: Next) -> Response {
    let mut answer = match refused(&app, &request) {
        Some(answer) => answer,
        None => next.run(request).await,
    };
    let headers = answer.headers_mut();
    let mut put = |name: header::HeaderName, value: &'static str| {
        headers.entry(name).or_insert(HeaderValue::from_static(value));
    };
    put(header::CONTENT_SECURITY_POLICY, POLICY);
    put(header::X_CONTENT_TYPE_OPTIONS, "nosniff");
    // Not "no-referrer": with it a browser sends `Origin: null` with our own forms, and they could not be told from others.
    put(header::REFERRER_POLICY, "same-origin");
    put(header::HeaderName::from_static("cross-origin-resource-policy"), "same-origin");
    put(header::X_FRAME_OPTIONS, "DENY");
    put(header::CACHE_CONTROL, "no-store");
    answer
}

fn refused(app: &App, request: &Request) -> Option<Response> {
    let headers = request.headers();
    let host = text(headers, header::HOST);
    if !host.is_some_and(|h| is_here(h) || app.login.is_some() && is_near(h)) {
        return Some(no("this address is not one of this machine"));
    }
    let changes = !matches!(*request.method(), Method::GET | Method::HEAD);
    if changes && !from_us(headers, host) {
        return Some(no("this change does not come from a page of Lengthwise"));
    }
    if is_taken_elsewhere(headers) {
        return Some(no("a page elsewhere may link here, and take nothing from here into itself"));
    }
    match &app.login {
        Some(login) => login.missing(request),
        None => None,
    }
}

/// Name in a Host field, without its port.
fn name_of(host: &str) -> String {
    let port = |tail: &str| tail.bytes().all(|b| b.is_ascii_digit());
    host.rsplit_once(':').filter(|(_, tail)| port(tail)).map_or(host, |(name, _)| name).to_ascii_lowercase()
}

/// A host of this machine, whatever its port.
fn is_here(host: &str) -> bool {
    HERE.contains(&name_of(host).as_str())
}

/// Ends of names that only the network at hand gives out.
const NEAR: [&str; 4] = [".local", ".lan", ".internal", ".home.arpa"];

/// A host that no stranger can register: an IP address, a name without a dot, or one of the network at hand.
fn is_near(host: &str) -> bool {
    let name = name_of(host);
    let plain = |n: &str| !n.is_empty() && n.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-');
    let bare = name.strip_prefix('[').and_then(|n| n.strip_suffix(']')).unwrap_or(&name);
    bare.parse::<IpAddr>().is_ok()
        || plain(&name)
        || NEAR.iter().any(|end| name.strip_suffix(end).is_some_and(|n| n.split('.').all(plain)))
}

/// A page of another site that wants ours as a picture, script, frame or data; a link that is followed is none of these.
fn is_taken_elsewhere(headers: &HeaderMap) -> bool {
    let [site, mode, goal] = ["sec-fetch-site", "sec-fetch-mode", "sec-fetch-dest"]
        .map(|name| text(headers, header::HeaderName::from_static(name)));
    let elsewhere = matches!(site, Some("cross-site" | "same-site"));
    elsewhere && !(mode == Some("navigate") && goal.is_none_or(|g| g == "document"))
}

/// The page a change was sent from has our host. Programs without a browser send neither field, and no browser can be
/// talked into leaving both out.
fn from_us(headers: &HeaderMap, host: Option<&str>) -> bool {
    if let Some(site) = text(headers, header::HeaderName::from_static("sec-fetch-site"))
        && !matches!(site, "same-origin" | "none")
    {
        return false;
    }
    match text(headers, header::ORIGIN) {
        None => true,
        Some(origin) => {
            let of = origin.strip_prefix("http://").or_else(|| origin.strip_prefix("https://"));
            of.is_some() && of == host
        }
    }
}

fn text(headers: &HeaderMap, name: header::HeaderName) -> Option<&str> {
    headers.get(name).and_then(|v| v.to_str().ok())
}

fn no(what: &str) -> Response {
    let report = Problem::error("", what).remedy("open the address that lengthwise open prints").into();
    crate::page::problems(StatusCode::FORBIDDEN, &report).into_response()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_names_of_this_machine_are_here() {
        let check = |host: &str, want: bool| assert_eq!(is_here(host), want, "{host}");
        check("127.0.0.1:4044", true);
        check("localhost", true);
        check("[::1]:4044", true);
        check("[::1]", true);
        check("LOCALHOST:4044", true);
        check("evil.example:4044", false);
        check("127.0.0.1.evil.example", false);
        check("localhost.evil.example:80", false);
        check("", false);
    }

    #[test]
    fn names_a_stranger_can_own_are_not_near() {
        let check = |host: &str, want: bool| assert_eq!(is_near(host), want, "{host}");
        check("192.168.1.5:4044", true);
        check("[fd00::5]:4044", true);
        check("coach-pc", true);
        check("coach-pc.local:4044", true);
        check("coach.home.arpa", true);
        check("evil.example:4044", false);
        check("192.168.1.5.evil.example", false);
        check("local.evil.example", false);
        check("evil.example.", false);
        check(".local", false);
        check("", false);
    }

    #[test]
    fn a_page_elsewhere_may_link_and_not_take() {
        let check = |site: &str, mode: &str, goal: &str, want: bool| {
            let mut headers = HeaderMap::new();
            for (k, v) in [("sec-fetch-site", site), ("sec-fetch-mode", mode), ("sec-fetch-dest", goal)] {
                headers.insert(k, HeaderValue::from_str(v).expect("a value"));
            }
            assert_eq!(is_taken_elsewhere(&headers), want, "{site} {mode} {goal}");
        };
        check("none", "navigate", "document", false);
        check("same-origin", "cors", "empty", false);
        check("cross-site", "navigate", "document", false);
        check("cross-site", "navigate", "iframe", true);
        check("cross-site", "no-cors", "image", true);
        check("same-site", "no-cors", "script", true);
        check("cross-site", "cors", "empty", true);
    }

    #[test]
    fn a_change_comes_from_our_own_page() {
        let check = |fields: &[(&'static str, &str)], want: bool| {
            let mut headers = HeaderMap::new();
            for (k, v) in fields {
                headers.insert(*k, HeaderValue::from_str(v).expect("a value"));
            }
            assert_eq!(from_us(&headers, Some("localhost:4044")), want, "{fields:?}");
        };
        check(&[("origin", "http://localhost:4044")], true);
        check(&[], true);
        check(&[("origin", "http://localhost:9999")], false);
        check(&[("origin", "https://evil.example")], false);
        check(&[("origin", "null")], false);
        check(&[("sec-fetch-site", "cross-site")], false);
        check(&[("sec-fetch-site", "same-site"), ("origin", "http://localhost:4044")], false);
        check(&[("sec-fetch-site", "same-origin"), ("origin", "http://localhost:4044")], true);
    }
}
