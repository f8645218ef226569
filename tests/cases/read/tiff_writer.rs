//! A small TIFF writer for tests: any byte order, width, tiling, predictor, and tags in any state of repair.

/// What a tag holds.
#[derive(Debug, Clone)]
pub enum Held {
    Short(Vec<u16>),
    Long(Vec<u32>),
    Text(&'static str),
}

/// How the samples are laid out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tiling {
    Strips { rows: usize },
    Tiles { side: usize },
}

/// How a chunk is packed; deflate uses stored blocks, pack bits literal runs: valid, if not small.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Packing {
    None,
    PackBits,
    Deflate,
}

/// One page to be written.
#[derive(Debug, Clone)]
pub struct Page {
    pub little_endian: bool,
    pub wide: bool,
    pub columns: usize,
    pub rows: usize,
    /// Bytes of a sample; samples are given big end first, whatever is written.
    pub sample_bytes: usize,
    pub samples_be: Vec<u8>,
    pub tiling: Tiling,
    pub packing: Packing,
    pub predictor: u16,
    /// Tags beside size, compression, predictor and chunks; one of the same number takes precedence.
    pub tags: Vec<(u16, Held)>,
}

impl Page {
    /// A plain page: little-endian, one strip, uncompressed, no photometric tag.
    pub fn plain(columns: usize, bits: u16, format: u16, samples_be: Vec<u8>) -> Self {
        let sample_bytes = usize::from(bits / 8);
        let rows = samples_be.len() / sample_bytes / columns;
        Self {
            little_endian: true,
            wide: false,
            columns,
            rows,
            sample_bytes,
            samples_be,
            tiling: Tiling::Strips { rows },
            packing: Packing::None,
            predictor: 1,
            tags: vec![(258, Held::Short(vec![bits])), (339, Held::Short(vec![format]))],
        }
    }

    /// With one more tag.
    pub fn tag(mut self, tag: u16, held: Held) -> Self {
        self.tags.push((tag, held));
        self
    }

    /// The whole file.
    pub fn write(&self) -> Vec<u8> {
        let mut file = vec![0; if self.wide { 16 } else { 8 }];
        let mut offsets = Vec::new();
        let mut counts = Vec::new();
        for chunk in self.chunks() {
            offsets.push(file.len() as u32);
            counts.push(chunk.len() as u32);
            file.extend(chunk);
        }
        let first = self.append_directory(&mut file, offsets, counts);
        let mark: &[u8] = if self.little_endian { b"II" } else { b"MM" };
        file[..2].copy_from_slice(mark);
        if self.wide {
            file[2..4].copy_from_slice(&self.number(43, 2));
            file[4..6].copy_from_slice(&self.number(8, 2));
            file[8..16].copy_from_slice(&self.number(first, 8));
        } else {
            file[2..4].copy_from_slice(&self.number(42, 2));
            file[4..8].copy_from_slice(&self.number(first, 4));
        }
        file
    }

    fn append_directory(&self, file: &mut Vec<u8>, offsets: Vec<u32>, counts: Vec<u32>) -> u64 {
        let mut tags = self.tags.clone();
        let mut default = |tag, held| {
            if !tags.iter().any(|(there, _)| *there == tag) {
                tags.push((tag, held));
            }
        };
        default(256, Held::Long(vec![self.columns as u32]));
        default(257, Held::Long(vec![self.rows as u32]));
        default(
            259,
            Held::Short(vec![match self.packing {
                Packing::None => 1,
                Packing::PackBits => 32773,
                Packing::Deflate => 8,
            }]),
        );
        default(317, Held::Short(vec![self.predictor]));
        match self.tiling {
            Tiling::Strips { rows } => {
                default(273, Held::Long(offsets));
                default(279, Held::Long(counts));
                default(278, Held::Long(vec![rows as u32]));
            }
            Tiling::Tiles { side } => {
                default(324, Held::Long(offsets));
                default(325, Held::Long(counts));
                default(322, Held::Long(vec![side as u32]));
                default(323, Held::Long(vec![side as u32]));
            }
        }
        tags.sort_by_key(|(tag, _)| *tag);
        let (count_width, width) = if self.wide { (8, 8) } else { (2, 4) };
        let mut directory = self.number(tags.len() as u64, count_width);
        for (tag, held) in &tags {
            let (kind, count, mut bytes) = self.encode(held);
            directory.extend(self.number(u64::from(*tag), 2));
            directory.extend(self.number(kind, 2));
            directory.extend(self.number(count as u64, width));
            if bytes.len() > width {
                directory.extend(self.number(file.len() as u64, width));
                file.extend(bytes);
            } else {
                bytes.resize(width, 0);
                directory.extend(bytes);
            }
        }
        directory.extend(self.number(0, width));
        let first = file.len() as u64;
        file.extend(directory);
        first
    }

