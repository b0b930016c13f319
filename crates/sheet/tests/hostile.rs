//! Bad files: each gives one clear message that names the file and the place, or is read with a note on what was
//! left out. None makes the reader panic.

mod hostile_support;

use hostile_support::{Noise, ODS_TYPE, Parts, RELS, WORKBOOK_RELS, ods, patch, xlsx};
use sheet::grid::Value;
use sheet::read::{Problem, read_book};

fn library_file(name: &str) -> Vec<u8> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/files/made_by_libraries/");
    std::fs::read(format!("{folder}{name}")).unwrap()
}

/// What a coach would see: one line for the error, or the filled cells and the notes.
fn told(bytes: &[u8], name: &str) -> String {
    let book = match read_book(bytes, name) {
        Ok(book) => book,
        Err(error) => return error.to_string(),
    };
    let mut lines = Vec::new();
    for grid in &book.sheets {
        for row in &grid.rows {
            let texts = row.iter().map(|c| match &c.value {
                Value::Empty => String::new(),
                Value::Text(t) | Value::Date(t) | Value::Error(t) => t.clone(),
                Value::Number(n) => n.to_string(),
                Value::Bool(b) => b.to_string(),
            });
            lines.push(texts.collect::<Vec<_>>().join("|"));
        }
    }
    lines.extend(book.notes.iter().map(|n| format!("note: {n}")));
    lines.join("\n")
}

fn check(bytes: impl AsRef<[u8]>, name: &str, expected: &str) {
    assert_eq!(told(bytes.as_ref(), name), expected);
}

#[test]
fn empty_and_truncated_files() {
    check(
        "",
        "plan.xlsx",
        "plan.xlsx: the file is empty; expected a workbook (.xlsx, .ods) or a text table (.csv). \
         Save or send the file again.",
    );
    let whole = library_file("openpyxl_1900.xlsx");
    check(
        &whole[..3_000],
        "plan.xlsx",
        "plan.xlsx: the end of the file is missing (3000 bytes arrived); expected a complete workbook. \
         Download or send it again; it was probably cut off on the way.",
    );
    for name in ["openpyxl_1900.xlsx", "odfpy.ods"] {
        let whole = library_file(name);
        for length in (4..whole.len()).step_by(7).chain([whole.len() - 1]) {
            let error = read_book(&whole[..length], name).expect_err("a part of a workbook is no workbook");
            assert!(matches!(error.problem, Problem::Truncated { .. } | Problem::Damaged { .. }), "{length}: {error}");
        }
    }
    // The archive is complete but a sheet in it stops half-way.
    let half = xlsx("").with("xl/worksheets/sheet1.xml", "<worksheet><sheetData><row><c r=\"C5\"><v>3</v></c></row>");
    check(
        half.zip(),
        "plan.xlsx",
        "plan.xlsx, part xl/worksheets/sheet1.xml: damaged: the XML cannot be read near byte 55 (it stops in the \
         middle); expected well-formed XML. Open it in a spreadsheet program, let it repair the file, and save as .xlsx.",
    );
}

#[test]
fn encrypted_files() {
    let message = |name: &str| {
        format!(
            "{name}: the workbook is protected with a password, so its cells cannot be read; expected an open \
             workbook. Open it with its password, save it without one as .xlsx, and try again."
        )
    };
    check(library_file("encrypted.xlsx"), "plan.xlsx", &message("plan.xlsx"));
    let manifest =
        "<manifest:manifest><manifest:file-entry><manifest:encryption-data/></manifest:file-entry></manifest:manifest>";
    check(ods("").with("META-INF/manifest.xml", manifest).zip(), "plan.ods", &message("plan.ods"));
    // Bit 0 of the flags in the local (offset 6) and the central (offset 8) header.
    let mut zipped = xlsx("").unpacked().zip();
    for at in 0..zipped.len() - 9 {
        match &zipped[at..at + 4] {
            b"PK\x03\x04" => zipped[at + 6] |= 1,
            b"PK\x01\x02" => zipped[at + 8] |= 1,
            _ => {}
        }
    }
    check(zipped, "plan.xlsx", &message("plan.xlsx"));
}

