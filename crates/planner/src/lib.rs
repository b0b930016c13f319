//! The best week inside a client's limits, with a bound that proves how good it is. In: a client's targets, movements with
//! credits, minutes and limits; out: a week, its bound and gap, or the wishes that clash. Must never know: how a credit
//! is computed, files, clocks, screens.
