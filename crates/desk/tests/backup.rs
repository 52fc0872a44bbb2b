//! A backup holds all of a notebook and no secret of its device, is whole or refused, and becomes a new copy.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

mod kept;

use std::fs;
use std::path::{Path, PathBuf};

use kept::{AT, Chance, carry, content_of, filled, founded, meet, photo, pin, site};
use storypole_desk::backup::restore::{Admitted, Naming, RestoreError, Restored, restore};
use storypole_desk::backup::{BackupError, Made, NoPass, Options, check, manifest_of};
use storypole_desk::checkup::check_up;
use storypole_desk::desk::Joining;
use storypole_desk::{Desk, DeskError, Known, edge};
use storypole_journal::membership::Role;
use storypole_notebook::Value;
use storypole_store::{Reader, SessionHash};

fn back_up(desk: &Desk, file: &Path) -> Made {
    desk.back_up(file, Options::default(), &mut |_| true).unwrap()
}

fn restored(file: &Path, folder: &Path) -> Restored {
    restore(file, folder, &Naming { label: None, written_at: AT }, &mut |_| true).unwrap()
}

fn refused(file: &Path, folder: &Path) -> RestoreError {
    let naming = Naming { label: None, written_at: AT };
    match restore(file, folder, &naming, &mut |_| true) {
        Ok(_) => panic!("{} was restored", file.display()),
        Err(error) => error,
    }
}

fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).unwrap();
    let mut names: Vec<String> =
        entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

#[test]
fn a_backup_holds_everything_and_no_secret_of_the_device() {
    let folder = tempfile::tempdir().unwrap();
    let desk = filled(&folder.path().join("own"));
    let missing = [9; 32];
    pin(&desk, site(&desk, "S3"), missing);
    let session = SessionHash::of(b"what a browser holds");
    let label = Some("a browser in the office".to_owned());
    desk.session_add(session, desk.author(), Role::Keeper, label, 5).unwrap();
    let file = folder.path().join("backup.tar");
    let made = back_up(&desk, &file);
    assert_eq!((made.manifest.files(), made.no_pass), (2, None));
    assert_eq!(made.manifest.missing, [missing]);
    assert_eq!(made.bytes, fs::metadata(&file).unwrap().len());
    let digest = desk.digest().unwrap();
    assert_eq!((&made.manifest.log, &made.manifest.tables), (&digest.log, &digest.tables));
    assert_eq!(manifest_of(&file).unwrap(), made.manifest);
    assert_eq!(check(&file, &mut |_, _| true).unwrap(), Some(made.manifest));
    assert_eq!(names(folder.path()), ["backup.tar", "own"], "nothing is left beside it");

    let bytes = fs::read(&file).unwrap();
    let holds = |secret: &[u8]| bytes.windows(secret.len()).any(|piece| piece == secret);
    assert!(holds(b"the wall before the board went on"), "the search finds what is there");
    let key = fs::read(desk.path().join("device.key")).unwrap();
    for secret in [&key[..], &session.0, b"a browser in the office"] {
        assert!(!holds(secret));
    }
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        assert_eq!(fs::metadata(&file).unwrap().permissions().mode() & 0o077, 0, "others cannot read it");
    }
}

/// Cut at 200 places and altered at 500, by chance (invented): always refused, with what and where.
#[test]
fn a_backup_that_was_cut_or_altered_is_refused_and_nothing_is_made_of_it() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("backup.tar");
    back_up(&filled(&folder.path().join("own")), &file);
    let whole = fs::read(&file).unwrap();
    let mut chance = Chance::new(1);
    let bad = folder.path().join("bad.tar");
    let target = folder.path().join("target");
    let before = content_of(&folder.path().join("own"));
    let check_bad = |bytes: &[u8], what: String, is_first: bool| {
        fs::write(&bad, bytes).unwrap();
        let damage = check(&bad, &mut |_, _| true).expect_err(&what).to_string();
        assert!(
            damage.contains("bad.tar") && (damage.contains("use") || damage.contains("name")),
            "{damage}"
        );
        if is_first {
            assert!(matches!(refused(&bad, &target), RestoreError::Damage(_)), "{what}");
            assert!(!target.exists(), "{what}");
        }
    };
    for nth in 0..200 {
        let at = usize::try_from(chance.below(whole.len() as u64)).unwrap();
        check_bad(&whole[..at], format!("cut at {at}"), nth % 20 == 0);
    }
    let mut altered = whole.clone();
    for nth in 0..500 {
        let at = usize::try_from(chance.below(whole.len() as u64)).unwrap();
        let flip = u8::try_from(1 + chance.below(255)).unwrap();
        altered[at] ^= flip;
        check_bad(&altered, format!("altered at {at} by {flip}"), nth % 50 == 0);
        altered[at] ^= flip;
    }
    assert_eq!(content_of(&folder.path().join("own")), before);
    fs::write(&bad, &whole).unwrap();
    assert!(check(&bad, &mut |_, _| true).is_ok(), "the whole one passes");
}

