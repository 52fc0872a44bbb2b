//! A stored value as JSON and back, byte for byte.
//!
//! Texts, whole numbers, yes and no, nothing, and lists are what they are in JSON. Whatever JSON has no word for is
//! an object with one key that names it: `decimal`, `uuid`, `bytes`, `date` and so on; a tag of the notebook is
//! `{"tag": 60202, "of": ...}`. A value that would not come back to the very same bytes stands as `{"cbor": hex}`.

use serde_json::{Map, Number, Value as Json, json};
use storypole_journal::cbor::{MAX_NESTING, Writer};
use storypole_journal::{Payload, RecordId};

use crate::hex;

/// Whole numbers beyond this lose digits in programs that hold all numbers as doubles.
const MOST_EXACT: i128 = (1 << 53) - 1;

/// Tags with a word of their own (RFC 8949 section 3.4.4, RFC 9562, RFC 8943).
const TAG_DECIMAL: u64 = 4;
const TAG_UUID: u64 = 37;
const TAG_DATE: u64 = 1004;

const UINT: u8 = 0;
const NEGATIVE: u8 = 1;
const BYTES: u8 = 2;
const TEXT: u8 = 3;
const ARRAY: u8 = 4;
const MAP: u8 = 5;
const TAG: u8 = 6;
const SIMPLE: u8 = 7;

/// The JSON of a value.
pub fn print(payload: &Payload) -> Json {
    let bytes = payload.as_bytes();
    let json = Walk { bytes, at: 0 }.item();
    // Whatever the words above cannot tell is told by its bytes.
    match json.filter(|json| parse(json).as_ref() == Some(payload)) {
        Some(json) => json,
        None => json!({ "cbor": hex::print(bytes) }),
    }
}

/// The value of its JSON; none where it is none.
pub fn parse(json: &Json) -> Option<Payload> {
    let mut writer = Writer::default();
    write(json, &mut writer, MAX_NESTING + 1)?;
    Payload::new(writer.into_bytes()).ok()
}

/// Walks through bytes that are known to be one item in deterministic encoding.
struct Walk<'a> {
    bytes: &'a [u8],
    at: usize,
}

impl<'a> Walk<'a> {
    fn take(&mut self, count: usize) -> Option<&'a [u8]> {
        let taken = self.bytes.get(self.at..self.at.checked_add(count)?)?;
        self.at += count;
        Some(taken)
    }

    /// Major type, what stands for the length of the argument, and the argument.
    fn head(&mut self) -> Option<(u8, u8, u64)> {
        let initial = *self.take(1)?.first()?;
        let (major, info) = (initial >> 5, initial & 0x1f);
        let value = match info {
            0..=23 => u64::from(info),
            24..=27 => {
                self.take(1 << (info - 24))?.iter().fold(0, |value, byte| value << 8 | u64::from(*byte))
            }
            _ => return None,
        };
        Some((major, info, value))
    }

    fn item(&mut self) -> Option<Json> {
        let (major, info, value) = self.head()?;
        let count = || usize::try_from(value).ok();
        match major {
            UINT => Some(integer(i128::from(value))),
            NEGATIVE => Some(integer(-1 - i128::from(value))),
            BYTES => Some(json!({ "bytes": hex::print(self.take(count()?)?) })),
            TEXT => Some(Json::String(std::str::from_utf8(self.take(count()?)?).ok()?.to_owned())),
            ARRAY => (0..value).map(|_| self.item()).collect::<Option<Vec<_>>>().map(Json::Array),
            MAP => {
                let pair = |walk: &mut Self| Some(json!([walk.item()?, walk.item()?]));
                let pairs = (0..value).map(|_| pair(self)).collect::<Option<Vec<_>>>()?;
                Some(json!({ "map": pairs }))
            }
            TAG => self.item().map(|content| tagged(value, content)),
            SIMPLE => Some(match (info, value) {
                (20, _) => json!(false),
                (21, _) => json!(true),
                (22, _) => Json::Null,
                (25..=27, _) => {
                    json!({ "float": hex::print(&value.to_be_bytes()[8 - (1 << (info - 24))..]) })
                }
                _ => json!({ "simple": value }),
            }),
            _ => None,
        }
    }
}

fn integer(number: i128) -> Json {
    match i64::try_from(number) {
        Ok(small) if number.abs() <= MOST_EXACT => json!(small),
        _ => json!({ "integer": number.to_string() }),
    }
}