#[test]
fn wrong_types() {
    let document = Parts::default().with("_rels/.rels", RELS).with("word/document.xml", "<w/>").zip();
    let text_document = Parts::default().with("mimetype", "application/vnd.oasis.opendocument.text").zip();
    let web = b" <!DOCTYPE html><table><tr><td>Squat</td></tr></table>".to_vec();
    let mut noise = Noise(1);
    let binary: Vec<u8> = (0..4_000).map(|_| noise.next() as u8).collect();
    let cases: [(Vec<u8>, &str); 9] = [
        (b"%PDF-1.7 ...".to_vec(), "this is a PDF, not a table"),
        (b"\x89PNG\r\n\x1a\n....".to_vec(), "this is a picture (PNG), not a table"),
        (document, "this is a word-processor document, not a table"),
        (text_document, "this is an OpenDocument text or drawing, not a table"),
        (web, "this is a web page, not a table"),
        (binary, "this is binary data of an unknown kind, not a table"),
        (b"<?xml version=\"1.0\"?><a/>".to_vec(), "this is an XML document, not a table"),
        (library_file("xlwt.xls"), "this is a workbook in an older or binary format (an .xls workbook or similar)"),
        (b"\x09\x08\x10\0\0\x06".to_vec(), "this is binary data of an unknown kind, not a table"),
    ];
    for (bytes, looks_like) in cases {
        let message = told(&bytes, "plan.xlsx");
        assert!(message.starts_with(&format!("plan.xlsx: {looks_like}; expected .xlsx, .ods or .csv. ")), "{message}");
    }
    check(
        Parts::default().with("plan.pdf", "x").zip(),
        "plan.zip",
        "plan.zip: a zip archive without a workbook inside; expected .xlsx, .ods or .csv. \
         Unpack the archive and give the workbook inside it.",
    );
}

#[test]
fn damaged_workbooks_name_the_place() {
    let repair = "Open it in a spreadsheet program, let it repair the file, and save as .xlsx.";
    for (parts, message) in [
        (
            xlsx("<sheetData><row><c r=\"C5\" t=\"s\"><v>7</v></c></row></sheetData>"),
            "plan.xlsx, sheet \"Week 1\", cell C5: damaged: the cell points at shared text \"7\" of 0; expected a \
             number of a text that exists.",
        ),
        (
            xlsx("<sheetData><row><c r=\"B2\"><v>1</v></c><c r=\"5C\"/></row></sheetData>"),
            "plan.xlsx, after sheet \"Week 1\", cell B2: damaged: \"5C\" is no cell reference; expected one like C5.",
        ),
        (
            xlsx("").with("xl/workbook.xml", "<x/>"),
            "plan.xlsx, part xl/workbook.xml: damaged: no workbook element; expected a workbook part.",
        ),
        (
            xlsx("").with("xl/_rels/workbook.xml.rels", "<Relationships/>"),
            "plan.xlsx, part xl/workbook.xml: damaged: sheet \"Week 1\" points at no part of the file; expected a \
             part for every sheet.",
        ),
        (
            xlsx("").with("xl/_rels/workbook.xml.rels", WORKBOOK_RELS.replace("sheet1", "sheet9")),
            "plan.xlsx, part xl/worksheets/sheet9.xml: damaged: this part is missing from the archive; expected \
             every part that the workbook names.",
        ),
        (
            xlsx("").with("xl/worksheets/sheet1.xml", b"<worksheet>\xFF</worksheet>".as_slice()),
            "plan.xlsx, part xl/worksheets/sheet1.xml: damaged: byte 12 is not valid text; expected XML text in UTF-8.",
        ),
    ] {
        check(parts.zip(), "plan.xlsx", &format!("{message} {repair}"));
    }
}

