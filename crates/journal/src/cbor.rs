//! CBOR in the core deterministic encoding of RFC 8949 section 4.2.1, and nothing else.
//!
//! The reader refuses whatever the writer would not have produced, so equal values have equal bytes and
//! hashes can be trusted. It borrows from its input and never allocates.

/// The most arrays, maps and tags that may stand inside each other.
pub const MAX_NESTING: usize = 16;

const UINT: u8 = 0;
const NEGATIVE: u8 = 1;
const BYTES: u8 = 2;
const TEXT: u8 = 3;
const ARRAY: u8 = 4;
const MAP: u8 = 5;
const TAG: u8 = 6;
const SIMPLE: u8 = 7;

/// Why bytes are not the deterministic encoding of what was expected.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum CborError {
    /// The bytes end inside an item.
    #[error("the bytes end early, at byte {at}")]
    Short {
        /// Where more was expected.
        at: usize,
    },
    /// Bytes follow the item.
    #[error("something follows at byte {at}")]
    Trailing {
        /// Where the item ended.
        at: usize,
    },
    /// A number, length or float has a shorter form.
    #[error("the item at byte {at} is not in its shortest form")]
    NotShortest {
        /// Where the item starts.
        at: usize,
    },
    /// Indefinite lengths are not deterministic.
    #[error("the item at byte {at} has an indefinite length")]
    Indefinite {
        /// Where the item starts.
        at: usize,
    },
    /// The initial byte is reserved, or a simple value is.
    #[error("byte {at} starts no item")]
    Reserved {
        /// Where the item starts.
        at: usize,
    },
    /// Text that is not UTF-8.
    #[error("the text at byte {at} is not UTF-8")]
    NotUtf8 {
        /// Where the text starts.
        at: usize,
    },
    /// Map keys out of order, or one twice.
    #[error("the map key at byte {at} does not follow the one before it")]
    KeyOrder {
        /// Where the key starts.
        at: usize,
    },
    /// More nesting than [`MAX_NESTING`].
    #[error("the item at byte {at} is nested too deep")]
    TooDeep {
        /// Where the item starts.
        at: usize,
    },
    /// An item of another type, length or range than the format has at this place.
    #[error("byte {at} starts an item that does not belong there")]
    Unexpected {
        /// Where the item starts.
        at: usize,
    },
}

/// Reads items from a slice, strictly.
#[derive(Debug, Clone)]
pub struct Reader<'a> {
    bytes: &'a [u8],
    at: usize,
}

impl<'a> Reader<'a> {
    /// Starts at the first byte.
    pub fn new(bytes: &'a [u8]) -> Self {
        Self { bytes, at: 0 }
    }

    /// Returns how many bytes were read.
    pub fn position(&self) -> usize {
        self.at
    }

    /// Succeeds if nothing is left.
    pub fn end(&self) -> Result<(), CborError> {
        if self.at == self.bytes.len() { Ok(()) } else { Err(CborError::Trailing { at: self.at }) }
    }

    /// Reads an unsigned integer.
    pub fn uint(&mut self) -> Result<u64, CborError> {
        self.expect_head(UINT)
    }

    /// Reads an integer that fits 64 bits with sign.
    pub fn int(&mut self) -> Result<i64, CborError> {
        let at = self.at;
        let (major, value) = self.head()?;
        let magnitude = i64::try_from(value).map_err(|_| CborError::Unexpected { at })?;
        match major {
            UINT => Ok(magnitude),
            NEGATIVE => Ok(-1 - magnitude),
            _ => Err(CborError::Unexpected { at }),
        }
    }

