//! Validation study.
