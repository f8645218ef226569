//! One image file directory of a TIFF or BigTIFF, read with every offset checked.
//!
//! The layout is that of TIFF 6.0 section 2 and its 64-bit variant; Exif data is laid out the same way.

use super::super::problem::Problem;

/// Byte order and offset width, as the first bytes declare them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Header {
    /// Least significant byte first.
    pub little_endian: bool,
    /// 64-bit offsets (BigTIFF).
    pub wide: bool,
    /// Where the first directory lies.
    pub first_directory: u64,
}

/// One entry: tag, type, number of values, and where in the file its value field lies.
#[derive(Debug, Clone, Copy)]
struct Entry {
    tag: u16,
    kind: u16,
    count: u64,
    field_at: usize,
}

/// A directory whose entries all lie within the file.
#[derive(Debug)]
pub struct Directory<'a> {
    bytes: &'a [u8],
    header: Header,
    entries: Vec<Entry>,
    /// Where the next directory lies; 0 for none.
    pub next: u64,
}

impl Header {
    /// Reads byte order, width and the first directory's offset.
    ///
    /// # Errors
    /// [`Problem`] where the bytes are no TIFF header or end within it.
    pub fn of(bytes: &[u8]) -> Result<Self, Problem> {
        let little_endian = match bytes.get(..2) {
            Some(b"II") => true,
            Some(b"MM") => false,
            _ => return Err(Problem::damaged_tiff("no byte order mark")),
        };
        let mut header = Self {
            little_endian,
            wide: false,
            first_directory: 0,
        };
        header.wide = match header.number(bytes, 2, 2)? {
            42 => false,
            43 => true,
            other => {
                return Err(Problem::damaged_tiff(format!("version {other}, not 42 or 43")));
            }
        };
        if header.wide && header.number(bytes, 4, 2)? != 8 {
            return Err(Problem::damaged_tiff("offsets of other than 8 bytes"));
        }
        header.first_directory = if header.wide {
            header.number(bytes, 8, 8)?
        } else {
            header.number(bytes, 4, 4)?
        };
        Ok(header)
    }

    /// An unsigned number of `width` bytes (at most 8) at `at`.
    pub(super) fn number(self, bytes: &[u8], at: usize, width: usize) -> Result<u64, Problem> {
        let end = at.saturating_add(width);
        let field = bytes.get(at..end).ok_or_else(|| Problem::Truncated {
            what: "the TIFF directory".to_owned(),
            needed_bytes: end as u64,
            file_bytes: bytes.len() as u64,
        })?;
        let fold = |number: u64, byte: &u8| (number << 8) | u64::from(*byte);
        Ok(if self.little_endian {
            field.iter().rev().fold(0, fold)
        } else {
            field.iter().fold(0, fold)
        })
    }

    /// Two bytes as a number.
    #[inline]
    pub(super) fn u16_of(self, bytes: [u8; 2]) -> u16 {
        if self.little_endian {
            u16::from_le_bytes(bytes)
        } else {
            u16::from_be_bytes(bytes)
        }
    }

    /// Four bytes as a number.
    #[inline]
    pub(super) fn u32_of(self, bytes: [u8; 4]) -> u32 {
        if self.little_endian {
            u32::from_le_bytes(bytes)
        } else {
            u32::from_be_bytes(bytes)
        }
    }

    /// Eight bytes as a number.
    #[inline]
    pub(super) fn u64_of(self, bytes: [u8; 8]) -> u64 {
        if self.little_endian {
            u64::from_le_bytes(bytes)
        } else {
            u64::from_be_bytes(bytes)
        }
    }

    /// Bytes of (the entry count, one entry, an offset).
    pub(super) fn widths(self) -> (usize, usize, usize) {
        if self.wide { (8, 20, 8) } else { (2, 12, 4) }
    }
}

impl<'a> Directory<'a> {
    /// The directory at an offset.
    ///
    /// # Errors
    /// [`Problem::Truncated`] where it does not lie within the file, [`Problem::Damaged`] where it has no entry.
    pub fn at(bytes: &'a [u8], header: Header, offset: u64) -> Result<Self, Problem> {
        let (count_width, entry_width, offset_width) = header.widths();
        let start = usize::try_from(offset).unwrap_or(usize::MAX);
        let count = header.number(bytes, start, count_width)?;
        if count == 0 {
            return Err(Problem::damaged_tiff("a directory without entries"));
        }
        let first = start.saturating_add(count_width);
        let room = bytes.len().saturating_sub(first) / entry_width;
        let count = usize::try_from(count).unwrap_or(usize::MAX);
        if count > room {
            return Err(Problem::Truncated {
                what: format!("the TIFF directory of {count} entries"),
                needed_bytes: (first as u64).saturating_add((count as u64).saturating_mul(entry_width as u64)),
                file_bytes: bytes.len() as u64,
            });
        }
        let mut entries = Vec::with_capacity(count);
        for index in 0..count {
            let at = first + index * entry_width;
            entries.push(Entry {
                tag: header.number(bytes, at, 2)? as u16,
                kind: header.number(bytes, at + 2, 2)? as u16,
                count: header.number(bytes, at + 4, offset_width)?,
                field_at: at + 4 + offset_width,
            });
        }
        // Some writers cut the file right behind the last entry: then there is no next page.
        let next = header
            .number(bytes, first + count * entry_width, offset_width)
            .unwrap_or(0);
        Ok(Self {
            bytes,
            header,
            entries,
            next,
        })
    }

