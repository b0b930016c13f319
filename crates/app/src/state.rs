//! What all requests share.

use desk::problem::Report;
use desk::{Desk, House};
use programme::Client;
use std::sync::Arc;

/// Draws behind the ranges of a page; middle values come first, ranges follow.
pub const DRAWS: usize = desk::DRAWS;

/// The open house of one coach.
pub struct App {
    pub house: Arc<House>,
}

impl App {
    pub fn new() -> Result<App, Report> {
        Ok(App { house: Arc::new(House::embedded()?) })
    }
    /// A desk for a client; the average man without one.
    pub fn desk(&self, client: Option<Client>, draws: usize) -> Desk {
        Desk::of(self.house.clone(), client, draws, desk::SEED)
    }
}
