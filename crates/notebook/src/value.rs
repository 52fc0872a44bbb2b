//! One stored value and its encoding. Leaves out which field takes which value: see [`crate::field`].
//!
//! Encoding is deterministic CBOR (RFC 8949 section 4.2). Nothing is stored as a float: a number with
//! decimals is a decimal fraction (tag 4), so what was typed is what is kept.

use std::fmt;

use jiff::civil::Date;
use minicbor::data::Type;
use minicbor::{Decoder, Encoder};
use storypole_journal::{Payload, RecordId, WrittenAt};
use storypole_units::{Currency, Decimal, Length, Money};

use crate::quantity::{Quantity, Unit};

/// One value of one field.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// Words.
    Text(String),
    /// A whole number.
    Integer(i64),
    /// A decimal number.
    Decimal(Decimal),
    /// A length, whole nanometres.
    Length(Length),
    /// An amount of money with its currency.
    Money(Money),
    /// A measured number with its unit.
    Quantity(Quantity),
    /// A calendar day.
    Date(Date),
    /// A moment with the offset of the clock that wrote it.
    Moment(WrittenAt),
    /// Yes or no.
    Flag(bool),
    /// Another record.
    Record(RecordId),
    /// A BLAKE3 hash.
    Hash([u8; 32]),
}

const TAG_DECIMAL: u64 = 4;
const TAG_UUID: u64 = 37;
const TAG_MONEY: u64 = 60_201;
const TAG_QUANTITY: u64 = 60_202;
const TAG_LENGTH: u64 = 60_203;
const TAG_MOMENT: u64 = 60_204;
const TAG_DATE: u64 = 1004;

/// Bytes that hold no value this version can read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ValueError {
    /// The item is of a form no field uses.
    #[error("the stored value is of a form this version does not know")]
    UnknownForm,
    /// The item is of a known form but its content is not legal.
    #[error("the stored {form} is not legal")]
    Illegal { form: &'static str },
}

impl Value {
    /// Encodes for the log.
    pub fn to_payload(&self) -> Payload {
        let mut bytes = Vec::with_capacity(24);
        let mut e = Encoder::new(&mut bytes);
        self.encode(&mut e).expect("writing to a vector cannot fail");
        Payload::new(bytes).expect("values encode deterministically and within the limit checked at the door")
    }

    fn encode(
        &self,
        e: &mut Encoder<&mut Vec<u8>>,
    ) -> Result<(), minicbor::encode::Error<std::convert::Infallible>> {
        match self {
            Self::Text(text) => e.str(text)?.ok(),
            Self::Integer(number) => e.i64(*number)?.ok(),
            Self::Decimal(number) => encode_decimal(e, *number),
            Self::Length(length) => e.tag(tag(TAG_LENGTH))?.i64(length.nm())?.ok(),
            Self::Money(money) => {
                e.tag(tag(TAG_MONEY))?.array(2)?;
                encode_decimal(e, money.amount)?;
                e.str(money.currency.code())?.ok()
            }
            Self::Quantity(quantity) => {
                e.tag(tag(TAG_QUANTITY))?.array(2)?;
                encode_decimal(e, quantity.number())?;
                e.str(quantity.unit().symbol())?.ok()
            }
            Self::Date(date) => e.tag(tag(TAG_DATE))?.str(&date.to_string())?.ok(),
            Self::Moment(at) => e.tag(tag(TAG_MOMENT))?.array(2)?.i64(at.unix_ms)?.i16(at.offset_min)?.ok(),
            Self::Flag(flag) => e.bool(*flag)?.ok(),
            Self::Record(id) => e.tag(tag(TAG_UUID))?.bytes(id.as_bytes())?.ok(),
            Self::Hash(hash) => e.bytes(hash)?.ok(),
        }
    }

    /// Decodes from the log; `None` is a field that was cleared.
    ///
    /// # Errors
    /// [`ValueError`]: a form or content this version cannot read. The caller keeps and lists it.
    pub fn from_payload(payload: &Payload) -> Result<Option<Self>, ValueError> {
        if payload.is_null() {
            return Ok(None);
        }
        let mut d = Decoder::new(payload.as_bytes());
        decode(&mut d).map(Some)
    }
}

fn tag(number: u64) -> minicbor::data::Tag {
    minicbor::data::Tag::new(number)
}

fn encode_decimal(
    e: &mut Encoder<&mut Vec<u8>>,
    number: Decimal,
) -> Result<(), minicbor::encode::Error<std::convert::Infallible>> {
    let mantissa = number.mantissa();
    e.tag(tag(TAG_DECIMAL))?.array(2)?.i64(-i64::from(number.scale()))?;
    match i64::try_from(mantissa) {
        Ok(small) => e.i64(small)?.ok(),
        // Bounded decimals of the notebook fit 64 bits; what does not is kept as text.
        Err(_) => e.str(&mantissa.to_string())?.ok(),
    }
}

