//! Movements. In: family files, the list of named movements, settings, a body; out: a rep, that is postures over
//! frames with loads, contacts and joint modes. Must never know: muscles, credits, files.

pub mod build;
pub mod catalogue;
pub mod check;
pub mod expr;
pub mod family;
pub mod names;
pub mod posture;
pub mod ranges;
pub mod rep;
pub mod scene;
pub mod scope;
pub mod things;
