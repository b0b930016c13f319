//! Muscle paths.