    /// Reads a byte string.
    pub fn bytes(&mut self) -> Result<&'a [u8], CborError> {
        let count = self.expect_head(BYTES)?;
        self.take(count)
    }

    /// Reads a byte string of exactly `N` bytes.
    pub fn fixed<const N: usize>(&mut self) -> Result<[u8; N], CborError> {
        let at = self.at;
        self.bytes()?.try_into().map_err(|_| CborError::Unexpected { at })
    }

    /// Reads a text.
    pub fn text(&mut self) -> Result<&'a str, CborError> {
        let at = self.at;
        let count = self.expect_head(TEXT)?;
        std::str::from_utf8(self.take(count)?).map_err(|_| CborError::NotUtf8 { at })
    }

    /// Reads the head of an array and returns how many items follow.
    ///
    /// The count is checked against the bytes left (an item has at least one), so reserving room for it
    /// never takes more memory than a small multiple of the input.
    pub fn array(&mut self) -> Result<usize, CborError> {
        let count = self.expect_head(ARRAY)?;
        self.bounded(count)
    }

    /// Reads one item of any kind and returns its bytes.
    pub fn item(&mut self) -> Result<&'a [u8], CborError> {
        let start = self.at;
        self.skip(MAX_NESTING)?;
        Ok(&self.bytes[start..self.at])
    }

    fn skip(&mut self, nesting_left: usize) -> Result<(), CborError> {
        let at = self.at;
        let (major, value) = self.head()?;
        let inner = || nesting_left.checked_sub(1).ok_or(CborError::TooDeep { at });
        match major {
            BYTES => self.take(value).map(|_| ()),
            TEXT => match std::str::from_utf8(self.take(value)?) {
                Ok(_) => Ok(()),
                Err(_) => Err(CborError::NotUtf8 { at }),
            },
            ARRAY => {
                let nesting_left = inner()?;
                (0..self.bounded(value)?).try_for_each(|_| self.skip(nesting_left))
            }
            MAP => self.skip_pairs(value, inner()?),
            TAG => self.skip_tagged(at, value, inner()?),
            // Integers and simple values are their head; floats are checked with it.
            _ => Ok(()),
        }
    }

    fn skip_pairs(&mut self, count: u64, nesting_left: usize) -> Result<(), CborError> {
        let mut last_key: Option<&[u8]> = None;
        for _ in 0..self.bounded(count)? {
            let at = self.at;
            self.skip(nesting_left)?;
            let key = &self.bytes[at..self.at];
            if last_key.is_some_and(|last| last >= key) {
                return Err(CborError::KeyOrder { at });
            }
            last_key = Some(key);
            self.skip(nesting_left)?;
        }
        Ok(())
    }

    fn skip_tagged(&mut self, at: usize, tag: u64, nesting_left: usize) -> Result<(), CborError> {
        let content = self.at;
        self.skip(nesting_left)?;
        // RFC 8949 3.4.3: a bignum has no leading zeros and does not stand for a number of 64 bits.
        if matches!(tag, 2 | 3) {
            let mut number = Reader { bytes: self.bytes, at: content };
            let short = number.bytes().is_ok_and(|bytes| bytes.len() <= 8 || bytes[0] == 0);
            if short {
                return Err(CborError::NotShortest { at });
            }
        }
        Ok(())
    }

    fn expect_head(&mut self, expected: u8) -> Result<u64, CborError> {
        let at = self.at;
        let (major, value) = self.head()?;
        if major == expected { Ok(value) } else { Err(CborError::Unexpected { at }) }
    }

    /// Reads the initial byte and its argument; refuses long forms and floats that are not shortest.
    fn head(&mut self) -> Result<(u8, u64), CborError> {
        let at = self.at;
        let initial = self.take(1)?[0];
        let (major, info) = (initial >> 5, initial & 0x1F);
        let value = match info {
            0..=23 => return Ok((major, u64::from(info))),
            24..=27 => {
                self.take(1 << (info - 24))?.iter().fold(0, |value, byte| value << 8 | u64::from(*byte))
            }
            31 if (BYTES..=MAP).contains(&major) => return Err(CborError::Indefinite { at }),
            _ => return Err(CborError::Reserved { at }),
        };
        let shortest = match (major, info) {
            // RFC 8949 3.3: two-byte simple values below 32 do not exist.
            (SIMPLE, 24) if value < 32 => return Err(CborError::Reserved { at }),
            (SIMPLE, 24) => true,
            (SIMPLE, 25) => value & 0x7C00 != 0x7C00 || value & 0x3FF == 0 || value == 0x7E00,
            (SIMPLE, 26) => !fits_half(value as u32),
            (SIMPLE, _) => !fits_single(value),
            (_, 24) => value > 23,
            (_, 25) => value > 0xFF,
            (_, 26) => value > 0xFFFF,
            _ => value > 0xFFFF_FFFF,
        };
        if shortest { Ok((major, value)) } else { Err(CborError::NotShortest { at }) }
    }

    fn bounded(&self, count: u64) -> Result<usize, CborError> {
        match usize::try_from(count) {
            Ok(count) if count <= self.bytes.len() - self.at => Ok(count),
            _ => Err(CborError::Short { at: self.bytes.len() }),
        }
    }

    fn take(&mut self, count: u64) -> Result<&'a [u8], CborError> {
        let count = self.bounded(count)?;
        let taken = &self.bytes[self.at..self.at + count];
        self.at += count;
        Ok(taken)
    }
}

