//! Any bytes as the findings of an earlier survey.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    if let Err(problem) = coldjacket::compare::findings::parse(bytes, "earlier/findings.json") {
        assert!(!problem.to_string().is_empty());
    }
});
