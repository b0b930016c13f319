//! The body. In: tables of anatomy and a person's measures; out: segments, joints, muscle heads with their
//! lengths and lever arms in any posture. Must never know: movements, loads, programmes, files.

pub mod body;
pub mod heads;
pub mod path;
pub mod skeleton;
