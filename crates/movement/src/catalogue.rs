//! The list of named movements, kits and sheet words, parsed from their tables.
