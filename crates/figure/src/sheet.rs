//! A contact sheet: many small postures with their names, to see at a glance which one is wrong.

use crate::font::{self, FAMILIES, Weight};
use crate::geom::View;
use crate::posture::{Frames, Options, posture_board};
use crate::svg::{Anchor, Board, Drawing, Paint, Type, escape};
use crate::theme::Theme;
use answer::Scene;

#[derive(Clone, Copy, Debug)]
pub struct SheetOptions<'a> {
    pub theme: &'static Theme,
    /// Views drawn for each movement, left to right.
    pub views: &'a [View],
    /// Movements beside each other.
    pub columns: usize,
    /// Size of one posture, px.
    pub cell_px: f64,
}

/// One movement of a sheet: its name and scene, or why there is none.
pub type Cell<'a> = (&'a str, Result<&'a Scene, &'a str>);

/// End of the lift, middle and turning point in each view, name above.
pub fn contact_sheet(title: &str, cells: &[Cell], o: &SheetOptions) -> Drawing {
    let t = o.theme;
    let columns = o.columns.max(1);
    let size = 14.0;
    let views = o.views.len().max(1) as f64;
    let (w, h) = (o.cell_px * 3.0 * views, o.cell_px * 1.1 + size * 2.4);
    let gap = 18.0;
    let top = 56.0;
    let rows = cells.len().div_ceil(columns);
    let mut b = Board::new(gap + columns as f64 * (w + gap), top + rows as f64 * (h + gap) + gap);
    let big = Type::new(22.0, t.ink).bold();
    b.text(gap, 36.0, &font::fit(title, big.size, big.weight, b.width - 2.0 * gap), big);
    for (i, (name, scene)) in cells.iter().enumerate() {
        let (x, y) = (gap + (i % columns) as f64 * (w + gap), top + (i / columns) as f64 * (h + gap));
        b.rect(x, y, w, h, 8.0, Paint::both(t.card, t.grid, 1.0));
        let kind = Type::new(size, t.ink).bold();
        b.text(x + 10.0, y + size * 1.4, &font::fit(name, size, Weight::Semibold, w - 20.0), kind);
        match scene {
            Ok(s) => {
                for (v, view) in o.views.iter().enumerate() {
                    let small = Options {
                        width: o.cell_px * 3.0 - 4.0,
                        height: o.cell_px * 1.1,
                        theme: t,
                        levers: false,
                        joints: false,
                        captions: false,
                        font_px: 13.0,
                        detail: 14,
                        ..Options::default()
                    };
                    b.place(
                        x + v as f64 * o.cell_px * 3.0 + 2.0,
                        y + size * 2.0,
                        posture_board(s, *view, Frames::Three, &small),
                    );
                }
            }
            Err(why) => {
                let words = font::wrap_at_most(why, 13.0, Weight::Regular, w - 40.0, 4);
                b.lines(x + w / 2.0, y + h / 2.0, &words, 18.0, Type::new(13.0, t.grey).at(Anchor::Middle));
            }
        }
    }
    b.finish(
        title,
        &format!("{} movements, each at the end of the lift, half-way and at the turning point.", cells.len()),
        t.paper,
    )
}

/// A page that holds figures by name, with nothing to fetch. Fits a phone; prints one figure under another.
pub fn html_index(title: &str, figures: &[(&str, &Drawing)], theme: &Theme) -> String {
    let mut page = format!(
        "<!doctype html><html lang=\"en\"><meta charset=\"utf-8\"><meta name=\"viewport\" content=\"width=device-width\">\
         <title>{0}</title><style>body{{margin:0;padding:16px;background:{1};color:{2};font:16px/1.45 {FAMILIES}}}\
         figure{{margin:0 0 24px}}svg{{max-width:100%;height:auto}}nav a{{color:{2};margin-right:14px}}\
         figcaption{{color:{3}}}</style><h1>{0}</h1><nav>",
        escape(title),
        theme.paper,
        theme.ink,
        theme.grey
    );
    for (i, (name, _)) in figures.iter().enumerate() {
        page += &format!("<a href=\"#f{i}\">{}</a>", escape(name));
    }
    page += "</nav>";
    for (i, (name, d)) in figures.iter().enumerate() {
        page += &format!("<figure id=\"f{i}\"><figcaption>{}</figcaption>{}</figure>", escape(name), d.svg.trim_end());
    }
    if figures.is_empty() {
        page += "<p>Nothing was drawn: no movement matched.</p>";
    }
    page + "</html>\n"
}
