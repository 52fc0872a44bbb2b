//! What a field takes: parsing what a person typed, and the plain reason when it is refused.
//!
//! Only a single value is judged here. A rule over several fields or records is a mark, never a refusal.

use jiff::civil::Date;
use storypole_journal::{RecordId, WrittenAt};
use storypole_units::{Currency, Decimal, Length, Money};

use crate::assembly;
use crate::bands::{Bands, BandsError};
use crate::quantity::{Quantity, QuantityError};
use crate::value::Value;

/// What a field takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FieldType {
    /// Words, at most `0` letters.
    Text(usize),
    /// One of these words.
    Choice(&'static [&'static str]),
    /// A whole number within these limits.
    Integer(i64, i64),
    /// A decimal number within these limits.
    Decimal(i64, i64),
    /// A length.
    Length,
    /// An amount of money; may be negative.
    Money,
    /// A measured number with its unit.
    Quantity,
    /// A temperature, in °F or °C.
    Temperature,
    /// A calendar day.
    Date,
    /// A moment with its offset.
    Moment,
    /// Yes or no.
    Flag,
    /// A record of this kind; an empty name takes any kind.
    Reference(&'static str),
    /// A BLAKE3 hash.
    Hash,
    /// One part of the seven that describe an assembly, in its notation.
    Part(assembly::PartKind),
    /// A number for each of several frequency bands, in its notation.
    Bands,
}

/// One field of a kind.
#[derive(Debug, Clone, Copy)]
pub struct FieldSpec {
    /// Its name in code, SQL, API and CSV.
    pub name: &'static str,
    /// What it takes.
    pub takes: FieldType,
    /// Whether a record without it is incomplete.
    pub required: bool,
    /// Whether changing a value that stands needs a reason.
    pub reason_on_change: bool,
    /// What it is for.
    pub doc: &'static str,
}

