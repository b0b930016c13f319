//! Office Open XML workbooks (ECMA-376), read as a stream: cells, cached results, dates, merged blocks. Declared
//! dimensions and counts are never believed, so they cannot make us reserve memory.

use super::build::{Budget, GridBuilder};
use super::dates::{Shown, hours_of_serial, iso_of_serial, plain_number};
use super::error::{Fault, Problem};
use super::package::{Package, part_place};
use super::styles::Styles;
use super::xml::{Step, Xml, local};
use crate::grid::{Book, Value};

/// What the workbook part says about itself.
struct Outline {
    sheets: Vec<SheetEntry>,
    from_1904: bool,
}

struct SheetEntry {
    name: String,
    hidden: bool,
    relation: String,
}

struct Relation {
    id: String,
    kind: String,
    target: String,
}

pub(crate) fn read(package: &mut Package<'_>) -> Result<Book, Fault> {
    let root = relations(package, "")?;
    let workbook = match root.iter().find(|r| r.kind == "officeDocument") {
        Some(relation) => relation.target.clone(),
        None => "xl/workbook.xml".to_owned(),
    };
    if workbook.ends_with(".bin") {
        return Err(Problem::OldWorkbook { looks_like: "a binary .xlsb workbook" }.into());
    }
    let text = package.text(&workbook)?.ok_or_else(|| missing(&workbook))?;
    let outline = outline(&text, &workbook)?;
    let relations = relations(package, &workbook)?;
    let mut parts_of = |kind: &str| -> Result<Option<(String, String)>, Fault> {
        let Some(relation) = relations.iter().find(|r| r.kind == kind) else { return Ok(None) };
        Ok(package.text(&relation.target)?.map(|text| (text, relation.target.clone())))
    };
    let styles = match parts_of("styles")? {
        Some((text, part)) => Styles::read(&text, &part)?,
        None => Styles::default(),
    };
    let texts = match parts_of("sharedStrings")? {
        Some((text, part)) => SharedTexts::read(&text, &part)?,
        None => SharedTexts::default(),
    };

    let mut book = Book::default();
    let mut budget = Budget::default();
    for entry in &outline.sheets {
        let relation = relations.iter().find(|r| r.id == entry.relation);
        if entry.hidden {
            book.notes.push(format!("Sheet \"{}\" is hidden and was not read.", entry.name));
            continue;
        }
        let Some(relation) = relation else {
            let got = format!("sheet \"{}\" points at no part of the file", entry.name);
            return Err(Problem::damaged(got, "a part for every sheet").at(part_place(&workbook)));
        };
        if relation.kind != "worksheet" {
            book.notes.push(format!("Sheet \"{}\" holds no cells ({}) and was not read.", entry.name, relation.kind));
            continue;
        }
        let text = package.text(&relation.target)?.ok_or_else(|| missing(&relation.target))?;
        let reader = SheetReader {
            xml: Xml::new(&text, &relation.target),
            builder: GridBuilder::new(&entry.name),
            styles: &styles,
            texts: &texts,
            from_1904: outline.from_1904,
            row: None,
            next_col: 0,
        };
        book.sheets.push(reader.read(&mut budget)?.finish(&mut book.notes));
    }
    if package.has_under("xl/comments") || package.has_under("xl/threadedcomments") {
        book.notes.push("The workbook has comments on cells; they were not read.".to_owned());
    }
    if package.has_under("xl/drawings/drawing") {
        book.notes.push("The workbook has pictures, charts or text boxes; they were not read.".to_owned());
    }
    Ok(book)
}

fn missing(part: &str) -> Fault {
    Problem::damaged("this part is missing from the archive", "every part that the workbook names").at(part_place(part))
}

/// The relations of a part ("" for the package itself); none when it has no relations part.
fn relations(package: &mut Package<'_>, of: &str) -> Result<Vec<Relation>, Fault> {
    let (folder, base) = of.rsplit_once('/').unwrap_or(("", of));
    let part = if folder.is_empty() { format!("_rels/{base}.rels") } else { format!("{folder}/_rels/{base}.rels") };
    let Some(text) = package.text(&part)? else { return Ok(Vec::new()) };
    let mut xml = Xml::new(&text, &part);
    let mut found = Vec::new();
    loop {
        match xml.next()? {
            Step::Open(open) if local(open.name().as_ref()) == b"Relationship" => {
                let get = |name| Ok::<_, Fault>(xml.attribute(&open, name)?.unwrap_or_default());
                if get("TargetMode")? == "External" {
                    continue;
                }
                let (id, kind, target) = (get("Id")?, get("Type")?, get("Target")?);
                let kind = kind.rsplit('/').next().unwrap_or_default().to_owned();
                found.push(Relation { id, kind, target: inside(folder, &target)? });
            }
            Step::End => return Ok(found),
            _ => {}
        }
    }
}

