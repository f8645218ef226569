//! The texts of cells in one piece of memory, which a sheet of many rows gives back as a whole.

/// Texts one after the other.
#[derive(Debug, Default, Clone, PartialEq, Eq)]
pub(crate) struct Texts {
    all: String,
    /// Where each ends.
    ends: Vec<usize>,
}

impl Texts {
    /// How many there are.
    pub(crate) fn len(&self) -> usize {
        self.ends.len()
    }

    /// Adds one.
    pub(crate) fn push(&mut self, text: &str) {
        self.all.push_str(text);
        self.ends.push(self.all.len());
    }

    /// All of them.
    pub(crate) fn whole(&self) -> Line<'_> {
        Line {
            all: &self.all,
            start: 0,
            ends: &self.ends,
        }
    }

    /// So many from one on; none where they are not there.
    pub(crate) fn line(&self, first: usize, count: usize) -> Line<'_> {
        let start = first.checked_sub(1).and_then(|before| self.ends.get(before)).copied();
        Line {
            all: &self.all,
            start: start.unwrap_or(0),
            ends: self.ends.get(first..first + count).unwrap_or_default(),
        }
    }
}

/// Some texts that follow each other.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Line<'a> {
    all: &'a str,
    /// Where the first begins.
    start: usize,
    ends: &'a [usize],
}

impl<'a> Line<'a> {
    /// How many there are.
    pub(crate) fn len(&self) -> usize {
        self.ends.len()
    }

    /// One of them.
    pub(crate) fn get(&self, index: usize) -> Option<&'a str> {
        let end = *self.ends.get(index)?;
        let start = match index.checked_sub(1) {
            Some(before) => *self.ends.get(before)?,
            None => self.start,
        };
        self.all.get(start..end)
    }

    /// All of them, in order.
    pub(crate) fn iter(&self) -> impl DoubleEndedIterator<Item = &'a str> + ExactSizeIterator + use<'a> {
        let line = *self;
        (0..self.len()).map(move |index| line.get(index).unwrap_or_default())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_the_texts_that_were_pushed() {
        let mut texts = Texts::default();
        for text in ["", "kühl", "", "b c", ""] {
            texts.push(text);
        }
        let told = |line: Line<'_>| line.iter().map(str::to_owned).collect::<Vec<_>>();
        assert_eq!(told(texts.line(0, 2)), ["", "kühl"]);
        assert_eq!(told(texts.line(2, 3)), ["", "b c", ""]);
        assert_eq!(told(texts.whole()).len(), texts.len());
        assert_eq!(texts.line(1, 2).get(2), None);
        assert_eq!(texts.line(4, 2).len(), 0);
    }
}
