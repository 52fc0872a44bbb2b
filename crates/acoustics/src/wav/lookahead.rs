//! A reader that can look ahead a little, in a buffer of one fixed size.

use std::io::{self, ErrorKind, Read};

/// Bytes held at most; far more than one frame or chunk header.
const CAPACITY: usize = 16_384;

/// Reads in blocks and shows bytes before they are taken.
#[derive(Debug)]
pub(super) struct Lookahead<R> {
    inner: R,
    buffer: Box<[u8]>,
    from: usize,
    to: usize,
}

impl<R: Read> Lookahead<R> {
    pub(super) fn new(inner: R) -> Self {
        Self { inner, buffer: vec![0; CAPACITY].into_boxed_slice(), from: 0, to: 0 }
    }

    /// Shows at least `least` bytes, fewer only at the end of the input. `least` is no more than the buffer.
    pub(super) fn ahead(&mut self, least: usize) -> io::Result<&[u8]> {
        if self.to - self.from < least {
            self.buffer.copy_within(self.from..self.to, 0);
            self.to -= self.from;
            self.from = 0;
            while self.to < least {
                match self.inner.read(&mut self.buffer[self.to..]) {
                    Ok(0) => break,
                    // A reader that claims more than it was given room for is held to the room.
                    Ok(count) => self.to = (self.to + count).min(CAPACITY),
                    Err(error) if error.kind() == ErrorKind::Interrupted => {}
                    Err(error) => return Err(error),
                }
            }
        }
        Ok(&self.buffer[self.from..self.to])
    }

    /// Takes bytes that were shown.
    pub(super) fn take(&mut self, count: usize) {
        self.from = (self.from + count).min(self.to);
    }

    /// Takes exactly `N` bytes; `None` where the input ends before.
    pub(super) fn take_array<const N: usize>(&mut self) -> io::Result<Option<[u8; N]>> {
        let Some(bytes) = self.ahead(N)?.first_chunk::<N>().copied() else { return Ok(None) };
        self.take(N);
        Ok(Some(bytes))
    }

    /// Takes bytes unseen; says whether they were all there.
    pub(super) fn skip(&mut self, mut count: u64) -> io::Result<bool> {
        while count > 0 {
            let shown = self.ahead(1)?.len();
            if shown == 0 {
                return Ok(false);
            }
            let taken = usize::try_from(count).map_or(shown, |count| count.min(shown));
            self.take(taken);
            count -= taken as u64;
        }
        Ok(true)
    }
}
