//! Series that forked: which branch counts, and bringing the log to it.
//!
//! The rule is in [`storypole_journal::branches`]: of what signatures cover, the branch on which a keeper's limit was
//! set, else the one of least hash where they part. Which limits hold hangs in turn on branches, so the choice is made
//! in rounds that always begin alike, without any limit: it follows from what was met, never from its order.
//!
//! The series of this very device is never changed by what arrives; see [`crate::anew`] for what becomes of it.

use std::collections::{BTreeMap, HashMap};

use rusqlite::{Connection, OptionalExtension, params};
use storypole_journal::branches::{Beside, Branch, Branches, HeldSeries, Preferred};
use storypole_journal::membership::{Limit, Standing};
use storypole_journal::{
    Change, ChangeHash, DeviceId, NotebookId, SeriesHead, SeriesSignature, Stamp, first_prev,
};

use crate::standing::{HOLDS, HOLDS_ASIDE, Here, Instead, Removed, set_aside, standing_with};
use crate::store::{decode, from_sql, insert_change, last_change, save_head, to_sql};
use crate::{StoreError, arrive};

/// The series of this device has another branch that counts in its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OwnFork {
    /// The first change that differs.
    pub from: u64,
    /// How many changes of this copy do not count elsewhere.
    pub ours: u64,
    /// How many changes the branch that counts has there.
    pub theirs: u64,
}

/// One series that forked, with what is needed to choose.
struct Fork<'a> {
    device: DeviceId,
    branches: Branches<Held<'a>>,
    /// The changes aside that hold membership.
    memberships: HashMap<ChangeHash, Change>,
    /// Stamp and hash of the first changes aside.
    firsts: Vec<(Stamp, ChangeHash)>,
}

struct Held<'a> {
    connection: &'a Connection,
    no: i64,
    start: ChangeHash,
    covered: u64,
}

impl HeldSeries for Held<'_> {
    type Error = StoreError;

    fn at(&self, count: u64) -> Result<Option<(ChangeHash, Stamp)>, StoreError> {
        let Some(seq) = count.checked_sub(1) else { return Ok(Some((self.start, Stamp(0)))) };
        Ok(self
            .connection
            .prepare_cached("SELECT hash, stamp FROM changes WHERE series = ?1 AND seq = ?2")?
            .query_row(params![self.no, to_sql(seq)], |row| {
                Ok((ChangeHash(row.get(0)?), Stamp(from_sql(row.get(1)?))))
            })
            .optional()?)
    }

    fn covered(&self) -> u64 {
        self.covered
    }
}

/// Brings every series but that of this device to the branch that counts; returns those that were changed.
pub(crate) fn swap_where_due(here: &Here<'_>) -> Result<Vec<DeviceId>, StoreError> {
    let forks = forked(here.connection, here.notebook, Some(here.state.own_no))?;
    let mut swapped = Vec::new();
    for (device, branch) in choose(here.connection, here.notebook, &forks)? {
        let no = here.state.series.get(&device).copied();
        let no = no.ok_or(StoreError::Undecodable { what: "a series that forked" })?;
        swap(here.connection, no, device, &branch)?;
        swapped.push(device);
    }
    Ok(swapped)
}

/// The branch that counts in place of what this device holds of its own series.
pub(crate) fn own_branch(
    connection: &Connection,
    notebook: NotebookId,
    own: DeviceId,
) -> Result<Option<Branch>, StoreError> {
    let is_forked: bool = connection
        .prepare_cached("SELECT EXISTS (SELECT 1 FROM forked_changes WHERE device = ?1)")?
        .query_row([own.as_bytes()], |row| row.get(0))?;
    if !is_forked {
        return Ok(None);
    }
    let forks = forked(connection, notebook, None)?;
    Ok(choose(connection, notebook, &forks)?.remove(&own))
}

pub(crate) fn own_fork(
    connection: &Connection,
    notebook: NotebookId,
    own: DeviceId,
) -> Result<Option<OwnFork>, StoreError> {
    let Some(branch) = own_branch(connection, notebook, own)? else { return Ok(None) };
    let count: i64 = connection
        .prepare_cached("SELECT count FROM series WHERE device = ?1")?
        .query_row([own.as_bytes()], |row| row.get(0))?;
    let ours = from_sql(count).saturating_sub(branch.from);
    Ok(Some(OwnFork { from: branch.from, ours, theirs: branch.hashes.len() as u64 }))
}

