//! The groups of comparisons, one module each.

use crate::Group;

pub mod anthropometry;
pub mod general_libraries;
pub mod length_facts;
pub mod lines_of_action;
pub mod moment_arms;
pub mod operating_lengths;
pub mod shoulder_bounds;
pub mod shoulder_signs;
pub mod textbook_statics;
pub mod torque_angle;
pub mod torque_facts;

macro_rules! group {
    ($module:ident, $title:literal) => {
        Group { name: $module::NAME, title: $title, cases: $module::CASES, judge: $module::judge }
    };
}

/// Every group, in the order of the report.
pub const ALL: &[Group] = &[
    group!(anthropometry, "Lengths, masses and centres of segments"),
    group!(textbook_statics, "Worked examples of physics books"),
    group!(general_libraries, "Our solvers against general-purpose libraries"),
    group!(moment_arms, "Lever arms of muscles"),
    group!(lines_of_action, "Directions of pull at the shoulder"),
    group!(shoulder_signs, "Facts about signs and orders at shoulder and arm"),
    group!(shoulder_bounds, "Wide limits of shoulder arms"),
    group!(operating_lengths, "Lengths of muscles and fibres"),
    group!(length_facts, "Facts about lengths"),
    group!(torque_angle, "Largest isometric torques"),
    group!(torque_facts, "Facts about where a joint is stronger"),
];