/// Says whether a single-precision float has the same value in half precision; a NaN always has.
fn fits_half(bits: u32) -> bool {
    let exponent = ((bits >> 23) & 0xFF) as i32 - 127;
    let fraction = bits & 0x007F_FFFF;
    match exponent {
        // Zero fits; single-precision subnormals are far below half precision's least.
        -127 => fraction == 0,
        // Half subnormals are multiples of 2^-24: the lower bits of the significand must be clear.
        -24..=-15 => (fraction | 0x0080_0000).trailing_zeros() >= (-1 - exponent) as u32,
        -14..=15 => fraction.trailing_zeros() >= 13,
        128 => true,
        _ => false,
    }
}

/// Says whether a double-precision float has the same value in single precision; a NaN always has.
fn fits_single(bits: u64) -> bool {
    let value = f64::from_bits(bits);
    value.is_nan() || f64::from(value as f32).to_bits() == bits
}

/// Appends items to a byte vector, always in the shortest form.
#[derive(Debug, Clone, Default)]
pub struct Writer(Vec<u8>);

impl Writer {
    /// Starts empty, with room for `bytes`.
    pub fn with_capacity(bytes: usize) -> Self {
        Self(Vec::with_capacity(bytes))
    }

    /// Returns what was written.
    pub fn into_bytes(self) -> Vec<u8> {
        self.0
    }

    /// Returns what was written so far.
    pub fn as_bytes(&self) -> &[u8] {
        &self.0
    }

    /// Appends an unsigned integer.
    pub fn uint(&mut self, value: u64) -> &mut Self {
        self.head(UINT, value)
    }

    /// Appends an integer.
    pub fn int(&mut self, value: i64) -> &mut Self {
        // -1 - value is the complement, which cannot overflow.
        if value < 0 { self.head(NEGATIVE, !value as u64) } else { self.head(UINT, value as u64) }
    }

    /// Appends a byte string.
    pub fn bytes(&mut self, bytes: &[u8]) -> &mut Self {
        self.head(BYTES, bytes.len() as u64).raw(bytes)
    }

    /// Appends a text.
    pub fn text(&mut self, text: &str) -> &mut Self {
        self.head(TEXT, text.len() as u64).raw(text.as_bytes())
    }

    /// Appends the head of an array; `count` items must follow.
    pub fn array(&mut self, count: usize) -> &mut Self {
        self.head(ARRAY, count as u64)
    }

    /// Appends bytes that already are items.
    pub fn raw(&mut self, items: &[u8]) -> &mut Self {
        self.0.extend_from_slice(items);
        self
    }

    fn head(&mut self, major: u8, value: u64) -> &mut Self {
        let initial = major << 5;
        match value {
            0..=23 => self.0.push(initial | value as u8),
            24..=0xFF => self.0.extend([initial | 24, value as u8]),
            0x100..=0xFFFF => {
                self.0.push(initial | 25);
                self.0.extend((value as u16).to_be_bytes());
            }
            0x1_0000..=0xFFFF_FFFF => {
                self.0.push(initial | 26);
                self.0.extend((value as u32).to_be_bytes());
            }
            _ => {
                self.0.push(initial | 27);
                self.0.extend(value.to_be_bytes());
            }
        }
        self
    }
}

#[cfg(test)]
mod tests {
    use std::collections::HashSet;

    use proptest::prelude::*;

    use super::*;

    fn check(hex: &str) -> Result<(), CborError> {
        let bytes = bytes_of(hex);
        let mut reader = Reader::new(&bytes);
        reader.item()?;
        reader.end()
    }

    fn bytes_of(hex: &str) -> Vec<u8> {
        (0..hex.len()).step_by(2).map(|at| u8::from_str_radix(&hex[at..at + 2], 16).unwrap()).collect()
    }

