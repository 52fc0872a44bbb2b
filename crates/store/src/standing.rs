//! Whose changes count: membership judged, signatures verified, and the tables brought to what they allow.
//!
//! Of each series a prefix is projected: what a verified signature covers and membership allows. When either
//! moves, the changes between are set aside or projected here.

use std::collections::HashMap;

use rusqlite::{Connection, params};
use storypole_journal::membership::{self, Limit, MembershipWrite, Standing};
use storypole_journal::{Change, DeviceId, DraftId, NotebookId, Place, PublicKey, SeriesSignature};

use crate::project::{Touched, carrier, project_any, records_of, refold_all};
use crate::store::{State, decode, from_sql, to_sql};
use crate::{StoreError, arrive, forks};

/// The copy whose membership is judged.
#[derive(Clone, Copy)]
pub(crate) struct Here<'a> {
    pub(crate) connection: &'a Connection,
    pub(crate) notebook: NotebookId,
    pub(crate) founder_key: PublicKey,
    pub(crate) state: &'a State,
}

/// What came, as far as it may move what counts.
pub(crate) struct Arrived<'a> {
    pub(crate) signatures: &'a [SeriesSignature],
    /// Whether another branch of a series that forked may count now.
    pub(crate) forks_may_move: bool,
}

/// A branch that a series might have from a change on, in place of what is held.
pub(crate) struct Instead<'a> {
    pub(crate) from: u64,
    pub(crate) count: u64,
    /// Its changes that hold membership.
    pub(crate) membership: Vec<&'a Change>,
}

/// Who may write what, as judged from the membership held here.
pub(crate) fn standing(connection: &Connection, notebook: NotebookId) -> Result<Standing, StoreError> {
    standing_with(connection, notebook, &HashMap::new())
}

/// The same, were some series held on other branches.
pub(crate) fn standing_with(
    connection: &Connection,
    notebook: NotebookId,
    instead: &HashMap<DeviceId, Instead<'_>>,
) -> Result<Standing, StoreError> {
    let mut statement = connection.prepare_cached("SELECT device, covered FROM series")?;
    let mut covered: HashMap<DeviceId, u64> = statement
        .query_map([], |row| Ok((DeviceId::from_bytes(row.get(0)?), from_sql(row.get(1)?))))?
        .collect::<Result<_, _>>()?;
    for (device, branch) in instead {
        covered.insert(*device, branch.count);
    }
    let writes = membership_writes(connection, notebook, instead)?;
    Ok(membership::judge_signed(notebook, &writes, |device, _| covered.get(&device).copied().unwrap_or(0)))
}

/// Every membership write that may count: those of covered changes, and of other first changes the invitation that
/// their own device brings along.
fn membership_writes(
    connection: &Connection,
    notebook: NotebookId,
    instead: &HashMap<DeviceId, Instead<'_>>,
) -> Result<Vec<MembershipWrite>, StoreError> {
    let mut statement = connection.prepare_cached(
        "SELECT c.body, c.seq < d.covered FROM membership_changes m JOIN changes c ON c.no = m.no
         JOIN series d ON d.no = c.series WHERE c.seq < d.covered OR c.seq = 0",
    )?;
    let mut writes = Vec::new();
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let change = decode(row.get_ref(0)?.as_blob().unwrap_or_default())?;
        let is_held = instead.get(&change.device).is_none_or(|branch| change.seq < branch.from);
        if row.get(1)? && is_held {
            push_all(&mut writes, &change);
        } else if change.seq == 0 {
            push_vouched(&mut writes, notebook, &change);
        }
    }
    // A vouch is its voucher's word, on whatever branch it came.
    let mut statement = connection.prepare_cached(
        "SELECT f.body FROM series d JOIN forked_changes f ON f.device = d.device AND f.seq = 0",
    )?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        push_vouched(&mut writes, notebook, &decode(row.get_ref(0)?.as_blob().unwrap_or_default())?);
    }
    for change in instead.values().flat_map(|branch| &branch.membership) {
        push_all(&mut writes, change);
    }
    Ok(writes)
}

fn push_all(writes: &mut Vec<MembershipWrite>, change: &Change) {
    writes.extend(carried(change));
}

