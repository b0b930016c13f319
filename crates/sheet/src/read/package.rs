//! The zip archive around xlsx and ods: judged before anything is unpacked, then unpacked part by part under limits.

use super::error::{Fault, Problem};
use super::limits::{MAX_PART_BYTES, MAX_PARTS, MAX_RATIO, MAX_TOTAL_BYTES, RATIO_FROM_BYTES};
use std::collections::BTreeMap;
use std::io::{Cursor, Read};
use zip::ZipArchive;

const END_OF_DIRECTORY: [u8; 4] = *b"PK\x05\x06";
const END_OF_DIRECTORY_64: [u8; 4] = *b"PK\x06\x06";
const LOCATOR_64: [u8; 4] = *b"PK\x06\x07";
/// The end record (22 bytes) and the longest comment behind it.
const END_REACH: usize = 22 + 65_535;

pub(crate) struct Package<'a> {
    zip: ZipArchive<Cursor<&'a [u8]>>,
    /// Lower-case name → index; names of parts do not depend on case.
    parts: BTreeMap<String, usize>,
    unpacked_left: u64,
}

impl<'a> Package<'a> {
    /// Opens the archive and refuses it when its directory alone shows that it is damaged or hostile.
    pub fn open(bytes: &'a [u8]) -> Result<Self, Fault> {
        check_listed_parts(bytes)?;
        let zip = ZipArchive::new(Cursor::new(bytes)).map_err(|e| {
            Problem::damaged(format!("the archive's directory cannot be read ({e})"), "a sound zip archive")
        })?;
        if zip.len() as u64 > MAX_PARTS {
            return Err(Problem::TooManyParts { got: zip.len() as u64, allowed: MAX_PARTS }.into());
        }
        if zip.has_duplicate_names() {
            return Err(Problem::damaged("two parts of the archive have the same name", "each name once").into());
        }
        let mut parts = BTreeMap::new();
        let mut declared_total: u64 = 0;
        for index in 0..zip.len() {
            let entry = zip.by_index_data(index).map_err(|e| unreadable(&format!("part {}", index + 1), &e))?;
            let name = String::from_utf8_lossy(entry.name_raw()).into_owned();
            if climbs(&name) {
                return Err(Problem::ClimbingPath { name: name.escape_debug().to_string() }.into());
            }
            if entry.encrypted() {
                return Err(Problem::Encrypted.into());
            }
            let name = name.to_lowercase();
            // Pictures and the like are never unpacked, so their size does not matter.
            if [".xml", ".rels"].iter().any(|end| name.ends_with(end)) {
                check_sizes(&name, entry.size(), entry.compressed_size())?;
                declared_total = declared_total.saturating_add(entry.size());
            }
            parts.insert(name, index);
        }
        if declared_total > MAX_TOTAL_BYTES {
            return Err(Problem::TotalTooLarge { allowed_bytes: MAX_TOTAL_BYTES }.into());
        }
        Ok(Package { zip, parts, unpacked_left: MAX_TOTAL_BYTES })
    }

    pub fn has(&self, name: &str) -> bool {
        self.parts.contains_key(&name.to_lowercase())
    }

    pub fn has_under(&self, start: &str) -> bool {
        self.parts.range(start.to_owned()..).next().is_some_and(|(name, _)| name.starts_with(start))
    }

    /// The text of a part, or nothing when the archive has no such part.
    pub fn text(&mut self, name: &str) -> Result<Option<String>, Fault> {
        let Some(&index) = self.parts.get(&name.to_lowercase()) else { return Ok(None) };
        let mut part = self.zip.by_index(index).map_err(|e| unreadable(name, &e))?;
        check_sizes(name, part.size(), part.compressed_size())?;
        // Sizes in the directory may lie: the stream itself is held to what is left.
        let allowed = MAX_PART_BYTES.min(self.unpacked_left);
        let mut bytes = Vec::with_capacity(part.size().min(allowed) as usize);
        let got = part.by_ref().take(allowed + 1).read_to_end(&mut bytes).map_err(|e| {
            Problem::damaged(format!("the part cannot be unpacked ({e})"), "sound packed data").at(part_place(name))
        })? as u64;
        if got > allowed {
            return Err(if allowed < MAX_PART_BYTES {
                Problem::TotalTooLarge { allowed_bytes: MAX_TOTAL_BYTES }.into()
            } else {
                Problem::PartTooLarge { allowed_bytes: MAX_PART_BYTES }.at(part_place(name))
            });
        }
        self.unpacked_left -= got;
        to_text(bytes).map(Some).map_err(|problem| problem.at(part_place(name)))
    }
}