/// A target relative to a folder of the archive; one that climbs out of the archive is refused.
fn inside(folder: &str, target: &str) -> Result<String, Fault> {
    let mut steps: Vec<&str> = if target.starts_with('/') { Vec::new() } else { folder.split('/').collect() };
    for step in target.split('/') {
        match step {
            "" | "." => {}
            ".." => {
                if steps.pop().is_none_or(str::is_empty) {
                    return Err(Problem::ClimbingPath { name: target.escape_debug().to_string() }.into());
                }
            }
            step => steps.push(step),
        }
    }
    steps.retain(|s| !s.is_empty());
    Ok(steps.join("/"))
}

fn outline(text: &str, part: &str) -> Result<Outline, Fault> {
    let mut xml = Xml::new(text, part);
    let mut outline = Outline { sheets: Vec::new(), from_1904: false };
    let mut is_workbook = false;
    loop {
        match xml.next()? {
            Step::Open(open) => match local(open.name().as_ref()) {
                b"workbook" => is_workbook = true,
                b"workbookPr" => {
                    outline.from_1904 = xml.attribute(&open, "date1904")?.is_some_and(|v| v == "1" || v == "true");
                }
                b"sheet" => outline.sheets.push(SheetEntry {
                    name: xml.attribute(&open, "name")?.unwrap_or_default(),
                    hidden: xml.attribute(&open, "state")?.is_some_and(|s| s != "visible"),
                    relation: xml.attribute(&open, "id")?.unwrap_or_default(),
                }),
                _ => {}
            },
            Step::End if is_workbook => return Ok(outline),
            Step::End => return Err(Problem::damaged("no workbook element", "a workbook part").at(part_place(part))),
            _ => {}
        }
    }
}

/// All shared texts end to end: millions of tiny ones must not cost an allocation each.
#[derive(Default)]
struct SharedTexts {
    all: String,
    ends: Vec<u32>,
}

impl SharedTexts {
    fn read(text: &str, part: &str) -> Result<SharedTexts, Fault> {
        let mut xml = Xml::new(text, part);
        let mut texts = SharedTexts::default();
        let mut depth_of_phonetic = 0_u32;
        let mut in_text = false;
        let mut start = 0;
        loop {
            match xml.next()? {
                Step::Open(open) => match local(open.name().as_ref()) {
                    b"si" => start = texts.all.len(),
                    b"rPh" => depth_of_phonetic += 1,
                    b"t" => in_text = depth_of_phonetic == 0,
                    _ => {}
                },
                Step::Text(piece) if in_text => texts.all.push_str(&piece),
                Step::Close(name) => match local(&name) {
                    b"t" => in_text = false,
                    b"rPh" => depth_of_phonetic = depth_of_phonetic.saturating_sub(1),
                    b"si" => {
                        if let Some(plain) = unescape_controls(&texts.all[start..]) {
                            texts.all.replace_range(start.., &plain);
                        }
                        texts.ends.push(texts.all.len() as u32);
                    }
                    _ => {}
                },
                Step::End => return Ok(texts),
                Step::Text(_) => {}
            }
        }
    }

    fn get(&self, index: usize) -> Option<&str> {
        let end = *self.ends.get(index)? as usize;
        let start = index.checked_sub(1).map_or(0, |before| self.ends[before] as usize);
        Some(&self.all[start..end])
    }
}

/// `_x000D_` stands for a character XML cannot carry (ECMA-376 part 1, 22.9.2.19). Nothing when none occurs.
fn unescape_controls(text: &str) -> Option<String> {
    if !text.contains("_x") {
        return None;
    }
    let mut plain = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find("_x") {
        plain.push_str(&rest[..at]);
        let code = rest.get(at + 2..at + 6).filter(|_| rest.as_bytes().get(at + 6) == Some(&b'_'));
        let code = code.filter(|c| c.bytes().all(|b| b.is_ascii_hexdigit()));
        match code.and_then(|c| u32::from_str_radix(c, 16).ok()).and_then(char::from_u32) {
            Some(c) => {
                plain.push(c);
                rest = &rest[at + 7..];
            }
            None => {
                plain.push_str("_x");
                rest = &rest[at + 2..];
            }
        }
    }
    plain.push_str(rest);
    Some(plain)
}

struct SheetReader<'a> {
    xml: Xml<'a>,
    builder: GridBuilder,
    styles: &'a Styles,
    texts: &'a SharedTexts,
    from_1904: bool,
    row: Option<u64>,
    next_col: u64,
}

