//! Which cells of an xlsx workbook show their number as a date, a percentage or with words around it.

use super::dates::{Shown, shown_by_code, shown_by_number};
use super::error::Fault;
use super::xml::{Step, Xml, local};
use std::collections::BTreeMap;

/// Cell formats a workbook may list; spreadsheet programs stop at about 65,000.
const MAX_FORMATS: usize = 65_536;

#[derive(Default)]
pub(crate) struct Styles {
    /// Per cell format, an index into `kinds`.
    formats: Vec<u16>,
    kinds: Vec<Shown>,
}

impl Styles {
    pub fn read(text: &str, part: &str) -> Result<Styles, Fault> {
        let mut xml = Xml::new(text, part);
        let mut codes: BTreeMap<u32, String> = BTreeMap::new();
        let mut styles = Styles::default();
        let mut in_cell_formats = false;
        loop {
            match xml.next()? {
                Step::Open(open) => match local(open.name().as_ref()) {
                    b"numFmt" if codes.len() < MAX_FORMATS => {
                        let id = xml.attribute(&open, "numFmtId")?.and_then(|v| v.parse().ok());
                        if let (Some(id), Some(code)) = (id, xml.attribute(&open, "formatCode")?) {
                            codes.insert(id, code);
                        }
                    }
                    b"cellXfs" => in_cell_formats = true,
                    b"xf" if in_cell_formats && styles.formats.len() < MAX_FORMATS => {
                        let id: u32 = xml.attribute(&open, "numFmtId")?.and_then(|v| v.parse().ok()).unwrap_or(0);
                        let shown = codes.get(&id).map_or_else(|| shown_by_number(id), |code| shown_by_code(code));
                        styles.push(shown);
                    }
                    _ => {}
                },
                Step::Close(name) if local(&name) == b"cellXfs" => in_cell_formats = false,
                Step::End => return Ok(styles),
                _ => {}
            }
        }
    }

    fn push(&mut self, shown: Shown) {
        let index = self.kinds.iter().position(|k| *k == shown);
        let index = index.unwrap_or_else(|| {
            // The few kinds a sane workbook has; a flood of them is read as plain numbers.
            if self.kinds.len() < 1_000 {
                self.kinds.push(shown);
                self.kinds.len() - 1
            } else {
                usize::from(u16::MAX)
            }
        });
        self.formats.push(index as u16);
    }

    pub fn shown(&self, format: usize) -> &Shown {
        self.formats.get(format).and_then(|&kind| self.kinds.get(usize::from(kind))).unwrap_or(&Shown::Plain)
    }
}