#[test]
fn huge_files_and_bombs() {
    let fresh = "Copy the weeks to be read into a new workbook";
    check(
        vec![b'x'; 60_000_001],
        "plan.csv",
        &format!(
            "plan.csv: the file has 60000001 bytes; at most 60000000 are read. {fresh}, without pictures and old logs."
        ),
    );
    check(
        vec![b'x'; 40_000_001],
        "plan.csv",
        &format!(
            "plan.csv: the file has 40000001 bytes; at most 40000000 are read. {fresh}, without pictures and old logs."
        ),
    );
    let part = "plan.xlsx, part xl/worksheets/sheet1.xml: this part";
    let distrust = "Do not trust this file: ask its sender for a fresh copy saved from a spreadsheet program.";
    let blanks = " ".repeat(300_000_000);
    let message = told(&xlsx("").with("xl/worksheets/sheet1.xml", blanks.as_bytes()).zip(), "plan.xlsx");
    assert!(message.starts_with(&format!("{part} swells ")), "{message}");
    assert!(message.ends_with(&format!("at most 250-fold is accepted: a file made to exhaust memory. {distrust}")));
    // Badly packed, so no bomb, but too large all the same.
    let stored = xlsx("").with("xl/worksheets/sheet1.xml", &blanks.as_bytes()[..45_000_000]).unpacked().zip();
    check(&stored, "plan.xlsx", &format!("{part} unpacks to more than 40000000 bytes. {fresh} and save as .xlsx."));
    // The same bomb with a directory that declares 1000 bytes.
    let mut lying = xlsx("").with("xl/worksheets/sheet1.xml", &blanks.as_bytes()[..45_000_000]).zip();
    let declared = patch(&mut lying, &45_000_000_u32.to_le_bytes(), &1_000_u32.to_le_bytes());
    assert!(declared >= 1);
    check(
        &lying,
        "plan.xlsx",
        "plan.xlsx, part xl/worksheets/sheet1.xml: damaged: the part cannot be unpacked (File is larger than its \
         declared uncompressed size); expected sound packed data. Open it in a spreadsheet program, let it repair the \
         file, and save as .xlsx.",
    );
    let mut noise = Noise(7);
    // Packs about 50-fold: not small enough for a bomb.
    let block: String = (0..10_000).map(|_| format!("{:200}{:08}", "", noise.next() % 100_000_000)).collect();
    let many = (0..4).fold(xlsx(""), |parts, n| parts.with(&format!("xl/worksheets/other{n}.xml"), block.repeat(15)));
    check(
        many.zip(),
        "plan.xlsx",
        &format!("plan.xlsx: the parts together unpack to more than 100000000 bytes. {fresh} and save as .xlsx."),
    );
    let crowd = (0..2_001).fold(Parts::default(), |parts, n| parts.with(&format!("{n}"), ""));
    check(
        crowd.zip(),
        "plan.xlsx",
        &format!("plan.xlsx: the archive lists 2001 parts; at most 2000 are read. {fresh} and save as .xlsx."),
    );
}

#[test]
fn sheets_that_spread_or_repeat_without_end() {
    let fresh = "Copy the weeks to be read into a new workbook, without pictures and old logs.";
    // One far cell in each row: little to store, much to allocate.
    let rows: String = (1..=20_000).map(|r| format!("<row r=\"{r}\"><c r=\"GR{r}\"><v>{r}</v></c></row>")).collect();
    check(
        xlsx(&format!("<sheetData>{rows}</sheetData>")).zip(),
        "plan.xlsx",
        &format!("plan.xlsx, sheet \"Week 1\", cell GR9951: the sheets spread over more than 2000000 cells. {fresh}"),
    );
    // A long shared text, used over and over.
    let long = "x".repeat(30_000);
    let cells = "<c t=\"s\"><v>0</v></c>".repeat(190);
    let rows = format!("<row>{cells}</row>").repeat(20);
    let amplified = xlsx(&format!("<sheetData>{rows}</sheetData>"))
        .with("xl/sharedStrings.xml", format!("<sst><si><t>{long}</t></si></sst>"));
    check(
        amplified.zip(),
        "plan.xlsx",
        &format!("plan.xlsx, sheet \"Week 1\", cell AR12: the cells hold more than 64000000 bytes of text. {fresh}"),
    );
    let cell = |times: &str| {
        format!(
            "<table:table-cell office:value-type=\"string\" table:number-columns-repeated=\"{times}\">\
             <text:p>x</text:p></table:table-cell>"
        )
    };
    let table = |rows: &str, cols: &str| {
        let cell = cell(cols);
        ods(&format!(
            "<table:table table:name=\"Plan\"><table:table-row table:number-rows-repeated=\"{rows}\">{cell}\
             </table:table-row></table:table>"
        ))
    };
    check(
        table("1048576", "16384").zip(),
        "plan.ods",
        &format!("plan.ods, sheet \"Plan\", cell A9951: the sheets spread over more than 2000000 cells. {fresh}"),
    );
    check(
        table("2", "99999999999999999999999").zip(),
        "plan.ods",
        &format!(
            "{line}\n{line}\nnote: sheet \"Plan\": 18446744073709551615 filled cells beyond row 20000 or column GR not \
             read (first: GS1).",
            line = vec!["x"; 200].join("|")
        ),
    );
    let blanks = "<text:p>a<text:s text:c=\"4000000000\"/>b</text:p>";
    let blown = ods(&format!(
        "<table:table table:name=\"Plan\"><table:table-row><table:table-cell office:value-type=\"string\">{blanks}\
         </table:table-cell></table:table-row></table:table>"
    ));
    let book = read_book(&blown.zip(), "plan.ods").unwrap();
    assert!(matches!(&book.sheets[0].rows[0][0].value, Value::Text(t) if t.len() == 32_767));
    assert_eq!(book.notes, ["sheet \"Plan\": 1 cell cut off after 32767 characters (first: A1)."]);
}

