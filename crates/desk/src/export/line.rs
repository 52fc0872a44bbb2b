//! What stands in one line, and how it is read again. Leaves out the order of lines.

use serde_json::{Value as Json, json};
use storypole_journal::{
    Change, ChangeHash, DeviceId, Draft, DraftId, Name, NotebookId, PublicKey, RecordId, SeriesSignature,
    Stamp, Write, WriteId, WrittenAt,
};
use storypole_notebook::Value;
use storypole_notebook::value::print_moment;

use super::{FORMAT, VERSION, value};
use crate::hex;

/// The first line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Header {
    /// The notebook.
    pub notebook: NotebookId,
    /// Its name.
    pub name: String,
    /// Public key of its founding device.
    pub founder_key: PublicKey,
    /// The person at the device that wrote it.
    pub author: RecordId,
    /// When, by the clock of that device, ms since 1970.
    pub made_ms: u64,
    /// Version of the program.
    pub program: String,
    /// Devices with at least one change.
    pub devices: u64,
    /// Changes held.
    pub changes: u64,
    /// Digest of the log.
    pub log: String,
}

/// The last line.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct End {
    /// Changes before it.
    pub changes: u64,
    /// Signatures before it.
    pub signatures: u64,
    /// Changes of branches that do not count.
    pub forked: u64,
    /// Attached files.
    pub files: u64,
}

/// One line that was read.
#[derive(Debug, Clone)]
pub enum Line {
    /// An encoded change.
    Change(Vec<u8>),
    /// An encoded change of a branch that does not count.
    Forked(Vec<u8>),
    /// A signature.
    Signature(SeriesSignature),
    /// An attached file begins; pieces follow until it is whole.
    File {
        /// BLAKE3 of it.
        hash: [u8; 32],
        /// Its size.
        bytes: u64,
    },
    /// A piece of an attached file.
    Piece(Vec<u8>),
    /// The end.
    End(End),
}

/// Why a line cannot be taken.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum LineFault {
    /// Not JSON.
    #[error("it is not one JSON object: check that the file is as it was exported")]
    NotJson,
    /// It is none of the lines of this version.
    #[error("\"{0}\" is unknown to this version: update this program")]
    Unknown(String),
    /// A part is missing or of another form.
    #[error("its \"{0}\" cannot be read: check that the file is as it was exported")]
    Part(&'static str),
    /// A value cannot be read.
    #[error("the value of {kind} {field} cannot be read: check that the file is as it was exported")]
    Value { kind: String, field: String },
    /// The change does not give its hash.
    #[error("the change was altered: it does not give its hash {hash}")]
    Altered { hash: ChangeHash },
}

impl Header {
    /// As it is written.
    pub fn print(&self) -> Json {
        json!({
            "format": FORMAT,
            "version": VERSION,
            "notebook": self.notebook.to_string(),
            "name": self.name,
            "founder_key": hex::print(&self.founder_key.0),
            "author": self.author.to_string(),
            "made_at": crate::backup::manifest::moment(self.made_ms),
            "made_ms": self.made_ms,
            "program": self.program,
            "devices": self.devices,
            "changes": self.changes,
            "log": self.log,
        })
    }

    /// Whether a line is a header of this format, of whatever version.
    pub fn is_one(json: &Json) -> bool {
        json["format"] == FORMAT
    }

    /// Reads a header.
    ///
    /// # Errors
    /// Of a later version, or a part that cannot be read.
    pub fn parse(json: &Json) -> Result<Self, LineFault> {
        let version = number(json, "version")?;
        if version > VERSION {
            return Err(LineFault::Unknown(format!("{FORMAT} {version}")));
        }
        Ok(Self {
            notebook: parsed(json, "notebook")?,
            name: text(json, "name")?.to_owned(),
            founder_key: PublicKey(digits(json, "founder_key")?),
            author: parsed(json, "author")?,
            made_ms: number(json, "made_ms")?,
            program: text(json, "program")?.to_owned(),
            devices: number(json, "devices")?,
            changes: number(json, "changes")?,
            log: text(json, "log")?.to_owned(),
        })
    }
}

