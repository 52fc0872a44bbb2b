//! The first member of a backup: what is in it, from which notebook and when. JSON, so that people can read it.

use serde_json::{Value as Json, json};
use storypole_journal::{DeviceId, NotebookId, PublicKey};

use crate::hex;

/// What the manifest calls itself.
const FORMAT: &str = "storypole-backup";

/// The form that is written and the last that is read.
pub const VERSION: u64 = 1;

/// Largest manifest read, bytes: room for half a million files.
pub(crate) const MOST_BYTES: u64 = 64 << 20;

/// What is in a backup.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Manifest {
    /// The notebook.
    pub notebook: NotebookId,
    /// Its name.
    pub name: String,
    /// Public key of its founding device.
    pub founder_key: PublicKey,
    /// The device that made the backup.
    pub device: DeviceId,
    /// What people call that device.
    pub device_label: Option<String>,
    /// When, by the clock of that device, ms since 1970.
    pub made_ms: u64,
    /// Version of the program that made it.
    pub program: String,
    /// Changes held.
    pub changes: u64,
    /// Digest of the log.
    pub log: String,
    /// Version of the tables.
    pub projection: String,
    /// Digest of the tables.
    pub tables: String,
    /// Every member after this one, in order.
    pub members: Vec<Member>,
    /// Files that the notebook names and that were not on that device.
    pub missing: Vec<[u8; 32]>,
    /// Files that had changed on its disk; they are left out.
    pub altered: Vec<[u8; 32]>,
}

/// One member.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Member {
    /// Its name.
    pub name: String,
    /// Its size.
    pub bytes: u64,
    /// BLAKE3 of its content.
    pub blake3: [u8; 32],
}

/// Why bytes are no manifest.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ManifestFault {
    /// Not a manifest of this program.
    #[error("it does not say that it is a backup of this program")]
    Foreign,
    /// Of a later version.
    #[error("it is of version {found}, this program reads up to {VERSION}: update this program")]
    Newer { found: u64 },
    /// A part is missing or of another form.
    #[error("its \"{0}\" cannot be read")]
    Part(&'static str),
}

impl Manifest {
    /// As it is written.
    pub(crate) fn print(&self) -> String {
        let hashes = |hashes: &[[u8; 32]]| hashes.iter().map(|hash| hex::print(hash)).collect::<Vec<_>>();
        let members: Vec<Json> = self
            .members
            .iter()
            .map(|member| {
                json!({ "name": member.name, "bytes": member.bytes, "blake3": hex::print(&member.blake3) })
            })
            .collect();
        let json = json!({
            "format": FORMAT,
            "version": VERSION,
            "notebook": self.notebook.to_string(),
            "name": self.name,
            "founder_key": hex::print(&self.founder_key.0),
            "device": self.device.to_string(),
            "device_label": self.device_label,
            "made_at": moment(self.made_ms),
            "made_ms": self.made_ms,
            "program": self.program,
            "changes": self.changes,
            "log": self.log,
            "projection": self.projection,
            "tables": self.tables,
            "members": members,
            "missing": hashes(&self.missing),
            "altered": hashes(&self.altered),
        });
        format!("{json:#}\n")
    }

    /// Reads what [`Self::print`] wrote.
    pub(crate) fn parse(bytes: &[u8]) -> Result<Self, ManifestFault> {
        let json: Json = serde_json::from_slice(bytes).map_err(|_| ManifestFault::Foreign)?;
        if json["format"] != FORMAT {
            return Err(ManifestFault::Foreign);
        }
        let number = |name: &'static str| json[name].as_u64().ok_or(ManifestFault::Part(name));
        let found = number("version")?;
        if found > VERSION {
            return Err(ManifestFault::Newer { found });
        }
        let text = |name: &'static str| json[name].as_str().ok_or(ManifestFault::Part(name));
        let key = hex::parse(text("founder_key")?).ok_or(ManifestFault::Part("founder_key"))?;
        Ok(Self {
            notebook: text("notebook")?.parse().map_err(|_| ManifestFault::Part("notebook"))?,
            name: text("name")?.to_owned(),
            founder_key: PublicKey(key),
            device: text("device")?.parse().map_err(|_| ManifestFault::Part("device"))?,
            device_label: json["device_label"].as_str().map(str::to_owned),
            made_ms: number("made_ms")?,
            program: text("program")?.to_owned(),
            changes: number("changes")?,
            log: text("log")?.to_owned(),
            projection: text("projection")?.to_owned(),
            tables: text("tables")?.to_owned(),
            members: list(&json, "members")?.iter().map(member).collect::<Result<_, _>>()?,
            missing: hashes(&json, "missing")?,
            altered: hashes(&json, "altered")?,
        })
    }

