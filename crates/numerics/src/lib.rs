//! Pure mathematics. In: plain numbers; out: plain numbers. Must never know: bodies, muscles as anatomy, movements, files.
//!
//! - [`sharing`]: who carries how much, a convex programme solved by Newton's method on its dual;
//! - [`capacity`]: the largest load that bounded columns can balance, a linear programme;
//! - [`cubic`]: monotone interpolation with derivative and exact integral;
//! - [`quantile`]: the linear sample quantile;
//! - [`sample`]: seeded quasi-random draws and the normal quantile;
//! - [`dense`]: dot products and Cholesky for small fixed sizes.
//!
//! The words *muscle* (cost a², a³, bounded below by zero) and *cheap column* (small quadratic cost, any bounds) name
//! the two kinds of column; nothing else of the trade enters here.

pub mod capacity;
pub mod cubic;
pub mod dense;
pub mod quantile;
pub mod sample;
pub mod sharing;
