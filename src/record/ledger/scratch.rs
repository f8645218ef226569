//! A file without a name that values are put in and read from again: it goes with the process, however that ends.

use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::num::NonZeroU64;
use std::path::Path;
use std::sync::{Mutex, MutexGuard, PoisonError};

use serde::Serialize;
use serde::de::DeserializeOwned;

/// The file; values are written as CBOR, which holds every number to the last bit.
#[derive(Debug)]
pub(super) struct Scratch(Mutex<Tail>);

#[derive(Debug)]
struct Tail {
    file: File,
    end: NonZeroU64,
}

/// Where a value lies. There is one a zone and several a frame in memory, so it holds no length: the file does.
#[derive(Debug, Clone, Copy)]
pub(super) struct Slot(NonZeroU64);

/// Bytes of the length before each value.
const LENGTH: usize = size_of::<u32>();

impl Scratch {
    /// An empty file on the disk of `folder`.
    pub(super) fn in_folder(folder: &Path) -> io::Result<Self> {
        Ok(Self(Mutex::new(Tail {
            file: tempfile::tempfile_in(folder)?,
            // Nothing lies at nought, so that one that may be missing takes no more room.
            end: NonZeroU64::MIN,
        })))
    }

    /// Puts a value at the end.
    pub(super) fn put<T: Serialize>(&self, value: &T) -> io::Result<Slot> {
        let mut bytes = vec![0; LENGTH];
        ciborium::into_writer(value, &mut bytes).map_err(io::Error::other)?;
        let length = u32::try_from(bytes.len() - LENGTH).map_err(io::Error::other)?;
        bytes[..LENGTH].copy_from_slice(&length.to_le_bytes());
        let mut tail = self.tail();
        let slot = tail.end;
        tail.file.seek(SeekFrom::Start(slot.get()))?;
        tail.file.write_all(&bytes)?;
        tail.end = slot.saturating_add(bytes.len() as u64);
        Ok(Slot(slot))
    }

    /// A value that was put there.
    pub(super) fn get<T: DeserializeOwned>(&self, Slot(slot): Slot) -> io::Result<T> {
        let bytes = {
            let mut tail = self.tail();
            tail.file.seek(SeekFrom::Start(slot.get()))?;
            let mut length = [0; LENGTH];
            tail.file.read_exact(&mut length)?;
            let mut bytes = vec![0; u32::from_le_bytes(length) as usize];
            tail.file.read_exact(&mut bytes)?;
            bytes
        };
        ciborium::from_reader(bytes.as_slice()).map_err(io::Error::other)
    }

    /// A thread that panicked elsewhere has left the file whole up to its end.
    fn tail(&self) -> MutexGuard<'_, Tail> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_come_back_to_the_last_bit_in_any_order_and_no_name_is_left() {
        let room = tempfile::tempdir().unwrap();
        let scratch = Scratch::in_folder(room.path()).unwrap();
        let text = scratch.put(&"wet".to_owned()).unwrap();
        let numbers = [0.1 + 0.2, f64::MIN_POSITIVE, -0.0, f64::INFINITY];
        let row = scratch.put(&numbers).unwrap();
        assert_eq!(
            scratch.get::<[f64; 4]>(row).unwrap().map(f64::to_bits),
            numbers.map(f64::to_bits)
        );
        assert_eq!(scratch.get::<String>(text).unwrap(), "wet");
        let after = scratch.put(&7_u8).unwrap();
        assert_eq!(scratch.get::<u8>(after).unwrap(), 7);
        assert_eq!(std::fs::read_dir(room.path()).unwrap().count(), 0);
        assert!(scratch.get::<String>(row).is_err());
    }
}
