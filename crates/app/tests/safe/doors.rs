//! Who may ask: names of this machine, changes from our own pages, the password where other machines may ask.

use crate::{Open, PASSWORD};
use axum::http::StatusCode;

#[tokio::test]
async fn a_name_of_a_stranger_that_points_here_gets_nothing() {
    let open = Open::new();
    let check = async |host: &str, want: u16| {
        let got = open.ask("GET", "/", &[("host", host)], "").await;
        assert_eq!(got.status.as_u16(), want, "{host}");
        // The name of a demo client stands on the first page and on no other.
        assert_eq!(got.page().contains("/client/1"), want == 200, "{host}");
    };
    check("127.0.0.1:4044", 200).await;
    check("localhost:4044", 200).await;
    check("[::1]:4044", 200).await;
    check("evil.example", 403).await;
    check("localhost.evil.example:4044", 403).await;
    // Without --listen no other machine has business here.
    check("192.168.1.5:4044", 403).await;
    check("", 403).await;
}

#[tokio::test]
async fn a_change_from_another_site_changes_nothing() {
    let open = Open::new();
    let before = open.clients();
    let check = async |fields: &[(&str, &str)], want: StatusCode| {
        let mut fields = fields.to_vec();
        fields.push(("content-type", "application/x-www-form-urlencoded"));
        let got = open.ask("POST", "/client/1/copy", &fields, "").await;
        assert_eq!(got.status, want, "{fields:?}");
    };
    check(&[("origin", "https://evil.example")], StatusCode::FORBIDDEN).await;
    check(&[("origin", "null")], StatusCode::FORBIDDEN).await;
    // Another program of this machine, on another port, is another site.
    check(&[("origin", "http://127.0.0.1:9999")], StatusCode::FORBIDDEN).await;
    check(&[("origin", "http://localhost:4044")], StatusCode::FORBIDDEN).await;
    check(&[("sec-fetch-site", "cross-site")], StatusCode::FORBIDDEN).await;
    check(&[("sec-fetch-site", "same-site"), ("origin", "http://127.0.0.1:4044")], StatusCode::FORBIDDEN).await;
    assert_eq!(open.clients(), before);
    check(&[("sec-fetch-site", "same-origin"), ("origin", "http://127.0.0.1:4044")], StatusCode::SEE_OTHER).await;
    assert_eq!(open.clients(), before + 1, "our own page may");
    // What only looks like reading is no way around: every change is a POST.
    for to in ["/client/1/copy", "/client/1/away", "/client/1/week", "/noted", "/week/1/edit", "/logout"] {
        let got = open.get(to).await;
        assert!(matches!(got.status.as_u16(), 404 | 405), "{to} answered {}", got.status);
    }
    assert_eq!(open.clients(), before + 1);
}

#[tokio::test]
async fn another_site_may_link_here_and_take_nothing() {
    let open = Open::new();
    let fields = |mode, goal| [("sec-fetch-site", "cross-site"), ("sec-fetch-mode", mode), ("sec-fetch-dest", goal)];
    for (mode, goal, want) in [
        ("navigate", "document", 200),
        ("no-cors", "image", 403),
        ("no-cors", "script", 403),
        ("navigate", "iframe", 403),
    ] {
        let got = open.ask("GET", "/", &fields(mode, goal), "").await;
        assert_eq!(got.status.as_u16(), want, "{mode} {goal}");
    }
}

#[tokio::test]
async fn behind_a_password_nothing_is_shown_without_a_session() {
    let open = Open::of(Some(PASSWORD));
    let lan = ("host", "192.168.1.5:4044");
    for to in
        ["/", "/client/1", "/client/1/text", "/week/1", "/week/1/workbook", "/movement", "/no-such-page", "/import"]
    {
        let got = open.ask("GET", to, &[lan], "").await;
        assert_eq!((got.status, got.header("location")), (StatusCode::SEE_OTHER, "/login"), "{to}");
        assert!(got.bytes.is_empty(), "{to}");
    }
    let own = [lan, ("origin", "http://192.168.1.5:4044")];
    let before = open.clients();
    assert_eq!(open.send("/client/1/copy", "", &[lan]).await.status, StatusCode::FORBIDDEN);
    assert_eq!(open.ask("POST", "/client/1/copy", &own, "").await.status, StatusCode::UNAUTHORIZED);
    assert_eq!(open.clients(), before);
    let page = open.ask("GET", "/login", &[lan], "").await;
    assert_eq!(page.status, StatusCode::OK);
    // Styles are for everybody, so that the password page is readable.
    let style = app::assets::address("style.css");
    assert_eq!(open.ask("GET", &style, &[lan], "").await.status, StatusCode::OK);
    assert_eq!(open.ask("GET", "/login", &[("host", "evil.example")], "").await.status, StatusCode::FORBIDDEN);
}

#[tokio::test]
async fn the_password_opens_wrong_ones_wait_and_leaving_ends_it() {
    let open = Open::of(Some(PASSWORD));
    let typed = |word: &str| format!("password={}", word.replace(' ', "+"));
    let wrong = open.send("/login", &typed("wrong"), &[]).await;
    assert_eq!((wrong.status, wrong.header("set-cookie")), (StatusCode::UNAUTHORIZED, ""));
    let right = open.send("/login", &typed(PASSWORD), &[]).await;
    assert_eq!(right.status, StatusCode::SEE_OTHER);
    let cookie = right.header("set-cookie").to_string();
    for part in ["; HttpOnly", "; SameSite=Strict", "; Path=/", "; Max-Age=43200"] {
        assert!(cookie.contains(part), "{cookie}");
    }
    let word = cookie.split(';').next().unwrap_or_default();
    let with = [("cookie", word)];
    assert_eq!(open.ask("GET", "/", &with, "").await.status, StatusCode::OK);
    assert_eq!(open.ask("GET", "/", &[("cookie", "lengthwise=00")], "").await.status, StatusCode::SEE_OTHER);
    // A session does not make a change of another site ours.
    let foreign = [("cookie", word), ("origin", "http://evil.example")];
    assert_eq!(open.ask("POST", "/client/1/copy", &foreign, "").await.status, StatusCode::FORBIDDEN);
    for _ in 0..5 {
        assert_eq!(open.send("/login", &typed("wrong"), &[]).await.status, StatusCode::UNAUTHORIZED);
    }
    let late = open.send("/login", &typed(PASSWORD), &[]).await;
    assert_eq!(late.status, StatusCode::TOO_MANY_REQUESTS);
    let seconds: u64 = late.header("retry-after").parse().expect("seconds");
    assert!((1..=61).contains(&seconds), "{seconds}");
    assert_eq!(open.ask("GET", "/", &with, "").await.status, StatusCode::OK, "who is in stays in");
    assert!(open.ask("GET", "/login", &with, "").await.page().contains("/logout"));
    assert_eq!(open.send("/logout", "", &with).await.header("location"), "/login");
    assert_eq!(open.ask("GET", "/", &with, "").await.status, StatusCode::SEE_OTHER);
}
