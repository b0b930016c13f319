//! A plan back in its own layout. In: the workbook as it was read, what became of each entry; out: the same sheets with the
//! cells of the changed exercises rewritten, new rows below the row they follow, rows taken out. Values and texts are
//! kept; colours, merged cells and formulas of the original are not.

use crate::grid::Book;
use crate::plan::notation::Slot;
use crate::plan::{CellFate, Fate, PlanRead};
use crate::write::{CellOut, Content, Look, SheetOut};
use std::collections::{BTreeMap, BTreeSet};

/// Pounds in a kilogram (international pound, 0.45359237 kg).
const LB_KG: f64 = 0.453_592_37;

/// One exercise as it shall stand.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Fill {
    /// Entry of the plan as read; `None` for a new row.
    pub source: Option<usize>,
    /// A new row stands below this entry's row.
    pub after: Option<usize>,
    /// Another name; `None` where it stays as written. A new row needs one.
    pub name: Option<String>,
    pub sets: (f64, f64),
    pub reps: Option<(f64, f64)>,
    /// `reps`, `s`, `m`.
    pub reps_unit: String,
    pub rir: Option<f64>,
    pub load_kg: Option<f64>,
    /// The row is taken out.
    pub gone: bool,
}

fn short(v: f64) -> String {
    let tenth = (v * 100.0).round() / 100.0;
    format!("{tenth}")
}

fn span((low, high): (f64, f64)) -> String {
    if (high - low).abs() < 1e-9 { short(low) } else { format!("{}-{}", short(low), short(high)) }
}

impl Fill {
    /// "3 x 8-12 @ 26 kg RIR 2", as any reader of plans takes it.
    pub fn scheme(&self) -> String {
        let unit = if matches!(self.reps_unit.as_str(), "" | "reps") { "" } else { self.reps_unit.as_str() };
        let reps = self.reps.map_or("?".to_string(), span);
        let load = self.load_kg.map_or(String::new(), |kg| format!(" @ {} kg", short(kg)));
        let rir = self.rir.map_or(String::new(), |r| format!(" RIR {}", short(r)));
        format!("{} x {reps}{unit}{load}{rir}", span(self.sets))
    }

    fn reps_text(&self) -> Option<String> {
        let unit = if matches!(self.reps_unit.as_str(), "" | "reps") { "" } else { self.reps_unit.as_str() };
        self.reps.map(|r| format!("{}{unit}", span(r)))
    }

    /// What a cell of this slot shall hold; `None` leaves it.
    fn cell(&self, slot: Slot, name: &str, load_has_cell: bool) -> Option<CellOut> {
        let text_or_number = |t: String| match t.parse::<f64>() {
            Ok(v) => CellOut::number(v, u8::from(v.fract() != 0.0) * 2),
            Err(_) => CellOut::text(t),
        };
        Some(match slot {
            Slot::Line => CellOut::text(format!("{name} {}", self.scheme())),
            Slot::Scheme => CellOut::text(self.scheme()),
            Slot::Sets => text_or_number(span(self.sets)),
            Slot::Reps if !load_has_cell && self.load_kg.is_some() => {
                let load = self.load_kg.map_or(String::new(), |kg| format!(" @ {} kg", short(kg)));
                CellOut::text(format!("{}{load}", self.reps_text()?))
            }
            Slot::Reps => text_or_number(self.reps_text()?),
            Slot::Rir => text_or_number(short(self.rir?)),
            Slot::Rpe => text_or_number(short(10.0 - self.rir?)),
            Slot::Effort => CellOut::text(format!("RIR {}", short(self.rir?))),
            Slot::Load(Some("lb")) => text_or_number(short(self.load_kg? / LB_KG)),
            Slot::Load(Some(_)) => text_or_number(short(self.load_kg?)),
            Slot::Load(None) => CellOut::text(format!("{} kg", short(self.load_kg?))),
            Slot::Percent | Slot::Tempo | Slot::Rest(_) | Slot::Notes => return None,
        })
    }
}

/// Rows put in below a row, by row.
type NewRows = BTreeMap<usize, Vec<Vec<CellOut>>>;

