//! Work that takes seconds: it runs beside the pages, tells how far it is, and can be called off.

use answer::Rebuild;
use desk::problem::Report;
use std::collections::BTreeMap;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};
use store::{Version, WeekId};

/// Finished and running work kept at a time.
const MOST: usize = 12;

/// One piece of work.
pub struct Job {
    pub week: WeekId,
    /// Version of the week it was started from.
    pub version: Version,
    far: Mutex<String>,
    off: AtomicBool,
    pub done: OnceLock<Result<Rebuild, Report>>,
}

impl Job {
    /// How far it is, in words.
    pub fn far(&self) -> String {
        self.far.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }
    /// Told by the work; false asks it to end.
    pub fn tell(&self, far: String) -> bool {
        *self.far.lock().unwrap_or_else(PoisonError::into_inner) = far;
        !self.off.load(Ordering::Relaxed)
    }
    pub fn call_off(&self) {
        self.off.store(true, Ordering::Relaxed);
    }
}

/// All work of this run of the program.
#[derive(Default)]
pub struct Jobs {
    list: Mutex<(u64, BTreeMap<u64, Arc<Job>>)>,
}

impl Jobs {
    /// Starts work on a thread of its own; its number comes back at once.
    pub fn start(
        &self,
        week: WeekId,
        version: Version,
        work: impl FnOnce(&Job) -> Result<Rebuild, Report> + Send + 'static,
    ) -> u64 {
        let job = Arc::new(Job {
            week,
            version,
            far: Mutex::new("beginning".into()),
            off: AtomicBool::new(false),
            done: OnceLock::new(),
        });
        let mut list = self.list.lock().unwrap_or_else(PoisonError::into_inner);
        list.0 += 1;
        let n = list.0;
        list.1.insert(n, job.clone());
        while list.1.len() > MOST {
            if let Some((_, old)) = list.1.pop_first() {
                old.call_off();
            }
        }
        std::thread::spawn(move || {
            let caught = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| work(&job)));
            let result = caught.unwrap_or_else(|_| Err(Report::internal("the work broke off")));
            let _ = job.done.set(result);
        });
        n
    }

    pub fn get(&self, n: u64) -> Option<Arc<Job>> {
        self.list.lock().unwrap_or_else(PoisonError::into_inner).1.get(&n).cloned()
    }
}
