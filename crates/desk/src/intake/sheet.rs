//! CSV: header and rows become cells by column name. Leaves out what the columns mean.

use std::collections::BTreeMap;

use csv::ByteRecord;

use super::LINE_LIMIT;
use super::layout::{LAYOUTS, Layout};
use super::plan::{Fault, Plans};
use super::reason::Reason;

/// One row: the cells that are not empty, by column.
#[derive(Debug)]
pub(super) struct SheetRow {
    /// The line it starts in.
    pub(super) line: u64,
    cells: BTreeMap<&'static str, String>,
}

impl SheetRow {
    /// Takes a cell out; `None` if it is empty or not there.
    pub(super) fn take(&mut self, column: &str) -> Option<String> {
        self.cells.remove(column)
    }

    /// Puts a cell in unless there is one.
    pub(super) fn fill(&mut self, column: &'static str, text: String) {
        self.cells.entry(column).or_insert(text);
    }
}

/// Reads the table. Without a header that can be understood nothing is taken.
pub(super) fn read(bytes: &[u8]) -> Plans {
    let mut reader = csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(bytes);
    let mut records = Records { lines: LineCount::new(bytes), reader: &mut reader };
    let Some(header) = records.next() else { return (Vec::new(), vec![Fault::line(1, Reason::NoHeader)]) };
    let header = match header.and_then(|(line, record)| Header::read(line, &record).map_err(Faults::Many)) {
        Ok(header) => header,
        Err(faults) => return (Vec::new(), faults.into_list()),
    };
    let (mut rows, mut faults) = (Vec::new(), Vec::new());
    for record in records {
        match record.and_then(|(line, record)| header.row(line, &record).map_err(Faults::One)) {
            Ok(row) => rows.extend(row),
            Err(more) => faults.extend(more.into_list()),
        }
    }
    let (plans, more) = header.layout.plans(rows);
    faults.extend(more);
    (plans, faults)
}

enum Faults {
    One(Fault),
    Many(Vec<Fault>),
}

impl Faults {
    fn into_list(self) -> Vec<Fault> {
        match self {
            Self::One(fault) => vec![fault],
            Self::Many(faults) => faults,
        }
    }
}

/// Records with the line each starts in.
struct Records<'r, 'b> {
    reader: &'r mut csv::Reader<&'b [u8]>,
    lines: LineCount<'b>,
}

impl Iterator for Records<'_, '_> {
    type Item = Result<(u64, ByteRecord), Faults>;

    fn next(&mut self) -> Option<Self::Item> {
        let mut record = ByteRecord::new();
        let start = self.reader.position().byte();
        let read = self.reader.read_byte_record(&mut record);
        let line = self.lines.at(start as usize);
        match read {
            Ok(true) if record.as_slice().len() > LINE_LIMIT => {
                Some(Err(Faults::One(Fault::line(line, Reason::LineTooLong { limit: LINE_LIMIT }))))
            }
            Ok(true) => Some(Ok((line, record))),
            Ok(false) => None,
            Err(error) => {
                Some(Err(Faults::One(Fault::line(line, Reason::BrokenRow { words: error.to_string() }))))
            }
        }
    }
}

/// Counts lines up to a byte. The reader's own count stays behind where blank lines are passed over.
struct LineCount<'b> {
    bytes: &'b [u8],
    byte: usize,
    line: u64,
}

impl<'b> LineCount<'b> {
    fn new(bytes: &'b [u8]) -> Self {
        Self { bytes, byte: 0, line: 1 }
    }

    /// The line of the first byte at or after `start` that ends no line. `start` never goes back.
    fn at(&mut self, start: usize) -> u64 {
        let ends = |byte: u8| matches!(byte, b'\n' | b'\r');
        while self.byte < self.bytes.len() && (self.byte < start || ends(self.bytes[self.byte])) {
            self.line += u64::from(self.bytes[self.byte] == b'\n');
            self.byte += 1;
        }
        self.line
    }
}