/// A change as a line; `what` is `change` or `forked`.
pub fn print_change(what: &str, change: &Change, hash: ChangeHash) -> Json {
    let draft = &change.draft;
    json!({
        "what": what,
        "device": change.device.to_string(),
        "seq": change.seq,
        "hash": hash.to_string(),
        // Beyond what programs that hold numbers as doubles can tell apart.
        "stamp": change.stamp.0.to_string(),
        "prev": change.prev.to_string(),
        "draft": draft.id.to_string(),
        "author": draft.author.to_string(),
        "written_at": print_moment(draft.written_at),
        "written_ms": draft.written_at.unix_ms,
        "offset_min": draft.written_at.offset_min,
        "writes": draft.writes.iter().map(print_write).collect::<Vec<_>>(),
    })
}

fn print_write(write: &Write) -> Json {
    let printed = value::print(&write.value);
    let mut json = json!({
        "record": write.record.to_string(),
        "kind": write.kind.as_str(),
        "field": write.field.as_str(),
    });
    // For people: what stands in words that only programs read.
    if let (true, Ok(Some(value))) = (printed["tag"].is_number(), Value::from_payload(&write.value)) {
        json["shown"] = json!(value.to_string());
    }
    json["value"] = printed;
    if !write.seen.is_empty() {
        let seen = |seen: &WriteId| json!(format!("{}/{}", seen.draft, seen.index));
        json["seen"] = write.seen.iter().map(seen).collect();
    }
    if let Some(reason) = &write.reason {
        json["reason"] = json!(reason);
    }
    json
}

/// A signature as a line.
pub fn print_signature(signature: &SeriesSignature) -> Json {
    json!({
        "what": "signature",
        "device": signature.device.to_string(),
        "count": signature.count,
        "hash": signature.hash.to_string(),
        "signature": hex::print(&signature.bytes),
    })
}

/// The beginning of an attached file as a line.
pub fn print_file(hash: &[u8; 32], bytes: u64) -> Json {
    json!({ "what": "file", "hash": hex::print(hash), "bytes": bytes })
}

/// A piece of it.
pub fn print_piece(piece: &[u8]) -> Json {
    json!({ "what": "piece", "base64": data_encoding::BASE64.encode(piece) })
}

impl End {
    /// As it is written.
    pub fn print(&self) -> Json {
        json!({
            "what": "end",
            "changes": self.changes,
            "signatures": self.signatures,
            "forked": self.forked,
            "files": self.files,
        })
    }
}

/// Reads any line but the header.
///
/// # Errors
/// [`LineFault`]: which part of it cannot be read.
pub fn parse(bytes: &[u8]) -> Result<Line, LineFault> {
    let json: Json = serde_json::from_slice(bytes).map_err(|_| LineFault::NotJson)?;
    match json["what"].as_str().ok_or(LineFault::Part("what"))? {
        "change" => change(&json).map(Line::Change),
        "forked" => change(&json).map(Line::Forked),
        "signature" => Ok(Line::Signature(SeriesSignature {
            device: parsed(&json, "device")?,
            count: number(&json, "count")?,
            hash: ChangeHash(digits(&json, "hash")?),
            bytes: digits(&json, "signature")?,
        })),
        "file" => Ok(Line::File { hash: digits(&json, "hash")?, bytes: number(&json, "bytes")? }),
        "piece" => {
            let piece = data_encoding::BASE64.decode(text(&json, "base64")?.as_bytes());
            piece.map(Line::Piece).map_err(|_| LineFault::Part("base64"))
        }
        "end" => Ok(Line::End(End {
            changes: number(&json, "changes")?,
            signatures: number(&json, "signatures")?,
            forked: number(&json, "forked")?,
            files: number(&json, "files")?,
        })),
        what => Err(LineFault::Unknown(what.to_owned())),
    }
}

