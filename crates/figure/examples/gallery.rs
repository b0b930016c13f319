//! Draws every kind of figure from invented scenes: `cargo run -p figure --example gallery -- DIRECTORY`.
#[path = "../tests/common/mod.rs"]
mod common;

use figure::png::{Size, png};
use figure::*;

fn save(dir: &str, name: &str, d: &Drawing, size: Size) {
    let clashes = d.clashes();
    println!("{name}: {} bytes of SVG, {} clashes {clashes:?}", d.svg.len(), clashes.len());
    let bytes = png(&d.svg, size).expect("a drawing of ours renders");
    std::fs::write(format!("{dir}/{name}.svg"), &d.svg).expect("directory can be written");
    std::fs::write(format!("{dir}/{name}.png"), bytes).expect("directory can be written");
}

fn main() {
    let dir = std::env::args().nth(1).unwrap_or_else(|| ".".into());
    let mut scenes = common::all();
    scenes.push(("Standing", common::standing()));
    for (name, scene) in &scenes {
        let id = name.to_lowercase().replace(' ', "-");
        for view in [View::Side, View::Front, View::Top] {
            let o = Options { captions: view == View::Side, ..Options::default() };
            save(&dir, &format!("{id}-{}", view.word()), &posture_svg(scene, view, Frames::Hardest, &o), Size::Own);
        }
        let o = Options {
            width: 900.0,
            height: 380.0,
            captions: true,
            theme: if id.starts_with('b') { &DARK } else { &LIGHT },
            ..Options::default()
        };
        save(&dir, &format!("{id}-three"), &posture_svg(scene, View::Side, Frames::Three, &o), Size::Own);
        let o = Options { width: 300.0, height: 300.0, ..Options::default() };
        save(&dir, &format!("{id}-small"), &posture_svg(scene, View::Side, Frames::Hardest, &o), Size::Own);
    }
    cards(&dir);
}

fn cards(dir: &str) {
    use common::answers as a;
    for (format, word) in
        [(Format::Page, "page"), (Format::Phone, "phone"), (Format::Post, "post"), (Format::Slide, "slide")]
    {
        let card = Card { format, theme: if format == Format::Slide { &DARK } else { &LIGHT } };
        let looks = [("squat", a::squat_look()), ("bench", a::bench_look()), ("crowded", a::crowded_look())];
        for (name, l) in &looks {
            save(dir, &format!("card-look-{name}-{word}"), &look_card(l, &card), Size::Own);
        }
        save(dir, &format!("card-compare-{word}"), &compare_card(&a::compare(), &card), Size::Own);
        save(dir, &format!("card-rank-{word}"), &rank_card(&a::rank(), &card), Size::Own);
        save(dir, &format!("card-audit-{word}"), &ledger(&a::audit(), Opened::Groups, &card), Size::Own);
        save(dir, &format!("card-audit-open-{word}"), &ledger(&a::audit(), Opened::Heads, &card), Size::Own);
    }
    let scenes = common::all();
    let mut cells: Vec<_> = scenes.iter().map(|(n, s)| (*n, Ok(s))).collect();
    cells.push(("Pistol squat", Err("does not solve in this body: the ankle would need 47° of bend")));
    let o = SheetOptions { theme: &LIGHT, views: &[View::Side, View::Front], columns: 2, cell_px: 110.0 };
    let sheet = contact_sheet("Movements of this library", &cells, &o);
    save(dir, "sheet", &sheet, Size::Own);
}