    /// RFC 8949 appendix A, all examples in preferred form with definite lengths.
    #[test]
    fn accepts_the_deterministic_examples_of_rfc_8949() {
        for hex in [
            "00 01 0a 17 1818 1819 1864 1903e8 1a000f4240 1b000000e8d4a51000 1bffffffffffffffff",
            "c249010000000000000000 3bffffffffffffffff c349010000000000000000 20 29 3863 3903e7",
            "f90000 f98000 f93c00 fb3ff199999999999a f93e00 f97bff fa47c35000 fa7f7fffff",
            "fb7e37e43c8800759c f90001 f90400 f9c400 fbc010666666666666 f97c00 f97e00 f9fc00",
            "f4 f5 f6 f7 f0 f8ff c074323031332d30332d32315432303a30343a30305a c11a514b67b0",
            "c1fb41d452d9ec200000 d74401020304 d818456449455446",
            "d82076687474703a2f2f7777772e6578616d706c652e636f6d 40 4401020304 60 6161 6449455446",
            "62225c 62c3bc 63e6b0b4 64f0908591 80 83010203 8301820203820405",
            "98190102030405060708090a0b0c0d0e0f101112131415161718181819 a0 a201020304",
            "a26161016162820203 826161a161626163 a56161614161626142616361436164614461656145",
        ]
        .iter()
        .flat_map(|line| line.split(' '))
        {
            assert_eq!(check(hex), Ok(()), "{hex}");
        }
    }

    /// RFC 8949 appendix A (longer floats, indefinite lengths), section 3.3 (simple values), 3.4.3
    /// (bignums) and 4.2.1 (map keys); the rest follows from the definition of the shortest form.
    #[test]
    fn refuses_what_is_not_deterministic() {
        let short = Err(CborError::NotShortest { at: 0 });
        let indefinite = |at| Err(CborError::Indefinite { at });
        for (hex, expected) in [
            ("fa7f800000", short),
            ("fa7fc00000", short),
            ("faff800000", short),
            ("fb7ff0000000000000", short),
            ("fb7ff8000000000000", short),
            ("fbfff0000000000000", short),
            ("5f42010243030405ff", indefinite(0)),
            ("7f657374726561646d696e67ff", indefinite(0)),
            ("9fff", indefinite(0)),
            ("83018202039f0405ff", indefinite(5)),
            ("826161bf61626163ff", indefinite(3)),
            ("1817", short),
            ("1900ff", short),
            ("1a0000ffff", short),
            ("1b00000000ffffffff", short),
            ("3817", short),
            ("5800", short),
            ("f97e01", short),
            ("fa33800000", short), // 2^-24, least half subnormal
            ("fa38800000", short), // 2^-14, least half normal
            ("fa477fe000", short), // 65504, greatest half
            ("fb3ff8000000000000", short),
            ("f818", Err(CborError::Reserved { at: 0 })),
            ("f817", Err(CborError::Reserved { at: 0 })),
            ("ff", Err(CborError::Reserved { at: 0 })),
            ("1c", Err(CborError::Reserved { at: 0 })),
            ("c24101", short),
            ("c2480100000000000000", short),
            ("c24900ffffffffffffffff", short),
            ("a203040102", Err(CborError::KeyOrder { at: 3 })),
            ("a201020103", Err(CborError::KeyOrder { at: 3 })),
            ("61ff", Err(CborError::NotUtf8 { at: 0 })),
            ("", Err(CborError::Short { at: 0 })),
            ("8201", Err(CborError::Short { at: 2 })),
            ("0000", Err(CborError::Trailing { at: 1 })),
        ] {
            assert_eq!(check(hex), expected, "{hex}");
        }
    }

    /// The neighbours of the half-precision limits stay single; computed by hand from IEEE 754.
    #[test]
    fn keeps_floats_that_need_their_length() {
        for hex in ["fa33000000", "fa33c00000", "fa387fffff", "fa477ff000", "fa47800000", "fa00000001"] {
            assert_eq!(check(hex), Ok(()), "{hex}");
        }
    }