/// The series of which another branch is kept aside, without the one of number `but`.
fn forked(
    connection: &Connection,
    notebook: NotebookId,
    but: Option<i64>,
) -> Result<Vec<Fork<'_>>, StoreError> {
    let mut statement = connection.prepare_cached(
        "SELECT no, device, covered FROM series d WHERE no IS NOT ?1
         AND EXISTS (SELECT 1 FROM forked_changes f WHERE f.device = d.device)",
    )?;
    let series: Vec<(i64, [u8; 16], i64)> = statement
        .query_map([but], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?
        .collect::<Result<_, _>>()?;
    let load = |(no, device, covered): (i64, [u8; 16], i64)| {
        let device = DeviceId::from_bytes(device);
        let start = first_prev(notebook, device);
        load(device, Held { connection, no, start, covered: from_sql(covered) })
    };
    series.into_iter().map(load).collect()
}

fn load(device: DeviceId, held: Held<'_>) -> Result<Fork<'_>, StoreError> {
    let connection = held.connection;
    let signed: Vec<ChangeHash> = signatures(connection, held.no, 0)?
        .into_iter()
        .filter(|(_, verified)| *verified == HOLDS_ASIDE)
        .map(|(signature, _)| signature.hash)
        .collect();
    let (mut beside, mut memberships, mut firsts) = (Vec::new(), HashMap::new(), Vec::new());
    let mut statement =
        connection.prepare_cached("SELECT hash, body FROM forked_changes WHERE device = ?1")?;
    let mut rows = statement.query([device.as_bytes()])?;
    while let Some(row) = rows.next()? {
        let hash = ChangeHash(row.get(0)?);
        let change = decode(row.get_ref(1)?.as_blob().unwrap_or_default())?;
        let (seq, prev, stamp) = (change.seq, change.prev, change.stamp);
        beside.push(Beside { seq, hash, prev, stamp, is_signed: signed.contains(&hash) });
        if seq == 0 {
            firsts.push((stamp, hash));
        }
        if crate::store::holds_membership(&change.draft) {
            memberships.insert(hash, change);
        }
    }
    if let Some((hash, stamp)) = held.at(1)? {
        firsts.push((stamp, hash));
    }
    Ok(Fork { device, branches: Branches::new(held, beside)?, memberships, firsts })
}

/// Chooses the branches that count in place of those held.
fn choose(
    connection: &Connection,
    notebook: NotebookId,
    forks: &[Fork<'_>],
) -> Result<BTreeMap<DeviceId, Branch>, StoreError> {
    if forks.is_empty() {
        return Ok(BTreeMap::new());
    }
    let mut chosen = choose_with(forks, |_| Vec::new())?;
    // A limit can hang on a branch and a branch on a limit, in a circle only where devices revoke one another: then
    // the last round decides, which is the same everywhere.
    for _ in 0..=forks.len() {
        let instead = chosen.iter().map(|(device, branch)| {
            let fork = forks.iter().find(|fork| fork.device == *device);
            let memberships = fork.map(|fork| &fork.memberships);
            let of = |hash| memberships.and_then(|memberships| memberships.get(hash));
            let membership = branch.hashes.iter().filter_map(of).collect();
            (*device, Instead { from: branch.from, count: branch.count(), membership })
        });
        let standing = standing_with(connection, notebook, &instead.collect())?;
        let next = choose_with(forks, |fork| preferred(fork, &standing))?;
        if next == chosen {
            break;
        }
        chosen = next;
    }
    Ok(chosen)
}

fn choose_with(
    forks: &[Fork<'_>],
    preferred: impl Fn(&Fork<'_>) -> Vec<Preferred>,
) -> Result<BTreeMap<DeviceId, Branch>, StoreError> {
    let mut chosen = BTreeMap::new();
    for fork in forks {
        if let Some(branch) = fork.branches.choose(&preferred(fork))? {
            chosen.insert(fork.device, branch);
        }
    }
    Ok(chosen)
}

/// The change at which a limit was set, and the first change that brought the device's own invitation.
fn preferred(fork: &Fork<'_>, standing: &Standing) -> Vec<Preferred> {
    let mut preferred = Vec::new();
    if let Limit::Upto(count, hash) = standing.limit(fork.device) {
        preferred.push(Preferred { count, hash });
    }
    if let Some(member) = standing.member(fork.device).filter(|member| member.place.device == fork.device) {
        let firsts = fork.firsts.iter().filter(|(stamp, _)| *stamp == member.place.stamp);
        preferred.extend(firsts.map(|(_, hash)| Preferred { count: 1, hash: *hash }));
    }
    preferred
}

/// Puts a branch in the place of what is held of a series from there on, which goes aside. What it brings counts once
/// standing is settled.
pub(crate) fn swap(
    connection: &Connection,
    no: i64,
    device: DeviceId,
    branch: &Branch,
) -> Result<SeriesHead, StoreError> {
    let from = to_sql(branch.from);
    let mut removed = Removed::default();
    let projected: i64 = connection
        .prepare_cached("SELECT projected FROM standing WHERE series = ?1")?
        .query_row([no], |row| row.get(0))?;
    if projected > from {
        set_aside(connection, no, from, projected, &mut removed)?;
        connection.execute("UPDATE standing SET projected = ?2 WHERE series = ?1", [no, from])?;
    }
    // Numbers of arrival are never used again: whoever follows the log would miss what took their place.
    let next = last_change(connection)? + 1;
    move_aside(connection, no, device, from)?;
    let head = insert_branch(connection, no, device, branch, next)?;
    sort_signatures(connection, no, branch.from)?;
    removed.refold(connection)?;
    connection.execute("UPDATE projection SET generation = generation + 1", [])?;
    Ok(head)
}

fn move_aside(connection: &Connection, no: i64, device: DeviceId, from: i64) -> Result<(), StoreError> {
    connection.execute(
        "INSERT OR IGNORE INTO forked_changes (device, seq, hash, body)
         SELECT ?3, seq, hash, body FROM changes WHERE series = ?1 AND seq >= ?2",
        params![no, from, device.as_bytes()],
    )?;
    connection.execute(
        "DELETE FROM membership_changes WHERE no IN (SELECT no FROM changes WHERE series = ?1 AND seq >= ?2)",
        [no, from],
    )?;
    connection.execute("DELETE FROM changes WHERE series = ?1 AND seq >= ?2", [no, from])?;
    Ok(())
}

fn insert_branch(
    connection: &Connection,
    no: i64,
    device: DeviceId,
    branch: &Branch,
    first_no: i64,
) -> Result<SeriesHead, StoreError> {
    let mut head = None;
    for ((arrival, seq), hash) in (first_no..).zip(branch.from..).zip(&branch.hashes) {
        let body: Vec<u8> = connection
            .prepare_cached("SELECT body FROM forked_changes WHERE device = ?1 AND seq = ?2 AND hash = ?3")?
            .query_row(params![device.as_bytes(), to_sql(seq), hash.0], |row| row.get(0))?;
        let change = decode(&body)?;
        insert_change(connection, Some(arrival), no, &change, hash, &body)?;
        arrive::forget_fork(connection, device, seq, hash)?;
        head = Some(SeriesHead { count: seq + 1, hash: *hash, stamp: change.stamp });
    }
    let head = head.ok_or(StoreError::Undecodable { what: "an empty branch of a series" })?;
    save_head(connection, no, &head)?;
    Ok(head)
}

/// Sorts the signatures over what lies beyond `from` by whether they are over what is held now.
fn sort_signatures(connection: &Connection, no: i64, from: u64) -> Result<(), StoreError> {
    for (signature, verified) in signatures(connection, no, from)? {
        let held = arrive::hash_at(connection, no, signature.count - 1)?;
        let holds = if held == Some(signature.hash) { HOLDS } else { HOLDS_ASIDE };
        if verified != holds {
            connection.execute(
                "UPDATE signatures SET verified = ?4 WHERE series = ?1 AND count = ?2 AND bytes = ?3",
                params![no, to_sql(signature.count), signature.encode(), holds],
            )?;
        }
    }
    connection.execute(
        "UPDATE series SET covered =
             (SELECT coalesce(max(count), 0) FROM signatures WHERE series = ?1 AND verified = ?2) WHERE no = ?1",
        [no, HOLDS],
    )?;
    Ok(())
}

/// The signatures that hold over more than `count` changes of a series, on whichever branch.
fn signatures(
    connection: &Connection,
    no: i64,
    count: u64,
) -> Result<Vec<(SeriesSignature, i64)>, StoreError> {
    let mut statement = connection.prepare_cached(
        "SELECT bytes, verified FROM signatures WHERE series = ?1 AND count > ?2 AND verified > 0",
    )?;
    let mut rows = statement.query(params![no, to_sql(count)])?;
    let mut signatures = Vec::new();
    while let Some(row) = rows.next()? {
        let signature = SeriesSignature::decode(row.get_ref(0)?.as_blob().unwrap_or_default())
            .map_err(|_| StoreError::Undecodable { what: "a signature" })?;
        signatures.push((signature, row.get(1)?));
    }
    Ok(signatures)
}
