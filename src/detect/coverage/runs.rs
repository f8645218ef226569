//! Flags as the lengths of their runs, those that are not set first: a face seen is a few runs a row, not thousands of flags.

use serde::de::Error;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// Most flags that are read: the finest grid that an asset can have.
const MOST: usize = 4000 * 4000;

pub(super) fn serialize<S: Serializer>(flags: &[bool], serializer: S) -> Result<S::Ok, S::Error> {
    let mut runs: Vec<usize> = Vec::new();
    let (mut state, mut length) = (false, 0);
    for &flag in flags {
        if flag != state {
            runs.push(length);
            (state, length) = (flag, 0);
        }
        length += 1;
    }
    runs.push(length);
    runs.serialize(serializer)
}

pub(super) fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Vec<bool>, D::Error> {
    let runs = Vec::<usize>::deserialize(deserializer)?;
    let total = runs.iter().try_fold(0_usize, |sum, run| sum.checked_add(*run));
    let total = total
        .filter(|total| *total <= MOST)
        .ok_or_else(|| D::Error::custom("more flags than a grid has"))?;
    let mut flags = Vec::with_capacity(total);
    let mut state = false;
    for run in runs {
        flags.resize(flags.len() + run, state);
        state = !state;
    }
    Ok(flags)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    #[derive(Debug, PartialEq, serde::Serialize, serde::Deserialize)]
    struct Held {
        #[serde(with = "super")]
        flags: Vec<bool>,
    }

    proptest! {
        #[test]
        fn flags_come_back(flags in proptest::collection::vec(any::<bool>(), 0..200)) {
            let held = Held { flags };
            let text = serde_json::to_string(&held).unwrap();
            prop_assert_eq!(serde_json::from_str::<Held>(&text).unwrap(), held);
        }
    }

    #[test]
    fn a_run_that_would_fill_the_memory_is_refused() {
        let refused = serde_json::from_str::<Held>("{\"flags\":[0,9000000000000]}").unwrap_err();
        assert!(refused.to_string().contains("more flags than a grid has"), "{refused}");
    }
}
