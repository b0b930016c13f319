//! Floors, benches and pads push; they do not pull.

use library::{Ask, Library};
use mechanics::wrench::hardest_pull;
use stimulus::range::Widths;

/// Supports that pull a part of the body as a whole, at the load of a hard set in an average man, and why. The first are
/// held in life too, though the family file has only a place that pushes; a `miss` is what the model gets wrong.
const PULLS: [(&str, &str); 13] = [
    ("sit-up", "the feet are held down"),
    ("decline-sit-up", "the feet are hooked under a roller"),
    (
        "glute-ham-raise",
        "upright the shanks rest on the foot plate's lower edge; the file has only the roller above them",
    ),
    ("assisted-nordic", "upright the shins rest on the floor; the file has only what holds the heels down"),
    ("reverse-hyper", "the hands hold the grips of the table, and so the chest stays on it"),
    ("sissy-squat", "the place at the chest stands for a hand on a post, which holds"),
    ("jump-squat", "a throw ends with the body slowed by its own weight: the feet leave the floor"),
    ("box-jump", "a throw ends with the body slowed by its own weight: the feet leave the floor"),
    ("thruster", "a throw ends with the body slowed by its own weight: the feet all but leave the floor"),
    ("donkey-calf-raise", "miss: the load on the pelvis tips the trunk off its rest"),
    ("ball-crunch", "miss: the ball is one point, and the feet take what a ball spreads"),
    ("bird-dog", "miss: with arm and leg long the body tips over knee and hand, and the toes would have to hold"),
    ("seated-good-morning", "miss: upright the bar stands behind the seat, and the feet would have to hook"),
];

#[test]
fn no_support_pulls_but_where_it_is_known() {
    let library = Library::embedded().unwrap_or_else(|e| panic!("{e}"));
    let mut wrong = Vec::new();
    for id in &library.checked {
        let study = library.study(&Ask::middle(id), &Widths::NONE).unwrap_or_else(|e| panic!("{id}: {e}"));
        let s = &study.solved;
        let pulls = study.rep.frames.iter().zip(&s.prepared.frames).zip(&s.shares.free).enumerate();
        let hardest = pulls
            .filter_map(|(t, ((f, e), free))| {
                hardest_pull(&f.carriers, &e.carried_n(s.load.load, free)).map(|(on, n)| (t, on, n))
            })
            .max_by(|a, b| a.2.total_cmp(&b.2));
        match (hardest, PULLS.iter().find(|p| p.0 == id)) {
            (Some((t, on, n)), None) => wrong.push(format!("{id}: {on:?} is pulled with {n:.0} N in frame {t}")),
            (None, Some(_)) => wrong.push(format!("{id}: nothing pulls any more; strike it off the list")),
            _ => {}
        }
    }
    assert!(wrong.is_empty(), "{} supports:\n{}", wrong.len(), wrong.join("\n"));
}

/// A support that would pull lets go, and what it carried goes to the others: equilibrium holds with and without it.
#[test]
fn what_lets_go_is_carried_elsewhere() {
    let library = Library::embedded().unwrap_or_else(|e| panic!("{e}"));
    let study = library.study(&Ask::middle("smith-squat"), &Widths::NONE).unwrap_or_else(|e| panic!("{e}"));
    let load = study.solved.load.load;
    let frames = &study.solved.prepared.frames;
    assert!(frames.iter().any(|e| e.released.contains(&true)), "the bar's guide lets go of the back near the top");
    for (t, e) in frames.iter().enumerate() {
        let (c, p) = (&e.wrenches.constant, &e.wrenches.per_load);
        let force = c.iter().zip(p).fold(units::V3::zeros(), |s, (c, p)| s + c.force_n + p.force_n * load);
        let moment = c.iter().zip(p).fold(units::V3::zeros(), |s, (c, p)| s + c.moment_nm + p.moment_nm * load);
        assert!(force.norm() < 0.1 && moment.norm() < 0.1, "frame {t}: {force:?} N, {moment:?} N·m are left over");
    }
}
