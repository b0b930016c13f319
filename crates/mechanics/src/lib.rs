//! Mechanics. In: a rep in a body with its muscles; out: joint moments, capacity, the load of a hard set, shared
//! activations, residuals, joint contact forces. Must never know: stimulus, credit, programmes, files.

pub mod rows;
pub mod solve;
pub mod stops;
pub mod system;
pub mod tree;
pub mod wrench;
