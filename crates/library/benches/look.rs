//! The budgets of a question: one core, posture solved, all heads.

use answer::Settings;
use divan::{Bencher, black_box};
use library::{Ask, Library, Person};
use mechanics::solve::{Criterion, Memory, prepare};
use mechanics::system::ContactFreedom;
use rayon::prelude::*;
use std::sync::OnceLock;

fn main() {
    divan::main();
}

fn library() -> &'static Library {
    static L: OnceLock<Library> = OnceLock::new();
    L.get_or_init(|| Library::embedded().expect("the shipped data parses"))
}

fn ask(movement: &str, draws: usize, frames: usize) -> Ask {
    Ask {
        movement: movement.into(),
        settings: Settings::new(),
        person: Person::average_man(),
        draws,
        seed: 1,
        frames,
        scene: false,
    }
}

const MOVEMENTS: [&str; 5] = ["back-squat", "romanian-deadlift", "bench-press", "lat-pull-down", "seated-leg-curl"];

/// 21 frames, all heads, posture solved, main criterion: budget 2 ms on one core.
#[divan::bench(args = MOVEMENTS)]
fn look_mid(bencher: Bencher, movement: &str) {
    let a = ask(movement, 0, 21);
    bencher.bench(|| library().look(black_box(&a)));
}

/// Four criteria at 41 frames: budget 8 ms on one core.
#[divan::bench(args = MOVEMENTS)]
fn four_criteria_41_frames(bencher: Bencher, movement: &str) {
    let lib = library();
    let resolved = lib.resolve(movement, &Settings::new()).expect("resolves");
    let body = lib.body(&Person::average_man()).expect("body");
    let model = anatomy::heads::MuscleModel::new(&lib.tables, &body, &anatomy::heads::Variation::none());
    bencher.bench(|| {
        let plan = lib.plan(&resolved, &body).expect("plan");
        let rep = plan.rep(&body, 41, &mut Default::default());
        let mut memory = Memory::default();
        let p = prepare(&rep, &body, &model, ContactFreedom::Usual, &lib.stops);
        let load = p.set_load(&lib.rules.load_rule(), &mut memory);
        Criterion::ALL.map(|c| p.share(load.load, &load.capacity, c, &model, &mut memory).residual_nm)
    });
}

/// Default range.
#[divan::bench(args = ["back-squat", "bench-press"], sample_count = 20)]
fn look_with_32_draws(bencher: Bencher, movement: &str) {
    let a = ask(movement, 32, 21);
    bencher.bench(|| library().look(black_box(&a)));
}

/// Sixty movements on all cores: budget 60 ms on two.
#[divan::bench(sample_count = 20)]
fn sixty_movements(bencher: Bencher) {
    let asks: Vec<Ask> = library().movements().iter().take(60).map(|m| ask(&m.id, 0, 21)).collect();
    bencher.bench(|| asks.par_iter().filter(|a| library().look(a).is_ok()).count());
}

/// Parsing everything the program ships.
#[divan::bench(sample_count = 20)]
fn open_the_library() -> bool {
    Library::embedded().is_ok()
}

/// All checked movements for one body, middle values: budget 0.5 s on two cores.
#[divan::bench(sample_count = 5)]
fn whole_library_mid(bencher: Bencher) {
    let lib = library();
    bencher.bench(|| lib.checked.par_iter().filter(|id| lib.look(black_box(&ask(id, 0, 21))).is_ok()).count());
}

/// Set-up search of one head over all movements: budget 2 s on two cores.
#[divan::bench(args = ["pectoralis-major-clavicular-part", "gluteus-maximus-inferior-part"], sample_count = 3)]
fn search_one_head(bencher: Bencher, head: &str) {
    bencher.bench(|| library().search_setups(black_box(head), None, &ask("", 0, 21)).map(|s| s.rows.len()));
}