#[test]
fn far_corner_cells_and_false_counts_cost_nothing() {
    let far = xlsx(
        "<dimension ref=\"A1:XFD1048576\"/><sheetData><row r=\"1\"><c r=\"A1\"><v>3</v></c></row>\
         <row r=\"1048576\"><c r=\"XFD1048576\"><v>8</v></c></row>\
         <row r=\"99999999999999999999\"><c r=\"ZZZZZZZZZZZZZZZZZZ99999999999999999999\"><v>8</v></c></row></sheetData>\
         <mergeCells count=\"4294967295\"><mergeCell ref=\"A1:XFD1048576\"/></mergeCells>",
    );
    check(
        far.zip(),
        "plan.xlsx",
        "3\nnote: sheet \"Week 1\": 2 filled cells beyond row 20000 or column GR not read (first: XFD1048576).",
    );
    let book = read_book(&far.zip(), "plan.xlsx").unwrap();
    assert_eq!(book.sheets[0].rows[0][0].span, (20_000, 200));

    let counted = xlsx("<sheetData><row><c t=\"s\"><v>0</v></c></row></sheetData>").with(
        "xl/sharedStrings.xml",
        "<sst count=\"4294967295\" uniqueCount=\"4294967295\"><si><t>Squat</t></si></sst>",
    );
    check(counted.zip(), "plan.xlsx", "Squat");

    // The end record of the archive claims 60,000 entries (offsets 8 and 10).
    let mut claimed = counted.zip();
    let end = claimed.len() - 22;
    for at in [end + 8, end + 10] {
        claimed[at..at + 2].copy_from_slice(&60_000_u16.to_le_bytes());
    }
    check(
        claimed,
        "plan.xlsx",
        "plan.xlsx: the archive lists 60000 parts; at most 2000 are read. \
         Copy the weeks to be read into a new workbook and save as .xlsx.",
    );

    // Overlapping blocks could send a reader of spans round and round.
    let block = "<mergeCell ref=\"A1:GR20000\"/>".repeat(10_000);
    let overlapping =
        xlsx(&format!("<sheetData><row><c r=\"A1\"><v>3</v></c></row></sheetData><mergeCells>{block}</mergeCells>"));
    check(
        overlapping.zip(),
        "plan.xlsx",
        "3\nnote: sheet \"Week 1\": 9999 merged blocks overlapping others or too many; read as unmerged.",
    );
}

#[test]
fn entities_do_not_grow() {
    let bomb = "<!DOCTYPE x [<!ENTITY a \"ha\"><!ENTITY b \"&a;&a;&a;\">]><worksheet><sheetData><row>\
                <c t=\"str\"><v>&b;&#65;&amp;</v></c></row></sheetData></worksheet>";
    check(xlsx("").with("xl/worksheets/sheet1.xml", bomb).zip(), "plan.xlsx", "&b;A&");
    let deep = format!("<worksheet>{}{}</worksheet>", "<a>".repeat(200_000), "</a>".repeat(200_000));
    check(xlsx("").with("xl/worksheets/sheet1.xml", deep).zip(), "plan.xlsx", "");
}

