//! What a page may do in a browser, and what an address may reach.

use crate::Open;

/// Every kind of page, and pages of errors.
const PAGES: [&str; 16] = [
    "/",
    "/client/new",
    "/client/1",
    "/clients/away",
    "/week/1",
    "/week/1/history",
    "/week/1/compare",
    "/import",
    "/movement",
    "/muscle",
    "/evidence",
    "/export",
    "/about",
    "/find?q=squat",
    "/no-such-page",
    "/client/9999",
];

#[tokio::test]
async fn every_page_is_strict_and_asks_nothing_of_other_machines() {
    let open = Open::new();
    for to in PAGES {
        let got = open.get(to).await;
        assert!(got.status.as_u16() < 500, "{to}: {}", got.status);
        let policy = got.header("content-security-policy");
        assert!(policy.starts_with("default-src 'none';"), "{to}: {policy}");
        for part in ["script-src 'self';", "form-action 'self';", "base-uri 'none';", "frame-ancestors 'none'"] {
            assert!(policy.contains(part), "{to}: {policy}");
        }
        assert!(!policy.contains("unsafe") && !policy.contains('*') && !policy.contains("http"), "{to}: {policy}");
        assert_eq!(got.header("x-content-type-options"), "nosniff", "{to}");
        assert_eq!(got.header("referrer-policy"), "same-origin", "{to}");
        assert_eq!(got.header("cross-origin-resource-policy"), "same-origin", "{to}");
        assert_eq!(got.header("cache-control"), "no-store", "{to}: what clients say stays out of caches");
        let bad = forbidden(&got.page());
        assert!(bad.is_empty(), "{to}: {bad:?}");
    }
}

/// What the policy would block or what would leave this machine; links are followed by people, so they may lead away.
fn forbidden(page: &str) -> Vec<String> {
    let mut out = Vec::new();
    for tag in page.split('<').skip(1) {
        let end = tag.find('>').unwrap_or(tag.len());
        let (inside, after) = (&tag[..end], tag[end..].trim_start_matches('>'));
        let name = inside.split([' ', '/']).next().unwrap_or_default();
        let away = |key: &str| {
            let value = inside.split_once(&format!(" {key}=\"")).map_or("", |(_, v)| v);
            value.starts_with("http") || value.starts_with("//")
        };
        let leaves = ["src", "srcset", "action", "data", "poster"].into_iter().any(away)
            || matches!(name, "link" | "use" | "image") && (away("href") || away("xlink:href"));
        let inline = name == "style" || name == "script" && !after.trim().is_empty() || inside.contains(" style=\"");
        let handler = inside.split(' ').any(|part| part.starts_with("on") && part.contains("=\""));
        if leaves || inline || handler || matches!(name, "base" | "object" | "embed" | "iframe") {
            out.push(format!("<{inside}>"));
        }
    }
    out
}

#[test]
fn what_is_forbidden_is_found() {
    let check = |page: &str, bad: usize| assert_eq!(forbidden(page).len(), bad, "{page}");
    check("<a href=\"https://doi.org/1\">a source</a><img src=\"/static/1/a.png\"><script src=\"/a.js\"></script>", 0);
    check("<img src=\"https://elsewhere.example/a.png\">", 1);
    check("<link rel=\"stylesheet\" href=\"//elsewhere.example/a.css\">", 1);
    check("<form action=\"https://elsewhere.example\">", 1);
    check("<p style=\"color:red\">", 1);
    check("<style>p{}</style>", 1);
    check("<script>alert(1)</script>", 1);
    check("<button onclick=\"a()\">", 1);
}

#[tokio::test]
async fn what_is_typed_is_shown_as_text() {
    let open = Open::new();
    let bad = "<script>alert(1)</script>";
    let typed = "%3Cscript%3Ealert(1)%3C%2Fscript%3E";
    let made = open.send("/client/new", &format!("form=1&name={typed}&notes={typed}"), &[]).await;
    assert_eq!(made.status.as_u16(), 303, "{}", made.page());
    let client = made.header("location").to_string();
    let week = open.send(&format!("{client}/week"), &format!("name={typed}&from="), &[]).await;
    let week = week.header("location").to_string();
    for to in ["/", &client, &week, &format!("{week}/history"), "/import", "/export"] {
        let page = open.get(to).await.page();
        assert!(!page.contains(bad), "{to}");
    }
    assert!(open.get("/").await.page().contains("&lt;script&gt;"));
    for to in ["/find?q=", "/movement?m=", "/muscle?h=", "/import?client=", "/week/1/compare?with="] {
        let got = open.get(&format!("{to}{typed}")).await;
        assert!(!got.page().contains(bad) && got.status.as_u16() < 500, "{to}: {}", got.status);
    }
    let got = open.upload(&format!("{bad}.csv"), b"Day,Exercise\n").await;
    assert!(!got.page().contains(bad));
}

#[tokio::test]
async fn an_address_reaches_no_file() {
    let open = Open::new();
    std::fs::write(open.folder.path().join("secret.txt"), "not for pages").expect("a file");
    for to in [
        "/static/x/../../Cargo.toml",
        "/static/x/..%2f..%2fCargo.toml",
        "/static/x/%2e%2e%2fsecret.txt",
        "/static/x/%00style.css",
        "/static/..%5c..%5csecret.txt/style.css/x",
        "/%2e%2e/%2e%2e/etc/passwd",
        "//etc/passwd",
        "/lengthwise.db",
        "/data/lengthwise.db",
        "/week/..%2f1",
        "/week/1/ledger.%2e%2e%2fpng",
        "/client/1%00",
        "/client/-1",
        "/client/99999999999999999999",
        "/week/1;drop%20table%20week",
    ] {
        let got = open.get(to).await;
        assert!(matches!(got.status.as_u16(), 400 | 404 | 422), "{to}: {}", got.status);
        let page = got.page();
        assert!(!page.contains("not for pages") && !page.contains("SQLite format") && !page.contains("root:"), "{to}");
    }
    assert!(open.get("/week/1").await.status.is_success(), "the week is still there");
}

/// What clients tell about their health is not for other accounts of the same machine.
#[cfg(unix)]
#[tokio::test]
async fn the_data_is_for_its_owner_alone() {
    use std::os::unix::fs::PermissionsExt;
    let open = Open::new();
    let data = open.folder.path().join("data");
    let rights = |path: &std::path::Path| std::fs::metadata(path).expect("there").permissions().mode() & 0o777;
    assert_eq!(rights(&data), 0o700);
    for entry in std::fs::read_dir(&data).expect("a folder") {
        let path = entry.expect("a file").path();
        assert_eq!(rights(&path), 0o600, "{}", path.display());
    }
}
