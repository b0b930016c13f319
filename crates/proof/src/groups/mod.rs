//! The groups of comparisons, one module each; a group is listed here and nowhere else.

use crate::Group;

pub mod contact_forces;
pub mod exercise_moments;
pub mod joint_angle_proof;
pub mod lesion_facts;
pub mod load_shares;
pub mod strength_ratios;
pub mod tendon_forces;
pub mod training_and_emg_facts;

/// Every group, in the order shown.
pub const ALL: &[Group] = &[
    joint_angle_proof::GROUP,
    contact_forces::GROUP,
    tendon_forces::GROUP,
    load_shares::GROUP,
    lesion_facts::GROUP,
    exercise_moments::GROUP,
    strength_ratios::GROUP,
    training_and_emg_facts::GROUP,
];