/// Pushes what a first change says of its own device, where it brings a vouch. The founder needs none.
fn push_vouched(writes: &mut Vec<MembershipWrite>, notebook: NotebookId, change: &Change) {
    let own = change.device.membership_record();
    let is_vouched = carried(change)
        .any(|carried| carried.write.record == own && carried.write.field.as_str() == membership::VOUCHED);
    if is_vouched && change.device != notebook.founder() {
        let fields = [membership::KEY, membership::ROLE, membership::VOUCHED];
        writes.extend(
            carried(change).filter(|carried| {
                carried.write.record == own && fields.contains(&carried.write.field.as_str())
            }),
        );
    }
}

fn carried(change: &Change) -> impl Iterator<Item = MembershipWrite> + '_ {
    let at = (change.device, change.seq);
    let place = Place { stamp: change.stamp, device: change.device };
    let memberships = change.draft.numbered().filter(|(_, write)| write.kind.as_str() == membership::KIND);
    memberships.map(move |(write_id, write)| MembershipWrite { at, place, write_id, write: write.clone() })
}

fn allowed(standing: &Standing, device: DeviceId) -> i64 {
    match standing.limit(device) {
        Limit::NotMember | Limit::Viewer => 0,
        Limit::Upto(count, _) => to_sql(count),
        Limit::Whole => i64::MAX,
    }
}

/// Judges membership anew and brings the tables to what it allows.
///
/// `last_before` is the number of the last change that followers of the log may know: when an older one begins
/// to count, or one ceases to, they are told by the generation.
pub(crate) fn settle_standing(
    connection: &Connection,
    notebook: NotebookId,
    series: &HashMap<DeviceId, i64>,
    last_before: i64,
) -> Result<Standing, StoreError> {
    let standing = standing(connection, notebook)?;
    let mut to_add: Vec<(i64, i64, i64)> = Vec::new();
    let mut removed = Removed::default();
    for (device, no) in series {
        let allowed = allowed(&standing, *device);
        let (covered, projected): (i64, i64) = connection
            .prepare_cached(
                "SELECT d.covered, s.projected FROM series d JOIN standing s ON s.series = d.no WHERE d.no = ?1",
            )?
            .query_row([no], |row| Ok((row.get(0)?, row.get(1)?)))?;
        let target = covered.min(allowed);
        if target < projected {
            set_aside(connection, *no, target, projected, &mut removed)?;
        } else if target > projected {
            to_add.push((*no, projected, target));
        }
        connection
            .prepare_cached(
                "UPDATE standing SET allowed = ?2, projected = min(projected, ?3) WHERE series = ?1",
            )?
            .execute(params![no, allowed, target])?;
    }
    let ceased = !removed.drafts.is_empty();
    removed.refold(connection)?;
    let older = add_in_order(connection, &to_add, last_before)?;
    if ceased || older {
        connection.execute("UPDATE projection SET generation = generation + 1", [])?;
    }
    Ok(standing)
}

/// What changes set aside had touched.
#[derive(Default)]
pub(crate) struct Removed {
    records: Touched,
    drafts: Vec<DraftId>,
}

impl Removed {
    /// Folds all of it anew, once nothing of it counts as projected any more.
    pub(crate) fn refold(mut self, connection: &Connection) -> Result<(), StoreError> {
        // A draft set aside here may be carried by another series too, even with other content: that counts now.
        for draft in &self.drafts {
            if let Some(twin) = carrier(connection, *draft)? {
                for (record, kinds) in records_of(&twin) {
                    self.records.entry(record).or_default().extend(kinds);
                }
            }
        }
        refold_all(connection, self.records, &self.drafts)
    }
}

/// Takes note of what the projected changes `from..to` of a series had touched.
pub(crate) fn set_aside(
    connection: &Connection,
    series: i64,
    from: i64,
    to: i64,
    removed: &mut Removed,
) -> Result<(), StoreError> {
    let mut statement =
        connection.prepare_cached("SELECT body FROM changes WHERE series = ?1 AND seq >= ?2 AND seq < ?3")?;
    let mut rows = statement.query([series, from, to])?;
    while let Some(row) = rows.next()? {
        let change = decode(row.get_ref(0)?.as_blob().unwrap_or_default())?;
        removed.drafts.push(change.draft.id);
        for (record, kinds) in records_of(&change) {
            removed.records.entry(record).or_default().extend(kinds);
        }
    }
    Ok(())
}

