//! Draw contact sheets of movements: side and front, end of the lift, half-way and turning point.
//! Arguments: folder for the pictures, then movements (or `all`, `checked`, `family:NAME`).
use figure::geom::View;
use figure::png::{Size, png};
use figure::sheet::{SheetOptions, contact_sheet};
use library::{Ask, Library};

/// Movements on one picture.
const PER_SHEET: usize = 12;

fn main() {
    let lib = Library::embedded().unwrap_or_else(|e| panic!("{e}"));
    let mut args = std::env::args().skip(1);
    let folder = args.next().expect("first argument: folder for the pictures");
    std::fs::create_dir_all(&folder).expect("the folder can be made");
    let mut ids: Vec<String> = Vec::new();
    for a in args {
        match a.as_str() {
            "all" => ids.extend(lib.catalogue.movements.iter().map(|m| m.id.clone())),
            "checked" => ids.extend(lib.checked.iter().cloned()),
            f if f.starts_with("family:") => {
                let f = &f["family:".len()..];
                ids.extend(lib.catalogue.movements.iter().filter(|m| m.family == f).map(|m| m.id.clone()));
            }
            _ => ids.push(a),
        }
    }
    for (page, ids) in ids.chunks(PER_SHEET).enumerate() {
        let looks: Vec<_> = ids
            .iter()
            .map(|id| {
                let ask = Ask { scene: true, ..Ask::middle(id) };
                let look = lib.look(&ask).map_err(|e| e.to_string());
                look.and_then(|l| l.scene.ok_or_else(|| "no drawing data".to_string()).map(|s| (l.load_kg, s)))
            })
            .collect();
        let names: Vec<String> = ids
            .iter()
            .zip(&looks)
            .map(|(id, l)| l.as_ref().map_or_else(|_| id.clone(), |(kg, _)| format!("{id}  {kg:.0}")))
            .collect();
        let cells: Vec<_> = names
            .iter()
            .zip(&looks)
            .map(|(n, l)| (n.as_str(), l.as_ref().map(|(_, s)| s).map_err(String::as_str)))
            .collect();
        let o = SheetOptions {
            theme: &figure::theme::LIGHT,
            views: &[View::Side, View::Front],
            columns: 2,
            cell_px: 150.0,
        };
        let d = contact_sheet(&format!("Sheet {}", page + 1), &cells, &o);
        let bytes = png(&d.svg, Size::Own).unwrap_or_else(|e| panic!("{e}"));
        let path = format!("{folder}/sheet_{:02}.png", page + 1);
        std::fs::write(&path, bytes).unwrap_or_else(|e| panic!("{path}: {e}"));
        println!("{path}: {}", ids.join(" "));
    }
}
