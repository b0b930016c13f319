//! Files in: bytes of a workbook or text table to plain grids. The content decides what a file is, not its name.
//!
//! What cells become: texts stay texts; numbers stay numbers, but a number that the sheet shows as a percentage or
//! with words around it ("75%", "80 kg") becomes that text, as the coach typed it; dates and times become ISO text;
//! formulas give their stored result; the top-left cell of a merged block carries its span. All cells of a csv file
//! are texts. Whatever is left out or guessed stands in [`Book::notes`].
//!
//! Nothing in a file can make this reader panic or reserve more than about 500 MB: see `limits`.

mod build;
mod dates;
mod error;
mod limits;
mod ods;
mod package;
mod styles;
mod text;
mod xlsx;
mod xml;

pub use build::cell_name;
pub use error::{Problem, ReadError};

use crate::grid::Book;
use error::Fault;
use limits::MAX_FILE_BYTES;
use package::Package;

/// Reads xlsx, ods, csv, tsv or plain text. `file_name` is used in messages and to name the sheet of a text file.
///
/// # Errors
/// [`ReadError`] with file, place, what was met, what was expected and what to do.
pub fn read_book(bytes: &[u8], file_name: &str) -> Result<Book, ReadError> {
    read(bytes, file_name).map_err(|fault| fault.in_file(file_name))
}

fn read(bytes: &[u8], file_name: &str) -> Result<Book, Fault> {
    if bytes.is_empty() {
        return Err(Problem::Empty.into());
    }
    if bytes.len() as u64 > MAX_FILE_BYTES {
        return Err(Problem::FileTooLarge { got_bytes: bytes.len() as u64, allowed_bytes: MAX_FILE_BYTES }.into());
    }
    refuse_other_types(bytes)?;
    let base = file_name.rsplit(['/', '\\']).next().unwrap_or(file_name);
    let (stem, extension) = base.rsplit_once('.').unwrap_or((base, ""));
    let (mut book, met, expected): (Book, &str, &[&str]) = if bytes.starts_with(b"PK\x03\x04") {
        let mut package = Package::open(bytes)?;
        if is_ods(&mut package)? {
            (ods::read(&mut package)?, "an OpenDocument spreadsheet", &["ods", "ots"])
        } else {
            (xlsx::read(&mut package)?, "an .xlsx workbook", &["xlsx", "xlsm", "xltx", "xltm"])
        }
    } else {
        (text::read(bytes, stem)?, "a text table", &["csv", "tsv", "txt", "tab", "md", ""])
    };
    if !expected.iter().any(|e| extension.eq_ignore_ascii_case(e)) {
        book.notes.insert(0, format!("The file is called .{extension} but holds {met}; it was read as such."));
    }
    Ok(book)
}

/// Tells ods from xlsx and refuses other kinds of documents.
fn is_ods(package: &mut Package<'_>) -> Result<bool, Fault> {
    const SAVE: &str = "Give the workbook itself, saved as .xlsx.";
    if let Some(kind) = package.text("mimetype")? {
        return match kind.trim().strip_prefix("application/vnd.oasis.opendocument.") {
            Some(kind) if kind.starts_with("spreadsheet") => Ok(true),
            Some(_) => Err(Problem::WrongType { looks_like: "an OpenDocument text or drawing", instead: SAVE }.into()),
            None => Err(Problem::NoWorkbookInside.into()),
        };
    }
    let wrong = |looks_like, instead| Err(Problem::WrongType { looks_like, instead }.into());
    if package.has("xl/workbook.bin") {
        return Err(Problem::OldWorkbook { looks_like: "a binary .xlsb workbook" }.into());
    }
    if package.has("xl/workbook.xml") || (package.has("_rels/.rels") && package.has_under("xl/")) {
        return Ok(false);
    }
    if package.has_under("word/") {
        return wrong("a word-processor document", "Copy its table into a spreadsheet and save as .xlsx.");
    }
    if package.has_under("ppt/") {
        return wrong("a slide show", SAVE);
    }
    if package.has("index/document.iwa") {
        return wrong(
            "a Numbers document",
            "Open it in Numbers, choose File, Export To, Excel, and give the .xlsx file.",
        );
    }
    if package.has("content.xml") && package.has("META-INF/manifest.xml") {
        return Ok(true);
    }
    if package.has("[Content_Types].xml") {
        return Ok(false);
    }
    Err(Problem::NoWorkbookInside.into())
}

