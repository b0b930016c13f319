//! Pictures from drawings, with the embedded font and nothing of the machine.

use crate::font::{FAMILY, REGULAR, SEMIBOLD};
use resvg::{tiny_skia, usvg};
use std::sync::{Arc, OnceLock};

#[derive(Debug, thiserror::Error)]
pub enum PngError {
    #[error("the drawing is not readable: {0}")]
    Svg(String),
    #[error("a picture of {0} × {1} px cannot be made (1 to 8192 px a side)")]
    Size(u32, u32),
    #[error("the picture could not be written: {0}")]
    Write(String),
}

/// How large the picture becomes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Size {
    /// As many px as the drawing has.
    Own,
    /// So many px wide.
    Width(u32),
    /// As large as fits, in the middle of a ground of this size.
    Within(u32, u32),
}

pub(crate) fn options() -> usvg::Options<'static> {
    static FONTS: OnceLock<Arc<usvg::fontdb::Database>> = OnceLock::new();
    let fonts = FONTS.get_or_init(|| {
        let mut db = usvg::fontdb::Database::new();
        db.load_font_data(REGULAR.to_vec());
        db.load_font_data(SEMIBOLD.to_vec());
        db.set_sans_serif_family(FAMILY);
        Arc::new(db)
    });
    usvg::Options { fontdb: fonts.clone(), font_family: FAMILY.into(), ..usvg::Options::default() }
}

/// PNG bytes of a drawing.
pub fn png(svg: &str, size: Size) -> Result<Vec<u8>, PngError> {
    let tree = usvg::Tree::from_str(svg, &options()).map_err(|e| PngError::Svg(e.to_string()))?;
    let (w, h) = (tree.size().width(), tree.size().height());
    let (out_w, out_h, scale) = match size {
        Size::Own => (w.ceil() as u32, h.ceil() as u32, 1.0),
        Size::Width(px) => {
            let k = px as f32 / w;
            (px, (h * k).round() as u32, k)
        }
        Size::Within(a, b) => (a, b, (a as f32 / w).min(b as f32 / h)),
    };
    if !(1..=8192).contains(&out_w) || !(1..=8192).contains(&out_h) {
        return Err(PngError::Size(out_w, out_h));
    }
    let mut map = tiny_skia::Pixmap::new(out_w, out_h).ok_or(PngError::Size(out_w, out_h))?;
    if matches!(size, Size::Within(..)) {
        // The ground of the drawing reaches the edges of the picture.
        let ground = ground(svg).and_then(crate::theme::rgb).unwrap_or([1.0; 3]);
        let [r, g, b] = ground.map(|v| v as f32);
        map.fill(tiny_skia::Color::from_rgba(r, g, b, 1.0).unwrap_or(tiny_skia::Color::WHITE));
    }
    let at = ((out_w as f32 - w * scale) / 2.0, (out_h as f32 - h * scale) / 2.0);
    let at = if matches!(size, Size::Within(..)) { at } else { (0.0, 0.0) };
    resvg::render(&tree, tiny_skia::Transform::from_row(scale, 0.0, 0.0, scale, at.0, at.1), &mut map.as_mut());
    map.encode_png().map_err(|e| PngError::Write(e.to_string()))
}

/// Fill of the first rectangle: the ground every drawing of ours starts with.
fn ground(svg: &str) -> Option<&str> {
    let rest = &svg[svg.find("<rect")?..];
    let rest = &rest[rest.find("fill=\"")? + 6..];
    rest.get(..7)
}
