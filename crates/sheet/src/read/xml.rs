//! A thin layer over the XML reader: start, end and text only, entities resolved, damage reported with its place.

use super::error::{Fault, Problem};
use quick_xml::Reader;
use quick_xml::XmlVersion;
use quick_xml::escape::resolve_xml_entity;
use quick_xml::events::{BytesRef, BytesStart, Event};
use std::borrow::Cow;

pub(crate) enum Step<'a> {
    Open(BytesStart<'a>),
    /// Name with prefix.
    Close(Vec<u8>),
    Text(Cow<'a, str>),
    End,
}

pub(crate) struct Xml<'a> {
    reader: Reader<&'a [u8]>,
    part: &'a str,
    depth: u64,
}

impl<'a> Xml<'a> {
    pub fn new(text: &'a str, part: &'a str) -> Self {
        let mut reader = Reader::from_str(text);
        reader.config_mut().expand_empty_elements = true;
        Xml { reader, part, depth: 0 }
    }

    pub fn next(&mut self) -> Result<Step<'a>, Fault> {
        loop {
            let event = self.reader.read_event().map_err(|e| self.fault(&e))?;
            return Ok(match event {
                Event::Start(open) => {
                    self.depth += 1;
                    Step::Open(open)
                }
                Event::End(close) => {
                    self.depth = self.depth.saturating_sub(1);
                    Step::Close(close.name().as_ref().to_vec())
                }
                Event::Text(text) => Step::Text(text.xml10_content().map_err(|e| self.fault(&e))?),
                Event::CData(text) => Step::Text(text.xml10_content().map_err(|e| self.fault(&e))?),
                Event::GeneralRef(reference) => Step::Text(resolve(&reference)),
                // The reader itself is content when a document simply stops inside open elements.
                Event::Eof if self.depth > 0 => return Err(self.fault(&"it stops in the middle")),
                Event::Eof => Step::End,
                _ => continue,
            });
        }
    }

    /// Passes over everything up to the end of the element just opened.
    pub fn skip(&mut self) -> Result<(), Fault> {
        let outside = self.depth.saturating_sub(1);
        while self.depth > outside {
            if let Step::End = self.next()? {
                break;
            }
        }
        Ok(())
    }

    fn fault(&self, error: &dyn std::fmt::Display) -> Fault {
        let at_byte = self.reader.buffer_position();
        Problem::damaged(format!("the XML cannot be read near byte {at_byte} ({error})"), "well-formed XML")
            .at(super::package::part_place(self.part))
    }

    /// The value of an attribute by its name: with prefix when `name` has one, else whatever its prefix.
    pub fn attribute(&self, open: &BytesStart<'_>, name: &str) -> Result<Option<String>, Fault> {
        // The check for doubled attributes costs the square of their number; the first one counts.
        for attribute in open.attributes().with_checks(false) {
            let attribute = attribute.map_err(|e| self.fault(&e))?;
            let key = if name.contains(':') { attribute.key.0 } else { attribute.key.local_name().into_inner() };
            if key == name.as_bytes() {
                let value = attribute.normalized_value(XmlVersion::Implicit1_0).map_err(|e| self.fault(&e))?;
                return Ok(Some(value.into_owned()));
            }
        }
        Ok(None)
    }
}

/// Only the five entities of XML and character numbers are known; anything else stays as it is written, so that no
/// document can make text grow.
fn resolve(reference: &BytesRef<'_>) -> Cow<'static, str> {
    if let Ok(Some(c)) = reference.resolve_char_ref() {
        return Cow::Owned(c.to_string());
    }
    let name = String::from_utf8_lossy(reference);
    resolve_xml_entity(&name).map_or_else(|| Cow::Owned(format!("&{name};")), Cow::Borrowed)
}

/// The name behind the prefix ("x:row" → "row").
pub(crate) fn local(name: &[u8]) -> &[u8] {
    name.iter().position(|&b| b == b':').map_or(name, |colon| &name[colon + 1..])
}