/// Projects the spans `(series, from, to)`, merged by stamp; true when one of them is not after `last_before`.
fn add_in_order(
    connection: &Connection,
    spans: &[(i64, i64, i64)],
    last_before: i64,
) -> Result<bool, StoreError> {
    let mut pending: Vec<(i64, i64, i64, i64)> = Vec::new();
    for (series, from, to) in spans {
        let mut statement = connection.prepare_cached(
            "SELECT stamp, no, seq FROM changes WHERE series = ?1 AND seq >= ?2 AND seq < ?3",
        )?;
        let mut rows = statement.query([series, from, to])?;
        while let Some(row) = rows.next()? {
            pending.push((row.get(0)?, row.get(1)?, *series, row.get(2)?));
        }
    }
    pending.sort_unstable();
    let older = pending.iter().any(|(_, no, ..)| *no <= last_before);
    for (_, no, series, seq) in pending {
        let body: Vec<u8> = connection
            .prepare_cached("SELECT body FROM changes WHERE no = ?1")?
            .query_row([no], |row| row.get(0))?;
        connection
            .prepare_cached("UPDATE standing SET projected = ?2 WHERE series = ?1")?
            .execute([series, seq + 1])?;
        project_any(connection, no, &decode(&body)?)?;
    }
    Ok(older)
}

/// Keeps new signatures, verifies what can be verified, projects what they cover, and brings every series to the
/// branch that counts, until nothing moves. Returns the series whose branch was changed.
pub(crate) fn verify_and_settle(
    here: &Here<'_>,
    arrived: &Arrived<'_>,
    last_before: i64,
) -> Result<Vec<DeviceId>, StoreError> {
    let Here { connection, notebook, founder_key, state } = *here;
    let mut swapped: Vec<DeviceId> = Vec::new();
    let mut forks_may_move = keep_signatures(here, arrived.signatures)? | arrived.forks_may_move;
    loop {
        let standing = settle_standing(connection, notebook, &state.series, last_before)?;
        let key_of = |device: DeviceId| {
            if device == notebook.founder() { Some(founder_key) } else { standing.key(device) }
        };
        let moved = verify_pending(connection, notebook, &key_of)?;
        forks_may_move |= moved;
        let now = if forks_may_move { forks::swap_where_due(here)? } else { Vec::new() };
        forks_may_move = false;
        if !moved && now.is_empty() {
            break;
        }
        swapped.extend(now);
    }
    // What still waits for a key or for changes is few: a peer could send any number.
    connection.execute(
        "DELETE FROM signatures WHERE verified = 0 AND (series, count, bytes) NOT IN (
             SELECT series, count, bytes FROM (
                 SELECT series, count, bytes, row_number() OVER (PARTITION BY series ORDER BY count, bytes) AS nth
                 FROM signatures WHERE verified = 0
             ) WHERE nth <= ?1
         )",
        [WAITING],
    )?;
    swapped.sort_unstable();
    swapped.dedup();
    Ok(swapped)
}

/// Keeps signatures that are new here; says whether any was.
fn keep_signatures(here: &Here<'_>, signatures: &[SeriesSignature]) -> Result<bool, StoreError> {
    let Here { connection, state, .. } = *here;
    let mut any = false;
    for signature in signatures {
        let Some(no) = state.series.get(&signature.device) else { continue };
        // This device signs its own series itself; one for more than it wrote is another folder's, and of use only
        // for what came from there.
        if *no == state.own_no && signature.count > state.own.count {
            let seq = signature.count - 1;
            if !arrive::is_kept_aside(connection, signature.device, seq, &signature.hash)? {
                continue;
            }
        }
        any |= connection
            .prepare_cached(
                "INSERT OR IGNORE INTO signatures (series, count, bytes, verified) VALUES (?1, ?2, ?3, 0)",
            )?
            .execute(params![no, to_sql(signature.count), signature.encode()])?
            > 0;
    }
    Ok(any)
}

/// Unverified signatures kept per series.
const WAITING: i64 = 16;

/// What `signatures.verified` says of one that holds: over the series as it is held.
pub(crate) const HOLDS: i64 = 1;
/// Over a branch of it that is kept aside.
pub(crate) const HOLDS_ASIDE: i64 = 2;

