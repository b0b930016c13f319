//! What a family file may say for one variant or one part of the rep alone. Expectations follow from the page on
//! movement files.

use anatomy::body::Body;
use answer::{SettingValue, Settings};
use movement::build::{Family, plan};
use movement::posture::{Dof, SolverMemory};
use movement::ranges::Ranges;

const FAMILY: &str = r#"
id = "sample"
name = "Sample"
lift = "to-turn"
words = ["down", "up"]
balanced = ["lumbar"]
solve = ["root.x", "root.y when lies", "knee when lies == 0"]
hold = [ { what = "place", x_m = 0, y_m = 1, z_m = 0, lean_deg = 0 } ]
load = [ { kind = "weight", on = "hands" } ]
contact = [
    { on = "pelvis" },
    { on = "thorax", readiness = { keys = [1, 0, 0] } },
    { on = "head", normal = [{ start = 0, turn = 1 }, { start = 2, turn = 0 }, 0] },
]
"#;

fn ranges() -> Ranges {
    Ranges::parse(include_str!("../../../data/anatomy/joint_ranges.csv"), "joint_ranges.csv").expect("the table parses")
}

fn settings(lies: f64) -> Settings {
    [("lies".to_string(), SettingValue::Number(lies))].into_iter().collect()
}

fn check<T: PartialEq + std::fmt::Debug>(got: T, expected: T) {
    assert_eq!(got, expected);
}

#[test]
fn a_coordinate_is_solved_in_its_variant_only() {
    let family = Family::parse(FAMILY, "sample.toml").expect("the sample parses");
    let dofs = |lies: f64| {
        let p = plan(&family, "sample", &settings(lies), &Default::default(), &Body::average_man(), &ranges());
        p.expect("the sample is sound").problem.dofs
    };
    check(dofs(1.0), vec![Dof::Root(0), Dof::Root(1)]);
    check(dofs(0.0), vec![Dof::Root(0), Dof::Knee(anatomy::skeleton::Side::Right)]);
}

#[test]
fn a_test_that_cannot_be_read_is_named_with_its_line() {
    let text = FAMILY.replace("root.y when lies", "root.y when lying");
    let family = Family::parse(&text, "sample.toml").expect("the sample parses");
    let p = plan(&family, "sample", &settings(1.0), &Default::default(), &Body::average_man(), &ranges());
    let problems = p.expect_err("lying is no setting");
    check((problems.len(), problems[0].line), (1, 7));
    assert!(problems[0].text.contains("lying"), "{}", problems[0].text);
}

#[test]
fn a_contact_ends_and_turns_during_the_rep() {
    let family = Family::parse(FAMILY, "sample.toml").expect("the sample parses");
    let body = Body::average_man();
    let p = plan(&family, "sample", &settings(1.0), &Default::default(), &body, &ranges()).expect("sound");
    let rep = p.rep(&body, 5, &mut SolverMemory::default());
    let touching: Vec<Vec<usize>> = rep.frames.iter().map(|f| f.carriers.iter().map(|c| c.contact).collect()).collect();
    // The thorax (1) has left its support at half the way, the others stay.
    check(touching, vec![vec![0, 1, 2], vec![0, 1, 2], vec![0, 2], vec![0, 2], vec![0, 2]]);
    let head = |i: usize| rep.frames[i].carriers.iter().find(|c| c.contact == 2).map(|c| c.direction);
    check(head(0), Some(units::V3::y()));
    check(head(4), Some(units::V3::x()));
}
