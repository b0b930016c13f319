//! Whatever the bytes, reading ends with a book or an error; it never panics, and a book keeps to the limits.

mod hostile_support;

use hostile_support::Parts;
use proptest::prelude::*;
use sheet::read::read_book;
use std::sync::LazyLock;

fn library_file(name: &str) -> Vec<u8> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/files/made_by_libraries/");
    std::fs::read(format!("{folder}{name}")).unwrap()
}

static FILES: LazyLock<Vec<(&str, Vec<u8>)>> = LazyLock::new(|| {
    let names = [
        "openpyxl_1900.xlsx",
        "xlsxwriter_shared.xlsx",
        "odfpy.ods",
        "python_utf8_mark_semicolon.csv",
        "python_utf16_tab.csv",
    ];
    names.map(|name| (name, library_file(name))).to_vec()
});

/// Parts whose damage the checksum of the archive would hide if the archive itself were damaged.
static PARTS: LazyLock<Vec<(&str, &str, Parts)>> = LazyLock::new(|| {
    [
        ("openpyxl_1900.xlsx", "xl/worksheets/sheet1.xml"),
        ("openpyxl_1900.xlsx", "xl/styles.xml"),
        ("xlsxwriter_shared.xlsx", "xl/sharedStrings.xml"),
        ("openpyxl_1900.xlsx", "xl/workbook.xml"),
        ("openpyxl_1900.xlsx", "xl/_rels/workbook.xml.rels"),
        ("odfpy.ods", "content.xml"),
        ("odfpy.ods", "META-INF/manifest.xml"),
    ]
    .map(|(name, part)| (name, part, Parts::of(&library_file(name))))
    .to_vec()
});

#[derive(Clone, Debug)]
enum Change {
    Set(usize, u8),
    Insert(usize, Vec<u8>),
    Remove(usize, usize),
    Double(usize, usize),
}

fn changes() -> impl Strategy<Value = Vec<Change>> {
    let telling = prop::sample::select(
        [
            "<",
            ">",
            "/",
            "\"",
            "&",
            "&#x110000;",
            "&#0;",
            "<c>",
            "</row>",
            "<v>",
            "-1",
            "1e999",
            "99999999999",
            "A0",
            "\0",
            "é",
            ";",
            "\n",
            ":",
            "_x0000_",
        ]
        .to_vec(),
    );
    let change = prop_oneof![
        (any::<usize>(), any::<u8>()).prop_map(|(at, byte)| Change::Set(at, byte)),
        (any::<usize>(), telling).prop_map(|(at, text)| Change::Insert(at, text.into())),
        (any::<usize>(), 1..80_usize).prop_map(|(at, length)| Change::Remove(at, length)),
        (any::<usize>(), 1..200_usize).prop_map(|(at, length)| Change::Double(at, length)),
    ];
    prop::collection::vec(change, 1..6)
}

fn changed(mut bytes: Vec<u8>, changes: &[Change]) -> Vec<u8> {
    for change in changes {
        let size = bytes.len().max(1);
        match change {
            Change::Set(at, byte) => {
                if let Some(b) = bytes.get_mut(at % size) {
                    *b = *byte;
                }
            }
            Change::Insert(at, new) => {
                let at = at % size;
                bytes.splice(at.min(bytes.len())..at.min(bytes.len()), new.iter().copied());
            }
            Change::Remove(at, length) => {
                let at = (at % size).min(bytes.len());
                bytes.drain(at..(at + length).min(bytes.len()));
            }
            Change::Double(at, length) => {
                let at = (at % size).min(bytes.len());
                let piece = bytes[at..(at + length).min(bytes.len())].to_vec();
                bytes.splice(at..at, piece);
            }
        }
    }
    bytes
}

fn check(bytes: &[u8], name: &str) -> Result<(), TestCaseError> {
    match read_book(bytes, name) {
        Err(error) => prop_assert!(error.to_string().starts_with(name)),
        Ok(book) => {
            for grid in &book.sheets {
                prop_assert!(grid.rows.len() <= 20_000 && grid.rows.iter().all(|r| r.len() <= 200));
                prop_assert!(grid.rows.iter().flatten().all(|c| c.span.0 >= 1 && c.span.1 >= 1));
            }
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1_000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_bytes(
        start in prop::sample::select(vec![&b""[..], b"PK\x03\x04", b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1", b"\xFF\xFE", b"\xEF\xBB\xBF", b"sep=", b"PK\x03\x04PK\x05\x06", b"\t\0"]),
        rest in prop::collection::vec(any::<u8>(), 0..400),
    ) {
        check(&[start, &rest].concat(), "any")?;
    }

    #[test]
    fn any_text(text in "[a-z0-9;,\t|\"'\r\n =+é\u{0}-]{0,200}") {
        check(text.as_bytes(), "any.csv")?;
    }

    #[test]
    fn damaged_files(which in 0..FILES.len(), changes in changes()) {
        let (name, bytes) = &FILES[which];
        check(&changed(bytes.clone(), &changes), name)?;
    }

    #[test]
    fn sound_archives_with_damaged_parts(which in 0..PARTS.len(), changes in changes()) {
        let (name, part, parts) = &PARTS[which];
        let damaged = changed(parts.content(part).to_vec(), &changes);
        check(&parts.clone().with(part, damaged).zip(), name)?;
    }
}