#[test]
fn what_is_no_backup_is_told_apart() {
    let folder = tempfile::tempdir().unwrap();
    let other = folder.path().join("other.tar");
    for content in [&b""[..], b"a note", &[0; 4096]] {
        fs::write(&other, content).unwrap();
        let said = check(&other, &mut |_, _| true).unwrap_err().to_string();
        assert!(said.contains("is not a backup of this program"), "{said}");
    }
    let said = check(&folder.path().join("none.tar"), &mut |_, _| true).unwrap_err().to_string();
    assert!(said.contains("cannot be opened"), "{said}");
    assert!(check(folder.path(), &mut |_, _| true).is_err());
}

#[test]
fn a_file_that_is_there_stays_unless_it_is_to_be_replaced() {
    let folder = tempfile::tempdir().unwrap();
    let desk = filled(&folder.path().join("own"));
    let file = folder.path().join("backup.tar");
    fs::write(&file, b"something else").unwrap();
    let error = desk.back_up(&file, Options::default(), &mut |_| true).unwrap_err();
    assert!(matches!(error, BackupError::AlreadyThere(_)), "{error}");
    assert_eq!(fs::read(&file).unwrap(), b"something else");
    // Stopped in the middle, what was there is still there.
    let stopped = desk.back_up(&file, Options { replace: true }, &mut |_| false).unwrap_err();
    assert!(matches!(stopped, BackupError::Stopped));
    assert_eq!(fs::read(&file).unwrap(), b"something else");
    assert_eq!(names(folder.path()), ["backup.tar", "own"]);
    desk.back_up(&file, Options { replace: true }, &mut |_| true).unwrap();
    assert!(check(&file, &mut |_, _| true).is_ok());
    let inside = desk.back_up(&desk.path().join("b.tar"), Options::default(), &mut |_| true).unwrap_err();
    assert!(matches!(inside, BackupError::Inside(_)), "{inside}");
    let nowhere = desk.back_up(&folder.path().join("no/b.tar"), Options::default(), &mut |_| true);
    assert!(matches!(nowhere, Err(BackupError::Write { .. })));
}

#[test]
fn a_backup_is_of_one_state_while_others_write() {
    let folder = tempfile::tempdir().unwrap();
    let desk = filled(&folder.path().join("own"));
    let reading = Desk::open_to_read(desk.path()).unwrap();
    let file = folder.path().join("backup.tar");
    std::thread::scope(|scope| {
        let writing = scope.spawn(|| {
            for number in 10..60 {
                site(&desk, &format!("S{number}"));
            }
        });
        let made = reading.back_up(&file, Options::default(), &mut |_| true).unwrap();
        assert_eq!(made.no_pass, Some(NoPass::HeldElsewhere));
        writing.join().unwrap();
    });
    let found = check_up(&file, &mut |_, _| ()).unwrap();
    assert!(!found.is_damaged(), "{found:?}");
    assert_eq!((found.tables_agree, found.pass_counts), (Some(true), None));
    // With a pass that is there already, one that only reads puts it in.
    desk.restore_pass().unwrap().unwrap();
    let made = reading.back_up(&folder.path().join("next.tar"), Options::default(), &mut |_| true).unwrap();
    assert!(made.manifest.has_pass());
}

#[test]
fn a_restored_copy_is_a_device_of_its_own_and_may_write() {
    let folder = tempfile::tempdir().unwrap();
    let original = filled(&folder.path().join("own"));
    let file = folder.path().join("backup.tar");
    back_up(&original, &file);
    let one = restored(&file, &folder.path().join("one"));
    let two = restored(&file, &folder.path().join("two"));
    for copy in [&one, &two] {
        assert_eq!((copy.admitted, copy.label.as_str()), (Admitted::ByPass, "restored 2025-03-04"));
        assert_eq!(copy.desk.verify().unwrap().faults, []);
        assert_eq!(copy.desk.attachments().all().unwrap().len(), 2);
        assert_eq!(copy.desk.book().unwrap().sites.len(), 2);
    }
    assert_ne!(one.desk.device(), two.desk.device());
    // All three go on, and meet.
    for (desk, label) in [(&original, "S10"), (&one.desk, "S11"), (&two.desk, "S12")] {
        site(desk, label);
    }
    meet(&original, &one.desk);
    meet(&one.desk, &two.desk);
    meet(&two.desk, &original);
    meet(&original, &one.desk);
    let digest = original.digest().unwrap();
    assert_eq!(one.desk.digest().unwrap(), digest);
    assert_eq!(two.desk.digest().unwrap(), digest);
    assert_eq!(original.book().unwrap().sites.len(), 5);
    assert!(original.read(Reader::set_aside).unwrap().is_empty(), "no fork, and everything counts");
    // What was restored makes backups that can be restored as well.
    let again = folder.path().join("again.tar");
    let made = back_up(&two.desk, &again);
    assert!(made.manifest.has_pass());
    let third = restored(&again, &folder.path().join("three"));
    assert_eq!(third.admitted, Admitted::ByPass);
    drop(third);
    let reopened = Desk::open(&folder.path().join("three")).unwrap();
    site(&reopened, "S13");
}

