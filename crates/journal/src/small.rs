//! Short byte strings without a heap allocation: most names and payloads fit in 22 bytes.

use std::sync::Arc;

const INLINE_BYTES: usize = 22;

/// Immutable bytes, cheap to clone: inline when short, shared when long.
#[derive(Clone)]
pub(crate) enum SmallBytes {
    Inline { count: u8, bytes: [u8; INLINE_BYTES] },
    Shared(Arc<[u8]>),
}

impl SmallBytes {
    pub(crate) fn new(source: &[u8]) -> Self {
        if source.len() > INLINE_BYTES {
            return Self::Shared(Arc::from(source));
        }
        let mut bytes = [0; INLINE_BYTES];
        bytes[..source.len()].copy_from_slice(source);
        Self::Inline { count: source.len() as u8, bytes }
    }

    pub(crate) fn as_slice(&self) -> &[u8] {
        match self {
            Self::Inline { count, bytes } => &bytes[..usize::from(*count)],
            Self::Shared(bytes) => bytes,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keeps_every_length_around_the_inline_limit() {
        for count in [0, 1, 21, 22, 23, 500] {
            let source: Vec<u8> = (0..count).map(|index| index as u8).collect();
            assert_eq!(SmallBytes::new(&source).as_slice(), source);
        }
        assert_eq!(size_of::<SmallBytes>(), 24);
    }
}
