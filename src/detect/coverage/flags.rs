//! Flags of cells, a bit each, for a survey keeps those of every asset to its end. They are written as the lengths of their
//! runs, those that are not set first: a face seen is a few runs a row, not thousands of flags.

use serde::de::Error;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// Most flags that are read: the finest grid that an asset can have.
const MOST: usize = 4000 * 4000;
/// Flags that one word holds.
const WORD: usize = u64::BITS as usize;

/// So many flags; bits beyond the last are never set.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Flags {
    words: Vec<u64>,
    count: usize,
}

impl Flags {
    /// None of them set.
    pub(super) fn none(count: usize) -> Self {
        Self {
            words: vec![0; count.div_ceil(WORD)],
            count,
        }
    }

    /// Number of flags, set or not.
    pub(super) fn len(&self) -> usize {
        self.count
    }

    /// Sets a flag; one beyond the last is left out.
    pub(super) fn set(&mut self, index: usize) {
        if index < self.count
            && let Some(word) = self.words.get_mut(index / WORD)
        {
            *word |= 1 << (index % WORD);
        }
    }

    /// Whether a flag is set; none beyond the last is.
    pub(super) fn is_set(&self, index: usize) -> bool {
        self.words
            .get(index / WORD)
            .is_some_and(|word| word >> (index % WORD) & 1 == 1)
    }

    /// Sets those that another list of as many flags has set.
    pub(super) fn join(&mut self, other: &Self) {
        for (mine, theirs) in self.words.iter_mut().zip(&other.words) {
            *mine |= theirs;
        }
    }

    /// How many are set.
    pub(super) fn set_count(&self) -> usize {
        self.words.iter().map(|word| word.count_ones() as usize).sum()
    }
}

impl Serialize for Flags {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut runs: Vec<usize> = Vec::new();
        let (mut state, mut length) = (false, 0);
        for flag in (0..self.count).map(|index| self.is_set(index)) {
            if flag != state {
                runs.push(length);
                (state, length) = (flag, 0);
            }
            length += 1;
        }
        runs.push(length);
        runs.serialize(serializer)
    }
}

impl<'de> Deserialize<'de> for Flags {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let runs = Vec::<usize>::deserialize(deserializer)?;
        let total = runs.iter().try_fold(0_usize, |sum, run| sum.checked_add(*run));
        let total = total
            .filter(|total| *total <= MOST)
            .ok_or_else(|| D::Error::custom("more flags than a grid has"))?;
        let mut flags = Self::none(total);
        let (mut state, mut at) = (false, 0);
        for run in runs {
            if state {
                (at..at + run).for_each(|index| flags.set(index));
            }
            at += run;
            state = !state;
        }
        Ok(flags)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn flags_of(list: &[bool]) -> Flags {
        let mut flags = Flags::none(list.len());
        for index in (0..list.len()).filter(|&index| list[index]) {
            flags.set(index);
        }
        flags
    }

    proptest! {
        #[test]
        fn flags_come_back(list in proptest::collection::vec(any::<bool>(), 0..200)) {
            let flags = flags_of(&list);
            prop_assert_eq!(flags.set_count(), list.iter().filter(|set| **set).count());
            prop_assert!((0..list.len()).all(|index| flags.is_set(index) == list[index]));
            let text = serde_json::to_string(&flags).unwrap();
            prop_assert_eq!(serde_json::from_str::<Flags>(&text).unwrap(), flags);
        }

        #[test]
        fn joined_flags_are_those_of_either(
            lists in proptest::collection::vec(any::<(bool, bool)>(), 0..200),
        ) {
            let (ones, others): (Vec<bool>, Vec<bool>) = lists.into_iter().unzip();
            let mut flags = flags_of(&ones);
            flags.join(&flags_of(&others));
            let either: Vec<bool> = ones.iter().zip(&others).map(|(a, b)| a | b).collect();
            prop_assert_eq!(flags, flags_of(&either));
        }
    }

    #[test]
    fn none_beyond_the_last_is_set() {
        let mut flags = Flags::none(70);
        flags.set(70);
        flags.set(1000);
        assert_eq!(
            (flags.set_count(), flags.is_set(70), flags.is_set(1000)),
            (0, false, false)
        );
    }

    #[test]
    fn a_run_that_would_fill_the_memory_is_refused() {
        let refused = serde_json::from_str::<Flags>("[0,9000000000000]").unwrap_err();
        assert!(refused.to_string().contains("more flags than a grid has"), "{refused}");
    }
}
