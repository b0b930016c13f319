//! A rep as an animated picture: the posture with the length ribbon of one head under it, down and up once.

use crate::finding::finding;
use crate::font::{self, Weight};
use crate::geom::View;
use crate::png::{PngError, options};
use crate::posture::{Frames, Options, posture_board, scene_box};
use crate::ribbon::{RibbonOptions, ribbon_board};
use crate::svg::{Board, Paint, Type};
use crate::theme::Theme;
use answer::{HeadLook, Look};
use rayon::prelude::*;
use resvg::{tiny_skia, usvg};

/// Width and height of the picture, px.
const SIZE: (u16, u16) = (720, 900);
/// Time of a picture and of the two ends, hundredths of a second.
const STEP: u16 = 7;
const END: u16 = 60;
/// Colours are chosen anew from every so many pixels; 20 is quick and good enough for flat colours (of 1 to 30).
const SPEED: i32 = 20;

/// GIF bytes. Sources and what the picture is stand on it.
///
/// # Errors
/// There is no scene, or a picture could not be made.
pub fn rep_gif(look: &Look, head: &HeadLook, theme: &'static Theme) -> Result<Vec<u8>, PngError> {
    let scene =
        look.scene.as_ref().filter(|s| !s.frames.is_empty()).ok_or_else(|| PngError::Svg("no posture".into()))?;
    let count = scene.frames.len();
    // From the end of the lift down to the turn and up again.
    let order: Vec<usize> = (0..count).rev().chain(1..count).collect();
    let within = scene_box(scene, View::Side);
    // Every still is made once, though it is shown on the way down and up.
    let stills = (0..count)
        .into_par_iter()
        .map(|i| {
            let mut rgba = pixels(&still(look, head, i, within, theme))?;
            Ok(gif::Frame::from_rgba_speed(SIZE.0, SIZE.1, &mut rgba, SPEED))
        })
        .collect::<Result<Vec<_>, PngError>>()?;
    let mut bytes = Vec::new();
    let wrong = |e: gif::EncodingError| PngError::Write(e.to_string());
    {
        let mut encoder = gif::Encoder::new(&mut bytes, SIZE.0, SIZE.1, &[]).map_err(wrong)?;
        encoder.set_repeat(gif::Repeat::Infinite).map_err(wrong)?;
        for (n, &i) in order.iter().enumerate() {
            let mut frame = stills[i].clone();
            frame.delay = if n == 0 || i == 0 || n + 1 == order.len() { END } else { STEP };
            encoder.write_frame(&frame).map_err(wrong)?;
        }
    }
    Ok(bytes)
}

fn still(look: &Look, head: &HeadLook, i: usize, within: Option<[f64; 4]>, theme: &'static Theme) -> String {
    let (w, h) = (f64::from(SIZE.0), f64::from(SIZE.1));
    let mut b = Board::new(w, h);
    let title = Type::new(26.0, theme.ink).bold();
    let lines = font::wrap(&finding(look), title.size, Weight::Semibold, w - 48.0);
    b.lines(24.0, 44.0, &lines.into_iter().take(3).collect::<Vec<_>>(), 32.0, title);
    let Some(scene) = &look.scene else { return String::new() };
    let o = Options { width: w - 48.0, height: 470.0, theme, font_px: 20.0, within, ..Options::default() };
    // One box for all frames, so that the person moves and not the camera.
    b.place(24.0, 140.0, posture_board(scene, View::Side, Frames::One(i), &o));
    if let Some(ribbon) = &head.ribbon {
        let r = RibbonOptions {
            width: w - 48.0,
            height: 220.0,
            theme,
            font_px: 18.0,
            title: &head.plain,
            from_word: &scene.from_word,
            to_word: &scene.to_word,
        };
        b.place(24.0, 620.0, ribbon_board(ribbon, &r));
        let last = scene.frames.len().max(2) - 1;
        b.rect(24.0, 852.0, (w - 48.0) * i as f64 / last as f64, 5.0, 2.0, Paint::fill(theme.ink));
    }
    let grey = Type::new(16.0, theme.grey);
    b.text(
        24.0,
        h - 14.0,
        &format!("{} · {} · an estimate from mechanics · Lengthwise", look.name, look.body.who),
        grey,
    );
    b.finish(&look.name, "One repetition.", theme.paper).svg
}

fn pixels(svg: &str) -> Result<Vec<u8>, PngError> {
    let tree = usvg::Tree::from_str(svg, &options()).map_err(|e| PngError::Svg(e.to_string()))?;
    let (w, h) = (u32::from(SIZE.0), u32::from(SIZE.1));
    let mut map = tiny_skia::Pixmap::new(w, h).ok_or(PngError::Size(w, h))?;
    resvg::render(&tree, tiny_skia::Transform::identity(), &mut map.as_mut());
    Ok(map.take())
}
