//! SQLite on simulated disks: what was acknowledged is there after any trouble, and a lying disk is found out.

use rusqlite::{Connection, OpenFlags};

use super::*;
use crate::Chance;

/// A ledger of numbers in WAL mode, set up as the store sets up its own database.
fn open(disk: &Disk) -> rusqlite::Result<Connection> {
    let connection = Connection::open_with_flags_and_vfs(disk.path("ledger.db"), OpenFlags::default(), VFS)?;
    connection.execute_batch(
        "PRAGMA journal_mode = WAL; PRAGMA synchronous = EXTRA; PRAGMA wal_autocheckpoint = 8;
         PRAGMA temp_store = MEMORY;
         CREATE TABLE IF NOT EXISTS ledger (number INTEGER PRIMARY KEY, filler BLOB NOT NULL);",
    )?;
    Ok(connection)
}

/// Writes numbers from `from` on, each in a transaction of its own; returns those that were acknowledged.
fn write(disk: &Disk, from: u64, to: u64) -> Vec<u64> {
    let mut acknowledged = Vec::new();
    let Ok(connection) = open(disk) else { return acknowledged };
    for number in from..to {
        // Fillers of many sizes, so that pages split, free and move.
        let filler = vec![number as u8; (number * 397 % 3_000) as usize];
        let sql = "INSERT INTO ledger (number, filler) VALUES (?1, ?2)";
        if connection.execute(sql, rusqlite::params![number as i64, filler]).is_ok() {
            acknowledged.push(number);
        }
    }
    acknowledged
}

/// What is wrong after a boot: damage, or numbers that are missing.
fn faults(disk: &Disk, acknowledged: &[u64]) -> Vec<String> {
    let connection = match open(disk) {
        Ok(connection) => connection,
        Err(error) => return vec![format!("cannot be opened: {error}")],
    };
    let check = connection.query_row("PRAGMA integrity_check(1)", [], |row| row.get::<_, String>(0));
    let mut faults = Vec::new();
    if check.as_deref() != Ok("ok") {
        faults.push(format!("damaged: {check:?}"));
    }
    for number in acknowledged {
        let sql = "SELECT filler FROM ledger WHERE number = ?1";
        let filler = connection.query_row(sql, [*number as i64], |row| row.get::<_, Vec<u8>>(0));
        if filler != Ok(vec![*number as u8; (number * 397 % 3_000) as usize]) {
            faults.push(format!("{number} is missing"));
        }
    }
    faults
}

const WRITES: u64 = 24;

fn steps_of_all() -> u64 {
    let disk = Disk::new(0);
    assert_eq!(write(&disk, 0, WRITES).len() as u64, WRITES);
    disk.steps()
}

/// Goal: no power cut loses what was acknowledged. Method: the power goes at step 1, 2, 3, .. of a workload, under
/// several seeds; after each boot SQLite's own check runs, and the workload goes on.
#[test]
fn acknowledged_numbers_survive_a_power_cut_at_every_step() {
    let steps = steps_of_all();
    let mut tally = [0; 4];
    for seed in 0..2 {
        for step in 1..=steps {
            let disk = Disk::new(seed << 32 | step);
            disk.plan(step..step + 1, Trouble::PowerCut);
            let mut acknowledged = write(&disk, 0, WRITES);
            disk.cut_power();
            disk.boot();
            assert_eq!(faults(&disk, &acknowledged), Vec::<String>::new(), "seed {seed}, step {step}");
            // What was not acknowledged may be there all the same; so others are written.
            acknowledged.extend(write(&disk, 100, 104));
            assert_eq!(acknowledged.iter().filter(|number| **number >= 100).count(), 4);
            disk.cut_power();
            disk.boot();
            assert_eq!(faults(&disk, &acknowledged), Vec::<String>::new(), "seed {seed}, step {step}, again");
            let DiskTally { lost, kept, torn, scattered, .. } = disk.tally();
            for (sum, more) in tally.iter_mut().zip([lost, kept, torn, scattered]) {
                *sum += more;
            }
        }
    }
    assert!(steps > 150 && tally.iter().all(|sum| *sum > 50), "{steps} steps, {tally:?}");
}