fn decode_decimal(d: &mut Decoder<'_>) -> Result<Decimal, ValueError> {
    let illegal = ValueError::Illegal { form: "number" };
    if d.tag().map_err(|_| illegal.clone())?.as_u64() != TAG_DECIMAL || d.array().ok() != Some(Some(2)) {
        return Err(illegal);
    }
    let exponent = d.i64().map_err(|_| illegal.clone())?;
    let mantissa: i128 = match d.datatype() {
        Ok(Type::String) => d
            .str()
            .ok()
            .and_then(|text| text.parse().ok())
            .filter(|wide| i64::try_from(*wide).is_err())
            .ok_or_else(|| illegal.clone())?,
        _ => i128::from(d.i64().map_err(|_| illegal.clone())?),
    };
    let scale = exponent.checked_neg().and_then(|s| u32::try_from(s).ok()).ok_or_else(|| illegal.clone())?;
    Decimal::from_parts(mantissa, scale).map_err(|_| illegal)
}

fn decode(d: &mut Decoder<'_>) -> Result<Value, ValueError> {
    let unknown = |_| ValueError::UnknownForm;
    match d.datatype().map_err(unknown)? {
        Type::String => Ok(Value::Text(d.str().map_err(unknown)?.to_owned())),
        Type::Bool => Ok(Value::Flag(d.bool().map_err(unknown)?)),
        Type::Bytes => {
            let bytes = d.bytes().map_err(unknown)?;
            let hash = bytes.try_into().map_err(|_| ValueError::Illegal { form: "hash" })?;
            Ok(Value::Hash(hash))
        }
        Type::Tag => decode_tagged(d),
        _ => d.i64().map(Value::Integer).map_err(unknown),
    }
}

fn decode_tagged(d: &mut Decoder<'_>) -> Result<Value, ValueError> {
    let at = d.position();
    let form = |form| move |_| ValueError::Illegal { form };
    match d.tag().map_err(|_| ValueError::UnknownForm)?.as_u64() {
        TAG_DECIMAL => {
            d.set_position(at);
            decode_decimal(d).map(Value::Decimal)
        }
        TAG_LENGTH => {
            let nm = d.i64().map_err(form("length"))?;
            Length::from_nm(nm).map(Value::Length).map_err(|_| ValueError::Illegal { form: "length" })
        }
        TAG_MONEY => {
            let (amount, code) = decode_pair(d, "amount of money")?;
            let currency = Currency::parse(code).map_err(|_| ValueError::Illegal { form: "currency" })?;
            Ok(Value::Money(Money::new(amount, currency)))
        }
        TAG_QUANTITY => {
            let (number, symbol) = decode_pair(d, "reading")?;
            let unit: Unit = symbol.parse().map_err(|_| ValueError::Illegal { form: "unit" })?;
            Quantity::new(number, unit)
                .map(Value::Quantity)
                .map_err(|_| ValueError::Illegal { form: "reading" })
        }
        TAG_DATE => {
            let text = d.str().map_err(form("date"))?;
            text.parse().map(Value::Date).map_err(|_| ValueError::Illegal { form: "date" })
        }
        TAG_MOMENT => {
            if d.array().map_err(form("moment"))? != Some(2) {
                return Err(ValueError::Illegal { form: "moment" });
            }
            let unix_ms = d.i64().map_err(form("moment"))?;
            let offset_min = d.i16().map_err(form("moment"))?;
            Ok(Value::Moment(WrittenAt { unix_ms, offset_min }))
        }
        TAG_UUID => {
            let bytes = d.bytes().map_err(form("record id"))?;
            let id = bytes.try_into().map_err(|_| ValueError::Illegal { form: "record id" })?;
            Ok(Value::Record(RecordId::from_bytes(id)))
        }
        _ => Err(ValueError::UnknownForm),
    }
}

fn decode_pair<'b>(d: &mut Decoder<'b>, form: &'static str) -> Result<(Decimal, &'b str), ValueError> {
    let illegal = |_| ValueError::Illegal { form };
    if d.array().map_err(illegal)? != Some(2) {
        return Err(ValueError::Illegal { form });
    }
    Ok((decode_decimal(d)?, d.str().map_err(illegal)?))
}

