//! From bytes to lines of text, whatever the encoding.

use std::borrow::Cow;

use super::super::problem::Problem;

/// Decodes by byte order mark, else as UTF-8, else as Latin-1 (where B0 is a degree sign in a heading).
///
/// # Errors
/// [`Problem::NotAGrid`] where UTF-16 is broken off or pairs no surrogate.
pub(super) fn decode(bytes: &[u8]) -> Result<Cow<'_, str>, Problem> {
    if let Some(rest) = bytes.strip_prefix(b"\xff\xfe") {
        return utf_16(rest, u16::from_le_bytes).map(Cow::Owned);
    }
    if let Some(rest) = bytes.strip_prefix(b"\xfe\xff") {
        return utf_16(rest, u16::from_be_bytes).map(Cow::Owned);
    }
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    Ok(std::str::from_utf8(bytes).map_or_else(
        |_| Cow::Owned(bytes.iter().map(|byte| char::from(*byte)).collect()),
        Cow::Borrowed,
    ))
}

fn utf_16(bytes: &[u8], unit: impl Fn([u8; 2]) -> u16) -> Result<String, Problem> {
    let (units, rest) = bytes.as_chunks::<2>();
    let text: Result<String, _> = char::decode_utf16(units.iter().map(|two| unit(*two))).collect();
    match text {
        Ok(text) if rest.is_empty() => Ok(text),
        _ => Err(Problem::NotAGrid {
            detail: "its UTF-16 is broken".to_owned(),
        }),
    }
}

/// One line that is not blank, with its number in the file, from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Line<'a> {
    pub number: usize,
    pub text: &'a str,
}

/// Lines that hold something, ended by LF, CR LF or CR.
pub(super) fn lines(text: &str) -> Vec<Line<'_>> {
    let ending = if text.contains('\n') { '\n' } else { '\r' };
    text.split(ending)
        .enumerate()
        .map(|(index, text)| Line {
            number: index + 1,
            text: text.trim_end_matches(['\r', '\n', '\u{c}']),
        })
        .filter(|line| !line.text.trim().is_empty())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn encodings_give_the_same_text() {
        let text = "T °C\n1;2\n";
        let little: Vec<u8> = text.encode_utf16().flat_map(u16::to_le_bytes).collect();
        let big: Vec<u8> = text.encode_utf16().flat_map(u16::to_be_bytes).collect();
        let latin: Vec<u8> = text.chars().map(|c| c as u32 as u8).collect();
        for bytes in [
            [b"\xff\xfe".as_slice(), &little].concat(),
            [b"\xfe\xff".as_slice(), &big].concat(),
            [b"\xef\xbb\xbf".as_slice(), text.as_bytes()].concat(),
            latin,
        ] {
            assert_eq!(decode(&bytes).unwrap(), text);
        }
        assert!(decode(b"\xff\xfea").is_err());
    }

    #[test]
    fn line_numbers_count_blank_lines_too() {
        let found: Vec<_> = lines("a\r\n\r\nb")
            .iter()
            .map(|line| (line.number, line.text))
            .collect();
        assert_eq!(found, [(1, "a"), (3, "b")]);
        let old: Vec<_> = lines("a\rb\r").iter().map(|line| line.text).collect();
        assert_eq!(old, ["a", "b"]);
    }
}
