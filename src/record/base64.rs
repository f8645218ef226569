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

/// The bytes as a `data:` address of a media type.
#[must_use]
pub fn data_url(media_type: &str, bytes: &[u8]) -> String {
    format!("data:{media_type};base64,{}", encode(bytes))
}

#[cfg(test)]
mod tests {
    use super::encode;

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
        }
        assert_eq!(encode(&[0xff, 0xfe, 0x00]), "//4A");
    }
}
