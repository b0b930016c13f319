//! Text tables: csv, tsv, txt. Finds the encoding and the separator, keeps every cell as the text it is.

use super::build::{Budget, GridBuilder};
use super::error::{Fault, Problem};
use super::limits::MAX_TEXT_FILE_BYTES;
use crate::grid::{Book, Value};
use encoding_rs::{Encoding, UTF_16BE, UTF_16LE, WINDOWS_1252};
use std::borrow::Cow;

/// Lines looked at to find the separator.
const SAMPLE_LINES: usize = 200;
/// Bytes looked at to tell text from other data.
const SAMPLE_BYTES: usize = 65_536;

pub(crate) fn read(bytes: &[u8], sheet_name: &str) -> Result<Book, Fault> {
    if bytes.len() as u64 > MAX_TEXT_FILE_BYTES {
        return Err(Problem::FileTooLarge { got_bytes: bytes.len() as u64, allowed_bytes: MAX_TEXT_FILE_BYTES }.into());
    }
    let mut book = Book::default();
    let text = decode(bytes, &mut book.notes)?;
    if let Some(at) = text.find('\0') {
        return Err(Problem::NulByte.at(line_and_character(&text, at)));
    }
    let (text, separator) = match stated_separator(&text) {
        Some((separator, rest)) => (rest, Some(separator)),
        None => (&*text, guess_separator(&text)),
    };
    // A leading "sep=;" line is not a row of the sheet, neither here nor in spreadsheet programs.
    let mut builder = GridBuilder::new(sheet_name);
    let mut budget = Budget::default();
    let mut records = Records { rest: text, separator, quotes: true, line: 1, unclosed: None };
    let mut row = 0;
    while let Some(cells) = records.next_record() {
        for (col, cell) in cells.into_iter().enumerate() {
            if !cell.trim().is_empty() {
                builder.put(row, col as u64, Value::Text(cell.into_owned()), &mut budget)?;
            }
        }
        row += 1;
    }
    if let Some(line) = records.unclosed {
        book.notes.push(format!(
            "Line {line}: a quotation mark is opened and not closed properly; from there on quotation marks were \
             read as plain characters."
        ));
    }
    let grid = builder.finish(&mut book.notes);
    book.sheets.push(grid);
    Ok(book)
}

/// The text whatever its encoding, with a note where it had to be guessed.
fn decode<'a>(bytes: &'a [u8], notes: &mut Vec<String>) -> Result<Cow<'a, str>, Fault> {
    if let Some((encoding, mark_bytes)) = Encoding::for_bom(bytes) {
        if encoding != encoding_rs::UTF_8 {
            notes.push(format!("The text is encoded in {} (its first bytes say so).", encoding.name()));
            return Ok(lenient(encoding, &bytes[mark_bytes..], notes));
        }
        return Ok(utf8_or_1252(&bytes[mark_bytes..], notes));
    }
    let sample = &bytes[..bytes.len().min(SAMPLE_BYTES)];
    if let Some(encoding) = guess_utf16(sample) {
        notes
            .push(format!("The text looks like {} without a mark at its start and was read as such.", encoding.name()));
        return Ok(lenient(encoding, bytes, notes));
    }
    // Tab, line feed, form feed, carriage return and NUL (reported with its line) aside, texts hold no controls.
    let odd = sample.iter().filter(|b| matches!(b, 1..=8 | 11 | 14..=31 | 127)).count();
    let nuls = sample.iter().filter(|&&b| b == 0).count();
    if odd * 100 > sample.len() * 2 || nuls * 100 > sample.len() * 10 {
        let instead = "Give a workbook (.xlsx, .ods) or a text table (.csv).";
        return Err(Problem::WrongType { looks_like: "binary data of an unknown kind", instead }.into());
    }
    Ok(utf8_or_1252(bytes, notes))
}

fn utf8_or_1252<'a>(bytes: &'a [u8], notes: &mut Vec<String>) -> Cow<'a, str> {
    match std::str::from_utf8(bytes) {
        Ok(text) => Cow::Borrowed(text),
        Err(e) => {
            let line = 1 + bytes[..e.valid_up_to()].iter().filter(|&&b| b == b'\n').count();
            notes.push(format!(
                "The text is not UTF-8 (line {line}) and was read as Windows-1252 (Western European, Latin-1); check \
                 letters with accents."
            ));
            WINDOWS_1252.decode_without_bom_handling(bytes).0
        }
    }
}