impl fmt::Display for Value {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Text(text) => f.write_str(text),
            Self::Integer(number) => write!(f, "{number}"),
            Self::Decimal(number) => write!(f, "{number}"),
            Self::Length(length) => write!(f, "{length}"),
            Self::Money(money) => write!(f, "{money}"),
            Self::Quantity(quantity) => write!(f, "{quantity}"),
            Self::Date(date) => write!(f, "{date}"),
            Self::Moment(at) => f.write_str(&print_moment(*at)),
            Self::Flag(flag) => f.write_str(if *flag { "yes" } else { "no" }),
            Self::Record(id) => write!(f, "{id}"),
            Self::Hash(hash) => hash.iter().try_for_each(|byte| write!(f, "{byte:02x}")),
        }
    }
}

/// Prints a moment as RFC 3339 with the writer's own offset.
pub fn print_moment(at: WrittenAt) -> String {
    let offset = jiff::tz::Offset::from_seconds(i32::from(at.offset_min) * 60);
    match (jiff::Timestamp::from_millisecond(at.unix_ms), offset) {
        (Ok(instant), Ok(offset)) => {
            let local = offset.to_datetime(instant);
            let sign = if at.offset_min < 0 { '-' } else { '+' };
            let minutes = at.offset_min.unsigned_abs();
            format!(
                "{}T{:02}:{:02}:{:02}{sign}{:02}:{:02}",
                local.date(),
                local.hour(),
                local.minute(),
                local.second(),
                minutes / 60,
                minutes % 60
            )
        }
        _ => format!("{} ms after 1970", at.unix_ms),
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use storypole_journal::Payload;

    use super::*;

    fn hex(value: &Value) -> String {
        value.to_payload().as_bytes().iter().map(|byte| format!("{byte:02x}")).collect()
    }

    /// What is stored is a promise: these bytes may never change. Written out by hand from RFC 8949 (major types,
    /// tag 4 of section 3.4.4, tag 37 of the UUID registration, tag 1004 of RFC 8943).
    #[test]
    fn stored_values_keep_their_bytes() {
        let usd = Currency::parse("USD").unwrap();
        let id = RecordId::from_bytes([0x11; 16]);
        for (value, expected) in [
            (Value::Text("oak".into()), "636f616b".to_owned()),
            (Value::Integer(-7), "26".to_owned()),
            (Value::Decimal(Decimal::parse("6.50").unwrap()), "c4822119028a".to_owned()),
            (Value::Length(Length::parse("1 mm").unwrap()), "d9eb2b1a000f4240".to_owned()),
            (Value::Money(Money::parse_in("17.85", usd).unwrap()), "d9eb2982c482211906f963555344".to_owned()),
            (
                Value::Quantity(Quantity::parse("69.1 dBA").unwrap()),
                "d9eb2a82c482201902b363644241".to_owned(),
            ),
            (Value::Date("2025-03-04".parse().unwrap()), "d903ec6a323032352d30332d3034".to_owned()),
            (Value::Moment(WrittenAt { unix_ms: 1000, offset_min: -300 }), "d9eb2c821903e839012b".to_owned()),
            (Value::Flag(true), "f5".to_owned()),
            (Value::Record(id), format!("d82550{}", "11".repeat(16))),
            (Value::Hash([0x22; 32]), format!("5820{}", "22".repeat(32))),
        ] {
            assert_eq!(hex(&value), expected, "{value:?}");
            assert_eq!(Value::from_payload(&value.to_payload()), Ok(Some(value)));
        }
        assert_eq!(Value::from_payload(&Payload::null()), Ok(None), "null clears a field");
    }

    #[test]
    fn what_no_version_here_writes_cannot_be_read() {
        for bytes in
            [&[0x80][..], &[0xa0], &[0xfb, 0x40, 0x09, 0x21, 0xfb, 0x54, 0x44, 0x2d, 0x18], &[0xc1, 0x00]]
        {
            let payload = Payload::from_slice(bytes).unwrap();
            assert!(Value::from_payload(&payload).is_err(), "{bytes:02x?}");
        }
    }

    proptest! {
        #[test]
        fn numbers_come_back_as_typed(mantissa in -9_999_999_999_i64..9_999_999_999, scale in 0_u32..10) {
            let value = Value::Decimal(Decimal::from_parts(i128::from(mantissa), scale).unwrap());
            let back = Value::from_payload(&value.to_payload()).unwrap().unwrap();
            prop_assert_eq!(back.to_string(), value.to_string());
        }

        #[test]
        fn any_payload_is_read_or_refused(bytes in proptest::collection::vec(any::<u8>(), 0..40)) {
            let read = Payload::new(bytes).ok().and_then(|payload| Value::from_payload(&payload).ok().flatten());
            if let Some(value) = read {
                prop_assert_eq!(Value::from_payload(&value.to_payload()), Ok(Some(value)));
            }
        }
    }
}