    /// Bytes of all members after the manifest.
    pub fn bytes(&self) -> u64 {
        self.members.iter().map(|member| member.bytes).fold(0, u64::saturating_add)
    }

    /// How many attached files are in it.
    pub fn files(&self) -> usize {
        self.members.iter().filter(|member| member.name.starts_with("attachments/")).count()
    }

    /// Whether a pass is in it, with which a restored copy lets itself in.
    pub fn has_pass(&self) -> bool {
        self.members.iter().any(|member| member.name == super::PASS)
    }
}

fn list<'a>(json: &'a Json, name: &'static str) -> Result<&'a Vec<Json>, ManifestFault> {
    json[name].as_array().ok_or(ManifestFault::Part(name))
}

fn hashes(json: &Json, name: &'static str) -> Result<Vec<[u8; 32]>, ManifestFault> {
    let hash = |json: &Json| json.as_str().and_then(hex::parse).ok_or(ManifestFault::Part(name));
    list(json, name)?.iter().map(hash).collect()
}

fn member(json: &Json) -> Result<Member, ManifestFault> {
    let fault = ManifestFault::Part("members");
    let name = json["name"].as_str().ok_or_else(|| fault.clone())?.to_owned();
    let bytes = json["bytes"].as_u64().ok_or_else(|| fault.clone())?;
    let blake3 = json["blake3"].as_str().and_then(hex::parse).ok_or(fault)?;
    Ok(Member { name, bytes, blake3 })
}

/// A moment of a device's clock as RFC 3339 in UTC, to the second.
pub(crate) fn moment(unix_ms: u64) -> String {
    let second = i64::try_from(unix_ms / 1000).unwrap_or(i64::MAX);
    jiff::Timestamp::from_second(second).map_or_else(|_| "unknown".to_owned(), |at| at.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn manifest() -> Manifest {
        Manifest {
            notebook: NotebookId::founded_by(DeviceId::from_bytes([1; 16])),
            name: "Mill house".to_owned(),
            founder_key: PublicKey([2; 32]),
            device: DeviceId::from_bytes([3; 16]),
            device_label: None,
            made_ms: 1_741_100_000_123,
            program: "0.1.0".to_owned(),
            changes: 12,
            log: "aa".to_owned(),
            projection: "bb".to_owned(),
            tables: "cc".to_owned(),
            members: vec![Member { name: "notebook.db".to_owned(), bytes: 4096, blake3: [4; 32] }],
            missing: vec![[5; 32]],
            altered: Vec::new(),
        }
    }

    #[test]
    fn what_is_printed_is_read_again() {
        let manifest = manifest();
        let text = manifest.print();
        assert_eq!(Manifest::parse(text.as_bytes()), Ok(manifest));
        // 1741100000 is 2025-03-04 14:53:20 UTC (by hand, from 20151 days after 1970-01-01).
        assert!(text.contains("\"made_at\": \"2025-03-04T14:53:20Z\""), "{text}");
    }

    #[test]
    fn what_is_no_manifest_says_why() {
        let text = manifest().print();
        let with = |from: &str, to: &str| Manifest::parse(text.replace(from, to).as_bytes());
        assert_eq!(with("storypole-backup", "other"), Err(ManifestFault::Foreign));
        assert_eq!(with("\"version\": 1", "\"version\": 2"), Err(ManifestFault::Newer { found: 2 }));
        assert_eq!(with("\"changes\": 12", "\"changes\": -1"), Err(ManifestFault::Part("changes")));
        assert_eq!(with("\"bytes\": 4096", "\"bytes\": \"x\""), Err(ManifestFault::Part("members")));
        assert_eq!(Manifest::parse(b"PK"), Err(ManifestFault::Foreign));
    }
}
