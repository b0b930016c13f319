//! Movements. In: family files, the list of named movements, settings, a body; out: a rep, that is postures over
//! frames with loads, contacts and joint modes. Must never know: muscles, credits, files.

pub mod catalogue;
pub mod names;
