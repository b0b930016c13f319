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

/// A movement on a page of pictures that lie beside the page.
#[derive(Clone, Debug)]
pub struct Indexed {
    /// Heading it stands under.
    pub group: String,
    pub name: String,
    pub id: String,
    /// View and file name of each picture.
    pub files: Vec<(&'static str, String)>,
}

/// A page that shows pictures by group, the views beside each other, one under another on a phone; nothing is fetched
/// from elsewhere.
pub fn html_index(title: &str, shown: &[Indexed], theme: &Theme) -> String {
    let mut groups: Vec<&str> = shown.iter().map(|s| s.group.as_str()).collect();
    groups.sort_unstable();
    groups.dedup();
    let mut page = format!(
        "<!doctype html><html lang=\"en\"><meta charset=\"utf-8\"><meta name=\"viewport\" content=\"width=device-width\">\
         <title>{0}</title><style>body{{margin:0;padding:16px;background:{1};color:{2};font:16px/1.45 {FAMILIES}}}\
         nav a{{color:{2};margin-right:14px}}h2{{margin:32px 0 8px}}\
         .row{{display:grid;grid-template-columns:repeat(auto-fill,minmax(min(100%,640px),1fr));gap:16px}}\
         figure{{margin:0;padding:8px;background:{3};border:1px solid {4};border-radius:8px}}\
         figcaption{{font-weight:600}}figcaption small{{font-weight:400;color:{5}}}\
         .pair{{display:grid;grid-template-columns:repeat(auto-fit,minmax(min(100%,300px),1fr));gap:4px}}\
         img{{width:100%;height:auto}}</style><h1>{0}</h1><nav>",
        escape(title),
        theme.paper,
        theme.ink,
        theme.card,
        theme.grid,
        theme.grey
    );
    for g in &groups {
        page += &format!("<a href=\"#{0}\">{0}</a> ", escape(g));
    }
    page += "</nav>";
    for g in &groups {
        page += &format!("<h2 id=\"{0}\">{0}</h2><div class=\"row\">", escape(g));
        for s in shown.iter().filter(|s| s.group == *g) {
            let name = escape(&s.name);
            page += &format!(
                "<figure><figcaption>{name} <small>{}</small></figcaption><div class=\"pair\">",
                escape(&s.id)
            );
            for (view, file) in &s.files {
                page += &format!(
                    "<img loading=\"lazy\" src=\"{}\" alt=\"{name} from the {view}, three moments\">",
                    escape(file)
                );
            }
            page += "</div></figure>";
        }
        page += "</div>";
    }
    if shown.is_empty() {
        page += "<p>Nothing was drawn: no movement matched.</p>";
    }
    page + "</html>\n"
}