pub(crate) fn part_place(name: &str) -> String {
    format!("part {name}")
}

fn unreadable(name: &str, error: &zip::result::ZipError) -> Fault {
    Problem::damaged(format!("the part cannot be opened ({error})"), "a sound zip archive").at(part_place(name))
}

/// Parts are UTF-8 by custom; UTF-16 with its mark is allowed by the standard.
fn to_text(bytes: Vec<u8>) -> Result<String, Problem> {
    if bytes.starts_with(&[0xFF, 0xFE]) || bytes.starts_with(&[0xFE, 0xFF]) {
        let encoding = if bytes[0] == 0xFF { encoding_rs::UTF_16LE } else { encoding_rs::UTF_16BE };
        return Ok(encoding.decode_with_bom_removal(&bytes).0.into_owned());
    }
    String::from_utf8(bytes).map_err(|e| {
        Problem::damaged(format!("byte {} is not valid text", e.utf8_error().valid_up_to() + 1), "XML text in UTF-8")
    })
}

fn check_sizes(name: &str, unpacked_bytes: u64, packed_bytes: u64) -> Result<(), Fault> {
    let ratio = unpacked_bytes / packed_bytes.max(1);
    if unpacked_bytes > RATIO_FROM_BYTES && ratio > MAX_RATIO {
        return Err(Problem::Bomb { ratio, allowed: MAX_RATIO }.at(part_place(name)));
    }
    if unpacked_bytes > MAX_PART_BYTES {
        return Err(Problem::PartTooLarge { allowed_bytes: MAX_PART_BYTES }.at(part_place(name)));
    }
    Ok(())
}

/// The zip library reserves memory for as many entries as the file claims; so the claims are read first.
fn check_listed_parts(bytes: &[u8]) -> Result<(), Problem> {
    let tail_start = bytes.len().saturating_sub(END_REACH);
    let tail = &bytes[tail_start..];
    let mut claims = find_all(tail, END_OF_DIRECTORY)
        .filter_map(|at| tail.get(at + 10..at + 12))
        .map(|b| u64::from(u16::from_le_bytes([b[0], b[1]])))
        .filter(|&n| n != u64::from(u16::MAX))
        .collect::<Vec<_>>();
    if find_all(tail, END_OF_DIRECTORY).next().is_none() {
        return Err(Problem::Truncated { got_bytes: bytes.len() as u64 });
    }
    if find_all(tail, LOCATOR_64).next().is_some() {
        claims.extend(
            find_all(bytes, END_OF_DIRECTORY_64)
                .filter_map(|at| bytes.get(at + 32..at + 40))
                .filter_map(|b| b.try_into().ok().map(u64::from_le_bytes)),
        );
    }
    match claims.into_iter().max() {
        Some(got) if got > MAX_PARTS => Err(Problem::TooManyParts { got, allowed: MAX_PARTS }),
        _ => Ok(()),
    }
}

fn find_all(bytes: &[u8], mark: [u8; 4]) -> impl Iterator<Item = usize> + '_ {
    bytes.windows(4).enumerate().filter(move |(_, w)| *w == mark).map(|(at, _)| at)
}

/// Nothing is ever written to disk from an archive; still, such names only occur in files made to do harm.
fn climbs(name: &str) -> bool {
    let drive = name.as_bytes().get(1) == Some(&b':');
    name.starts_with('/') || drive || name.contains(['\\', '\0']) || name.split('/').any(|step| step == "..")
}