fn tagged(tag: u64, content: Json) -> Json {
    let word = match tag {
        TAG_DECIMAL => decimal(&content).map(|text| json!({ "decimal": text })),
        TAG_UUID => content["bytes"]
            .as_str()
            .and_then(hex::parse::<16>)
            .map(|bytes| json!({ "uuid": RecordId::from_bytes(bytes).to_string() })),
        TAG_DATE => content.as_str().map(|text| json!({ "date": text })),
        _ => None,
    };
    word.unwrap_or_else(|| json!({ "tag": tag, "of": content }))
}

/// `[-1, 619]` as `61.9`.
fn decimal(content: &Json) -> Option<String> {
    let [exponent, mantissa] = content.as_array()?.as_slice() else { return None };
    let decimals =
        usize::try_from(exponent.as_i64()?.checked_neg()?).ok().filter(|decimals| *decimals < 64)?;
    let mantissa = mantissa.as_i64()?;
    let digits = format!("{:0>width$}", mantissa.unsigned_abs(), width = decimals + 1);
    let (whole, part) = digits.split_at(digits.len() - decimals);
    let sign = if mantissa < 0 { "-" } else { "" };
    let point = if decimals == 0 { "" } else { "." };
    Some(format!("{sign}{whole}{point}{part}"))
}

fn write(json: &Json, writer: &mut Writer, nesting_left: usize) -> Option<()> {
    let nesting_left = nesting_left.checked_sub(1)?;
    match json {
        Json::Null => {
            writer.raw(&[0xf6]);
        }
        Json::Bool(flag) => {
            writer.raw(&[if *flag { 0xf5 } else { 0xf4 }]);
        }
        Json::Number(number) => write_number(number, writer)?,
        Json::String(text) => {
            writer.text(text);
        }
        Json::Array(items) => {
            writer.array(items.len());
            items.iter().try_for_each(|item| write(item, writer, nesting_left))?;
        }
        Json::Object(words) => write_word(words, writer, nesting_left)?,
    }
    Some(())
}

fn write_number(number: &Number, writer: &mut Writer) -> Option<()> {
    writer.int(number.as_i64()?);
    Some(())
}

fn write_word(words: &Map<String, Json>, writer: &mut Writer, nesting_left: usize) -> Option<()> {
    if let (2, Some(tag), Some(content)) = (words.len(), words.get("tag"), words.get("of")) {
        write_head(writer, TAG, tag.as_u64()?);
        return write(content, writer, nesting_left);
    }
    let (1, Some((word, content))) = (words.len(), words.iter().next()) else { return None };
    let text = || content.as_str();
    match word.as_str() {
        "integer" => write_integer(text()?.parse().ok()?, writer)?,
        "bytes" => {
            writer.bytes(&hex::parse_any(text()?)?);
        }
        "cbor" => {
            writer.raw(&hex::parse_any(text()?)?);
        }
        "decimal" => write_decimal(text()?, writer)?,
        "uuid" => {
            let id: RecordId = text()?.parse().ok()?;
            write_head(writer, TAG, TAG_UUID);
            writer.bytes(id.as_bytes());
        }
        "date" => {
            write_head(writer, TAG, TAG_DATE);
            writer.text(text()?);
        }
        "simple" => write_head(writer, SIMPLE, content.as_u64().filter(|value| *value < 256)?),
        "float" => {
            let bytes = hex::parse_any(text()?)?;
            let info = match bytes.len() {
                2 => 25,
                4 => 26,
                8 => 27,
                _ => return None,
            };
            writer.raw(&[SIMPLE << 5 | info]).raw(&bytes);
        }
        "map" => {
            let pairs = content.as_array()?;
            write_head(writer, MAP, pairs.len() as u64);
            for pair in pairs {
                let [key, value] = pair.as_array()?.as_slice() else { return None };
                write(key, writer, nesting_left)?;
                write(value, writer, nesting_left)?;
            }
        }
        _ => return None,
    }
    Some(())
}

fn write_integer(number: i128, writer: &mut Writer) -> Option<()> {
    if number < 0 {
        write_head(writer, NEGATIVE, u64::try_from(-1 - number).ok()?);
    } else {
        writer.uint(u64::try_from(number).ok()?);
    }
    Some(())
}

fn write_decimal(text: &str, writer: &mut Writer) -> Option<()> {
    let (whole, part) = text.split_once('.').unwrap_or((text, ""));
    let mantissa: i64 = format!("{whole}{part}").parse().ok()?;
    write_head(writer, TAG, TAG_DECIMAL);
    writer.array(2).int(-i64::try_from(part.len()).ok()?).int(mantissa);
    Some(())
}