/// Method: the disk fails at step 1, 2, 3, .., once and for good; then the power goes.
#[test]
fn acknowledged_numbers_survive_errors_and_a_full_disk_at_every_step() {
    for step in 1..=steps_of_all() {
        for (steps, trouble) in [
            (step..step + 1, Trouble::Error),
            (step..u64::MAX, Trouble::Error),
            (step..step + 1, Trouble::Full),
            (step..u64::MAX, Trouble::Full),
        ] {
            let disk = Disk::new(step);
            disk.plan(steps.clone(), trouble);
            let acknowledged = write(&disk, 0, WRITES);
            disk.cut_power();
            disk.boot();
            assert_eq!(faults(&disk, &acknowledged), Vec::<String>::new(), "{steps:?} {trouble:?}");
        }
    }
}

#[test]
fn a_disk_without_room_refuses_and_takes_more_once_there_is() {
    let disk = Disk::new(1);
    assert_eq!(write(&disk, 0, 2), [0, 1]);
    disk.leave_room(10_000);
    let acknowledged = write(&disk, 2, WRITES);
    assert!(!acknowledged.is_empty() && (acknowledged.len() as u64) < WRITES - 2, "{acknowledged:?}");
    assert!(disk.tally().full > 0);
    disk.be_well();
    assert_eq!(write(&disk, 100, 110).len(), 10);
    assert_eq!(faults(&disk, &acknowledged), Vec::<String>::new());
}

/// The simulator must be able to find a lost number, else all of the above shows nothing.
#[test]
fn a_disk_that_lies_about_syncs_loses_acknowledged_numbers() {
    let found = (0..20).filter(|seed| {
        let disk = Disk::new(*seed);
        let mut acknowledged = write(&disk, 0, 4);
        disk.lie();
        acknowledged.extend(write(&disk, 4, WRITES));
        disk.cut_power();
        disk.boot();
        assert!(disk.tally().lies > 0);
        !faults(&disk, &acknowledged).is_empty()
    });
    assert!(found.count() > 10);
}

/// Method: readers in other threads, each with its own connection, while one writes: every number a reader finds
/// is whole, and none that it has found goes away.
#[test]
fn readers_beside_the_writer_see_whole_transactions() {
    let disk = Disk::new(3);
    write(&disk, 0, 1);
    let writing = std::sync::atomic::AtomicBool::new(true);
    let most_seen = std::thread::scope(|scope| {
        let (disk, writing) = (&disk, &writing);
        let read = move || {
            let path = disk.path("ledger.db");
            let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
            let connection = Connection::open_with_flags_and_vfs(path, flags, VFS).unwrap();
            let (mut most, mut goes_on) = (0, true);
            while goes_on {
                goes_on = writing.load(Ordering::SeqCst);
                let sql = "SELECT count(*), max(number) + 1 FROM ledger";
                let (count, end): (i64, i64) =
                    connection.query_row(sql, [], |row| Ok((row.get(0)?, row.get(1)?))).unwrap();
                assert!(count == end && count >= most);
                most = count;
            }
            most
        };
        let readers: Vec<_> = (0..2).map(|_| scope.spawn(read)).collect();
        assert_eq!(write(disk, 1, 200).len(), 199);
        writing.store(false, Ordering::SeqCst);
        readers.into_iter().map(|reader| reader.join().unwrap()).collect::<Vec<_>>()
    });
    assert_eq!(most_seen, [200, 200]);
}

#[test]
fn a_copy_is_a_disk_of_its_own() {
    let disk = Disk::new(1);
    let acknowledged = write(&disk, 0, 5);
    let copy = disk.copy(2);
    assert_eq!(write(&copy, 5, 8), [5, 6, 7]);
    disk.cut_power();
    assert_eq!(faults(&copy, &acknowledged), Vec::<String>::new());
    assert!(open(&disk).is_err(), "its power is off");
    disk.boot();
    assert_eq!(faults(&disk, &acknowledged), Vec::<String>::new());
    assert_eq!(faults(&disk, &[5]), ["5 is missing"]);
}

#[test]
fn the_same_seed_leaves_the_same() {
    let left = |seed: u64| {
        let disk = Disk::new(seed);
        disk.plan(90..91, Trouble::PowerCut);
        write(&disk, 0, WRITES);
        disk.boot();
        let numbers = open(&disk).unwrap();
        let sql = "SELECT group_concat(number) FROM ledger";
        (numbers.query_row(sql, [], |row| row.get::<_, Option<String>>(0)).unwrap(), disk.tally())
    };
    let mut chance = Chance::new(5);
    for seed in (0..10).map(|_| chance.bits()) {
        assert_eq!(left(seed), left(seed));
    }
}