/// Known kinds of files that are no table we read, by their first bytes.
fn refuse_other_types(bytes: &[u8]) -> Result<(), Problem> {
    const TABLE: &str = "Give a workbook (.xlsx, .ods) or a text table (.csv).";
    const PICTURE: &str = "Type or copy the plan into a spreadsheet and save as .xlsx; pictures are not read.";
    const UNPACK: &str = "Unpack it and give the workbook inside it.";
    const SAVE: &str = "Open it in a spreadsheet program and save as .xlsx.";
    if bytes.starts_with(&[0xD0, 0xCF, 0x11, 0xE0, 0xA1, 0xB1, 0x1A, 0xE1]) {
        return Err(inside_compound_file(bytes));
    }
    // Workbooks of the 1980s and 1990s begin with such a record.
    if let [9, 0 | 2 | 4, 4 | 6 | 8 | 16, 0, ..] = bytes {
        return Err(Problem::OldWorkbook { looks_like: "an .xls workbook of the 1990s or older" });
    }
    let starts: [(&[u8], &str, &str); 13] = [
        (b"PK\x05\x06", "an empty zip archive", TABLE),
        (b"%PDF", "a PDF", "Ask for the workbook behind it, or copy its table into a spreadsheet and save as .xlsx."),
        (b"\x89PNG", "a picture (PNG)", PICTURE),
        (b"\xFF\xD8\xFF", "a picture (JPEG)", PICTURE),
        (b"GIF8", "a picture (GIF)", PICTURE),
        (b"RIFF", "a picture, sound or video", PICTURE),
        (b"\x1F\x8B", "a gzip archive", UNPACK),
        (b"7z\xBC\xAF\x27\x1C", "a 7z archive", UNPACK),
        (b"Rar!", "a rar archive", UNPACK),
        (b"{\\rtf", "a word-processor document (RTF)", "Copy its table into a spreadsheet and save as .xlsx."),
        (b"SQLite format 3", "a database", TABLE),
        (b"\x7FELF", "a program", TABLE),
        (b"MZ\x90\0", "a program", TABLE),
    ];
    let found = starts.iter().find(|(start, ..)| bytes.starts_with(start));
    if let Some(&(_, looks_like, instead)) = found {
        return Err(Problem::WrongType { looks_like, instead });
    }
    if bytes.get(4..8) == Some(b"ftyp") {
        return Err(Problem::WrongType { looks_like: "a video or picture", instead: PICTURE });
    }
    let head = String::from_utf8_lossy(&bytes[..bytes.len().min(2_000)]).to_ascii_lowercase();
    let head = head.trim_start_matches(['\u{FEFF}', ' ', '\t', '\r', '\n']);
    if head.starts_with("<?xml") && head.contains("schemas-microsoft-com:office:spreadsheet") {
        return Err(Problem::OldWorkbook { looks_like: "an XML spreadsheet of 2003" });
    }
    if ["<!doctype html", "<html", "<table", "<head", "<body"].iter().any(|start| head.starts_with(start)) {
        return Err(Problem::WrongType { looks_like: "a web page", instead: SAVE });
    }
    if head.starts_with("<?xml") || head.starts_with("<!doctype") || head.starts_with("<office:") {
        return Err(Problem::WrongType { looks_like: "an XML document", instead: SAVE });
    }
    Ok(())
}

/// Old workbooks, encrypted new ones and old text documents share one container; its directory names the streams in
/// UTF-16.
fn inside_compound_file(bytes: &[u8]) -> Problem {
    let names = |name: &str| {
        let wide: Vec<u8> = name.encode_utf16().flat_map(u16::to_le_bytes).collect();
        bytes.windows(wide.len()).any(|w| w == wide)
    };
    if names("EncryptedPackage") {
        Problem::Encrypted
    } else if names("WordDocument") {
        let instead = "Copy its table into a spreadsheet and save as .xlsx.";
        Problem::WrongType { looks_like: "an old word-processor document (.doc)", instead }
    } else if names("PowerPoint Document") {
        Problem::WrongType {
            looks_like: "an old slide show (.ppt)",
            instead: "Give the workbook itself, saved as .xlsx.",
        }
    } else {
        Problem::OldWorkbook { looks_like: "an .xls workbook or similar" }
    }
}
