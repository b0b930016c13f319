//! The client form: what is typed is stored or told beside its field, and nothing else changes.

use crate::Open;

const RITA: [(&str, &str); 5] = [
    ("form", "1"),
    ("name", "Rita (invented)"),
    ("stature_cm", "168"),
    ("mass_kg", "64,5"),
    ("days", "Monday, Thursday"),
];

async fn rita(open: &Open) -> i64 {
    open.post("/client/new", &RITA).await.number()
}

#[tokio::test]
async fn a_new_client_is_stored_as_a_file_that_the_commands_read() {
    let open = Open::new();
    let id = rita(&open).await;
    let row = open.app.store.client(id).expect("stored");
    let (client, _) = desk::read_client(&row.file, "it").expect("the file reads");
    assert_eq!((client.stature_cm, client.mass_kg), (Some(168.0), Some(64.5)));
    assert_eq!(client.days, ["Monday", "Thursday"]);
    open.get(&format!("/client/{id}")).await.says(200, &["Rita (invented)", "None yet"]);
    let text = open.get(&format!("/client/{id}/text")).await;
    assert_eq!(text.page(), row.file);
}

#[tokio::test]
async fn every_slip_is_told_beside_its_field_and_nothing_is_stored() {
    let open = Open::new();
    let before = open.app.store.clients(true).expect("clients").len();
    let check = async |field: &str, typed: &str, words: &[&str]| {
        let sent: Vec<(&str, &str)> =
            RITA.iter().filter(|(k, _)| *k != field).copied().chain([(field, typed)]).collect();
        let answered = open.post("/client/new", &sent).await;
        answered.says(422, &["Not saved yet"]).says(422, words);
        assert!(answered.page().contains(&format!("id=\"w-{field}\"")) || field == "screening.date", "{field}");
        if field != "name" {
            assert!(answered.page().contains("value=\"Rita (invented)\""), "what was typed stays");
        }
        assert_eq!(open.app.store.clients(true).expect("clients").len(), before, "{field}");
    };
    check("name", " ", &["name is empty"]).await;
    check("stature_cm", "900", &["stature_cm", "230"]).await;
    check("mass_kg", "six", &["mass_kg"]).await;
    check("age_years", "-3", &["age_years"]).await;
    check("minutes", "9999", &["minutes"]).await;
    check("pregnancy_weeks", "70", &["pregnancy_weeks"]).await;
    check("screening.date", "yesterday", &["date"]).await;
}

#[tokio::test]
async fn a_save_over_a_newer_client_is_refused() {
    let open = Open::new();
    let id = rita(&open).await;
    let at = format!("/client/{id}");
    let save = async |version: &str, mass: &str| {
        let sent = [("form", "1"), ("name", "Rita (invented)"), ("mass_kg", mass), ("version", version)];
        open.post(&at, &sent).await
    };
    assert_eq!(save("1", "65").await.number(), id);
    save("1", "70").await.says(409, &["changed elsewhere"]);
    save("", "70").await.says(422, &["version"]);
    assert!(open.app.store.client(id).expect("it").file.contains("65"));
}

#[tokio::test]
async fn the_file_as_text_keeps_comments_and_tells_its_line_when_it_is_wrong() {
    let open = Open::new();
    let id = rita(&open).await;
    let to = format!("/client/{id}/text");
    let mine = "# mine\nname = \"Rita (invented)\"\r\nmass_kg = 66\n";
    assert_eq!(open.post(&to, &[("file", mine), ("version", "1")]).await.number(), id);
    let file = open.app.store.client(id).expect("it").file;
    assert!(file.starts_with("# mine") && !file.contains('\r'), "{file}");
    open.post(&to, &[("file", "name = \"R\"\nhieght_cm = 168\n"), ("version", "2")])
        .await
        .says(422, &[":2", "stature_cm"]);
    assert_eq!(open.app.store.client(id).expect("it").file, file);
    // The form then changes its own fields alone.
    let sent = [("form", "1"), ("name", "Rita (invented)"), ("mass_kg", "67"), ("version", "2")];
    open.post(&format!("/client/{id}"), &sent).await.number();
    let file = open.app.store.client(id).expect("it").file;
    assert!(file.starts_with("# mine") && file.contains("67"), "{file}");
}

#[tokio::test]
async fn a_client_is_copied_put_away_and_brought_back() {
    let open = Open::new();
    let id = rita(&open).await;
    let copy = open.post(&format!("/client/{id}/copy"), &[]).await.number();
    assert_eq!(open.app.store.client(copy).expect("it").name, "Rita (invented) (copy)");
    open.post(&format!("/client/{id}/away"), &[("away", "yes")]).await;
    assert!(!open.get("/").await.page().contains(&format!("\"/client/{id}\"")));
    open.get("/clients/away").await.says(200, &["Rita (invented)"]);
    open.post(&format!("/client/{id}/away"), &[("away", "no")]).await;
    assert!(open.get("/").await.page().contains(&format!("\"/client/{id}\"")));
}

#[tokio::test]
async fn the_gate_stands_on_top_and_says_who_must_clear() {
    let open = Open::new();
    let sent: Vec<(&str, &str)> =
        RITA.into_iter().chain([("screening.symptoms", "yes"), ("screening.date", "2026-01-10")]).collect();
    let id = open.post("/client/new", &sent).await.number();
    let answered = open.get(&format!("/client/{id}")).await;
    answered.says(200, &["Lifted by"]);
    let page = answered.page();
    let (flag, form) = (page.find("class=\"stop\""), page.find("<form"));
    let main = page.find("<main").expect("a main part");
    assert!(flag.is_some_and(|f| f > main), "no caution");
    assert!(flag < form.and(page[main..].find("<form").map(|f| f + main)), "the caution stands above every form");
    // Demo clients: pregnancy and bone density are spoken of.
    for (who, word) in [("week 20", "regnan"), ("low bone density", "steop")] {
        let row =
            open.app.store.clients(false).expect("clients").into_iter().find(|c| c.name.contains(who)).expect("it");
        open.get(&format!("/client/{}", row.id)).await.says(200, &[word]);
    }
}

#[tokio::test]
async fn a_name_cannot_bring_marks_into_a_page() {
    let open = Open::new();
    let evil = "<script>alert(1)</script>\"><img src=x>";
    let id = open.post("/client/new", &[("form", "1"), ("name", evil)]).await.number();
    for path in ["/".to_string(), format!("/client/{id}"), "/export".into(), "/import".into(), "/movement".into()] {
        let page = open.get(&path).await.page();
        assert!(!page.contains("<script>alert") && !page.contains("<img src=x"), "{path}");
    }
}