    fn encode(&self, held: &Held) -> (u64, usize, Vec<u8>) {
        match held {
            Held::Short(v) => {
                let bytes = v.iter().flat_map(|n| self.number(u64::from(*n), 2));
                (3, v.len(), bytes.collect())
            }
            Held::Long(v) => {
                let bytes = v.iter().flat_map(|n| self.number(u64::from(*n), 4));
                (4, v.len(), bytes.collect())
            }
            Held::Text(text) => {
                let bytes = [text.as_bytes(), b"\0"].concat();
                (2, bytes.len(), bytes)
            }
        }
    }

    fn number(&self, value: u64, width: usize) -> Vec<u8> {
        let big = &value.to_be_bytes()[8 - width..];
        if self.little_endian {
            big.iter().rev().copied().collect()
        } else {
            big.to_vec()
        }
    }

    fn chunks(&self) -> Vec<Vec<u8>> {
        let (width, height, whole) = match self.tiling {
            Tiling::Strips { rows } => (self.columns, rows, false),
            Tiling::Tiles { side } => (side, side, true),
        };
        let mut chunks = Vec::new();
        for top in (0..self.rows).step_by(height) {
            for left in (0..self.columns).step_by(width) {
                let bottom = if whole {
                    top + height
                } else {
                    (top + height).min(self.rows)
                };
                let rows = (top..bottom).flat_map(|row| self.row(row, left, width));
                chunks.push(self.pack(rows.collect()));
            }
        }
        chunks
    }

    /// One row's stretch in file order, the predictor applied; beyond the image it is padded with zeros.
    fn row(&self, row: usize, left: usize, width: usize) -> Vec<u8> {
        let samples: Vec<Vec<u8>> = (left..left + width)
            .map(|column| {
                let at = (row * self.columns + column) * self.sample_bytes;
                match self.samples_be.get(at..at + self.sample_bytes) {
                    Some(sample) if row < self.rows && column < self.columns => sample.to_vec(),
                    _ => vec![0; self.sample_bytes],
                }
            })
            .collect();
        if self.predictor == 3 {
            // All first bytes, then all second bytes, …; each byte less its forerunner. Always big end first.
            let planes = (0..self.sample_bytes).flat_map(|byte| samples.iter().map(move |s| s[byte]));
            let mut last = 0_u8;
            return planes
                .map(|byte| byte.wrapping_sub(std::mem::replace(&mut last, byte)))
                .collect();
        }
        let mut last = 0_u64;
        samples
            .iter()
            .flat_map(|sample| {
                let value = sample.iter().fold(0_u64, |n, b| (n << 8) | u64::from(*b));
                let written = if self.predictor == 2 {
                    value.wrapping_sub(last)
                } else {
                    value
                };
                last = value;
                self.number(written, self.sample_bytes)
            })
            .collect()
    }

    fn pack(&self, bytes: Vec<u8>) -> Vec<u8> {
        match self.packing {
            Packing::None => bytes,
            Packing::PackBits => bytes
                .chunks(128)
                .flat_map(|run| [&[(run.len() - 1) as u8], run].concat())
                .collect(),
            Packing::Deflate => stored_deflate(&bytes),
        }
    }
}

/// A zlib stream of stored blocks.
fn stored_deflate(bytes: &[u8]) -> Vec<u8> {
    let mut stream = vec![0x78, 0x01];
    let blocks = bytes.chunks(65_535);
    let last = blocks.len() - 1;
    for (index, block) in blocks.enumerate() {
        stream.push(u8::from(index == last));
        stream.extend((block.len() as u16).to_le_bytes());
        stream.extend((!(block.len() as u16)).to_le_bytes());
        stream.extend(block);
    }
    let (mut a, mut b) = (1_u32, 0_u32);
    for byte in bytes {
        a = (a + u32::from(*byte)) % 65_521;
        b = (b + a) % 65_521;
    }
    stream.extend(((b << 16) | a).to_be_bytes());
    stream
}