/// The head of an item in its shortest form (RFC 8949 section 4.2.1).
fn write_head(writer: &mut Writer, major: u8, value: u64) {
    let major = major << 5;
    let bytes = value.to_be_bytes();
    match value {
        0..=23 => writer.raw(&[major | bytes[7]]),
        24..=0xff => writer.raw(&[major | 24, bytes[7]]),
        0x100..=0xffff => writer.raw(&[major | 25]).raw(&bytes[6..]),
        0x1_0000..=0xffff_ffff => writer.raw(&[major | 26]).raw(&bytes[4..]),
        _ => writer.raw(&[major | 27]).raw(&bytes),
    };
}

#[cfg(test)]
mod tests {
    use super::*;

    fn payload(digits: &str) -> Payload {
        Payload::new(hex::parse_any(digits).unwrap()).unwrap()
    }

    /// Encodings of RFC 8949 appendix A (those that are deterministic), and of RFC 8943 section 1.1 for the date.
    #[test]
    fn values_of_the_standard_have_words_and_come_back() {
        for (digits, expected) in [
            ("00", json!(0)),
            ("1903e8", json!(1000)),
            ("1b000000e8d4a51000", json!(1_000_000_000_000_i64)),
            ("1bffffffffffffffff", json!({ "integer": "18446744073709551615" })),
            ("3bffffffffffffffff", json!({ "integer": "-18446744073709551616" })),
            ("3903e7", json!(-1000)),
            ("f93c00", json!({ "float": "3c00" })),
            ("fb3ff199999999999a", json!({ "float": "3ff199999999999a" })),
            ("f4", json!(false)),
            ("f5", json!(true)),
            ("f6", Json::Null),
            ("f7", json!({ "simple": 23 })),
            ("f0", json!({ "simple": 16 })),
            ("f8ff", json!({ "simple": 255 })),
            ("c249010000000000000000", json!({ "tag": 2, "of": { "bytes": "010000000000000000" } })),
            ("4401020304", json!({ "bytes": "01020304" })),
            ("6449455446", json!("IETF")),
            ("62c3bc", json!("ü")),
            ("83010203", json!([1, 2, 3])),
            ("a201020304", json!({ "map": [[1, 2], [3, 4]] })),
            ("d903ec6a313934302d31302d3039", json!({ "date": "1940-10-09" })),
            // RFC 8949 section 3.4.4: 273.15 is [-2, 27315].
            ("c48221196ab3", json!({ "decimal": "273.15" })),
        ] {
            let payload = payload(digits);
            assert_eq!(print(&payload), expected, "{digits}");
            assert_eq!(parse(&expected), Some(payload), "{digits}");
        }
    }

    #[test]
    fn decimals_keep_their_zeros_and_odd_ones_their_bytes() {
        for (digits, expected) in [
            ("c4822018c8", json!({ "decimal": "20.0" })),
            ("c4822124", json!({ "decimal": "-0.05" })),
            ("c4820005", json!({ "decimal": "5" })),
            // A positive exponent, and a mantissa that is a text.
            ("c4820205", json!({ "tag": 4, "of": [2, 5] })),
            ("c48221613a", json!({ "tag": 4, "of": [-2, ":"] })),
            // A mantissa that doubles cannot hold.
            ("c482201b0020000000000001", json!({ "tag": 4, "of": [-1, { "integer": "9007199254740993" }] })),
            (
                "d8255001957a203c007b118a6e5d2f4c1b9e70",
                json!({ "uuid": "01957a20-3c00-7b11-8a6e-5d2f4c1b9e70" }),
            ),
            // A UUID of the wrong length is only a tag.
            ("d8254101", json!({ "tag": 37, "of": { "bytes": "01" } })),
        ] {
            let payload = payload(digits);
            assert_eq!(print(&payload), expected, "{digits}");
            assert_eq!(parse(&print(&payload)), Some(payload), "{digits}");
        }
    }

    #[test]
    fn what_is_no_value_is_refused() {
        for json in [
            json!({}),
            json!({ "other": 1 }),
            json!({ "bytes": "0" }),
            json!({ "bytes": "AB" }),
            json!({ "decimal": "1.2.3" }),
            json!({ "simple": 256 }),
            json!({ "float": "00" }),
            json!({ "map": [[1]] }),
            json!({ "map": [[2, 0], [1, 0]] }),
            json!({ "cbor": "" }),
            json!({ "cbor": "0101" }),
            json!(1.5),
        ] {
            assert_eq!(parse(&json), None, "{json}");
        }
        let deep = (0..100).fold(json!(1), |inner, _| json!([inner]));
        assert_eq!(parse(&deep), None);
    }
}
