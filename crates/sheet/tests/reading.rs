//! What stands in a file comes out as cells. Outside check: files written by libraries that know nothing of this
//! reader (openpyxl, XlsxWriter, odfpy, pyexcel-ods3, Python's csv), with a list of what they were told to store;
//! script beside them.

use sheet::grid::{Book, Cell, Value};
use sheet::read::{cell_name, read_book};
use sheet::write::{CellOut, Content, Look, SheetOut, WorkbookOut, WriteError, write_book};
use std::path::Path;

fn file(name: &str) -> Vec<u8> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/files/made_by_libraries").join(name);
    std::fs::read(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

/// Kind and text of a value, as the expectations write them. Numbers are compared by value.
fn described(cell: &Cell) -> (&'static str, String) {
    match &cell.value {
        Value::Empty => ("empty", String::new()),
        Value::Text(t) => ("text", t.clone()),
        Value::Number(n) => ("number", n.to_string()),
        Value::Date(d) => ("date", d.clone()),
        Value::Bool(b) => ("bool", b.to_string()),
        Value::Error(e) => ("error", e.clone()),
    }
}

/// sheet, cell, kind, value, rows, cols
type Row = (String, String, String, String, u32, u32);

fn filled_cells(book: &Book) -> Vec<Row> {
    let mut found = Vec::new();
    for grid in &book.sheets {
        for (row, cells) in grid.rows.iter().enumerate() {
            for (col, cell) in cells.iter().enumerate().filter(|(_, c)| !c.value.is_empty()) {
                let (kind, value) = described(cell);
                let name = cell_name(row as u64, col as u64);
                found.push((grid.name.clone(), name, kind.to_owned(), value, cell.span.0, cell.span.1));
            }
        }
    }
    found.sort();
    found
}

/// Reads a file and compares every filled cell, both ways, with its list; then the notes with what they must say.
fn check(name: &str, notes: &[&str]) {
    let book = read_book(&file(name), name).unwrap_or_else(|e| panic!("{e}"));
    let (stem, _) = name.rsplit_once('.').unwrap();
    let listed = file(&format!("{stem}.expected.csv"));
    let mut expected: Vec<Row> = csv::Reader::from_reader(&*listed)
        .records()
        .map(|record| {
            let r = record.unwrap();
            // Number texts differ between languages ("1.5e-07").
            let value = if &r[2] == "number" { r[3].parse::<f64>().unwrap().to_string() } else { r[3].to_owned() };
            (r[0].into(), r[1].into(), r[2].into(), value, r[4].parse().unwrap(), r[5].parse().unwrap())
        })
        .collect();
    expected.sort();
    assert!(!expected.is_empty());
    assert_eq!(filled_cells(&book), expected, "{name}");
    assert_eq!(book.notes.len(), notes.len(), "{name}: {:#?}", book.notes);
    for (said, wanted) in book.notes.iter().zip(notes) {
        assert!(said.contains(wanted), "{name}: {said:?} should say {wanted:?}");
    }
}

#[test]
fn workbooks_by_openpyxl() {
    for name in ["openpyxl_1900.xlsx", "openpyxl_1904.xlsx"] {
        check(
            name,
            &[
                "1 date shown without year or day (first: D1, read as 2026-10-08)",
                "1 formula without a stored result read as empty (first: C3)",
                "1 hidden row read like the others (first: row 2)",
                "\"old\" is hidden and was not read",
                "comments on cells",
            ],
        );
    }
}

#[test]
fn workbooks_by_xlsxwriter() {
    let short = "date shown without year";
    let far = "1 filled cell beyond row 20000 or column GR not read (first: XFD1048576)";
    check("xlsxwriter_shared.xlsx", &[far, short, "\"Graph\" holds no cells (chartsheet)", "pictures, charts"]);
    check("xlsxwriter_inline.xlsx", &[far, short]);
}

#[test]
fn workbooks_by_odf_libraries() {
    check("odfpy.ods", &["(first: F1, read as 2026-10-08)", "\"old\" is hidden", "comments on cells"]);
    check("pyexcel_ods3.ods", &[]);
}

#[test]
fn tables_by_python_csv() {
    check("python_utf8_comma.csv", &[]);
    check("python_utf8_mark_semicolon.csv", &[]);
    check("python_utf16_tab.csv", &["encoded in UTF-16LE"]);
    check("python_utf16_be_tab.csv", &["looks like UTF-16BE"]);
    check("python_1252_semicolon.csv", &["not UTF-8 (line 1) and was read as Windows-1252"]);
}

#[test]
fn content_decides_not_the_name() {
    for (name, called, note) in [
        ("python_utf8_comma.csv", "plan.xlsx", "called .xlsx but holds a text table"),
        ("odfpy.ods", "plan.xlsx", "called .xlsx but holds an OpenDocument spreadsheet"),
        ("openpyxl_1900.xlsx", "plan.csv", "called .csv but holds an .xlsx workbook"),
    ] {
        let right = read_book(&file(name), name).unwrap();
        let wrong = read_book(&file(name), called).unwrap();
        assert!(wrong.notes[0].contains(note), "{:?}", wrong.notes);
        assert_eq!(filled_cells(&right).len(), filled_cells(&wrong).len());
    }
}

fn sample() -> WorkbookOut {
    let header = |t: &str| CellOut::text(t).looking(Look::Header);
    let ledger = SheetOut {
        name: "Ledger".into(),
        widths_chars: vec![28.0, 12.0, 12.0, 40.0],
        frozen_rows: 2,
        frozen_cols: 1,
        rows: vec![
            vec![CellOut::text("Hamstrings get 4.2 of 6–10 credited sets").looking(Look::Title)],
            vec![header("head"), header("credited sets"), header("class"), header("reason")],
            vec![
                CellOut::text("Biceps femoris, short head").looking(Look::Group),
                CellOut::number(0.1, 1),
                CellOut::class(answer::Class::Little),
                CellOut::text("crosses only the knee\nand no set bends it").looking(Look::Quiet),
            ],
            vec![
                CellOut::empty(),
                CellOut::share(0.335, 1),
                CellOut::text(""),
                CellOut::text("see a physician").looking(Look::Caution),
            ],
        ],
    };
    let read = SheetOut {
        name: "Plan as read".into(),
        rows: ["=1+1", "+49", "-x", "@a", "\tx", "'x", "https://example.org", "_x0041_", "Übung ✓", " two  blanks "]
            .iter()
            .map(|t| vec![CellOut::text(*t)])
            .collect(),
        ..SheetOut::default()
    };
    WorkbookOut { title: "Week 3".into(), sheets: vec![ledger, read] }
}

#[test]
fn what_is_written_is_read_back() {
    let written = sample();
    let book = read_book(&write_book(&written).unwrap(), "out.xlsx").unwrap();
    assert_eq!(book.notes, Vec::<String>::new());
    assert_eq!(book.sheets.len(), written.sheets.len());
    for (grid, sheet) in book.sheets.iter().zip(&written.sheets) {
        assert_eq!(grid.name, sheet.name);
        for (row, cells) in sheet.rows.iter().enumerate() {
            for (col, cell) in cells.iter().enumerate() {
                let read = grid.cell(row, col).map_or(&Value::Empty, |c| &c.value);
                match &cell.content {
                    Content::Empty => assert!(read.is_empty()),
                    Content::Text(t) if t.is_empty() => assert!(read.is_empty()),
                    Content::Text(t) => assert_eq!(read, &Value::Text(t.clone())),
                    Content::Number { value, .. } => assert_eq!(read, &Value::Number(*value)),
                    Content::Share { .. } => assert_eq!(read, &Value::Text("33.5%".into())),
                    Content::Class(_) => assert_eq!(read, &Value::Text("■□□□ little".into())),
                }
            }
        }
    }
}

#[test]
fn equal_content_gives_equal_bytes() {
    assert_eq!(write_book(&sample()).unwrap(), write_book(&sample()).unwrap());
}

#[test]
fn no_text_becomes_a_formula_or_link() {
    let bytes = write_book(&sample()).unwrap();
    let mut zip = zip::ZipArchive::new(std::io::Cursor::new(&bytes)).unwrap();
    let mut sheet = String::new();
    std::io::Read::read_to_string(&mut zip.by_name("xl/worksheets/sheet2.xml").unwrap(), &mut sheet).unwrap();
    assert!(sheet.contains("t=\"s\""));
    assert!(!sheet.contains("<f>") && !sheet.contains("hyperlink"), "{sheet}");
    let mut styles = String::new();
    std::io::Read::read_to_string(&mut zip.by_name("xl/styles.xml").unwrap(), &mut styles).unwrap();
    assert!(styles.contains("quotePrefix=\"1\""));
}

#[test]
fn what_does_not_fit_is_refused() {
    let with = |cell: CellOut| WorkbookOut {
        title: String::new(),
        sheets: vec![SheetOut {
            name: "A".into(),
            rows: vec![vec![], vec![CellOut::empty(), cell]],
            ..SheetOut::default()
        }],
    };
    for (book, message) in [
        (WorkbookOut::default(), "a workbook needs at least one sheet; got none"),
        (with(CellOut::number(f64::NAN, 1)), "sheet \"A\", cell B2: NaN is not a number that a workbook can hold"),
        (
            with(CellOut::text("x".repeat(40_000))),
            "sheet \"A\", cell B2: the text has 40000 characters; a cell holds at most 32767",
        ),
    ] {
        assert_eq!(write_book(&book).unwrap_err().to_string(), message);
    }
    let wide = SheetOut { rows: vec![vec![CellOut::empty(); 16_385]], name: "A".into(), ..SheetOut::default() };
    let wide = WorkbookOut { title: String::new(), sheets: vec![wide] };
    assert!(matches!(write_book(&wide), Err(WriteError::TooLarge { got: 16_385, allowed: 16_384, .. })));
}

#[test]
fn a_grid_is_written_as_it_was_read() {
    let book = read_book(b"Squat;82,5\n=1+1;3x8\n", "plan.csv").unwrap();
    let out = WorkbookOut { title: "plan".into(), sheets: book.sheets.iter().map(SheetOut::from).collect() };
    let again = read_book(&write_book(&out).unwrap(), "out.xlsx").unwrap();
    assert_eq!(again.sheets, book.sheets);
}