/// Why one value is refused, with what to write instead.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// Nothing was given.
    #[error("nothing is given: write a value, or leave the field out")]
    Empty,
    /// Too many letters.
    #[error("{letters} letters are too many: at most {limit}")]
    TooLong { letters: usize, limit: usize },
    /// Control characters other than line breaks and tabs.
    #[error("the text holds a control character: remove it")]
    ControlCharacter,
    /// Not one of the words the field takes.
    #[error("\"{given}\" is not one of: {allowed}")]
    NotAChoice { given: String, allowed: String },
    /// Not a number of the asked form.
    #[error("\"{0}\" is not a plain number, like 12 or 6.5")]
    NotANumber(String),
    /// Outside the limits.
    #[error("{given} is outside {low} to {high}")]
    OutOfRange { given: String, low: i64, high: i64 },
    /// A length that cannot be read.
    #[error(transparent)]
    Length(#[from] storypole_units::length::LengthParseError),
    /// Money that cannot be read.
    #[error(transparent)]
    Money(#[from] storypole_units::money::MoneyParseError),
    /// A reading that cannot be read.
    #[error(transparent)]
    Quantity(#[from] QuantityError),
    /// A label that cannot be typed as one word, or would be read as something within another record.
    #[error("\"{given}\" cannot be a label: {why}; write it like {instead}")]
    LabelForm { given: String, why: &'static str, instead: String },
    /// A number of a form that is not read, in a field where its unit or its places matter.
    #[error(transparent)]
    Form(#[from] crate::quantity::FormError),
    /// A temperature without its scale.
    #[error("\"{0}\" does not say which degrees: write °F or °C behind the number, like 38 F or 3.5 C")]
    NoDegrees(String),
    /// A temperature in a unit that is none of temperature.
    #[error("\"{0}\" is no temperature: write degrees in °F or °C, like 38 F or 3.5 C")]
    NotDegrees(String),
    /// Not a date.
    #[error("\"{0}\" is not a date: write it like 2025-03-04")]
    NotADate(String),
    /// A date no job of this notebook can have.
    #[error("{given} is outside {low} to {high}: check the year")]
    DateOutOfRange { given: Date, low: Date, high: Date },
    /// Not a moment.
    #[error("\"{0}\" is not a moment: write it like 2025-03-04T17:10:00-05:00")]
    NotAMoment(String),
    /// Neither yes nor no.
    #[error("\"{0}\" is neither yes nor no")]
    NotAFlag(String),
    /// Not the id of a record.
    #[error("\"{0}\" is not the id of a record")]
    NotAnId(String),
    /// Not a hash.
    #[error("\"{0}\" is not a BLAKE3 hash of 64 hexadecimal digits")]
    NotAHash(String),
    /// A part of an assembly that cannot be read.
    #[error(transparent)]
    Part(#[from] assembly::PartError),
    /// Bands that cannot be read.
    #[error(transparent)]
    Bands(#[from] BandsError),
    /// A stored value of another type than the field takes.
    #[error("the field takes {wanted}, this is something else")]
    WrongType { wanted: &'static str },
}

/// First day taken: houses are older, jobs written down here are not.
pub const FIRST_DAY: Date = jiff::civil::date(1950, 1, 1);
/// Last day taken.
pub const LAST_DAY: Date = jiff::civil::date(2199, 12, 31);

impl FieldType {
    /// The type in words, for help and errors.
    pub fn words(&self) -> &'static str {
        match self {
            Self::Text(_) => "words",
            Self::Choice(_) => "one of a list of words",
            Self::Integer(..) => "a whole number",
            Self::Decimal(..) => "a number",
            Self::Length => "a length with its unit",
            Self::Money => "an amount of money",
            Self::Quantity => "a number with its unit",
            Self::Temperature => "a temperature, like 38 F",
            Self::Date => "a date",
            Self::Moment => "a moment",
            Self::Flag => "yes or no",
            Self::Reference(_) => "a record",
            Self::Hash => "a hash",
            Self::Part(_) => "a part of an assembly",
            Self::Bands => "numbers by frequency band",
        }
    }

    /// Parses what a person typed. References are ids here; names are resolved before, by who knows the records.
    ///
    /// `currency` is the notebook's, used for money written without a code.
    ///
    /// # Errors
    /// [`Refusal`], in words for the person, with what to write instead.
    pub fn parse(&self, text: &str, currency: Currency) -> Result<Value, Refusal> {
        let text = text.trim();
        if text.is_empty() {
            return Err(Refusal::Empty);
        }
        let value = match self {
            Self::Text(_) => Value::Text(text.to_owned()),
            Self::Choice(words) => {
                let typed = text.to_lowercase();
                let joined = typed.replace([' ', '_'], "-");
                match [typed, joined].into_iter().find(|typed| words.contains(&typed.as_str())) {
                    Some(word) => Value::Text(word),
                    None => {
                        let allowed = words.join(", ");
                        return Err(Refusal::NotAChoice { given: text.to_owned(), allowed });
                    }
                }
            }
            Self::Integer(..) => {
                Value::Integer(text.parse().map_err(|_| Refusal::NotANumber(text.to_owned()))?)
            }
            Self::Decimal(..) => {
                crate::quantity::check_form(text)?;
                Value::Decimal(Decimal::parse(text).map_err(|_| Refusal::NotANumber(text.to_owned()))?)
            }
            Self::Length => Value::Length(Length::parse(text)?),
            Self::Money => Value::Money(parse_money(text, currency)?),
            Self::Quantity => Value::Quantity(Quantity::parse(text)?),
            Self::Temperature => Value::Quantity(parse_temperature(text)?),
            Self::Date => Value::Date(text.parse().map_err(|_| Refusal::NotADate(text.to_owned()))?),
            Self::Moment => Value::Moment(parse_moment(text)?),
            Self::Flag => Value::Flag(parse_flag(text)?),
            Self::Reference(_) => {
                Value::Record(text.parse::<RecordId>().map_err(|_| Refusal::NotAnId(text.to_owned()))?)
            }
            Self::Hash => Value::Hash(parse_hash(text)?),
            Self::Part(part) => Value::Text(part.canonical(text)?),
            Self::Bands => Value::Text(Bands::parse(text)?.to_string()),
        };
        self.check(&value)?;
        Ok(value)
    }

    /// Checks a value against the type and its limits.
    ///
    /// # Errors
    /// [`Refusal`] as in [`Self::parse`].
    pub fn check(&self, value: &Value) -> Result<(), Refusal> {
        match (self, value) {
            (Self::Text(limit), Value::Text(text)) => check_text(text, *limit),
            (Self::Choice(words), Value::Text(text)) => {
                if words.contains(&text.as_str()) {
                    return Ok(());
                }
                Err(Refusal::NotAChoice { given: text.clone(), allowed: words.join(", ") })
            }
            (Self::Integer(low, high), Value::Integer(number)) => {
                within(Decimal::from_int(*number), *low, *high)
            }
            (Self::Decimal(low, high), Value::Decimal(number)) => within(*number, *low, *high),
            (Self::Temperature, Value::Quantity(quantity)) => {
                if quantity.unit().is_temperature() {
                    return Ok(());
                }
                Err(Refusal::NotDegrees(quantity.to_string()))
            }
            (Self::Date, Value::Date(date)) => check_date(*date),
            (Self::Moment, Value::Moment(at)) => check_moment(*at),
            (Self::Part(part), Value::Text(text)) => {
                // Stored is the canonical notation only, so equal parts have equal values.
                if part.canonical(text)? == *text { Ok(()) } else { Err(self.wrong_type()) }
            }
            (Self::Bands, Value::Text(text)) => {
                if Bands::parse(text)?.to_string() == *text {
                    Ok(())
                } else {
                    Err(self.wrong_type())
                }
            }
            (Self::Length, Value::Length(_))
            | (Self::Money, Value::Money(_))
            | (Self::Quantity, Value::Quantity(_))
            | (Self::Flag, Value::Flag(_))
            | (Self::Reference(_), Value::Record(_))
            | (Self::Hash, Value::Hash(_)) => Ok(()),
            _ => Err(self.wrong_type()),
        }
    }

    fn wrong_type(&self) -> Refusal {
        Refusal::WrongType { wanted: self.words() }
    }
}

/// Looks whether a new label can be typed as one word and told from a place within another record. Labels that
/// stand are left as they are.
///
/// # Errors
/// [`Refusal::LabelForm`], with a label to use instead.
pub fn check_label(label: &str) -> Result<(), Refusal> {
    let label = label.trim();
    let is_odd = |letter: char| letter.is_whitespace() || matches!(letter, '/' | ':');
    let Some(odd) = label.chars().find(|letter| is_odd(*letter)) else { return Ok(()) };
    let why = match odd {
        '/' => "a slash stands between a record and its part, as in T18/R2",
        ':' => "a colon stands between a kind and its record, as in job:J1",
        _ => "it is typed as one word, without blanks",
    };
    let pieces: Vec<&str> = label.split(is_odd).filter(|piece| !piece.is_empty()).collect();
    Err(Refusal::LabelForm { given: label.to_owned(), why, instead: pieces.join("-") })
}

fn check_text(text: &str, limit: usize) -> Result<(), Refusal> {
    if text.trim().is_empty() {
        return Err(Refusal::Empty);
    }
    let letters = text.chars().count();
    if letters > limit {
        return Err(Refusal::TooLong { letters, limit });
    }
    if text.chars().any(|letter| letter.is_control() && !matches!(letter, '\n' | '\t' | '\r')) {
        return Err(Refusal::ControlCharacter);
    }
    Ok(())
}

fn within(number: Decimal, low: i64, high: i64) -> Result<(), Refusal> {
    if number < Decimal::from_int(low) || number > Decimal::from_int(high) {
        return Err(Refusal::OutOfRange { given: number.to_string(), low, high });
    }
    Ok(())
}

fn check_date(date: Date) -> Result<(), Refusal> {
    if date < FIRST_DAY || date > LAST_DAY {
        return Err(Refusal::DateOutOfRange { given: date, low: FIRST_DAY, high: LAST_DAY });
    }
    Ok(())
}

fn check_moment(at: WrittenAt) -> Result<(), Refusal> {
    let instant = jiff::Timestamp::from_millisecond(at.unix_ms)
        .map_err(|_| Refusal::NotAMoment(at.unix_ms.to_string()))?;
    check_date(jiff::tz::Offset::UTC.to_datetime(instant).date())
}

/// Parses an RFC 3339 moment with its offset.
///
/// # Errors
/// [`Refusal::NotAMoment`] when there is no offset or the text is of another form.
pub fn parse_moment(text: &str) -> Result<WrittenAt, Refusal> {
    let refuse = || Refusal::NotAMoment(text.to_owned());
    let instant: jiff::Timestamp = text.parse().map_err(|_| refuse())?;
    let pieces = jiff::fmt::temporal::DateTimeParser::new().parse_pieces(text).map_err(|_| refuse())?;
    let offset = pieces.to_numeric_offset().unwrap_or(jiff::tz::Offset::UTC);
    let offset_min = i16::try_from(offset.seconds() / 60).map_err(|_| refuse())?;
    Ok(WrittenAt { unix_ms: instant.as_millisecond(), offset_min })
}

/// Money with its own code, or in the notebook's currency without one.
fn parse_money(text: &str, currency: Currency) -> Result<Money, Refusal> {
    crate::quantity::check_form(text)?;
    let is_coded = text.contains(char::is_alphabetic);
    Ok(if is_coded { Money::parse(text)? } else { Money::parse_in(text, currency)? })
}

fn parse_temperature(text: &str) -> Result<Quantity, Refusal> {
    match Quantity::parse(text) {
        Err(QuantityError::NoUnit(_)) => Err(Refusal::NoDegrees(text.to_owned())),
        Err(QuantityError::Unit(_)) => Err(Refusal::NotDegrees(text.to_owned())),
        // A number outside another unit's range is no temperature either.
        Err(QuantityError::OutOfRange { unit, .. }) if !unit.is_temperature() => {
            Err(Refusal::NotDegrees(text.to_owned()))
        }
        read => Ok(read?),
    }
}

fn parse_flag(text: &str) -> Result<bool, Refusal> {
    match text.to_lowercase().as_str() {
        "yes" | "y" | "true" | "1" => Ok(true),
        "no" | "n" | "false" | "0" => Ok(false),
        _ => Err(Refusal::NotAFlag(text.to_owned())),
    }
}

fn parse_hash(text: &str) -> Result<[u8; 32], Refusal> {
    let refuse = || Refusal::NotAHash(text.to_owned());
    if text.len() != 64 || !text.is_ascii() {
        return Err(refuse());
    }
    let mut hash = [0; 32];
    for (byte, pair) in hash.iter_mut().zip(text.as_bytes().chunks(2)) {
        let pair = std::str::from_utf8(pair).map_err(|_| refuse())?;
        *byte = u8::from_str_radix(pair, 16).map_err(|_| refuse())?;
    }
    Ok(hash)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refused(takes: FieldType, text: &str) -> String {
        takes.parse(text, Currency::parse("USD").unwrap()).unwrap_err().to_string()
    }

    #[test]
    fn dates_outside_any_job_are_refused() {
        assert!(refused(FieldType::Date, "1899-12-31").contains("check the year"));
        assert!(refused(FieldType::Date, "2999-01-01").contains("check the year"));
        assert!(refused(FieldType::Date, "2025-02-30").contains("write it like 2025-03-04"));
        assert!(refused(FieldType::Date, "03/04/2025").contains("write it like 2025-03-04"));
    }

    #[test]
    fn texts_keep_their_limits() {
        assert_eq!(refused(FieldType::Text(5), "sixsix"), "6 letters are too many: at most 5");
        assert!(refused(FieldType::Text(50), "a\u{7}b").contains("control character"));
        assert!(refused(FieldType::Text(50), "   ").contains("nothing is given"));
    }

    #[test]
    fn choices_name_what_is_allowed() {
        const WORDS: &[&str] = &["to-do", "done"];
        assert_eq!(refused(FieldType::Choice(WORDS), "later"), "\"later\" is not one of: to-do, done");
        let usd = Currency::parse("USD").unwrap();
        assert_eq!(FieldType::Choice(WORDS).parse("To do", usd), Ok(Value::Text("to-do".into())));
        let rules = FieldType::Choice(crate::kinds::BACKGROUND_RULES);
        assert_eq!(rules.parse("astm_e336", usd), Ok(Value::Text("astm_e336".into())));
    }

    #[test]
    fn an_answer_that_is_refused_is_quoted_as_typed() {
        let averaging = FieldType::Choice(crate::kinds::RESPONSES);
        assert!(refused(averaging, "93.9 dBA").starts_with("\"93.9 dBA\" is not one of: leq"));
    }

    #[test]
    fn temperatures_are_degrees_and_nothing_else() {
        let usd = Currency::parse("USD").unwrap();
        for (text, expected) in [("38 F", "38 °F"), ("-3.5 C", "-3.5 °C")] {
            assert_eq!(FieldType::Temperature.parse(text, usd).unwrap().to_string(), expected);
        }
        for (text, why) in [
            ("38", "does not say which degrees"),
            ("38 dBA", "is no temperature: write degrees"),
            ("400 dBA", "is no temperature: write degrees"),
            ("38 parsecs", "is no temperature: write degrees"),
            ("3,5 C", "write the decimal with a point"),
            ("1000 F", "outside -100 to 500"),
        ] {
            let said = refused(FieldType::Temperature, text);
            assert!(said.contains(why) && !said.contains("69.1"), "{text}: {said}");
        }
        let level = Value::Quantity(Quantity::parse("38 dBA").unwrap());
        assert!(FieldType::Temperature.check(&level).is_err(), "stored ones are judged too");
    }

    #[test]
    fn labels_are_one_word() {
        for label in ["J 2", "J/2", "J: 2"] {
            let said = check_label(label).unwrap_err().to_string();
            assert!(said.contains(&format!("\"{label}\" cannot be a label")), "{said}");
            assert!(said.ends_with("write it like J-2"), "{said}");
        }
        assert_eq!(check_label(" T26-after "), Ok(()));
    }

    #[test]
    fn commas_and_exponents_are_told_apart_from_units() {
        for takes in [FieldType::Decimal(0, 1_000), FieldType::Money, FieldType::Quantity] {
            assert!(refused(takes, "59,0").contains("write the decimal with a point"), "{takes:?}");
            assert!(refused(takes, "1e30").contains("write all digits"), "{takes:?}");
        }
    }

    #[test]
    fn moments_keep_their_offset() {
        let at = parse_moment("2025-05-10T17:10:00-05:00").unwrap();
        assert_eq!(at.offset_min, -300);
        assert_eq!(crate::value::print_moment(at), "2025-05-10T17:10:00-05:00");
        assert!(refused(FieldType::Moment, "2025-05-10 17:10").contains("is not a moment"));
    }

    #[test]
    fn a_stored_value_of_another_type_is_refused() {
        assert!(FieldType::Length.check(&Value::Integer(3)).is_err());
    }
}