/// The bytes of a change, which must give the hash that stands beside them.
fn change(json: &Json) -> Result<Vec<u8>, LineFault> {
    let writes = json["writes"].as_array().ok_or(LineFault::Part("writes"))?;
    let offset = json["offset_min"].as_i64().and_then(|offset| i16::try_from(offset).ok());
    let written_at = WrittenAt {
        unix_ms: json["written_ms"].as_i64().ok_or(LineFault::Part("written_ms"))?,
        offset_min: offset.ok_or(LineFault::Part("offset_min"))?,
    };
    let draft = Draft {
        id: parsed::<DraftId>(json, "draft")?,
        author: parsed(json, "author")?,
        written_at,
        writes: writes.iter().map(write).collect::<Result<_, _>>()?,
    };
    let change = Change {
        device: parsed::<DeviceId>(json, "device")?,
        seq: number(json, "seq")?,
        stamp: Stamp(parsed(json, "stamp")?),
        prev: ChangeHash(digits(json, "prev")?),
        draft,
    };
    let bytes = change.encode();
    let hash = ChangeHash(digits(json, "hash")?);
    if ChangeHash::of(&bytes) == hash { Ok(bytes) } else { Err(LineFault::Altered { hash }) }
}

fn write(json: &Json) -> Result<Write, LineFault> {
    let name = |part: &'static str| Name::new(text(json, part)?).map_err(|_| LineFault::Part(part));
    let (kind, field) = (name("kind")?, name("field")?);
    // A value that is not there is not the value null.
    let value = json.get("value").and_then(value::parse).ok_or_else(|| LineFault::Value {
        kind: kind.as_str().to_owned(),
        field: field.as_str().to_owned(),
    })?;
    let seen = match json.get("seen") {
        None => Vec::new(),
        Some(seen) => {
            let seen = seen.as_array().ok_or(LineFault::Part("seen"))?;
            seen.iter().map(seen_write).collect::<Option<_>>().ok_or(LineFault::Part("seen"))?
        }
    };
    let reason = match json.get("reason") {
        None => None,
        Some(reason) => Some(reason.as_str().ok_or(LineFault::Part("reason"))?.to_owned()),
    };
    Ok(Write { record: parsed(json, "record")?, kind, field, value, seen, reason })
}

fn seen_write(json: &Json) -> Option<WriteId> {
    let (draft, index) = json.as_str()?.split_once('/')?;
    Some(WriteId { draft: draft.parse().ok()?, index: index.parse().ok()? })
}

fn text<'a>(json: &'a Json, part: &'static str) -> Result<&'a str, LineFault> {
    json[part].as_str().ok_or(LineFault::Part(part))
}

fn number(json: &Json, part: &'static str) -> Result<u64, LineFault> {
    json[part].as_u64().ok_or(LineFault::Part(part))
}

fn parsed<T: std::str::FromStr>(json: &Json, part: &'static str) -> Result<T, LineFault> {
    text(json, part)?.parse().map_err(|_| LineFault::Part(part))
}

fn digits<const N: usize>(json: &Json, part: &'static str) -> Result<[u8; N], LineFault> {
    hex::parse(text(json, part)?).ok_or(LineFault::Part(part))
}

#[cfg(test)]
mod tests {
    use storypole_journal::Payload;
    use storypole_notebook::{Quantity, Unit};
    use storypole_units::Decimal;

    use super::*;

