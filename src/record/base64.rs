//! Base64 with padding (RFC 4648, clause 4), to put bytes into pages.

const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";

/// The bytes as text.
#[must_use]
pub fn encode(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for three in bytes.chunks(3) {
        let byte = |index: usize| u32::from(three.get(index).copied().unwrap_or(0));
        let bits = byte(0) << 16 | byte(1) << 8 | byte(2);
        for place in 0..4 {
            let index = (bits >> (18 - 6 * place)) & 63;
            let letter = LETTERS.get(index as usize).copied().unwrap_or(b'=');
            text.push(if place > three.len() { '=' } else { char::from(letter) });
        }
    }
    text
}

/// The bytes that a text stands for; None where it is no such text.
#[must_use]
pub fn decode(text: &str) -> Option<Vec<u8>> {
    let plain = text.trim_end_matches('=');
    let padding = text.len() - plain.len();
    if !text.len().is_multiple_of(4) || padding > 2 {
        return None;
    }
    let mut bytes = Vec::with_capacity(text.len() / 4 * 3);
    for four in plain.as_bytes().chunks(4) {
        let mut bits = 0_u32;
        for place in 0..4 {
            let value = match four.get(place) {
                Some(letter) => LETTERS.iter().position(|known| known == letter)?,
                None => 0,
            };
            bits = bits << 6 | u32::try_from(value).ok()?;
        }
        let [_, three @ ..] = bits.to_be_bytes();
        bytes.extend(three.iter().take(four.len() - 1));
    }
    Some(bytes)
}

/// The bytes as a `data:` address of a media type.
#[must_use]
pub fn data_url(media_type: &str, bytes: &[u8]) -> String {
    format!("data:{media_type};base64,{}", encode(bytes))
}

/// Bytes as such a text in what serde writes.
pub mod as_text {
    use serde::{Deserialize, Deserializer, Serializer};

    /// Writes them.
    ///
    /// # Errors
    /// The serializer's.
    pub fn serialize<S: Serializer>(bytes: &[u8], serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&super::encode(bytes))
    }

    /// Reads them.
    ///
    /// # Errors
    /// The deserializer's, and a text that is no base64.
    pub fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Vec<u8>, D::Error> {
        let text = String::deserialize(deserializer)?;
        super::decode(&text).ok_or_else(|| serde::de::Error::custom("is no base64"))
    }
}

#[cfg(test)]
mod tests {
    use super::{decode, encode};

    #[test]
    fn the_standards_own_examples() {
        // RFC 4648, clause 10 (from memory, not confirmed).
        for (plain, coded) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(encode(plain.as_bytes()), coded);
            assert_eq!(decode(coded).as_deref(), Some(plain.as_bytes()));
        }
        assert_eq!(encode(&[0xff, 0xfe, 0x00]), "//4A");
        assert_eq!(decode("//4A"), Some(vec![0xff, 0xfe, 0x00]));
        for odd in ["Z", "Zg=", "Zg", "====", "Z===", "Zm9?", "Zm 9", "Zé"] {
            assert_eq!(decode(odd), None, "{odd}");
        }
    }
}
