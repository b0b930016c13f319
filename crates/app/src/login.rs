//! The password that stands before everything when other machines may ask (`--listen`).
//!
//! Only a slow, salted hash (Argon2id, RFC 9106) is kept, in memory. Wrong passwords are slowed down for everybody: after
//! five within a minute nobody may try until the minute is over. A session is a random word of 256 bits in a cookie that
//! scripts cannot read and other sites cannot send.

use argon2::password_hash::{SaltString, rand_core::OsRng, rand_core::RngCore};
use argon2::{Argon2, PasswordHash, PasswordHasher, PasswordVerifier};
use axum::extract::{Form, Request, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use maud::html;
use std::collections::BTreeSet;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use crate::App;
use crate::answers::{Fields, blocking};
use crate::page::{Frame, page};

/// Wrong passwords allowed in [`SPAN`].
const TRIES: usize = 5;
const SPAN: Duration = Duration::from_secs(60);
/// Shortest password taken, characters.
pub const SHORTEST: usize = 10;
/// Sessions held at a time; the oldest words are forgotten first, by chance.
const MOST_SESSIONS: usize = 50;
const COOKIE: &str = "lengthwise";

/// Password, sessions, and the wrong tries of late.
pub struct Login {
    hash: String,
    sessions: Mutex<BTreeSet<String>>,
    wrong: Mutex<Vec<Instant>>,
}

impl Login {
    /// # Errors
    /// The password is too short, or could not be hashed: one sentence.
    pub fn new(password: &str) -> Result<Login, String> {
        if password.chars().count() < SHORTEST {
            return Err(format!("the password is shorter than {SHORTEST} characters"));
        }
        let salt = SaltString::generate(&mut OsRng);
        let hash = Argon2::default().hash_password(password.as_bytes(), &salt).map_err(|e| e.to_string())?.to_string();
        Ok(Login { hash, sessions: Mutex::default(), wrong: Mutex::default() })
    }

    /// The way to the password page where no session is shown; styles are for everybody.
    pub fn missing(&self, request: &Request) -> Option<Response> {
        let path = request.uri().path();
        if path == "/login" || path.starts_with("/static/") || self.has_session(request) {
            return None;
        }
        Some(Redirect::to("/login").into_response())
    }

    fn has_session(&self, request: &Request) -> bool {
        let cookies = request.headers().get_all(header::COOKIE).iter().filter_map(|v| v.to_str().ok());
        let sessions = self.sessions.lock().unwrap_or_else(PoisonError::into_inner);
        cookies
            .flat_map(|c| c.split(';'))
            .filter_map(|c| c.trim().split_once('='))
            .any(|(k, v)| k == COOKIE && sessions.contains(v))
    }

    /// Seconds to wait before the next try; `None` when one may be made.
    fn wait(&self) -> Option<u64> {
        let mut wrong = self.wrong.lock().unwrap_or_else(PoisonError::into_inner);
        wrong.retain(|t| t.elapsed() < SPAN);
        let first = wrong.first().filter(|_| wrong.len() >= TRIES)?;
        Some(SPAN.saturating_sub(first.elapsed()).as_secs() + 1)
    }

    /// The word of a new session, when the password is right.
    fn open(&self, password: &str) -> Option<String> {
        let right = PasswordHash::new(&self.hash)
            .is_ok_and(|h| Argon2::default().verify_password(password.as_bytes(), &h).is_ok());
        if !right {
            self.wrong.lock().unwrap_or_else(PoisonError::into_inner).push(Instant::now());
            return None;
        }
        let mut bytes = [0u8; 32];
        OsRng.fill_bytes(&mut bytes);
        let word: String = bytes.iter().map(|b| format!("{b:02x}")).collect();
        let mut sessions = self.sessions.lock().unwrap_or_else(PoisonError::into_inner);
        if sessions.len() >= MOST_SESSIONS {
            sessions.pop_first();
        }
        sessions.insert(word.clone());
        Some(word)
    }
}

pub async fn ask() -> Response {
    form(StatusCode::OK, "")
}

fn form(status: StatusCode, wrong: &str) -> Response {
    let body = html! {
        form.card method="post" action="/login" {
            @if !wrong.is_empty() { p.wrong role="alert" { (wrong) } }
            label.block for="password" { "Password" }
            input id="password" name="password" type="password" autocomplete="current-password" required autofocus;
            button { "Open" }
        }
    };
    let about = html! { "The coach who started Lengthwise knows the password" };
    (status, page(&Frame { place: None, finding: "Password", about }, body)).into_response()
}

pub async fn enter(State(app): State<Arc<App>>, Form(rows): Form<Vec<(String, String)>>) -> Response {
    // Hashing is slow on purpose, so it is done off the threads that serve.
    blocking(move || {
        let Some(login) = &app.login else { return Ok(Redirect::to("/").into_response()) };
        if let Some(seconds) = login.wait() {
            return Ok(form(
                StatusCode::TOO_MANY_REQUESTS,
                &format!("Too many wrong passwords. Try again in {seconds} seconds."),
            ));
        }
        Ok(match login.open(Fields(rows).get("password")) {
            None => form(StatusCode::UNAUTHORIZED, "That is not the password."),
            Some(word) => {
                let cookie = format!("{COOKIE}={word}; HttpOnly; SameSite=Strict; Path=/; Max-Age=43200");
                ([(header::SET_COOKIE, cookie)], Redirect::to("/")).into_response()
            }
        })
    })
    .await
}
