//! The password that stands before everything when other machines may ask (`--listen`).
//!
//! Only a slow, salted hash (Argon2id, RFC 9106) is kept, in memory; passwords are hashed one at a time, so that many tries
//! cost little memory. A machine may be wrong five times a minute, all together thirty times; a try counts before it is
//! judged, so that tries at the same moment count too. A session is a random word of 256 bits in a cookie that scripts
//! cannot read and other sites cannot send; it ends after twelve hours or when the coach ends it.

use argon2::password_hash::{SaltString, rand_core::OsRng, rand_core::RngCore};
use argon2::{Argon2, PasswordHash, PasswordHasher, PasswordVerifier};
use axum::extract::{ConnectInfo, Form, Request, State};
use axum::http::{Extensions, HeaderMap, Method, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use maud::html;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use crate::App;
use crate::answers::{Fields, blocking};
use crate::page::{Frame, page};

/// Tries of one machine, and of all, in [`SPAN`].
const TRIES: usize = 5;
const TRIES_OF_ALL: usize = 30;
const SPAN: Duration = Duration::from_secs(60);
/// Shortest password taken, characters.
pub const SHORTEST: usize = 10;
/// Sessions held at a time; the oldest ends first.
const MOST_SESSIONS: usize = 50;
/// How long a session lasts.
const LASTS: Duration = Duration::from_secs(12 * 3600);
const COOKIE: &str = "lengthwise";

/// Password, sessions, and the tries of late.
pub struct Login {
    hash: String,
    /// Words of the sessions and when they began, oldest first.
    sessions: Mutex<Vec<(String, Instant)>>,
    tries: Mutex<Tries>,
    /// Held while a password is hashed.
    hashing: Mutex<()>,
}

/// When and from which machine a password was tried and was not right.
#[derive(Default)]
struct Tries(Vec<(Instant, IpAddr)>);

impl Tries {
    /// Counts a try, or says how many seconds to wait.
    fn take(&mut self, from: IpAddr, now: Instant) -> Result<(), u64> {
        self.0.retain(|(at, _)| now.duration_since(*at) < SPAN);
        let own: Vec<Instant> = self.0.iter().filter(|(_, f)| *f == from).map(|(at, _)| *at).collect();
        let first = match (own.len() >= TRIES, self.0.len() >= TRIES_OF_ALL) {
            (true, _) => own.first().copied(),
            (_, true) => self.0.first().map(|(at, _)| *at),
            _ => None,
        };
        match first {
            Some(at) => Err(SPAN.saturating_sub(now.duration_since(at)).as_secs() + 1),
            None => {
                self.0.push((now, from));
                Ok(())
            }
        }
    }
    /// The password of this machine was right.
    fn forget(&mut self, from: IpAddr) {
        self.0.retain(|(_, f)| *f != from);
    }
}

/// A machine, as far as tries go: one has many IPv6 addresses of the same network.
fn machine(from: IpAddr) -> IpAddr {
    match from.to_canonical() {
        IpAddr::V6(v6) => {
            let s = v6.segments();
            std::net::Ipv6Addr::new(s[0], s[1], s[2], s[3], 0, 0, 0, 0).into()
        }
        v4 => v4,
    }
}

/// Takes as long for a wrong word as for a right one of the same length.
fn same(a: &str, b: &str) -> bool {
    a.len() == b.len() && a.bytes().zip(b.bytes()).fold(0, |differs, (x, y)| differs | (x ^ y)) == 0
}

fn held<T>(lock: &Mutex<T>) -> MutexGuard<'_, T> {
    lock.lock().unwrap_or_else(PoisonError::into_inner)
}