/// The sheets of a plan with these exercises as they shall stand; what is not named stays as it is.
pub fn fill(book: &Book, read: &PlanRead, fills: &[Fill]) -> Vec<SheetOut> {
    book.sheets
        .iter()
        .map(|grid| {
            let mut sheet = SheetOut::from(grid);
            let mut new_rows = NewRows::new();
            let mut gone: BTreeSet<usize> = BTreeSet::new();
            for f in fills {
                one(&mut sheet, &mut new_rows, &mut gone, read, f);
            }
            let empty = |row: &Vec<CellOut>| row.iter().all(|c| c.content == Content::Empty);
            let mut rows = Vec::new();
            for (r, row) in std::mem::take(&mut sheet.rows).into_iter().enumerate() {
                if !(gone.contains(&r) && empty(&row)) {
                    rows.push(row);
                }
                rows.extend(new_rows.remove(&r).unwrap_or_default());
            }
            // Wide enough to read: the longest word of a column, within reason.
            let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
            let width = |c: usize| {
                let longest = rows.iter().filter_map(|r| r.get(c)).map(|cell| match &cell.content {
                    Content::Text(t) => t.chars().count(),
                    _ => 6,
                });
                (longest.max().unwrap_or(6) as f64 + 2.0).clamp(8.0, 40.0)
            };
            sheet.widths_chars = (0..columns).map(width).collect();
            sheet.rows = rows;
            sheet
        })
        .collect()
}

fn one(sheet: &mut SheetOut, new_rows: &mut NewRows, gone: &mut BTreeSet<usize>, read: &PlanRead, f: &Fill) {
    let Some(like) = f.source.or(f.after) else { return };
    let parts: Vec<_> = read.parts.iter().filter(|p| p.entry == like && p.sheet == sheet.name).collect();
    let Some(first) = parts.first() else { return };
    let load_has_cell = parts.iter().any(|p| matches!(p.slot, Some(Slot::Load(_) | Slot::Scheme | Slot::Line)));
    if f.source.is_none() {
        // A row like the one above it, with nothing in the columns that are not ours.
        let mut row = vec![CellOut::empty(); sheet.rows.get(first.row).map_or(0, Vec::len)];
        let name = f.name.clone().unwrap_or_default();
        let has_scheme = parts.iter().any(|p| p.slot.is_some());
        for p in &parts {
            let cell = match p.slot {
                None if has_scheme => Some(CellOut::text(&name)),
                None => Some(CellOut::text(format!("{name} {}", f.scheme()))),
                Some(slot) => f.cell(slot, &name, load_has_cell),
            };
            if let (Some(cell), Some(slot)) = (cell, row.get_mut(p.col)) {
                *slot = cell.looking(Look::Group);
            }
        }
        new_rows.entry(first.row).or_default().push(row);
        return;
    }
    if f.gone {
        gone.insert(first.row);
        for p in &parts {
            if let Some(cell) = sheet.rows.get_mut(p.row).and_then(|r| r.get_mut(p.col)) {
                *cell = CellOut::empty();
            }
        }
        // Remarks of a row that is gone, and marks of its pair, go with it when nothing else stands there.
        let others = read.parts.iter().any(|p| p.entry != like && p.sheet == sheet.name && p.row == first.row);
        if !others && let Some(row) = sheet.rows.get_mut(first.row) {
            let kept =
                |c: usize| fate(read, &sheet.name, first.row, c).is_some_and(|f| matches!(f, Fate::Day | Fate::Week));
            for (c, cell) in row.iter_mut().enumerate().filter(|(c, _)| !kept(*c)) {
                let _ = c;
                *cell = CellOut::empty();
            }
        }
        return;
    }
    let entry = read.entries.get(like);
    let written = |p: &crate::plan::PartAt| match sheet.rows.get(p.row).and_then(|r| r.get(p.col)).map(|c| &c.content) {
        Some(Content::Text(t)) => t.clone(),
        _ => String::new(),
    };
    // The name without sets and loads, for cells that hold both.
    let own = parts
        .iter()
        .find(|p| p.slot == Some(Slot::Line))
        .map(|p| crate::plan::line::Written::from_cell(&written(p)).name);
    let name = f.name.clone().or(own).or_else(|| entry.map(|e| e.name.clone())).unwrap_or_default();
    let mut scheme_done = false;
    for p in &parts {
        let cell = match p.slot {
            None => f.name.as_ref().map(CellOut::text),
            // Several cells of one scheme ("3x8", "@ 20 kg"): the first takes all.
            Some(Slot::Scheme) if scheme_done => Some(CellOut::empty()),
            Some(slot) => {
                scheme_done |= slot == Slot::Scheme;
                f.cell(slot, &name, load_has_cell)
            }
        };
        if let (Some(cell), Some(slot)) = (cell, sheet.rows.get_mut(p.row).and_then(|r| r.get_mut(p.col)))
            && slot.content != cell.content
        {
            *slot = cell.looking(Look::Group);
        }
    }
}

fn fate(read: &PlanRead, sheet: &str, row: usize, col: usize) -> Option<Fate> {
    let at = |f: &&CellFate| f.sheet == sheet && f.row as usize == row + 1 && f.col as usize == col + 1;
    read.cells.iter().find(at).map(|f| f.fate)
}
