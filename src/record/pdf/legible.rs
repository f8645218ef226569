//! Texts that the carried typefaces can set: a letter that they lack is given by its code, so that none is lost.

use serde_json::Value;

/// Every text of a document's data, made legible.
pub(super) fn value(value: &mut Value, has: &impl Fn(char) -> bool) {
    match value {
        Value::String(text) => *text = legible(text, has),
        Value::Array(list) => list.iter_mut().for_each(|one| self::value(one, has)),
        Value::Object(map) => map.values_mut().for_each(|one| self::value(one, has)),
        Value::Null | Value::Bool(_) | Value::Number(_) => {}
    }
}

/// The text with `⟨U+4E2D⟩` for a letter that is lacking.
pub(super) fn legible(text: &str, has: &impl Fn(char) -> bool) -> String {
    let mut told = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\n' => told.push('\n'),
            '\t' | '\r' => told.push(' '),
            c if has(c) => told.push(c),
            c => told.push_str(&format!("⟨U+{:04X}⟩", u32::from(c))),
        }
    }
    told
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lacking_letters_become_codes() {
        let has = |c: char| c.is_ascii();
        assert_eq!(legible("a中\tb\u{7}", &has), "a⟨U+4E2D⟩ b\u{7}");
        let mut data = serde_json::json!({"a": ["é", 1, null]});
        value(&mut data, &has);
        assert_eq!(data, serde_json::json!({"a": ["⟨U+00E9⟩", 1, null]}));
    }
}