    /// Whether a tag is there, whatever it holds.
    #[must_use]
    pub fn has(&self, tag: u16) -> bool {
        self.entries.iter().any(|entry| entry.tag == tag)
    }

    /// A tag's single (or first) unsigned number; `None` where the tag is absent.
    ///
    /// # Errors
    /// [`Problem`] where its type is no unsigned integer or its value lies outside the file.
    pub fn unsigned(&self, tag: u16) -> Result<Option<u64>, Problem> {
        let Some((entry, at, width)) = self.locate(tag)? else {
            return Ok(None);
        };
        if entry.count == 0 {
            return Err(Problem::damaged_tiff(format!("tag {tag} without a value")));
        }
        self.header.number(self.bytes, at, width).map(Some)
    }

    /// A tag's unsigned numbers; `None` where the tag is absent. The count is believed only as far as the file reaches.
    ///
    /// # Errors
    /// As for [`Directory::unsigned`].
    pub fn unsigned_list(&self, tag: u16) -> Result<Option<Vec<u64>>, Problem> {
        let Some((entry, at, width)) = self.locate(tag)? else {
            return Ok(None);
        };
        let count = usize::try_from(entry.count).unwrap_or(usize::MAX);
        let mut list = Vec::with_capacity(count.min(self.bytes.len() / width));
        for index in 0..count {
            let at = at.saturating_add(index.saturating_mul(width));
            list.push(self.header.number(self.bytes, at, width)?);
        }
        Ok(Some(list))
    }

    /// A tag's text, up to its first NUL; `None` where it is absent, no text, or outside the file: text is never vital.
    #[must_use]
    pub fn text(&self, tag: u16) -> Option<String> {
        let entry = self.entries.iter().find(|entry| entry.tag == tag)?;
        if !matches!(entry.kind, 2 | 7 | 1) {
            return None;
        }
        let at = self.value_at(entry, 1).ok()?;
        let end = at.checked_add(usize::try_from(entry.count).ok()?)?;
        let raw = self.bytes.get(at..end)?;
        let text = raw.split(|byte| *byte == 0).next()?;
        Some(String::from_utf8_lossy(text).trim().to_owned())
    }

    /// The directory a tag points to, where it points to one.
    #[must_use]
    pub fn child(&self, tag: u16) -> Option<Directory<'a>> {
        let offset = self.unsigned(tag).ok()??;
        Directory::at(self.bytes, self.header, offset).ok()
    }

    /// The raw entries (tag, all its bytes), in the order of the file.
    pub(super) fn raw_entries(&self) -> impl Iterator<Item = (u16, &'a [u8])> + '_ {
        let (_, entry_width, offset_width) = self.header.widths();
        self.entries.iter().filter_map(move |entry| {
            let start = entry.field_at.checked_sub(4 + offset_width)?;
            Some((entry.tag, self.bytes.get(start..start + entry_width)?))
        })
    }

    /// An unsigned tag's entry, where its values start, and their width in bytes.
    fn locate(&self, tag: u16) -> Result<Option<(Entry, usize, usize)>, Problem> {
        let Some(entry) = self.entries.iter().find(|entry| entry.tag == tag) else {
            return Ok(None);
        };
        let width = match entry.kind {
            1 | 7 => 1,
            3 => 2,
            4 | 13 => 4,
            16 | 18 => 8,
            other => {
                return Err(Problem::damaged_tiff(format!(
                    "tag {tag} has type {other} where an unsigned integer is due"
                )));
            }
        };
        let at = self.value_at(entry, width)?;
        Ok(Some((*entry, at, width)))
    }

    /// Where the entry's values start: in its own field if they fit, else where the field points.
    fn value_at(&self, entry: &Entry, width: usize) -> Result<usize, Problem> {
        let (_, _, field_width) = self.header.widths();
        let total = entry.count.saturating_mul(width as u64);
        if total <= field_width as u64 {
            return Ok(entry.field_at);
        }
        let at = self.header.number(self.bytes, entry.field_at, field_width)?;
        let needed = at.saturating_add(total);
        if needed > self.bytes.len() as u64 {
            return Err(Problem::Truncated {
                what: format!("tag {} with {} values", entry.tag, entry.count),
                needed_bytes: needed,
                file_bytes: self.bytes.len() as u64,
            });
        }
        Ok(usize::try_from(at).unwrap_or(usize::MAX))
    }
}