    fn change() -> Change {
        let name = |text: &str| Name::new(text).unwrap();
        let record = RecordId::from_bytes([6; 16]);
        let write = |field: &str, value: Payload| Write {
            record,
            kind: name("reading"),
            field: name(field),
            value,
            seen: Vec::new(),
            reason: None,
        };
        let level = Quantity::new(Decimal::parse("61.9").unwrap(), Unit::DbA).unwrap();
        let seen = vec![WriteId { draft: DraftId::from_bytes([7; 16]), index: 1 }];
        let reason = Some("digits swapped".to_owned());
        let corrected = write("value", Value::Quantity(level).to_payload());
        let draft = Draft {
            id: DraftId::from_bytes([3; 16]),
            author: RecordId::from_bytes([4; 16]),
            written_at: WrittenAt { unix_ms: 1_741_100_000_000, offset_min: -300 },
            writes: vec![write("role", Payload::text("receive")), Write { seen, reason, ..corrected }],
        };
        Change {
            device: DeviceId::from_bytes([1; 16]),
            seq: 3,
            stamp: Stamp(77),
            prev: ChangeHash([2; 32]),
            draft,
        }
    }

    /// What a person reads in a line; the hash is the program's own, all else by hand.
    #[test]
    fn a_line_can_be_read_by_people() {
        let change = change();
        let expected = r#"{
  "what": "change",
  "device": "01010101-0101-0101-0101-010101010101",
  "seq": 3,
  "hash": "HASH",
  "stamp": "77",
  "prev": "0202020202020202020202020202020202020202020202020202020202020202",
  "draft": "03030303-0303-0303-0303-030303030303",
  "author": "04040404-0404-0404-0404-040404040404",
  "written_at": "2025-03-04T09:53:20-05:00",
  "written_ms": 1741100000000,
  "offset_min": -300,
  "writes": [
    {
      "record": "06060606-0606-0606-0606-060606060606",
      "kind": "reading",
      "field": "role",
      "value": "receive"
    },
    {
      "record": "06060606-0606-0606-0606-060606060606",
      "kind": "reading",
      "field": "value",
      "shown": "61.9 dBA",
      "value": {
        "tag": 60202,
        "of": [
          {
            "decimal": "61.9"
          },
          "dBA"
        ]
      },
      "seen": [
        "07070707-0707-0707-0707-070707070707/1"
      ],
      "reason": "digits swapped"
    }
  ]
}"#;
        let printed = print_change("change", &change, change.hash());
        assert_eq!(format!("{printed:#}"), expected.replace("HASH", &change.hash().to_string()));
        let Ok(Line::Change(bytes)) = parse(printed.to_string().as_bytes()) else { panic!("it is read") };
        assert_eq!(Change::decode(&bytes), Ok(change));
    }

    #[test]
    fn a_line_that_cannot_be_read_says_which_part() {
        let printed = print_change("change", &change(), change().hash());
        let with = |pointer: &str, value: Json| {
            let mut json = printed.clone();
            *json.pointer_mut(pointer).unwrap() = value;
            parse(json.to_string().as_bytes()).unwrap_err()
        };
        assert_eq!(with("/what", json!("rumour")), LineFault::Unknown("rumour".to_owned()));
        assert_eq!(with("/seq", json!(-1)), LineFault::Part("seq"));
        assert_eq!(with("/device", json!("box")), LineFault::Part("device"));
        assert_eq!(with("/offset_min", json!(40_000)), LineFault::Part("offset_min"));
        assert_eq!(with("/writes/0/kind", json!("Reading")), LineFault::Part("kind"));
        assert_eq!(with("/writes/1/seen/0", json!("x")), LineFault::Part("seen"));
        assert_eq!(with("/writes/1/reason", Json::Null), LineFault::Part("reason"));
        let value = LineFault::Value { kind: "reading".to_owned(), field: "role".to_owned() };
        assert_eq!(with("/writes/0/value", json!({ "other": 1 })), value);
        assert_eq!(with("/writes/0/value", json!("source")), LineFault::Altered { hash: change().hash() });
        assert_eq!(parse(b"[]").unwrap_err(), LineFault::Part("what"));
        assert_eq!(parse(b"{").unwrap_err(), LineFault::NotJson);
    }
}
