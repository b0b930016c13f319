//! Where the time of a look goes.
use anatomy::body::Body;
use anatomy::heads::{MuscleModel, Variation};
use answer::Settings;
use library::Library;
use mechanics::solve::{Criterion, Memory, prepare};
use mechanics::system::ContactFreedom;
use movement::posture::SolverMemory;
use std::time::Instant;
fn main() {
    let t = Instant::now();
    let lib = Library::embedded().unwrap_or_else(|e| panic!("{e}"));
    println!("library {:?}", t.elapsed());
    let t = Instant::now();
    let _ = lib.names();
    println!("names {:?}", t.elapsed());
    for m in std::env::args().skip(1) {
        let r = lib.resolve(&m, &Settings::new()).unwrap_or_else(|e| panic!("{e}"));
        let body = Body::average_man();
        let n = 50;
        let t = Instant::now();
        for _ in 0..n {
            let _ = lib.plan(&r, &body);
        }
        let plan_us = t.elapsed().as_micros() / n;
        let plan = lib.plan(&r, &body).unwrap_or_else(|e| panic!("{e}"));
        let mut mem = SolverMemory::default();
        let t = Instant::now();
        for _ in 0..n {
            let _ = plan.rep(&body, 21, &mut mem);
        }
        let rep_us = t.elapsed().as_micros() / n;
        let rep = plan.rep(&body, 21, &mut mem);
        let t = Instant::now();
        for _ in 0..n {
            let _ = MuscleModel::new(&lib.tables, &body, &Variation::none());
        }
        let model_us = t.elapsed().as_micros() / n;
        let model = MuscleModel::new(&lib.tables, &body, &Variation::none());
        let t = Instant::now();
        for _ in 0..n {
            let _ = prepare(&rep, &body, &model, ContactFreedom::Usual, &lib.stops);
        }
        let prep_us = t.elapsed().as_micros() / n;
        let p = prepare(&rep, &body, &model, ContactFreedom::Usual, &lib.stops);
        let mut memory = Memory::default();
        let t = Instant::now();
        for _ in 0..n {
            let _ = p.set_load(&lib.rules.load_rule(), &mut memory);
        }
        let load_us = t.elapsed().as_micros() / n;
        let load = p.set_load(&lib.rules.load_rule(), &mut memory);
        let t = Instant::now();
        for _ in 0..n {
            let _ = p.share(load.load, &load.capacity, Criterion::Cubic, &model, &mut memory);
        }
        let share_us = t.elapsed().as_micros() / n;
        let mut posture = movement::posture::standing(&body);
        let its: Vec<usize> = (0..21)
            .map(|i| plan.problem.solve(&body, f64::from(i) / 20.0, &mut posture, &mut mem).1.iterations)
            .collect();
        let over = load.capacity.iter().filter(|c| load.load > **c).count();
        println!(
            "{m}: plan {plan_us} rep {rep_us} model {model_us} prepare {prep_us} load {load_us} share {share_us} us, dofs {} iterations {its:?} over {over}",
            plan.problem.dofs.len()
        );
    }
}
