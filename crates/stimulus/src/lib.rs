//! Stimulus of a hard set. In: a rep, a body, its muscles; out: per head stimulus with its range, class, credit,
//! length changes, moments, contact forces. Must never know: programmes, clients, files.

pub mod contact;
pub mod lengths;
pub mod measure;
pub mod moments;
pub mod range;
pub mod rules;
pub mod shown;