#[test]
fn without_a_pass_a_restored_copy_reads_until_a_keeper_lets_it_in() {
    let folder = tempfile::tempdir().unwrap();
    let keeper = filled(&folder.path().join("own"));
    let founder_key = keeper.public_key().unwrap();
    let joining = Joining { notebook: keeper.notebook(), founder_key, author: keeper.author() };
    let crew = Desk::join(&folder.path().join("crew"), &joining).unwrap();
    keeper.invite(crew.device(), crew.public_key().unwrap(), Role::Crew, AT).unwrap();
    carry(&keeper, &crew);
    let file = folder.path().join("crew.tar");
    let made = back_up(&crew, &file);
    assert_eq!(made.no_pass, Some(NoPass::NotAKeeper));
    let copy = restored(&file, &folder.path().join("copy"));
    assert_eq!(copy.admitted, Admitted::NoPass);
    assert_eq!(copy.desk.book().unwrap().sites.len(), 2);
    let mut compose = copy.desk.compose(AT);
    compose.set(edge::record_id(), "site", "label", &Value::Text("S9".to_owned())).unwrap();
    assert!(matches!(copy.desk.take(compose.finish()), Err(DeskError::Take(_))));
    keeper.invite(copy.desk.device(), copy.desk.public_key().unwrap(), Role::Crew, AT).unwrap();
    carry(&keeper, &copy.desk);
    site(&copy.desk, "S9");
    carry(&copy.desk, &keeper);
    assert_eq!(keeper.labelled("site", "S9").len(), 1);
}

#[test]
fn only_a_new_or_empty_folder_is_restored_into() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("backup.tar");
    let desk = filled(&folder.path().join("own"));
    back_up(&desk, &file);
    let own = content_of(desk.path());
    assert!(refused(&file, desk.path()).to_string().contains("already a notebook"));
    assert_eq!(content_of(desk.path()), own);
    let strange = folder.path().join("strange");
    fs::create_dir(&strange).unwrap();
    fs::write(strange.join("letter.txt"), b"mine").unwrap();
    let said = refused(&file, &strange).to_string();
    assert!(said.contains("letter.txt") && said.contains("name a new folder"), "{said}");
    assert_eq!(names(&strange), ["letter.txt"]);
    assert!(refused(&file, &file).to_string().contains("is a file, not a folder"));
}

/// Stopped after each step it reports, a restore leaves no notebook, and the same command again makes one.
#[test]
fn an_interrupted_restore_leaves_no_notebook_and_begins_again() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("backup.tar");
    back_up(&filled(&folder.path().join("own")), &file);
    let target: PathBuf = folder.path().join("target");
    let mut steps = 0;
    loop {
        let mut left = steps;
        let naming = Naming { label: Some("again".to_owned()), written_at: AT };
        let outcome = restore(&file, &target, &naming, &mut |_| {
            left -= 1;
            left >= 0
        });
        match outcome {
            Err(RestoreError::Stopped) => assert!(!target.join("notebook.db").exists(), "after {steps}"),
            Err(error) => panic!("after {steps}: {error}"),
            Ok(copy) => {
                assert_eq!(copy.desk.check_up(&mut |_, _| ()).unwrap().database.faults, []);
                break;
            }
        }
        steps += 1;
    }
    assert!(steps > 4, "it was stopped in the middle, {steps} times");
}

#[test]
fn the_checkup_tells_what_is_missing_altered_and_left_over() {
    let folder = tempfile::tempdir().unwrap();
    let desk = founded(&folder.path().join("own"));
    let one = site(&desk, "S1");
    let hash = photo(&desk, one, b"before");
    pin(&desk, one, [9; 32]);
    desk.keep_file(&mut &b"never pinned"[..]).unwrap();
    let found = desk.check_up(&mut |_, _| ()).unwrap();
    assert!(!found.is_damaged());
    assert_eq!((found.missing(), found.unnamed.len(), found.leftovers.len()), (1, 1, 0));
    let digits: String = hash.iter().map(|byte| format!("{byte:02x}")).collect();
    let place = desk.path().join("attachments").join(&digits[..2]).join(&digits[2..]);
    fs::write(place, b"Before").unwrap();
    fs::write(desk.path().join("notebook.db.new"), b"half").unwrap();
    let reading = Desk::open_to_read(desk.path()).unwrap();
    let found = reading.check_up(&mut |_, _| ()).unwrap();
    assert!(found.is_damaged());
    assert_eq!(found.leftovers, ["notebook.db.new"]);
    let made = desk.back_up(&folder.path().join("b.tar"), Options::default(), &mut |_| true).unwrap();
    assert_eq!((made.manifest.files(), made.manifest.altered), (1, vec![hash]));
}
