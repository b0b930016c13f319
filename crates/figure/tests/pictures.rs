//! PNG and type, against an independent reader of SVG and fonts.
#![cfg(feature = "png")]
mod common;

use common::answers as a;
use figure::font::{REGULAR, SEMIBOLD, Weight, text_width};
use figure::png::{PngError, Size, png};
use figure::*;
use resvg::{tiny_skia::Pixmap, usvg};
use std::sync::Arc;

fn pixels(bytes: &[u8]) -> Pixmap {
    Pixmap::decode_png(bytes).expect("a PNG")
}

#[test]
fn pictures_are_not_blank_and_follow_the_theme() {
    let mut seen = Vec::new();
    for theme in [&LIGHT, &DARK] {
        let d = look_card(&a::squat_look(), &Card { format: Format::Post, theme });
        let p = pixels(&png(&d.svg, Size::Own).expect("renders"));
        assert_eq!((p.width(), p.height()), (1080, 1350));
        let ground = p.pixels()[0];
        let drawn = p.pixels().iter().filter(|q| **q != ground).count() as f64 / p.pixels().len() as f64;
        assert!((0.03..0.7).contains(&drawn), "{} of {} is drawn", drawn, theme.name);
        seen.push(p);
    }
    assert_ne!(seen[0].data(), seen[1].data());
}

#[test]
fn sizes_are_kept_and_bad_ones_refused() {
    let d = posture_svg(&common::squat(), View::Side, Frames::Hardest, &Options::default());
    let p = pixels(&png(&d.svg, Size::Width(300)).expect("renders"));
    assert_eq!(p.width(), 300);
    let p = pixels(&png(&d.svg, Size::Within(1920, 1080)).expect("renders"));
    assert_eq!((p.width(), p.height()), (1920, 1080));
    // The ground reaches the corners.
    let c = p.pixels()[0];
    assert_eq!([c.red(), c.green(), c.blue()], [0xfb, 0xfa, 0xf6]);
    assert!(matches!(png(&d.svg, Size::Width(0)), Err(PngError::Size(0, _))));
    assert!(matches!(png("<svg", Size::Own), Err(PngError::Svg(_))));
}

/// Words drawn alone leave ink: the embedded font is found and has the signs figures use.
#[test]
fn embedded_font_has_every_sign() {
    for c in "AZaz09+−–·×→°…½%“”’≥≤µäéßñøŁčğΩЖ".chars() {
        let widest = text_width("\u{10FFFF}", 1.0, Weight::Regular);
        assert!(text_width(&c.to_string(), 1.0, Weight::Regular) != widest, "{c:?} is missing");
    }
}

#[test]
fn figures_are_tabular() {
    for weight in [Weight::Regular, Weight::Semibold] {
        let w = text_width("0", 100.0, weight);
        for c in "123456789".chars() {
            assert!((text_width(&c.to_string(), 100.0, weight) - w).abs() < 0.2, "{c} {weight:?}");
        }
    }
}

/// Measured widths against those a text shaper lays out with kerning (usvg): labels are never wider than planned.
#[test]
fn measured_widths_match_a_shaper() {
    let mut db = usvg::fontdb::Database::new();
    db.load_font_data(REGULAR.to_vec());
    db.load_font_data(SEMIBOLD.to_vec());
    let o = usvg::Options { fontdb: Arc::new(db), ..usvg::Options::default() };
    for (weight, number) in [(Weight::Regular, 400), (Weight::Semibold, 600)] {
        for text in
            ["Adductor magnus, hamstring part", "11.0 (9.1–12.6) of 6–10", "knee −33 mm", "Wärterin AVATAR Type"]
        {
            let svg = format!(
                "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"900\" height=\"60\" font-family=\"{}\"><text x=\"0\" y=\"40\" \
                 font-size=\"32\" font-weight=\"{number}\">{text}|</text></svg>",
                font::FAMILIES
            );
            let tree = usvg::Tree::from_str(&svg, &o).expect("readable");
            let right = f64::from(tree.root().abs_bounding_box().right());
            let planned = text_width(&format!("{text}|"), 32.0, weight);
            // Kerning only narrows, most in pairs such as AV.
            let share = right / planned;
            assert!((0.96..1.005).contains(&share), "{text}: planned {planned:.1}, laid out {right:.1}");
        }
    }
}
