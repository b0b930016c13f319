//! Answers kept for the next time the same is asked.

use std::collections::HashMap;
use std::hash::Hash;
use std::sync::{Arc, Mutex, PoisonError};

/// A bounded store of answers in two generations: when the young one is full it becomes the old one, and what was not
/// asked for since is forgotten.
pub struct Kept<K, V> {
    halves: Mutex<Halves<K, V>>,
    most: usize,
}

/// Young and old answers.
type Halves<K, V> = (HashMap<K, Arc<V>>, HashMap<K, Arc<V>>);

impl<K: Eq + Hash + Clone, V> Kept<K, V> {
    /// Holds between `most` and twice as many answers.
    pub fn new(most: usize) -> Kept<K, V> {
        Kept { halves: Mutex::new((HashMap::new(), HashMap::new())), most }
    }

    /// The answer to `key`, worked out when it is not there. The lock is not held meanwhile: two who ask at once may
    /// both work, and get equal answers.
    pub fn get(&self, key: K, work: impl FnOnce() -> V) -> Arc<V> {
        if let Some(kept) = self.find(&key) {
            return kept;
        }
        let made = Arc::new(work());
        self.put(key, made.clone());
        made
    }

    /// The answer to `key` if it is there.
    pub fn peek(&self, key: &K) -> Option<Arc<V>> {
        self.find(key)
    }

    fn find(&self, key: &K) -> Option<Arc<V>> {
        let mut halves = self.halves.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(kept) = halves.0.get(key) {
            return Some(kept.clone());
        }
        let (key, kept) = halves.1.remove_entry(key)?;
        halves.0.insert(key, kept.clone());
        Some(kept)
    }

    fn put(&self, key: K, value: Arc<V>) {
        let mut halves = self.halves.lock().unwrap_or_else(PoisonError::into_inner);
        if halves.0.len() >= self.most {
            let full = std::mem::take(&mut halves.0);
            halves.1 = full;
        }
        halves.0.insert(key, value);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_answer_is_worked_out_once_and_the_unused_is_forgotten() {
        let kept = Kept::new(2);
        let asked = std::cell::Cell::new(0);
        let ask = |k: u32| {
            *kept.get(k, || {
                asked.set(asked.get() + 1);
                10 * k
            })
        };
        assert_eq!((ask(1), ask(1), ask(2)), (10, 10, 20));
        assert_eq!(asked.get(), 2);
        // 3 pushes both into the old half; 1 comes back from it without work.
        assert_eq!((ask(3), ask(1)), (30, 10));
        assert_eq!(asked.get(), 3);
        // 4 makes {3, 1} the old half: 2 is forgotten.
        assert_eq!((ask(4), ask(2)), (40, 20));
        assert_eq!(asked.get(), 5);
    }
}