fn lenient<'a>(encoding: &'static Encoding, bytes: &'a [u8], notes: &mut Vec<String>) -> Cow<'a, str> {
    let (text, broken) = encoding.decode_without_bom_handling(bytes);
    if broken {
        notes.push(format!("Some characters are not valid {} and show as \u{FFFD}.", encoding.name()));
    }
    text
}

/// Western text in UTF-16 has a zero in nearly every second byte and hardly any in the others.
fn guess_utf16(sample: &[u8]) -> Option<&'static Encoding> {
    let pairs = sample.len() / 2;
    if pairs < 2 {
        return None;
    }
    let zeros = |offset: usize| sample[offset..].iter().step_by(2).filter(|&&b| b == 0).count();
    let (even, odd) = (zeros(0), zeros(1));
    if odd * 10 > pairs * 7 && even * 20 < pairs {
        Some(UTF_16LE)
    } else if even * 10 > pairs * 7 && odd * 20 < pairs {
        Some(UTF_16BE)
    } else {
        None
    }
}

fn line_and_character(text: &str, at: usize) -> String {
    let before = &text[..at];
    let line = 1 + before.matches('\n').count();
    let character = 1 + before.rsplit('\n').next().unwrap_or("").chars().count();
    format!("line {line}, character {character}")
}

/// Some spreadsheet programs write "sep=;" on the first line.
fn stated_separator(text: &str) -> Option<(char, &str)> {
    let (first, rest) = text.split_once('\n')?;
    let stated = first.trim_end_matches('\r').trim_matches('"').strip_prefix("sep=")?;
    let mut chars = stated.chars();
    let separator = chars.next()?;
    (chars.next().is_none() && !separator.is_alphanumeric() && separator != '"').then_some((separator, rest))
}

/// The character that splits most lines into the same number of cells. Commas come last: they also stand inside
/// numbers and remarks. Nothing when fewer than half of the lines agree: then a line is one cell.
fn guess_separator(text: &str) -> Option<char> {
    let lines: Vec<&str> = text.split(['\n', '\r']).filter(|line| !line.trim().is_empty()).take(SAMPLE_LINES).collect();
    let mut best: Option<(char, usize)> = None;
    for separator in ['\t', ';', '|', ','] {
        let counts: Vec<usize> = lines.iter().map(|line| count_outside_quotes(line, separator)).collect();
        let mut kinds: Vec<usize> = counts.iter().copied().filter(|&n| n > 0).collect();
        kinds.sort_unstable();
        let agreeing = kinds.chunk_by(|a, b| a == b).map(<[usize]>::len).max().unwrap_or(0);
        let splitting = kinds.len();
        // A table may have ragged lines, but then nearly all lines must be split at all.
        let score = agreeing.max(if splitting * 10 >= lines.len() * 9 { splitting } else { 0 });
        if score * 2 >= lines.len() && score > 0 && best.is_none_or(|(_, other)| score > other) {
            best = Some((separator, score));
        }
    }
    best.map(|(separator, _)| separator)
}

fn count_outside_quotes(line: &str, separator: char) -> usize {
    let mut quoted = false;
    line.chars()
        .filter(|&c| {
            quoted ^= c == '"';
            c == separator && !quoted
        })
        .count()
}

/// Splits text into records and cells (RFC 4180, any separator, any line end). Unlike most readers it keeps blank
/// lines, so that rows carry the numbers a spreadsheet program shows.
struct Records<'a> {
    rest: &'a str,
    separator: Option<char>,
    quotes: bool,
    line: usize,
    /// Line where a quotation mark was opened and never closed.
    unclosed: Option<usize>,
}