/// The word of our cookie, if one was sent.
fn word_of(headers: &HeaderMap) -> Option<&str> {
    let cookies = headers.get_all(header::COOKIE).iter().filter_map(|v| v.to_str().ok());
    let mut pairs = cookies.flat_map(|c| c.split(';')).filter_map(|c| c.trim().split_once('='));
    pairs.find(|(k, _)| *k == COOKIE).map(|(_, v)| v)
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
        Ok(Login { hash, sessions: Mutex::default(), tries: Mutex::default(), hashing: Mutex::default() })
    }

    /// The password page where no session is shown; styles are for everybody.
    pub fn missing(&self, request: &Request) -> Option<Response> {
        let path = request.uri().path();
        if path == "/login" || path.starts_with("/static/") || self.has_session(request.headers(), Instant::now()) {
            return None;
        }
        Some(match *request.method() {
            Method::GET | Method::HEAD => Redirect::to("/login").into_response(),
            _ => form(
                StatusCode::UNAUTHORIZED,
                "The session has ended; nothing was saved. Open it again, then repeat the change.",
            ),
        })
    }

    fn has_session(&self, headers: &HeaderMap, now: Instant) -> bool {
        let mut sessions = held(&self.sessions);
        sessions.retain(|(_, began)| now.duration_since(*began) < LASTS);
        word_of(headers).is_some_and(|word| sessions.iter().any(|(s, _)| same(s, word)))
    }

    /// A try: the word of a new session, `None` for a wrong password, or the seconds to wait.
    fn open(&self, password: &str, from: IpAddr, now: Instant) -> Result<Option<String>, u64> {
        let from = machine(from);
        held(&self.tries).take(from, now)?;
        let one_at_a_time = held(&self.hashing);
        let right = PasswordHash::new(&self.hash)
            .is_ok_and(|h| Argon2::default().verify_password(password.as_bytes(), &h).is_ok());
        drop(one_at_a_time);
        if !right {
            return Ok(None);
        }
        held(&self.tries).forget(from);
        let mut bytes = [0u8; 32];
        OsRng.fill_bytes(&mut bytes);
        let word: String = bytes.iter().map(|b| format!("{b:02x}")).collect();
        let mut sessions = held(&self.sessions);
        if sessions.len() >= MOST_SESSIONS {
            sessions.remove(0);
        }
        sessions.push((word.clone(), now));
        Ok(Some(word))
    }

    fn end(&self, word: &str) {
        held(&self.sessions).retain(|(s, _)| !same(s, word));
    }
}

pub async fn ask(State(app): State<Arc<App>>, headers: HeaderMap) -> Response {
    match &app.login {
        None => Redirect::to("/").into_response(),
        Some(login) if login.has_session(&headers, Instant::now()) => {
            let body = html! {
                form.card method="post" action="/logout" { p { "Other machines stay as they are." } button { "End it here" } }
            };
            page(&Frame { place: None, finding: "Lengthwise is open on this machine", about: html! {} }, body)
                .into_response()
        }
        Some(_) => form(StatusCode::OK, ""),
    }
}

