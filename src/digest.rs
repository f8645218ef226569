//! SHA-256 (FIPS 180-4) as the record writes it: lower-case hexadecimal.

use sha2::{Digest, Sha256};

/// The digest of some bytes.
#[must_use]
pub fn sha256(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

/// Bytes as hexadecimal digits.
#[must_use]
pub fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

#[cfg(test)]
mod tests {
    #[test]
    fn the_digest_of_abc() {
        // FIPS 180-4's own example, from memory; `printf abc | sha256sum` says the same.
        assert_eq!(
            super::sha256(b"abc"),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }
}
