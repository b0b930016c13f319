//! Hostile files through the import page, and what is written into workbooks.

use crate::Open;
use std::io::{Cursor, Read, Write};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipArchive, ZipWriter};

/// An archive with one packed part after another.
fn zipped(parts: &[(&str, &[u8])]) -> Vec<u8> {
    let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default().compression_method(CompressionMethod::Deflated);
    for (name, content) in parts {
        writer.start_file(*name, options).expect("a part");
        writer.write_all(content).expect("its content");
    }
    writer.finish().expect("an archive").into_inner()
}

/// A file → status; the page says what was wrong, and nothing is stored.
async fn check(open: &Open, name: &str, bytes: &[u8], status: u16, words: &str) {
    let before = open.clients();
    let got = open.upload(name, bytes).await;
    assert_eq!(got.status.as_u16(), status, "{name}: {}", got.page());
    assert!(got.page().contains(words), "{name} should say {words:?}: {}", got.page());
    assert_eq!(open.clients(), before);
    assert!(open.get("/").await.status.is_success(), "after {name}");
}

#[tokio::test]
async fn hostile_files_end_with_a_sentence() {
    let open = Open::new();
    check(&open, "plan.xlsx", b"", 422, "no file was chosen").await;
    check(&open, "plan.xlsx", b"PK\x03\x04 and nothing more", 422, "plan.xlsx").await;
    check(&open, "plan.xlsx", b"%PDF-1.7 ...", 422, "PDF").await;
    // 200 MB of blanks pack to 200 kB.
    let blanks = vec![b' '; 200 << 20];
    let rels = r#"<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>"#;
    let bomb = zipped(&[("_rels/.rels", rels.as_bytes()), ("xl/workbook.xml", &blanks)]);
    drop(blanks);
    assert!(bomb.len() < 1 << 20, "{} bytes", bomb.len());
    check(&open, "plan.xlsx", &bomb, 422, "plan.xlsx").await;
    // A path as a name is a name.
    check(&open, "../../etc/plan.pdf", b"%PDF-1.7 ...", 422, "plan.pdf").await;
}

#[tokio::test]
async fn what_is_too_large_is_refused_before_it_is_read() {
    let open = Open::new();
    let got = open.upload("plan.csv", &vec![b'a'; 17 << 20]).await;
    assert!(matches!(got.status.as_u16(), 413 | 422), "{}", got.status);
    assert!(got.page().contains("could not be taken"), "{}", got.page());
    // Forms have a limit of their own.
    let long = format!("form=1&name={}", "a".repeat(3 << 20));
    let got = open.send("/client/new", &long, &[]).await;
    assert_eq!(got.status.as_u16(), 413);
    assert!(open.get("/").await.status.is_success());
}

#[tokio::test]
async fn a_formula_in_a_plan_stays_a_text_in_the_workbook() {
    let open = Open::new();
    let plan = "Day,Exercise,Sets,Reps,RIR,Notes\nMonday,Back squat,3,8,2,\"=HYPERLINK(\"\"http://evil.example\"\",\"\"x\"\")\"\n\
                Monday,Bench press,3,8,2,@SUM(A1:A9)\n=1+1,+cmd|' /C calc'!A0,3,8,2,-2+3\n";
    let read = open.upload("plan.csv", plan.as_bytes()).await;
    assert_eq!(read.status.as_u16(), 303, "{}", read.page());
    let review = read.header("location").to_string();
    let stored = open.send(&review, "client=&name=Mia+(invented)&week=%3DA1", &[]).await;
    assert_eq!(stored.status.as_u16(), 303, "{}", stored.page());
    let book = open.get(&format!("{}/workbook", stored.header("location"))).await;
    assert_eq!(book.status.as_u16(), 200, "{}", book.page());
    let mut archive = ZipArchive::new(Cursor::new(&book.bytes)).expect("an archive");
    let mut texts = String::new();
    for n in 0..archive.len() {
        let mut part = archive.by_index(n).expect("a part");
        let mut text = String::new();
        part.read_to_string(&mut text).expect("XML");
        let name = part.name().expect("a name").to_string();
        assert!(!text.contains("<f>") && !text.contains("<f "), "{name} has a formula");
        assert!(!name.contains("externalLink") && !text.contains("<hyperlink"), "{name} leads away");
        assert!(!text.contains("TargetMode=\"External\""), "{name} leads away");
        texts.push_str(&text);
    }
    assert!(texts.contains("cmd|"), "the row that was not understood is in the workbook, as a text");
}