impl<'a> Records<'a> {
    fn next_record(&mut self) -> Option<Vec<Cow<'a, str>>> {
        if self.rest.is_empty() {
            return None;
        }
        let (start, start_line) = (self.rest, self.line);
        let mut cells = Vec::new();
        loop {
            let cell = if self.quotes && self.rest.starts_with('"') {
                let Some(cell) = self.quoted_cell() else {
                    // Nothing must vanish into a cell that never ends: read this record again without quotes.
                    (self.rest, self.line, self.quotes) = (start, start_line, false);
                    self.unclosed = Some(start_line);
                    cells.clear();
                    continue;
                };
                cell
            } else {
                Cow::Borrowed(self.plain_cell())
            };
            cells.push(cell);
            let Some(mark) = self.rest.chars().next() else { return Some(cells) };
            self.rest = &self.rest[mark.len_utf8()..];
            if self.separator != Some(mark) {
                if mark == '\r' {
                    self.rest = self.rest.strip_prefix('\n').unwrap_or(self.rest);
                }
                self.line += 1;
                return Some(cells);
            }
            if self.rest.is_empty() {
                cells.push(Cow::Borrowed(""));
                return Some(cells);
            }
        }
    }

    /// Up to the next separator or line end, which stays.
    fn plain_cell(&mut self) -> &'a str {
        let end = self.rest.find(|c| c == '\n' || c == '\r' || Some(c) == self.separator).unwrap_or(self.rest.len());
        let (cell, rest) = self.rest.split_at(end);
        self.rest = rest;
        cell
    }

    /// A cell that begins with a quotation mark; nothing when it never ends.
    fn quoted_cell(&mut self) -> Option<Cow<'a, str>> {
        let mut rest = self.rest.strip_prefix('"')?;
        let mut cell = Cow::Borrowed("");
        loop {
            let (piece, after) = rest.split_once('"')?;
            self.line += piece.matches('\n').count();
            cell += piece;
            rest = after;
            match rest.strip_prefix('"') {
                Some(after_pair) => {
                    cell += "\"";
                    rest = after_pair;
                }
                None => break,
            }
        }
        // Text right behind the mark that ends a cell of several lines: these were two stray marks, not a cell.
        let ends =
            rest.is_empty() || rest.starts_with(['\n', '\r']) || self.separator.is_some_and(|s| rest.starts_with(s));
        if !ends && cell.contains('\n') {
            return None;
        }
        // On one line such text belongs to the cell: nothing is dropped.
        self.rest = rest;
        cell += self.plain_cell();
        Some(cell)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn split(text: &str, separator: char) -> Vec<Vec<String>> {
        let mut records = Records { rest: text, separator: Some(separator), quotes: true, line: 1, unclosed: None };
        std::iter::from_fn(|| records.next_record()).map(|r| r.into_iter().map(Cow::into_owned).collect()).collect()
    }

    #[test]
    fn separators_are_found() {
        for (text, separator) in [
            ("a;b\n80,5;8\n", Some(';')),
            ("a,b\n1,2\n", Some(',')),
            ("a\tb\n80,5\t8\n", Some('\t')),
            ("exercise;note\nsquat;slow, deep\nrow;pause, then pull, hard\n", Some(';')),
            ("Squat 3x8, slow\nRow 3x10\nCurl 2x12\n", None),
            ("\"a;b\",2\n\"c;d\",3\n", Some(',')),
            ("Plan of Ann\n\nday,exercise,sets\nMon,Squat,3\nMon,Row,3\n", Some(',')),
            ("", None),
        ] {
            assert_eq!(guess_separator(text), separator, "{text}");
        }
    }

    #[test]
    fn blank_lines_and_line_ends_keep_rows_in_place() {
        for text in ["a;b\n\nc;d", "a;b\r\n\r\nc;d\r\n", "a;b\r\rc;d\r"] {
            assert_eq!(split(text, ';'), [vec!["a", "b"], vec![""], vec!["c", "d"]], "{text:?}");
        }
    }

    #[test]
    fn an_unclosed_quotation_mark_swallows_nothing() {
        let text = "a;b\n\"slow;3\nc;d\n";
        assert_eq!(split(text, ';'), [vec!["a", "b"], vec!["\"slow", "3"], vec!["c", "d"]]);
        let two_strays = "\"slow;3\nc;\"d\n";
        assert_eq!(split(two_strays, ';'), [vec!["\"slow", "3"], vec!["c", "\"d"]]);
    }

    proptest! {
        /// Outside check: the same cells as the `csv` crate writes, whatever stands in them.
        #[test]
        fn cells_come_back_as_the_csv_crate_wrote_them(
            rows in prop::collection::vec(prop::collection::vec("[a-c;,\"\n \r0-9é=]{0,6}", 2..5), 1..6),
            separator in prop::sample::select(vec![b';', b',', b'\t']),
        ) {
            let mut writer = csv::WriterBuilder::new().delimiter(separator).flexible(true).from_writer(Vec::new());
            for row in &rows {
                writer.write_record(row).unwrap();
            }
            let text = String::from_utf8(writer.into_inner().unwrap()).unwrap();
            prop_assert_eq!(split(&text, char::from(separator)), rows);
        }
    }
}
