//! What stands before every page: who may ask, from where, and what a browser may do with the answer.
//!
//! On loopback the host must be a name of this machine: a page elsewhere that makes its own name point here (DNS
//! rebinding) is refused. A change must come from a page of ours (Origin, and Sec-Fetch-Site where it is sent). With
//! `--listen` a password stands before everything; see [`crate::login`].

use crate::App;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use desk::problem::Problem;
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
    put(header::X_FRAME_OPTIONS, "DENY");
    put(header::CACHE_CONTROL, "no-store");
    answer
}

fn refused(app: &App, request: &Request) -> Option<Response> {
    let headers = request.headers();
    let host = text(headers, header::HOST);
    if app.login.is_none() && !host.is_some_and(is_here) {
        return Some(no("this address is not one of this machine"));
    }
    let changes = !matches!(*request.method(), Method::GET | Method::HEAD);
    if changes && !from_us(headers, host) {
        return Some(no("this change does not come from a page of Lengthwise"));
    }
    match &app.login {
        Some(login) => login.missing(request),
        None => None,
    }
}

/// A host of this machine, whatever its port.
fn is_here(host: &str) -> bool {
    let name =
        host.rsplit_once(':').filter(|(_, port)| port.chars().all(|c| c.is_ascii_digit())).map_or(host, |(n, _)| n);
    HERE.contains(&name)
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
        check("evil.example:4044", false);
        check("127.0.0.1.evil.example", false);
        check("localhost.evil.example:80", false);
        check("", false);
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
