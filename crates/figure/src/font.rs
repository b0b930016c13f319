//! The embedded sans and how wide its words are.

use skrifa::instance::{LocationRef, Size};
use skrifa::{FontRef, MetadataProvider};
use std::sync::OnceLock;

/// Regular cut, weight 400 (see `assets/fonts/OFL.txt`).
pub static REGULAR: &[u8] = include_bytes!("../../../assets/fonts/lengthwise-sans-regular.otf");
/// Semibold cut, weight 600.
pub static SEMIBOLD: &[u8] = include_bytes!("../../../assets/fonts/lengthwise-sans-semibold.otf");
/// Family name of the embedded cut.
pub const FAMILY: &str = "Lengthwise Sans";
/// Family list written into figures: the embedded cut first, then what a reader may have.
pub const FAMILIES: &str = "'Lengthwise Sans',Inter,'Source Sans 3',system-ui,sans-serif";

/// Height of capitals and depth below the base line, em: what a label needs free around it.
pub const CAP_EM: f64 = 0.76;
pub const DESCENT_EM: f64 = 0.21;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    Regular,
    Semibold,
}

/// Advance widths in em by character, in character order.
type Widths = Vec<(char, f64)>;

fn widths(bytes: &'static [u8]) -> Widths {
    let Ok(font) = FontRef::new(bytes) else { return Vec::new() };
    let metrics = font.glyph_metrics(Size::new(1.0), LocationRef::default());
    let mut w: Widths = font
        .charmap()
        .mappings()
        .filter_map(|(c, g)| Some((char::from_u32(c)?, f64::from(metrics.advance_width(g)?))))
        .collect();
    w.sort_by_key(|(c, _)| *c);
    w
}

fn table(weight: Weight) -> &'static Widths {
    static R: OnceLock<Widths> = OnceLock::new();
    static S: OnceLock<Widths> = OnceLock::new();
    match weight {
        Weight::Regular => R.get_or_init(|| widths(REGULAR)),
        Weight::Semibold => S.get_or_init(|| widths(SEMIBOLD)),
    }
}

/// Width of a line of text, in the unit of `size`, without kerning (which only narrows it by about 1 %).
pub fn text_width(text: &str, size: f64, weight: Weight) -> f64 {
    let t = table(weight);
    // A character the font lacks is counted as wide as it may get.
    let em = |c: char| t.binary_search_by_key(&c, |(k, _)| *k).map_or(1.0, |i| t[i].1);
    size * text.chars().map(em).sum::<f64>()
}

/// `text` in lines no wider than `width`; a word wider than that is cut with an ellipsis.
pub fn wrap(text: &str, size: f64, weight: Weight, width: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let word = fit(word, size, weight, width);
        if let Some(last) = lines.last_mut()
            && text_width(last, size, weight) + text_width(&word, size, weight) + text_width(" ", size, weight) <= width
        {
            last.push(' ');
            last.push_str(&word);
            continue;
        }
        lines.push(word);
    }
    lines
}

/// [`wrap`], cut after `most` lines with an ellipsis.
pub fn wrap_at_most(text: &str, size: f64, weight: Weight, width: f64, most: usize) -> Vec<String> {
    let mut lines = wrap(text, size, weight, width);
    if lines.len() > most {
        lines.truncate(most);
        if let Some(last) = lines.last_mut() {
            let room = width - text_width("…", size, weight);
            while text_width(last, size, weight) > room && last.pop().is_some() {}
            last.truncate(last.trim_end().len());
            last.push('…');
        }
    }
    lines
}

/// `text` cut with an ellipsis so that it is no wider than `width`.
pub fn fit(text: &str, size: f64, weight: Weight, width: f64) -> String {
    if text_width(text, size, weight) <= width {
        return text.to_string();
    }
    let room = width - text_width("…", size, weight);
    let mut used = 0.0;
    let kept: String = text
        .chars()
        .take_while(|c| {
            used += text_width(c.encode_utf8(&mut [0; 4]), size, weight);
            used <= room
        })
        .collect();
    format!("{}…", kept.trim_end())
}
