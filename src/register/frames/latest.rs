//! Values of which many rows have the same: each is held once, as long as it comes again soon.

use std::collections::VecDeque;
use std::sync::Arc;

/// How many are looked through: more unlike ones than a walk has rooms and weathers are rare, and it stays quick.
const MOST: usize = 128;

/// The latest unlike values, the newest first.
#[derive(Debug)]
pub(super) struct Latest<T>(VecDeque<Arc<T>>);

impl<T> Default for Latest<T> {
    fn default() -> Self {
        Self(VecDeque::new())
    }
}

impl<T: PartialEq> Latest<T> {
    /// The value, shared with the rows before that had it.
    pub(super) fn shared(&mut self, value: T) -> Arc<T> {
        if let Some(known) = self.0.iter().find(|known| ***known == value) {
            return Arc::clone(known);
        }
        let new = Arc::new(value);
        self.0.truncate(MOST - 1);
        self.0.push_front(Arc::clone(&new));
        new
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_comes_again_is_held_once_and_no_more_are_looked_through() {
        let mut latest = Latest::default();
        let first = latest.shared(0);
        assert!(Arc::ptr_eq(&first, &latest.shared(0)));
        for other in 1..MOST {
            assert_eq!(*latest.shared(other), other);
        }
        assert!(Arc::ptr_eq(&first, &latest.shared(0)), "still among the latest");
        assert_eq!(*latest.shared(MOST), MOST);
        let again = latest.shared(0);
        assert_eq!(*again, 0);
        assert!(!Arc::ptr_eq(&first, &again), "given up for newer ones");
        assert_eq!(latest.0.len(), MOST);
    }
}
