//! What is kept and does not count, in spans that a person can look at and decide on.

use rusqlite::{Connection, params};
use storypole_journal::{Change, ChangeHash, DeviceId, Draft, SeriesSignature, WrittenAt};

use crate::read::WhyAside;
use crate::standing::HOLDS_ASIDE;
use crate::store::{decode, from_sql};
use crate::{Reader, StoreError};

/// Changes of one device that follow one another and do not count.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AsideSpan {
    /// Whose.
    pub device: DeviceId,
    /// The first change.
    pub from: u64,
    /// The one after the last.
    pub to: u64,
    /// Why.
    pub why: WhyAside,
    /// When the first was written, by its writer's clock.
    pub first_written: WrittenAt,
    /// When the last was.
    pub last_written: WrittenAt,
}

impl Reader {
    /// What is kept and does not count: of each series what no signature covers or membership leaves out, and the
    /// branches that lost.
    ///
    /// # Errors
    /// Fails when SQLite does, as every method here.
    pub fn aside_spans(&self) -> Result<Vec<AsideSpan>, StoreError> {
        let _one_state = self.one_state()?;
        let connection = self.connection();
        let mut statement = connection.prepare_cached(
            "SELECT d.no, d.device, d.count, d.covered, s.projected FROM series d
             JOIN standing s ON s.series = d.no WHERE s.projected < d.count ORDER BY d.device",
        )?;
        let series: Vec<(i64, [u8; 16], [i64; 3])> = statement
            .query_map([], |row| Ok((row.get(0)?, row.get(1)?, [row.get(2)?, row.get(3)?, row.get(4)?])))?
            .collect::<Result<_, _>>()?;
        let mut spans = Vec::new();
        for (no, device, [count, covered, projected]) in series {
            let device = DeviceId::from_bytes(device);
            for (from, to, why) in [
                (projected, covered, WhyAside::Membership),
                (projected.max(covered), count, WhyAside::Unsigned),
            ] {
                if from < to {
                    let (first_written, last_written) =
                        (written_at(connection, no, from)?, written_at(connection, no, to - 1)?);
                    let (from, to) = (from_sql(from), from_sql(to));
                    spans.push(AsideSpan { device, from, to, why, first_written, last_written });
                }
            }
        }
        spans.extend(branches(connection)?);
        Ok(spans)
    }

    /// The drafts of the branches of a series that lost, as far as the device's signatures cover them, oldest
    /// first, and the hash of the first change. Those that count from another series are among them.
    pub fn branch_drafts(&self, device: DeviceId) -> Result<Option<(ChangeHash, Vec<Draft>)>, StoreError> {
        let _one_state = self.one_state()?;
        let connection = self.connection();
        let mut waiting: Vec<ChangeHash> = signed_aside(connection, device)?;
        let mut taken: Vec<(Change, ChangeHash)> = Vec::new();
        // From each signed change back to where its branch leaves the series.
        while let Some(hash) = waiting.pop() {
            if taken.iter().any(|(_, known)| *known == hash) {
                continue;
            }
            let mut statement = connection
                .prepare_cached("SELECT body FROM forked_changes WHERE device = ?1 AND hash = ?2")?;
            let mut rows = statement.query(params![device.as_bytes(), hash.0])?;
            if let Some(row) = rows.next()? {
                let change = decode(row.get_ref(0)?.as_blob().unwrap_or_default())?;
                waiting.push(change.prev);
                taken.push((change, hash));
            }
        }
        taken.sort_by_key(|(change, hash)| (change.stamp, *hash));
        let first = taken.first().map(|(_, hash)| *hash);
        Ok(first.map(|first| (first, taken.into_iter().map(|(change, _)| change.draft).collect())))
    }
}

fn written_at(connection: &Connection, no: i64, seq: i64) -> Result<WrittenAt, StoreError> {
    let body: Vec<u8> = connection
        .prepare_cached("SELECT body FROM changes WHERE series = ?1 AND seq = ?2")?
        .query_row([no, seq], |row| row.get(0))?;
    Ok(decode(&body)?.draft.written_at)
}

/// The branches that are kept aside, each change once: where one parts again, the rest is a span of its own.
fn branches(connection: &Connection) -> Result<Vec<AsideSpan>, StoreError> {
    let mut statement =
        connection.prepare_cached("SELECT hash, body FROM forked_changes ORDER BY device, seq, hash")?;
    let mut rows = statement.query([])?;
    let mut spans: Vec<(ChangeHash, AsideSpan)> = Vec::new();
    while let Some(row) = rows.next()? {
        let hash = ChangeHash(row.get(0)?);
        let change = decode(row.get_ref(1)?.as_blob().unwrap_or_default())?;
        let (device, written) = (change.device, change.draft.written_at);
        let follows =
            |(last, span): &&mut (ChangeHash, AsideSpan)| *last == change.prev && span.device == device;
        match spans.iter_mut().find(follows) {
            Some((last, span)) => {
                *last = hash;
                (span.to, span.last_written) = (change.seq.saturating_add(1), written);
            }
            None => {
                let (from, to) = (change.seq, change.seq.saturating_add(1));
                let (first_written, last_written) = (written, written);
                let why = WhyAside::Forked;
                spans.push((hash, AsideSpan { device, from, to, why, first_written, last_written }));
            }
        }
    }
    Ok(spans.into_iter().map(|(_, span)| span).collect())
}

/// The changes aside that a signature of their device is over.
fn signed_aside(connection: &Connection, device: DeviceId) -> Result<Vec<ChangeHash>, StoreError> {
    let mut statement = connection.prepare_cached(
        "SELECT g.bytes FROM signatures g JOIN series d ON d.no = g.series
         WHERE d.device = ?1 AND g.verified = ?2",
    )?;
    let mut rows = statement.query(params![device.as_bytes(), HOLDS_ASIDE])?;
    let mut hashes = Vec::new();
    while let Some(row) = rows.next()? {
        let signature = SeriesSignature::decode(row.get_ref(0)?.as_blob().unwrap_or_default())
            .map_err(|_| StoreError::Undecodable { what: "a signature" })?;
        hashes.push(signature.hash);
    }
    Ok(hashes)
}
