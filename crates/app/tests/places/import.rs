//! Files of coaches and of worse people: read with a review, or told in a sentence.

use crate::Open;
use std::io::Write;

const PLAN: &str = "Day,Exercise,Sets,Reps,RIR,Load\nMonday,Back squat,3,8,2,60 kg\nMonday,Florbel twister,3,10,2,\n";

#[tokio::test]
async fn a_plan_is_reviewed_corrected_and_stored_for_a_new_client() {
    let open = Open::new();
    let before = open.app.store.clients(true).expect("clients").len();
    let n = open.upload("plan.csv", PLAN.as_bytes(), "").await.number();
    let review = format!("/import/{n}");
    open.get(&review)
        .await
        .says(200, &["2 exercises in plan.csv", "1 not understood", "Florbel twister", "Nothing is stored yet"]);
    open.post(&review, &[("client", ""), ("name", " "), ("week", "w")]).await.says(422, &["needs a name"]);
    let wrong = [("client", ""), ("name", "Rita (invented)"), ("as1", "Zorp of zorps")];
    open.post(&review, &wrong).await.says(422, &["Zorp of zorps", "no movement that is known"]);
    open.post(&review, &[("client", "77"), ("week", "w")]).await.says(404, &["77"]);
    assert_eq!(open.app.store.clients(true).expect("clients").len(), before, "nothing was stored");
    let sent = [("client", ""), ("name", "Rita (invented)"), ("week", "Block 1"), ("as1", "Seated leg curl")];
    let week = open.post(&review, &sent).await.number();
    let week = open.app.store.week(week).expect("stored");
    assert_eq!(week.content.entries.len(), 2);
    assert_eq!(week.content.entries[1].movement.as_deref(), Some("seated-leg-curl"));
    assert_eq!(open.app.store.client(week.row.client).expect("it").name, "Rita (invented)");
    open.get(&review).await.says(422, &["not waiting any more"]);
    // The correction is known the next time.
    let n = open.upload("again.csv", PLAN.as_bytes(), "").await.number();
    open.get(&format!("/import/{n}")).await.says(200, &["0 not understood"]);
}

/// Rows that stay unclear are stored too: no row of a plan vanishes.
#[tokio::test]
async fn a_row_that_is_not_understood_is_kept_and_marked() {
    let open = Open::new();
    let n = open.upload("plan.csv", PLAN.as_bytes(), "1").await.number();
    let week = open.post(&format!("/import/{n}"), &[("client", "1"), ("week", "w")]).await.number();
    open.get(&format!("/week/{week}")).await.says(200, &["Not understood, so it counts nowhere"]);
    open.get(&format!("/week/{week}")).await.page().find("Florbel twister").expect("the row is shown");
}

#[tokio::test]
async fn files_that_are_no_plan_end_in_a_sentence_and_store_nothing() {
    let open = Open::new();
    // A megabyte that unpacks to three hundred.
    let mut bomb = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for name in ["[Content_Types].xml", "xl/workbook.xml", "xl/worksheets/sheet1.xml"] {
        bomb.start_file(name, zip::write::SimpleFileOptions::default()).expect("a part");
        let zeros = vec![b' '; 1 << 20];
        (0..100).for_each(|_| bomb.write_all(&zeros).expect("packed"));
    }
    let bomb = bomb.finish().expect("packed").into_inner();
    let check = async |name: &str, bytes: &[u8]| {
        let answered = open.upload(name, bytes, "").await;
        let text = answered.text();
        assert!(answered.status.is_client_error(), "{name}: {} {text}", answered.status);
        assert!(text.contains("nothing was changed") && !text.contains("fault of the program"), "{name}: {text}");
    };
    check("bomb.xlsx", &bomb).await;
    check("empty.xlsx", b"").await;
    check("cut.xlsx", b"PK\x03\x04\x14\x00\x00\x00").await;
    check("picture.csv", b"\x89PNG\r\n\x1a\n\0\0\0\0").await;
    check("deep.toml", "[".repeat(100_000).as_bytes()).await;
    check("program.exe", b"MZ\x90\0").await;
    check("large.csv", &vec![b'a'; 17 << 20]).await;
}

/// The name of a file is a word on a page, never a place.
#[tokio::test]
async fn a_name_with_folders_is_cut_to_its_last_part() {
    let open = Open::new();
    let n = open.upload("../../etc/plan.csv", PLAN.as_bytes(), "").await.number();
    let review = open.get(&format!("/import/{n}")).await;
    review.says(200, &["2 exercises in plan.csv"]);
    assert!(!review.page().contains("etc/"));
}

/// A cell that a spreadsheet would run leaves as text.
#[tokio::test]
async fn a_formula_in_a_plan_leaves_as_text() {
    let open = Open::new();
    let plan =
        "Day,Exercise,Sets,Reps,Notes\nMonday,Back squat,3,8,\"=HYPERLINK(\"\"http://x\"\")\"\nMonday,=1+1,3,8,\n";
    let n = open.upload("plan.csv", plan.as_bytes(), "1").await.number();
    let week = open.post(&format!("/import/{n}"), &[("client", "1"), ("week", "w")]).await.number();
    let file = open.get(&format!("/week/{week}/workbook")).await;
    assert_eq!(file.status, 200, "{}", file.text());
    let mut book = zip::ZipArchive::new(std::io::Cursor::new(file.bytes)).expect("a workbook");
    for i in 0..book.len() {
        let mut part = book.by_index(i).expect("a part");
        let mut text = String::new();
        let name = part.name().expect("a name").to_string();
        if name.ends_with(".xml") {
            std::io::Read::read_to_string(&mut part, &mut text).expect("text");
        }
        // Formulas of a sheet stand in <f> elements (ECMA-376 part 1, 18.3.1.40).
        let formulas: Vec<&str> = text.split("<f>").skip(1).filter_map(|f| f.split("</f>").next()).collect();
        assert!(!formulas.iter().any(|f| f.contains("HYPERLINK") || f.contains("1+1")), "{}: {formulas:?}", name);
    }
}
