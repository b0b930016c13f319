//! Builds workbooks part by part, good and bad.
#![allow(dead_code)] // each test file uses its own part of these

use std::io::{Cursor, Read, Write};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipArchive, ZipWriter};

pub const RELS: &str = r#"<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>"#;
pub const WORKBOOK: &str = r#"<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="Week 1" sheetId="1" r:id="rId1"/></sheets></workbook>"#;
pub const WORKBOOK_RELS: &str = r#"<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/><Relationship Id="rId2" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/sharedStrings" Target="sharedStrings.xml"/></Relationships>"#;
pub const ODS_TYPE: &str = "application/vnd.oasis.opendocument.spreadsheet";

/// Parts in order: name, content, whether to pack it.
#[derive(Clone, Default)]
pub struct Parts(Vec<(String, Vec<u8>, bool)>);

impl Parts {
    pub fn with(mut self, name: &str, content: impl Into<Vec<u8>>) -> Self {
        let content = content.into();
        match self.0.iter_mut().find(|p| p.0 == name) {
            Some(part) => part.1 = content,
            None => self.0.push((name.to_owned(), content, true)),
        }
        self
    }

    pub fn unpacked(mut self) -> Self {
        self.0.iter_mut().for_each(|p| p.2 = false);
        self
    }

    pub fn of(bytes: &[u8]) -> Self {
        let mut zip = ZipArchive::new(Cursor::new(bytes)).unwrap();
        let mut parts = Parts::default();
        for index in 0..zip.len() {
            let mut part = zip.by_index(index).unwrap();
            let mut content = Vec::new();
            part.read_to_end(&mut content).unwrap();
            parts = parts.with(&part.name().unwrap(), content);
        }
        parts
    }

    pub fn content(&self, name: &str) -> &[u8] {
        &self.0.iter().find(|p| p.0 == name).unwrap().1
    }

    pub fn zip(&self) -> Vec<u8> {
        let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
        for (name, content, packed) in &self.0 {
            let method = if *packed { CompressionMethod::Deflated } else { CompressionMethod::Stored };
            let options = SimpleFileOptions::default().compression_method(method);
            writer.start_file(name.as_str(), options).unwrap();
            writer.write_all(content).unwrap();
        }
        writer.finish().unwrap().into_inner()
    }
}

/// A sound workbook around the inside of a sheet.
pub fn xlsx(sheet_data: &str) -> Parts {
    let sheet = format!(
        r#"<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">{sheet_data}</worksheet>"#
    );
    Parts::default()
        .with("_rels/.rels", RELS)
        .with("xl/workbook.xml", WORKBOOK)
        .with("xl/_rels/workbook.xml.rels", WORKBOOK_RELS)
        .with("xl/worksheets/sheet1.xml", sheet)
}

/// A sound ods around the inside of its spreadsheet.
pub fn ods(tables: &str) -> Parts {
    let content = format!(
        r#"<office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"><office:body><office:spreadsheet>{tables}</office:spreadsheet></office:body></office:document-content>"#
    );
    Parts::default().with("mimetype", ODS_TYPE).with("content.xml", content)
}

/// Replaces every occurrence of a byte pattern by one of the same length.
pub fn patch(bytes: &mut [u8], from: &[u8], to: &[u8]) -> usize {
    assert_eq!(from.len(), to.len());
    let mut found = 0;
    for at in 0..bytes.len().saturating_sub(from.len() - 1) {
        if &bytes[at..at + from.len()] == from {
            bytes[at..at + to.len()].copy_from_slice(to);
            found += 1;
        }
    }
    found
}

/// Numbers that do not repeat, so that packing does not look like a bomb (xorshift, fixed seed).
pub struct Noise(pub u64);

impl Noise {
    pub fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }
}