/// The header, understood: for each column of the file the column of the table and a unit.
struct Header {
    layout: &'static Layout,
    columns: Vec<Option<(&'static str, Option<String>)>>,
}

impl Header {
    fn read(line: u64, record: &ByteRecord) -> Result<Self, Vec<Fault>> {
        let names = texts(line, record).map_err(|fault| vec![fault])?;
        let named: Vec<(String, Option<String>)> = names.iter().map(|name| split_unit(name)).collect();
        let plain: Vec<&str> =
            named.iter().map(|(name, _)| name.as_str()).filter(|name| !name.is_empty()).collect();
        if let (Some(by), [one]) = (divider(&names), &names[..])
            && Layout::find(&one.split([';', '\t']).map(str::trim).collect::<Vec<_>>()).is_some()
        {
            return Err(vec![Fault::line(line, Reason::OtherDivider { by })]);
        }
        let Some(layout) = Layout::find(&plain) else {
            return Err(vec![Fault::line(line, Reason::UnknownTable { known: tables() })]);
        };
        let faults = check(layout, line, &plain, &named);
        if !faults.is_empty() {
            return Err(faults);
        }
        let columns =
            named.into_iter().map(|(name, unit)| Some((layout.column(&name)?.name, unit))).collect();
        Ok(Self { layout, columns })
    }

    /// A row as cells by column; `None` if it is blank.
    fn row(&self, line: u64, record: &ByteRecord) -> Result<Option<SheetRow>, Fault> {
        let texts = texts(line, record)?;
        if let Some(last) = swallowed(line, &texts, self.columns.len()) {
            return Err(Fault::line(line, Reason::OpenQuote { last }));
        }
        if texts.iter().all(|text| text.trim().is_empty()) {
            return Ok(None);
        }
        let unnamed = |index: usize| self.columns[index].is_none() && !texts[index].trim().is_empty();
        if texts.len() != self.columns.len() || (0..texts.len()).any(unnamed) {
            let columns = self.columns.iter().flatten().count();
            return Err(Fault::line(line, Reason::CellCount { count: texts.len(), columns }));
        }
        let filled = self.columns.iter().zip(texts).filter(|(_, text)| !text.trim().is_empty());
        let cells = filled.filter_map(|(column, text)| {
            let (name, unit) = column.as_ref()?;
            Some((*name, with_unit(text.trim(), unit.as_deref())))
        });
        Ok(Some(SheetRow { line, cells: cells.collect() }))
    }
}

/// The last line a cell reaches, where it holds whole rows of the table: as many commas in one of its lines as
/// there are columns is no sentence.
fn swallowed(line: u64, texts: &[String], columns: usize) -> Option<u64> {
    let row_like = |text: &str| text.matches(',').count() + 1 >= columns.max(3);
    let cell = texts.iter().find(|text| text.lines().skip(1).any(row_like))?;
    let breaks = cell.trim_end_matches(['\n', '\r']).matches('\n').count();
    Some(line + u64::try_from(breaks).unwrap_or(0))
}

/// What stands between the columns, where it is no comma.
fn divider(names: &[String]) -> Option<&'static str> {
    let held = |letter: char| names.iter().any(|name| name.contains(letter));
    match (held(';'), held('\t')) {
        (true, _) => Some("semicolons"),
        (_, true) => Some("tabs"),
        _ => None,
    }
}

fn check(layout: &Layout, line: u64, plain: &[&str], named: &[(String, Option<String>)]) -> Vec<Fault> {
    let what = layout.what;
    let mut reasons = Vec::new();
    let unknown: Vec<&str> = plain.iter().copied().filter(|name| layout.column(name).is_none()).collect();
    if !unknown.is_empty() {
        let known: Vec<&str> = layout.columns.iter().map(|column| column.name).collect();
        reasons.push(Reason::UnknownColumns { what, names: unknown.join(", "), known: known.join(", ") });
    }
    let missing: Vec<&str> = layout.needed.iter().copied().filter(|name| !plain.contains(name)).collect();
    if !missing.is_empty() {
        reasons.push(Reason::MissingColumns { what, names: missing.join(", ") });
    }
    let twice = plain.iter().enumerate().find(|(index, name)| plain[..*index].contains(name));
    reasons.extend(twice.map(|(_, name)| Reason::RepeatedColumn { name: (*name).to_owned() }));
    let plain_unit = |(name, unit): &(String, Option<String>)| {
        let takes_unit = layout.column(name).is_none_or(super::layout::Column::takes_unit);
        let unit = unit.clone().filter(|_| !takes_unit)?;
        Some(Reason::UnitOnPlainColumn { name: name.clone(), unit })
    };
    reasons.extend(named.iter().filter_map(plain_unit));
    reasons.into_iter().map(|reason| Fault::line(line, reason)).collect()
}