/// A cell as the file writes it.
#[derive(Default)]
struct RawCell {
    kind: String,
    format: usize,
    value: String,
    inline: String,
    has_value: bool,
    has_formula: bool,
}

impl SheetReader<'_> {
    fn read(mut self, budget: &mut Budget) -> Result<GridBuilder, Fault> {
        let mut is_sheet = false;
        loop {
            match self.xml.next()? {
                Step::Open(open) => match local(open.name().as_ref()) {
                    b"worksheet" => is_sheet = true,
                    b"col" if is_true(self.xml.attribute(&open, "hidden")?) => {
                        let at = |v: Option<String>| v.and_then(|v| v.parse::<u64>().ok()).unwrap_or(1);
                        let (min, max) = (self.xml.attribute(&open, "min")?, self.xml.attribute(&open, "max")?);
                        let (min, max) = (at(min), at(max).min(super::limits::MAX_COLS as u64));
                        self.builder.note_hidden_cols((max + 1).saturating_sub(min));
                    }
                    b"row" => {
                        let stated = self.xml.attribute(&open, "r")?.and_then(|r| r.parse::<u64>().ok());
                        let row = stated.filter(|&r| r > 0).map(|r| r - 1).unwrap_or_else(|| self.next_row());
                        (self.row, self.next_col) = (Some(row), 0);
                        if is_true(self.xml.attribute(&open, "hidden")?) {
                            self.builder.note_hidden_row(row);
                        }
                    }
                    b"c" => {
                        let reference = self.xml.attribute(&open, "r")?;
                        let (row, col) = match reference {
                            Some(reference) => position(&reference).ok_or_else(|| {
                                let got = format!("\"{}\" is no cell reference", reference.escape_debug());
                                Problem::damaged(got, "one like C5").at(self.here())
                            })?,
                            None => (self.row.unwrap_or(0), self.next_col),
                        };
                        (self.row, self.next_col) = (Some(row), col.saturating_add(1));
                        let kind = self.xml.attribute(&open, "t")?.unwrap_or_default();
                        let format = self.xml.attribute(&open, "s")?.and_then(|s| s.parse().ok()).unwrap_or(0);
                        let cell = self.cell(RawCell { kind, format, ..RawCell::default() })?;
                        self.store(row, col, cell, budget)?;
                    }
                    b"mergeCell" => {
                        let block = self.xml.attribute(&open, "ref")?.unwrap_or_default();
                        let (from, to) = block.split_once(':').unwrap_or((&block, &block));
                        if let (Some(from), Some(to)) = (position(from), position(to)) {
                            self.builder.merge((from.0, from.1, to.0, to.1));
                        }
                    }
                    _ => {}
                },
                Step::End if is_sheet => return Ok(self.builder),
                Step::End => {
                    return Err(Problem::damaged("no worksheet element", "a sheet part").at(self.builder.sheet()));
                }
                _ => {}
            }
        }
    }

    fn next_row(&self) -> u64 {
        self.row.map_or(0, |r| r.saturating_add(1))
    }

    /// The last cell met, for messages about what follows it.
    fn here(&self) -> String {
        match self.row {
            Some(row) if self.next_col > 0 => format!("after {}", self.builder.place(row, self.next_col - 1)),
            _ => self.builder.sheet(),
        }
    }

    /// Reads up to the end of the cell just opened.
    fn cell(&mut self, mut cell: RawCell) -> Result<RawCell, Fault> {
        #[derive(PartialEq)]
        enum Into {
            Nothing,
            Value,
            Inline,
        }
        let mut into = Into::Nothing;
        let mut depth_of_phonetic = 0_u32;
        let broken = |fault: Fault, here: String| Fault { place: format!("{here}, {}", fault.place), ..fault };
        loop {
            match self.xml.next().map_err(|fault| broken(fault, self.here()))? {
                Step::Open(open) => match local(open.name().as_ref()) {
                    b"v" => (into, cell.has_value) = (Into::Value, true),
                    b"f" => cell.has_formula = true,
                    b"t" if depth_of_phonetic == 0 => into = Into::Inline,
                    b"rPh" => depth_of_phonetic += 1,
                    _ => {}
                },
                Step::Text(piece) if into == Into::Value => cell.value.push_str(&piece),
                Step::Text(piece) if into == Into::Inline => cell.inline.push_str(&piece),
                Step::Text(_) => {}
                Step::Close(name) => match local(&name) {
                    b"c" => return Ok(cell),
                    b"v" | b"t" => into = Into::Nothing,
                    b"rPh" => depth_of_phonetic = depth_of_phonetic.saturating_sub(1),
                    _ => {}
                },
                Step::End => return Ok(cell),
            }
        }
    }

    fn store(&mut self, row: u64, col: u64, cell: RawCell, budget: &mut Budget) -> Result<(), Fault> {
        if cell.has_formula && (!cell.has_value || cell.value.is_empty()) && cell.kind != "str" {
            self.builder.note_uncalculated(row, col);
            return Ok(());
        }
        let value = match cell.kind.as_str() {
            "s" => {
                if !cell.has_value {
                    return Ok(());
                }
                let text = cell.value.trim().parse::<usize>().ok().and_then(|index| self.texts.get(index));
                let text = text.ok_or_else(|| {
                    let got = format!(
                        "the cell points at shared text \"{}\" of {}",
                        cell.value.escape_debug().take(40).collect::<String>(),
                        self.texts.ends.len()
                    );
                    Problem::damaged(got, "a number of a text that exists").at(self.builder.place(row, col))
                })?;
                Value::Text(text.to_owned())
            }
            "inlineStr" => Value::Text(unescape_controls(&cell.inline).unwrap_or(cell.inline)),
            "str" => Value::Text(unescape_controls(&cell.value).unwrap_or(cell.value)),
            "b" => Value::Bool(is_true(Some(cell.value))),
            "e" => Value::Error(cell.value),
            "d" => return self.builder.put_date(row, col, cell.value.trim_end_matches('Z').to_owned(), true, budget),
            _ => match cell.value.trim().parse::<f64>() {
                Ok(number) if number.is_finite() => return self.store_number(row, col, number, cell.format, budget),
                _ => Value::Text(cell.value),
            },
        };
        self.builder.put(row, col, value, budget)
    }

    fn store_number(
        &mut self,
        row: u64,
        col: u64,
        number: f64,
        format: usize,
        budget: &mut Budget,
    ) -> Result<(), Fault> {
        let value = match self.styles.shown(format) {
            &Shown::Date { whole, time_only } => match iso_of_serial(number, self.from_1904, time_only) {
                Some(iso) => return self.builder.put_date(row, col, iso, whole, budget),
                None => Value::Number(number),
            },
            Shown::Duration => hours_of_serial(number).map_or(Value::Number(number), Value::Date),
            // What the coach typed and sees: "75%", "80 kg".
            Shown::Percent => Value::Text(format!("{}%", plain_number(number * 100.0))),
            Shown::Words { before, after } => Value::Text(format!("{before}{}{after}", plain_number(number))),
            Shown::Plain => Value::Number(number),
        };
        self.builder.put(row, col, value, budget)
    }
}

