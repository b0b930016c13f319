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

/// A value along the rep: half a circle of 0.2 m, joints that are at rest at both ends, and a slip told once with its line.
#[test]
fn a_value_may_be_an_expression_of_the_phase() {
    let place = |y: &str| FAMILY.replace("y_m = 1,", &format!("y_m = {{ along = \"{y}\" }},"));
    let heights = |y: &str| {
        let family = Family::parse(&place(y), "sample.toml").expect("the sample parses");
        let plan = plan(&family, "sample", &settings(0.0), &Default::default(), &Body::average_man(), &ranges())?;
        let rep = plan.rep(&Body::average_man(), 5, &mut SolverMemory::default());
        Ok(rep
            .frames
            .iter()
            .map(|f| (f.figure.pose(anatomy::skeleton::Segment::Pelvis).origin_m.y * 1e3).round())
            .collect())
    };
    let tell = |r: Result<Vec<f64>, Vec<movement::family::Problem>>| {
        r.map_err(|p| p.iter().map(|q| format!("{}:{}", q.line, q.text)).collect::<Vec<_>>())
    };
    check(tell(heights("1 + 0.2 * sin_deg(180 * u)")), Ok(vec![1000.0, 1141.0, 1200.0, 1141.0, 1000.0]));
    check(tell(heights("1 + smooth(u)")), Ok(vec![1000.0, 1104.0, 1500.0, 1896.0, 2000.0]));
    let slip = tell(heights("1 + v")).expect_err("v is nothing");
    check(slip.len(), 1);
    assert!(slip[0].starts_with("8:") && slip[0].contains("unknown name \"v\""), "{slip:?}");
}
