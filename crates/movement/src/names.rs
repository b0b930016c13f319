//! Finding the movement a coach means by what they wrote.