/// Ends the session of the machine that asks.
pub async fn leave(State(app): State<Arc<App>>, headers: HeaderMap) -> Response {
    if let (Some(login), Some(word)) = (&app.login, word_of(&headers)) {
        login.end(word);
    }
    let gone = format!("{COOKIE}=; HttpOnly; SameSite=Strict; Path=/; Max-Age=0");
    ([(header::SET_COOKIE, gone)], Redirect::to("/login")).into_response()
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

pub async fn enter(
    State(app): State<Arc<App>>,
    extensions: Extensions,
    Form(rows): Form<Vec<(String, String)>>,
) -> Response {
    // Without a socket, as in tests, everybody is one machine.
    let from = extensions.get::<ConnectInfo<SocketAddr>>().map_or(Ipv4Addr::UNSPECIFIED.into(), |c| c.0.ip());
    // Hashing is slow on purpose, so it is done off the threads that serve.
    blocking(move || {
        let Some(login) = &app.login else { return Ok(Redirect::to("/").into_response()) };
        Ok(match login.open(Fields(rows).get("password"), from, Instant::now()) {
            Err(seconds) => {
                let what = format!("Too many wrong passwords. Try again in {seconds} seconds.");
                ([(header::RETRY_AFTER, seconds.to_string())], form(StatusCode::TOO_MANY_REQUESTS, &what))
                    .into_response()
            }
            Ok(None) => form(StatusCode::UNAUTHORIZED, "That is not the password."),
            Ok(Some(word)) => {
                let lasts = LASTS.as_secs();
                let cookie = format!("{COOKIE}={word}; HttpOnly; SameSite=Strict; Path=/; Max-Age={lasts}");
                ([(header::SET_COOKIE, cookie)], Redirect::to("/")).into_response()
            }
        })
    })
    .await
}

#[cfg(test)]
mod tests {
    use super::*;

    const A: IpAddr = IpAddr::V4(Ipv4Addr::new(192, 168, 1, 5));
    const B: IpAddr = IpAddr::V4(Ipv4Addr::new(192, 168, 1, 6));

    #[test]
    fn a_machine_waits_after_five_wrong_tries_and_others_do_not() {
        let (mut tries, start) = (Tries::default(), Instant::now());
        let at = |s: u64| start + Duration::from_secs(s);
        for n in 0..5 {
            assert_eq!(tries.take(A, at(n)), Ok(()));
        }
        assert_eq!(tries.take(A, at(10)), Err(51));
        assert_eq!(tries.take(B, at(10)), Ok(()));
        assert_eq!(tries.take(A, at(60)), Ok(()), "the first of the five is a minute old");
        assert_eq!(tries.take(A, at(60)), Err(2));
        tries.forget(A);
        assert_eq!(tries.take(A, at(60)), Ok(()));
    }

    #[test]
    fn many_machines_together_wait_after_thirty() {
        let (mut tries, now) = (Tries::default(), Instant::now());
        let of = |n: u8| IpAddr::V4(Ipv4Addr::new(10, 0, 0, n));
        assert!((0..30).all(|n| tries.take(of(n), now).is_ok()));
        assert_eq!(tries.take(of(99), now), Err(61));
        let one = |text: &str| machine(text.parse().expect("an address"));
        assert_eq!(one("2001:db8:1:2::5"), one("2001:db8:1:2:ffff::9"), "one network is one machine");
        assert_ne!(one("2001:db8:1:2::5"), one("2001:db8:1:3::5"));
        assert_eq!(one("::ffff:192.168.1.5"), A);
    }

    #[test]
    fn tries_at_the_same_moment_count_too() {
        let login = Login::new("a long password").expect("long enough");
        let now = Instant::now();
        let judged = std::thread::scope(|s| {
            let all: Vec<_> = (0..20).map(|_| s.spawn(|| login.open("wrong", A, now).is_ok())).collect();
            all.into_iter().map(|t| t.join().expect("an end")).filter(|ok| *ok).count()
        });
        assert_eq!(judged, TRIES);
        assert_eq!(login.open("a long password", A, now), Err(61), "the right one has to wait as well");
    }

    #[test]
    fn a_session_ends_after_its_time_and_by_hand() {
        let login = Login::new("a long password").expect("long enough");
        let now = Instant::now();
        let word = login.open("a long password", A, now).expect("no wait").expect("right");
        assert_eq!(word.len(), 64);
        let with = |word: &str| {
            let mut headers = HeaderMap::new();
            headers.insert(header::COOKIE, format!("other=1; {COOKIE}={word}").parse().expect("a cookie"));
            headers
        };
        assert!(login.has_session(&with(&word), now));
        assert!(!login.has_session(&with(&word[..63]), now) && !login.has_session(&with(""), now));
        login.end("something else");
        assert!(login.has_session(&with(&word), now + LASTS - Duration::from_secs(1)));
        assert!(!login.has_session(&with(&word), now + LASTS));
        let word = login.open("a long password", A, now).expect("no wait").expect("right");
        login.end(&word);
        assert!(!login.has_session(&with(&word), now));
        assert!(Login::new("too short").is_err());
    }
}