fn is_true(value: Option<String>) -> bool {
    value.is_some_and(|v| v == "1" || v == "true")
}

/// "C5" → (4, 2). Absurdly far cells keep an absurdly large number; nothing is allocated for them.
fn position(reference: &str) -> Option<(u64, u64)> {
    let letters = reference.bytes().take_while(u8::is_ascii_alphabetic).count();
    let (letters, digits) = reference.split_at(letters);
    if letters.is_empty() || digits.is_empty() || !digits.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    let col = letters
        .bytes()
        .fold(0_u64, |n, b| n.saturating_mul(26).saturating_add(u64::from(b.to_ascii_uppercase() - b'A') + 1));
    let row = digits.parse::<u64>().unwrap_or(u64::MAX);
    Some((row.checked_sub(1)?, col - 1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn references_become_positions() {
        for (reference, at) in [
            ("A1", Some((0, 0))),
            ("C5", Some((4, 2))),
            ("XFD1048576", Some((1_048_575, 16_383))),
            ("A0", None),
            ("5C", None),
            ("", None),
            ("$A$1", None),
        ] {
            assert_eq!(position(reference), at, "{reference}");
        }
        assert!(position("ZZZZZZZZZZZZZZZZZZZZ99999999999999999999999").is_some());
    }

    #[test]
    fn escaped_control_characters_come_back() {
        for (written, read) in [
            ("a_x000D_b", Some("a\rb")),
            ("_x005F_x000D_", Some("_x000D_")),
            ("set_x3", Some("set_x3")),
            ("plain", None),
            ("_x00é0_", Some("_x00é0_")),
        ] {
            assert_eq!(unescape_controls(written).as_deref(), read, "{written}");
        }
    }

    #[test]
    fn targets_stay_inside_the_archive() {
        for (folder, target, part) in [
            ("xl", "worksheets/sheet1.xml", Some("xl/worksheets/sheet1.xml")),
            ("xl", "/xl/worksheets/sheet1.xml", Some("xl/worksheets/sheet1.xml")),
            ("xl", "../xl/styles.xml", Some("xl/styles.xml")),
            ("", "xl/workbook.xml", Some("xl/workbook.xml")),
            ("xl", "../../etc/passwd", None),
        ] {
            assert_eq!(inside(folder, target).ok().as_deref(), part, "{target}");
        }
    }
}