#[test]
fn climbing_paths_are_refused() {
    let distrust = "Do not trust this file: ask its sender for a fresh copy saved from a spreadsheet program.";
    for (name, shown) in [
        ("../../outside.xml", "../../outside.xml"),
        ("xl/../../outside.xml", "xl/../../outside.xml"),
        ("/outside.xml", "/outside.xml"),
        ("C:/outside.xml", "C:/outside.xml"),
        ("xl\\outside.xml", "xl\\\\outside.xml"),
    ] {
        // The writing library would clean such names, so a plain one of equal length is exchanged afterwards.
        let plain = "q".repeat(name.len());
        let mut bytes = xlsx("").with(&plain, "<x/>").zip();
        assert_eq!(patch(&mut bytes, plain.as_bytes(), name.as_bytes()), 2);
        check(
            bytes,
            "plan.xlsx",
            &format!(
                "plan.xlsx: a part is named \"{shown}\", a path that leads out of the archive; expected a path inside \
                 it. {distrust}"
            ),
        );
    }
    let pointing = WORKBOOK_RELS.replace("worksheets/sheet1.xml", "../../../etc/passwd");
    check(
        xlsx("").with("xl/_rels/workbook.xml.rels", pointing).zip(),
        "plan.xlsx",
        &format!(
            "plan.xlsx: a part is named \"../../../etc/passwd\", a path that leads out of the archive; expected a path \
             inside it. {distrust}"
        ),
    );
}

#[test]
fn text_tables_in_other_encodings() {
    let text = "Übung;Sätze\nKniebeuge;3";
    let plain = "Übung|Sätze\nKniebeuge|3";
    let wide = |to: fn(u16) -> [u8; 2]| text.encode_utf16().flat_map(to).collect::<Vec<u8>>();
    let (le, be) = (wide(u16::to_le_bytes), wide(u16::to_be_bytes));
    let latin: Vec<u8> = text.chars().map(|c| c as u8).collect();
    for (bytes, note) in [
        (text.as_bytes().to_vec(), ""),
        ([b"\xEF\xBB\xBF", text.as_bytes()].concat(), ""),
        ([b"\xFF\xFE", &*le].concat(), "\nnote: The text is encoded in UTF-16LE (its first bytes say so)."),
        ([b"\xFE\xFF", &*be].concat(), "\nnote: The text is encoded in UTF-16BE (its first bytes say so)."),
        (le, "\nnote: The text looks like UTF-16LE without a mark at its start and was read as such."),
        (be, "\nnote: The text looks like UTF-16BE without a mark at its start and was read as such."),
        (
            latin,
            "\nnote: The text is not UTF-8 (line 1) and was read as Windows-1252 (Western European, Latin-1); check \
             letters with accents.",
        ),
    ] {
        check(bytes, "plan.csv", &format!("{plain}{note}"));
    }
}

#[test]
fn nul_bytes_and_stray_quotation_marks() {
    check(
        "Exercise;Sets\nSquat;3\nCu\0rl;2\n",
        "plan.csv",
        "plan.csv, line 3, character 3: a NUL byte stands in the text; expected a text table (.csv) in UTF-8, UTF-16 \
         or Windows-1252. Open it in a spreadsheet program and save as .xlsx, or as CSV in UTF-8.",
    );
    check(
        "Exercise;Sets\n\"Squat;3\nCurl;2\n",
        "plan.csv",
        "Exercise|Sets\n\"Squat|3\nCurl|2\nnote: Line 2: a quotation mark is opened and not closed properly; from \
         there on quotation marks were read as plain characters.",
    );
}

#[test]
fn an_ods_type_needs_a_content() {
    check(
        Parts::default().with("mimetype", ODS_TYPE).zip(),
        "plan.ods",
        "plan.ods, part content.xml: damaged: this part is missing from the archive; expected a spreadsheet's content. \
         Open it in a spreadsheet program, let it repair the file, and save as .xlsx.",
    );
}