fn tables() -> String {
    let one = |layout: &Layout| format!("{} have {}", layout.what, layout.needed.join(", "));
    LAYOUTS.iter().map(one).collect::<Vec<_>>().join("; ")
}

fn texts(line: u64, record: &ByteRecord) -> Result<Vec<String>, Fault> {
    let text = |cell: &[u8]| String::from_utf8(cell.to_vec()).map_err(|_| Fault::line(line, Reason::NotUtf8));
    record.iter().map(text).collect()
}

/// Splits `value [dBA]`; names are read whatever their case.
fn split_unit(header: &str) -> (String, Option<String>) {
    let (name, unit) = match header.trim().strip_suffix(']').and_then(|rest| rest.split_once('[')) {
        Some((name, unit)) => (name, Some(unit.trim().to_owned())),
        None => (header, None),
    };
    (name.trim().to_lowercase(), unit)
}

/// Puts the header's unit behind a bare number; a cell with its own unit keeps it.
fn with_unit(text: &str, unit: Option<&str>) -> String {
    let bare = |letter: char| letter.is_numeric() || matches!(letter, '.' | '-' | '+' | '/' | ' ');
    match unit {
        Some(unit) if text.chars().all(bare) => format!("{text} {unit}"),
        _ => text.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_unit_in_the_header_goes_behind_bare_numbers_only() {
        assert_eq!(split_unit(" Value [dBA]"), ("value".to_owned(), Some("dBA".to_owned())));
        assert_eq!(split_unit("value"), ("value".to_owned(), None));
        for (text, with) in [
            ("69.1", "69.1 dBA"),
            ("69.1 dBC", "69.1 dBC"),
            ("-3", "-3 dBA"),
            ("NaN", "NaN"),
            ("7 3/4", "7 3/4 dBA"),
        ] {
            assert_eq!(with_unit(text, Some("dBA")), with);
        }
        assert_eq!(with_unit("69.1", None), "69.1");
    }

    #[test]
    fn tables_divided_by_semicolons_are_told_from_unknown_ones() {
        for (text, by) in
            [("set;role;value\nT01;direct;1 dB\n", "semicolons"), ("set\trole\tvalue\n", "tabs")]
        {
            let (plans, faults) = read(text.as_bytes());
            assert!(plans.is_empty());
            assert_eq!(faults[0].reason, Reason::OtherDivider { by });
        }
    }

    #[test]
    fn an_open_quote_is_named_where_it_takes_in_rows() {
        let text = "set,role,value,note\nT01,direct,1 dB,\"left open\nT02,direct,2 dB,\nT03,direct,3 dB,\n";
        let (plans, faults) = read(text.as_bytes());
        assert!(plans.is_empty());
        assert_eq!((faults[0].line, &faults[0].reason), (2, &Reason::OpenQuote { last: 4 }));
        let text = "set,role,value,note\nT01,direct,1 dB,\"two lines,\nof a note\"\n";
        let (plans, faults) = read(text.as_bytes());
        assert_eq!((plans.len(), faults.len()), (1, 0), "a note of two lines is none");
    }

    #[test]
    fn rows_know_the_line_they_start_in() {
        let text =
            b"set,role,value\r\n\r\n\r\nT01,direct,\"1 dB\n\"\r\nT02,direct,2 dB\n\n,,\nT03,direct,3 dB";
        let (plans, faults) = read(text);
        assert!(faults.is_empty(), "{faults:?}");
        assert_eq!(plans.iter().map(|plan| plan.line).collect::<Vec<_>>(), [4, 6, 9]);
    }
}
