//! Values of the notebook to SQL columns and back. Leaves out which columns there are: see `schema`.

use rusqlite::types::{Value as Sql, ValueRef};
use storypole_journal::{RecordId, WrittenAt};
use storypole_notebook::{FieldType, Quantity, Value};
use storypole_units::{Currency, Decimal, Length, Money};

/// Pushes the columns of one field: as many as [`crate::schema::columns_of`] names.
pub(crate) fn push(takes: &FieldType, value: Option<Value>, into: &mut Vec<Sql>) {
    let text = |text: &dyn ToString| Sql::Text(text.to_string());
    match value {
        None => {
            into.push(Sql::Null);
            if is_wide(takes) {
                into.push(Sql::Null);
            }
        }
        Some(Value::Text(words)) => into.push(Sql::Text(words)),
        Some(Value::Integer(number)) => into.push(Sql::Integer(number)),
        Some(Value::Decimal(number)) => into.push(text(&number)),
        Some(Value::Length(length)) => into.push(Sql::Integer(length.nm())),
        Some(Value::Money(money)) => {
            into.push(text(&money.amount));
            into.push(text(&money.currency.code()));
        }
        Some(Value::Quantity(quantity)) => {
            into.push(text(&quantity.number()));
            into.push(text(&quantity.unit()));
        }
        Some(Value::Date(date)) => into.push(text(&date)),
        Some(Value::Moment(at)) => {
            into.push(Sql::Integer(at.unix_ms));
            into.push(Sql::Integer(i64::from(at.offset_min)));
        }
        Some(Value::Flag(flag)) => into.push(Sql::Integer(i64::from(flag))),
        Some(Value::Record(id)) => into.push(Sql::Blob(id.as_bytes().to_vec())),
        Some(Value::Hash(hash)) => into.push(Sql::Blob(hash.to_vec())),
    }
}

fn is_wide(takes: &FieldType) -> bool {
    matches!(takes, FieldType::Money | FieldType::Quantity | FieldType::Temperature | FieldType::Moment)
}

/// How many columns a field has.
pub(crate) fn width(takes: &FieldType) -> usize {
    1 + usize::from(is_wide(takes))
}

/// Reads the columns of one field; `None` where nothing stands there or it is not legal.
pub(crate) fn pull(takes: &FieldType, row: &rusqlite::Row<'_>, at: usize) -> rusqlite::Result<Option<Value>> {
    let first = row.get_ref(at)?;
    if first == ValueRef::Null {
        return Ok(None);
    }
    let text = || first.as_str().ok();
    let second = |row: &rusqlite::Row<'_>| row.get::<_, Option<String>>(at + 1);
    Ok(match takes {
        FieldType::Text(_) | FieldType::Choice(_) | FieldType::Part(_) | FieldType::Bands => {
            text().map(|words| Value::Text(words.to_owned()))
        }
        FieldType::Date => text().and_then(|date| date.parse().ok()).map(Value::Date),
        FieldType::Decimal(..) => text().and_then(|number| Decimal::parse(number).ok()).map(Value::Decimal),
        FieldType::Integer(..) => first.as_i64().ok().map(Value::Integer),
        FieldType::Length => first.as_i64().ok().and_then(|nm| Length::from_nm(nm).ok()).map(Value::Length),
        FieldType::Flag => first.as_i64().ok().map(|flag| Value::Flag(flag != 0)),
        FieldType::Reference(_) => first
            .as_blob()
            .ok()
            .and_then(|id| id.try_into().ok())
            .map(RecordId::from_bytes)
            .map(Value::Record),
        FieldType::Hash => first.as_blob().ok().and_then(|hash| hash.try_into().ok()).map(Value::Hash),
        FieldType::Money => {
            let amount = text().and_then(|amount| Decimal::parse(amount).ok());
            let currency = second(row)?.and_then(|code| Currency::parse(&code).ok());
            amount.zip(currency).map(|(amount, currency)| Value::Money(Money::new(amount, currency)))
        }
        FieldType::Quantity | FieldType::Temperature => {
            let number = text().and_then(|number| Decimal::parse(number).ok());
            let unit = second(row)?.and_then(|unit| unit.parse().ok());
            number.zip(unit).and_then(|(number, unit)| Quantity::new(number, unit).ok()).map(Value::Quantity)
        }
        FieldType::Moment => {
            let unix_ms = first.as_i64().ok();
            let offset_min = row.get::<_, Option<i16>>(at + 1)?;
            unix_ms
                .zip(offset_min)
                .map(|(unix_ms, offset_min)| Value::Moment(WrittenAt { unix_ms, offset_min }))
        }
    })
}
