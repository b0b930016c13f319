//! The app as a coach meets it: in a browser, at a desk and on a phone, in light and dark, by mouse and by keyboard.
//!
//! Needs `chromium` and `chromedriver`; see [`drive`]. Pictures of every page lie in `screens` of the build's folder.

mod checks;
mod drive;
mod flows;
mod pages;