    #[test]
    fn nesting_ends_at_sixteen() {
        assert_eq!(check(&("81".repeat(16) + "00")), Ok(()));
        assert_eq!(check(&("81".repeat(17) + "00")), Err(CborError::TooDeep { at: 16 }));
        assert_eq!(check(&("c1".repeat(17) + "00")), Err(CborError::TooDeep { at: 16 }));
        // Deep hostile input ends at the limit and not at the end of the stack.
        assert_eq!(check(&"81".repeat(1_000_000)), Err(CborError::TooDeep { at: 16 }));
    }

    #[test]
    fn a_huge_count_reserves_nothing() {
        assert_eq!(check("9bffffffffffffffff"), Err(CborError::Short { at: 9 }));
        assert_eq!(check("5bffffffffffffffff"), Err(CborError::Short { at: 9 }));
        assert_eq!(check("bb7fffffffffffffff00"), Err(CborError::Short { at: 10 }));
    }

    proptest! {
        /// An independent reader, minicbor, finds the values that were written.
        #[test]
        fn another_reader_agrees(uint: u64, int: i64, bytes: Vec<u8>, text: String) {
            let mut writer = Writer::default();
            writer.array(4).uint(uint).int(int).bytes(&bytes).text(&text);
            let mut other = minicbor::Decoder::new(writer.as_bytes());
            prop_assert_eq!(other.array().unwrap(), Some(4));
            prop_assert_eq!(other.u64().unwrap(), uint);
            prop_assert_eq!(other.i64().unwrap(), int);
            prop_assert_eq!(other.bytes().unwrap(), &bytes[..]);
            prop_assert_eq!(other.str().unwrap(), text);
        }

        #[test]
        fn any_bytes_are_read_without_panic(bytes: Vec<u8>) {
            let mut reader = Reader::new(&bytes);
            if let Ok(item) = reader.item() {
                prop_assert_eq!(item, &bytes[..reader.position()]);
                // What the strict reader accepts, another reader can walk over to the same end.
                let mut other = minicbor::Decoder::new(&bytes);
                prop_assert!(other.skip().is_ok());
                prop_assert_eq!(other.position(), reader.position());
            }
        }
    }

    /// The value of a half-precision float by its definition in IEEE 754, exact in double precision.
    fn half_value(bits: u16) -> f64 {
        let (exponent, fraction) = (i32::from(bits >> 10 & 0x1F), f64::from(bits & 0x3FF));
        let magnitude = match exponent {
            0 => fraction * 2f64.powi(-24),
            31 => f64::INFINITY,
            _ => (1.0 + fraction / 1024.0) * 2f64.powi(exponent - 15),
        };
        if bits & 0x8000 == 0 { magnitude } else { -magnitude }
    }

    fn is_accepted(initial: u8, rest: &[u8]) -> bool {
        let bytes = [&[initial], rest].concat();
        Reader::new(&bytes).item().is_ok()
    }

    /// Every half-precision number, in all three lengths, and its neighbours in single precision.
    #[test]
    fn a_float_has_one_form() {
        let halves = (0..=u16::MAX).filter(|bits| bits & 0x7C00 != 0x7C00 || bits & 0x3FF == 0);
        let values: HashSet<u32> = halves.clone().map(|bits| (half_value(bits) as f32).to_bits()).collect();
        assert_eq!(values.len(), 63_490);
        for bits in halves {
            let value = half_value(bits);
            let single = (value as f32).to_bits();
            assert!(is_accepted(0xF9, &bits.to_be_bytes()), "{value}");
            assert!(!is_accepted(0xFA, &single.to_be_bytes()), "{value}");
            assert!(!is_accepted(0xFB, &value.to_be_bytes()), "{value}");
            for neighbour in
                [single.wrapping_add(1), single.wrapping_sub(1), single ^ 0x1000, single ^ 0x2000]
            {
                let number = f32::from_bits(neighbour);
                let needs_single = !number.is_nan() && !values.contains(&neighbour);
                assert_eq!(is_accepted(0xFA, &neighbour.to_be_bytes()), needs_single, "{number}");
                assert!(!is_accepted(0xFB, &f64::from(number).to_be_bytes()), "{number}");
                let above = f64::from(number).to_bits() ^ 1;
                assert_eq!(is_accepted(0xFB, &above.to_be_bytes()), !f64::from_bits(above).is_nan());
            }
        }
    }
}