/// Verifies the signatures that wait for a key or for changes; true when any holds.
fn verify_pending(
    connection: &Connection,
    notebook: NotebookId,
    key_of: &dyn Fn(DeviceId) -> Option<PublicKey>,
) -> Result<bool, StoreError> {
    let mut moved = false;
    let waiting: Vec<(i64, i64, Vec<u8>)> = connection
        .prepare_cached("SELECT series, count, bytes FROM signatures WHERE verified = 0")?
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?
        .collect::<Result<_, _>>()?;
    for (no, count, bytes) in waiting {
        match weigh(connection, notebook, no, &bytes, key_of)? {
            Weighed::Waits => (),
            Weighed::False => forget_signature(connection, no, count, &bytes)?,
            Weighed::Holds(verified) => {
                moved = true;
                connection
                    .prepare_cached(
                        "UPDATE signatures SET verified = ?4 WHERE series = ?1 AND count = ?2 AND bytes = ?3",
                    )?
                    .execute(params![no, count, bytes, verified])?;
                if verified == HOLDS {
                    connection
                        .prepare_cached("UPDATE series SET covered = ?2 WHERE no = ?1 AND covered < ?2")?
                        .execute([no, count])?;
                }
            }
        }
    }
    Ok(moved)
}

/// What a signature is worth.
enum Weighed {
    /// Its changes or its key have not come.
    Waits,
    False,
    /// [`HOLDS`] or [`HOLDS_ASIDE`].
    Holds(i64),
}

fn weigh(
    connection: &Connection,
    notebook: NotebookId,
    no: i64,
    bytes: &[u8],
    key_of: &dyn Fn(DeviceId) -> Option<PublicKey>,
) -> Result<Weighed, StoreError> {
    let Ok(signature) = SeriesSignature::decode(bytes) else { return Ok(Weighed::False) };
    let Some(seq) = signature.count.checked_sub(1) else { return Ok(Weighed::False) };
    let held = arrive::hash_at(connection, no, seq)?;
    let verified = if held == Some(signature.hash) {
        HOLDS
    } else if arrive::is_kept_aside(connection, signature.device, seq, &signature.hash)? {
        HOLDS_ASIDE
    } else {
        // What it is over may come, unless something else stands there: then the sender brings it again.
        return Ok(if held.is_some() { Weighed::False } else { Weighed::Waits });
    };
    Ok(match key_of(signature.device) {
        None => Weighed::Waits,
        Some(key) if signature.verify(notebook, &key).is_ok() => Weighed::Holds(verified),
        Some(_) => Weighed::False,
    })
}

fn forget_signature(
    connection: &Connection,
    series: i64,
    count: i64,
    bytes: &[u8],
) -> Result<(), StoreError> {
    connection
        .prepare_cached("DELETE FROM signatures WHERE series = ?1 AND count = ?2 AND bytes = ?3")?
        .execute(params![series, count, bytes])?;
    Ok(())
}

/// Projects the whole log into empty tables.
pub(crate) fn rebuild(
    connection: &Connection,
    notebook: NotebookId,
    series: &HashMap<DeviceId, i64>,
    progress: &mut dyn FnMut(u64),
) -> Result<(), StoreError> {
    let standing = standing(connection, notebook)?;
    let mut limits: HashMap<i64, i64> = HashMap::new();
    for (device, no) in series {
        let allowed = allowed(&standing, *device);
        let covered: i64 =
            connection.query_row("SELECT covered FROM series WHERE no = ?1", [no], |row| row.get(0))?;
        connection.execute(
            "INSERT INTO standing (series, projected, allowed) VALUES (?1, 0, ?2)",
            params![no, allowed],
        )?;
        limits.insert(*no, covered.min(allowed));
    }
    let mut statement = connection.prepare("SELECT no, series, seq, body FROM changes ORDER BY no")?;
    let mut rows = statement.query([])?;
    let mut done = 0;
    while let Some(row) = rows.next()? {
        let (no, series, seq): (i64, i64, i64) = (row.get(0)?, row.get(1)?, row.get(2)?);
        if seq < limits.get(&series).copied().unwrap_or(0) {
            connection
                .prepare_cached("UPDATE standing SET projected = ?2 WHERE series = ?1")?
                .execute([series, seq + 1])?;
            project_any(connection, no, &decode(row.get_ref(3)?.as_blob().unwrap_or_default())?)?;
        }
        done += 1;
        if done % 1000 == 0 {
            progress(done);
        }
    }
    progress(done);
    Ok(())
}
