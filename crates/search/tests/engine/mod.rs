//! The engine of the index: what waits in memory, what is on disk, taking turns, damage, and making it anew. Whatever
//! happens, an index shows what one made afterwards shows.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use jiff::civil::{Date, date};
use proptest::prelude::*;
use storypole_journal::{ChangeHash, RecordId};
use storypole_search::columns::KindSet;
use storypole_search::scan::{Ask, Scored, Wanted};
use storypole_search::view::Stored;
use storypole_search::{Index, IndexState, Patience, View};

use crate::world::*;

fn nothing() -> Ask {
    Ask { wanted: Vec::new(), unwanted: Vec::new(), kinds: None, days: None, scored: Scored::Yes, least: None }
}

fn sequence(text: &str) -> Vec<String> {
    text.split(' ').map(str::to_owned).collect()
}

/// Asks for words that stand next to each other, as the analyser reads them.
fn words(text: &str) -> Ask {
    Ask { wanted: vec![Wanted { any_of: vec![(sequence(text), 1.0)], is_optional: false }], ..nothing() }
}

type Contents = BTreeMap<RecordId, (Stored, Option<RecordId>, Option<Date>)>;

/// What a scan tells; each document once.
fn told(view: &View, ask: &Ask) -> Contents {
    let mut contents = Contents::new();
    view.scan(ask, &mut |hit| {
        let stored = view.document(hit.at).unwrap();
        assert_eq!((stored.record, &*stored.kind), (view.record(hit.at), hit.columns.kind()));
        let before = contents.insert(stored.record, (stored, hit.columns.site(), hit.columns.day()));
        assert_eq!(before, None, "told twice");
    })
    .unwrap();
    contents
}

fn numbers(view: &View, ask: &Ask) -> Vec<u8> {
    told(view, ask).keys().map(|id| id.as_bytes()[15]).collect()
}

/// Asserts that a view shows what an index made now shows, document by document and in its counts.
fn assert_shows(view: &View, fresh: &View, what: &str) {
    assert_eq!(told(view, &nothing()), told(fresh, &nothing()), "{what}");
    assert_eq!(view.count(), fresh.count(), "{what}");
    for word in ["hall", "wall", "s", "glass", "lead", "offic", "box", "2025", "rhubarb", "cellulos"] {
        assert_eq!(told(view, &words(word)), told(fresh, &words(word)), "{what}: {word}");
        let other = Ask { scored: Scored::No, unwanted: vec![sequence("seal")], ..words(word) };
        assert_eq!(told(view, &other), told(fresh, &other), "{what}: {word} without seal");
    }
}

fn copied(from: &Path) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    copy(from, folder.path());
    folder
}

/// Copies what is there; a file that goes meanwhile is left out.
fn copy(from: &Path, to: &Path) {
    for entry in fs::read_dir(from).into_iter().flatten().flatten() {
        let path = to.join(entry.file_name());
        if entry.path().is_dir() {
            fs::create_dir_all(&path).unwrap();
            copy(&entry.path(), &path);
        } else if let Ok(bytes) = fs::read(entry.path()) {
            fs::write(path, bytes).unwrap();
        }
    }
}

fn files(folder: &Path) -> Vec<PathBuf> {
    let mut files: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    files
}

const CHANGES: &[(u8, &str, &str, &[&str])] = &[
    (LINE, "line", "receipt", &["#23", "#22"]),
    (LINE, "line", "item", &["rhubarb seal", "glass board"]),
    (WALL, "assembly", "job", &["#12", "#11"]),
    (WALL, "assembly", "cavity", &["89 clear, cellulose 89, 55 kg/m3, 100%", "89 clear, glass fibre 89"]),
    (ROOM, "room", "name", &["Home office", "Hall"]),
    (JOB, "job", "title", &["Lobby wall", "Box office"]),
    (SITE, "site", "name", &["Rhubarb yard", "Lead works"]),
    (PERSON, "person", "role", &["helper", "hall lead"]),
    (ENTRY, "entry", "text", &["Rhubarb seal in the hall", "Glass wall"]),
    (ENTRY, "entry", "date", &["2024-12-31", "2025-03-04"]),
    (PHOTO, "photo", "about", &["#16", "#14"]),
    (TASK, "task", "title", &["Seal the hall", "Boxes"]),
];

const STRUCK: &[(u8, &str)] =
    &[(LINE, "line"), (ENTRY, "entry"), (JOB, "job"), (PHOTO, "photo"), (WALL, "assembly")];

/// One thing that happens to a notebook whose index two processes have open.
#[derive(Debug, Clone, Copy)]
enum Step {
    Change(usize, usize),
    Strike(usize),
    Restore(usize),
    Follow(usize),
    Settle(usize),
    /// Dies with what is in memory, and comes again.
    Reopen(usize),
    Rebuild(usize),
    Distrust(usize),
    /// The tables are made anew.
    Tables,
}

fn step() -> impl Strategy<Value = Step> {
    prop_oneof![
        8 => (0..CHANGES.len(), 0..2_usize).prop_map(|(which, text)| Step::Change(which, text)),
        1 => (0..STRUCK.len()).prop_map(Step::Strike),
        1 => (0..STRUCK.len()).prop_map(Step::Restore),
        6 => (0..2_usize).prop_map(Step::Follow),
        3 => (0..2_usize).prop_map(Step::Settle),
        2 => (0..2_usize).prop_map(Step::Reopen),
        1 => (0..2_usize).prop_map(Step::Rebuild),
        1 => (0..2_usize).prop_map(Step::Distrust),
        1 => Just(Step::Tables),
    ]
}

fn take(world: &mut World, open: &mut [Index; 2], step: Step) {
    match step {
        Step::Change(which, text) => {
            let (number, kind, field, texts) = CHANGES[which];
            world.change(number, kind, field, texts[text]);
        }
        Step::Strike(which) => world.strike(STRUCK[which].0, STRUCK[which].1),
        Step::Restore(which) => world.restore(STRUCK[which].0, STRUCK[which].1),
        Step::Follow(which) => drop(world.follow(&open[which])),
        Step::Settle(which) => open[which].settle().unwrap(),
        Step::Reopen(which) => open[which] = Index::open(&world.folder()).unwrap(),
        Step::Rebuild(which) => {
            open[which].rebuild(&world.store.reader().unwrap(), &|_, _| ()).unwrap();
        }
        Step::Distrust(which) => open[which].distrust(),
        Step::Tables => world.store.rebuild(&mut |_| ()).unwrap(),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(24) })]

    /// Goal: however work is shared between memory and disk, and between two processes, the same is shown. Method:
    /// random histories, after which both followers and one that finds only the folder show what a fresh index shows.
    #[test]
    fn any_history_shows_what_a_fresh_index_shows(steps in prop::collection::vec(step(), 1..24)) {
        let mut world = World::new();
        let mut open = [world.index(), Index::open(&world.folder()).unwrap()];
        for step in steps {
            take(&mut world, &mut open, step);
        }
        let left = copied(&world.folder());
        let after_crash = Index::open(left.path()).unwrap();
        let (_folder, fresh) = world.fresh();
        for (index, what) in [(&open[0], "one"), (&open[1], "other"), (&after_crash, "after a crash")] {
            world.follow(index);
            assert_shows(&index.view(), &fresh.view(), what);
            prop_assert_eq!(index.standing(&world.store.reader().unwrap()).unwrap(), IndexState::Current);
        }
    }
}

/// The same notes, the first so many of them on disk and the others in memory.
fn split(world: &mut World, notes: &[(u8, &str)], on_disk: usize) -> Index {
    for (number, (_, text)) in notes.iter().enumerate() {
        if number == on_disk {
            drop(world.index());
        }
        world.note(100 + u8::try_from(number).unwrap(), "2025-02-05", text);
    }
    world.index()
}

/// Scores depend on how often a word stands anywhere: that has to be counted over both parts.
#[test]
fn every_split_between_memory_and_disk_gives_the_same_answers_in_the_same_order() {
    let notes = [
        (0, "glass wall sealed"),
        (1, "wall wall wall in the hall"),
        (2, "a long note about the wall, the hall, the boxes and the weather of the day"),
        (3, "hall"),
        (4, "sealed glass, sealed glass"),
        (5, "rare rhubarb wall"),
    ];
    let mut expected = None;
    for on_disk in 0..notes.len() {
        let mut world = World::empty(1);
        let index = split(&mut world, &notes, on_disk);
        let answers: Vec<_> =
            ["wall", "hall wall", "sealed glass", "rhubarb", "\"wall sealed\"", "hall -boxes"]
                .map(|words| index.find(&ask(words)).unwrap())
                .into();
        assert!(answers.iter().all(|hits| !hits.is_empty()));
        assert_eq!(answers, *expected.get_or_insert_with(|| answers.clone()), "{on_disk} on disk");
    }
}

#[test]
fn what_changed_masks_what_is_on_disk_in_answers_and_counts() {
    let mut world = World::new();
    let index = world.index();
    let before = index.view();
    let count = before.count();
    world.change(ENTRY, "entry", "text", "Rhubarb planted");
    world.strike(LATER_ENTRY, "entry");
    world.note(100, "2025-02-05", "Rhubarb eaten");
    let followed = world.follow(&index);
    assert_eq!((followed.whole, followed.pending, followed.should_settle()), (false, 3, false));
    let view = index.view();
    assert_eq!(view.count(), count);
    assert_eq!(numbers(&view, &words("rhubarb")), [ENTRY, 100]);
    assert_eq!(numbers(&view, &words("hall")), [0_u8; 0]);
    let entries = Ask { kinds: Some(KindSet::of(["entry"])), ..nothing() };
    assert_eq!(numbers(&view, &entries), [ENTRY, 100]);
    // Who still looks at the state before sees that state.
    assert_eq!(numbers(&before, &words("hall")), [ENTRY, LATER_ENTRY]);
    index.settle().unwrap();
    assert_eq!(told(&index.view(), &nothing()), told(&view, &nothing()));
    assert_eq!((index.view().count(), numbers(&before, &entries)), (count, vec![ENTRY, LATER_ENTRY]));
    assert_eq!(world.follow(&index).pending, 0);
}

#[test]
fn scans_keep_to_kinds_days_and_what_is_not_wanted() {
    let world = World::new();
    let view = world.index().view();
    let (from, to) = (Some(date(2025, 3, 5)), Some(date(2025, 4, 1)));
    let days = |from, to| Ask { days: Some((from, to)), ..nothing() };
    for (ask, expected) in [
        (days(from, to), vec![JOB, WALL, OTHER_WALL, LATER_ENTRY]),
        // Records without a day of their own have the day they were written, the fourth.
        (days(None, Some(date(2025, 3, 4))), vec![SITE, ROOM, ENTRY, TEST, SET, MATERIAL, TASK, PHOTO]),
        (days(Some(date(2025, 5, 11)), None), vec![OTHER_JOB, OTHER_RECEIPT]),
        (days(Some(date(2025, 5, 11)), Some(date(2026, 5, 11))), vec![OTHER_JOB, OTHER_RECEIPT]),
        (days(Some(date(2025, 5, 11)), Some(date(2025, 5, 10))), vec![]),
        (Ask { days: Some((from, to)), ..words("hall") }, vec![LATER_ENTRY]),
        (Ask { kinds: Some(KindSet::of(["assembly", "task"])), ..nothing() }, vec![WALL, OTHER_WALL, TASK]),
        (Ask { kinds: Some(KindSet::of([])), ..words("hall") }, vec![]),
        (Ask { kinds: Some(KindSet::of(["entry"])), ..words("music") }, vec![ENTRY, LATER_ENTRY]),
        (Ask { unwanted: vec![sequence("befor cover")], ..words("hall") }, vec![ENTRY]),
        (Ask { unwanted: vec![sequence("hall")], kinds: Some(KindSet::of(["entry"])), ..nothing() }, vec![]),
        (words("hall partition"), vec![ENTRY]),
        (words("partition hall"), vec![]),
    ] {
        assert_eq!(numbers(&view, &ask), expected, "{ask:?}");
        let unscored = Ask { scored: Scored::No, ..ask };
        assert_eq!(numbers(&view, &unscored), expected, "{unscored:?}");
    }
    let any = |is_optional, words: &[(&str, f32)]| Wanted {
        any_of: words.iter().map(|(word, boost)| (sequence(word), *boost)).collect(),
        is_optional,
    };
    let both = |wanted: Vec<Wanted>| numbers(&view, &Ask { wanted, ..nothing() });
    assert_eq!(both(vec![any(false, &[("hall", 1.0)]), any(true, &[("box", 1.0)])]), [ENTRY, LATER_ENTRY]);
    assert_eq!(
        both(vec![any(true, &[("piec", 1.0)]), any(true, &[("nurseri", 1.0)])]),
        [OTHER_JOB, MATERIAL]
    );
    assert_eq!(both(vec![any(false, &[("hall", 1.0), ("nurseri", 0.2)])]), [OTHER_JOB, ENTRY, LATER_ENTRY]);
    assert_eq!(both(vec![any(false, &[])]), [0_u8; 0]);
    assert_eq!(view.doc_count_of("hall").unwrap(), 2);
}

#[test]
fn scores_count_the_title_more_and_a_boost_in_proportion() {
    let world = World::new();
    let view = world.index().view();
    let score = |record: u8, word: &str, boost, others: Vec<Wanted>| {
        let mut score = 0.0;
        let wanted = Wanted { any_of: vec![(sequence(word), boost)], is_optional: false };
        let ask = Ask { wanted: [vec![wanted], others].concat(), ..nothing() };
        view.scan(&ask, &mut |hit| {
            if view.record(hit.at).as_bytes()[15] == record {
                score = hit.score;
            }
        })
        .unwrap();
        score
    };
    let full = score(OTHER_JOB, "nurseri", 1.0, Vec::new());
    assert!(full > 0.0 && (score(OTHER_JOB, "nurseri", 0.5, Vec::new()) - full / 2.0).abs() < 1e-4 * full);
    // The receipt's number is in its title, the box parts are in its text; each is in no other record as much.
    assert!(score(RECEIPT, "12", 1.0, Vec::new()) > score(RECEIPT, "box", 1.0, Vec::new()));
    // One word is gone through in a way of its own, which scores as the general one does.
    let absent = Wanted { any_of: vec![(sequence("absent"), 1.0)], is_optional: true };
    for record in [ENTRY, LATER_ENTRY] {
        let alone = score(record, "hall", 1.0, Vec::new());
        assert!(alone > 0.0);
        assert_eq!(alone, score(record, "hall", 1.0, vec![absent.clone()]));
    }
}

#[test]
fn walls_and_their_jobs_are_found_by_what_people_call_them() {
    let mut world = World::new();
    let index = world.index();
    assert_eq!(found(&index, "staggered studs"), [OTHER_WALL, JOB]);
    assert_eq!(found(&index, "24 o.c."), [OTHER_WALL]);
    assert_eq!(found(&index, "5/8 in"), [WALL]);
    world.change(WALL, "assembly", "cavity", "89 clear, cellulose 89, 55 kg/m3, 100%");
    world.follow(&index);
    assert_eq!(found(&index, "cellulose"), [WALL, JOB]);
    world.change(WALL, "assembly", "job", "#12");
    world.follow(&index);
    assert_eq!(found(&index, "cellulose"), [WALL, OTHER_JOB]);
}

#[test]
fn struck_records_come_back_and_renamed_sites_follow() {
    let mut world = World::new();
    let index = world.index();
    for settles in [false, true] {
        world.strike(ENTRY, "entry");
        world.change(SITE, "site", "name", "Tin barn");
        world.follow(&index);
        if settles {
            index.settle().unwrap();
        }
        assert_eq!(found(&index, "cafe"), [0_u8; 0]);
        assert!(found(&index, "\"tin barn\"").contains(&WALL) && found(&index, "millrace").is_empty());
        world.restore(ENTRY, "entry");
        world.change(SITE, "site", "name", "Millrace house");
        world.follow(&index);
        assert_eq!(found(&index, "cafe"), [ENTRY]);
        assert!(found(&index, "\"tin barn\"").is_empty() && found(&index, "millrace").contains(&WALL));
        assert_shows(&index.view(), &world.fresh().1.view(), "restored");
    }
}

/// Another process has put on disk what this one holds in memory, or less, or more.
#[test]
fn two_processes_put_on_disk_in_turn() {
    let mut world = World::new();
    let (one, other) = (world.index(), world.index());
    world.change(ENTRY, "entry", "text", "Rhubarb planted");
    world.follow(&one);
    world.follow(&other);
    one.settle().unwrap();
    other.settle().unwrap();
    world.change(ENTRY, "entry", "text", "Rhubarb watered");
    world.follow(&other);
    world.note(100, "2025-02-05", "Rhubarb eaten");
    world.follow(&one);
    // One is further than what the other puts on disk.
    other.settle().unwrap();
    one.settle().unwrap();
    assert_eq!(world.follow(&one).pending, 0);
    assert_eq!(world.follow(&other).written, 1);
    // What one puts on disk is further than the other's memory.
    other.settle().unwrap();
    for index in [&one, &other, &world.index()] {
        assert_shows(&index.view(), &world.fresh().1.view(), "in turn");
    }
    // Made anew by one, the other goes on from there.
    one.rebuild(&world.store.reader().unwrap(), &|_, _| ()).unwrap();
    world.change(ENTRY, "entry", "text", "Rhubarb mown");
    for index in [&other, &one] {
        world.follow(index);
        index.settle().unwrap();
        assert_shows(&index.view(), &world.fresh().1.view(), "made anew");
    }
    assert_eq!(files(&world.folder()).len(), 2, "documents and lock");
}

#[test]
fn an_index_is_searched_and_followed_while_it_is_put_on_disk() {
    let mut world = World::new();
    let index = world.index();
    std::thread::scope(|scope| {
        for round in 0_u8..6 {
            world.note(100 + round, "2025-02-05", "Rhubarb planted");
            world.follow(&index);
            let settling = scope.spawn(|| index.settle().unwrap());
            // Copies of the folder as it is now and again are what a crash would leave.
            while !settling.is_finished() {
                let left = copied(&world.folder());
                assert_eq!(index.view().count(), index.view().count());
                let after_crash = Index::open(left.path()).unwrap();
                world.follow(&after_crash);
                assert_eq!(numbers(&after_crash.view(), &words("rhubarb")).len(), usize::from(round) + 1);
                assert_eq!(numbers(&index.view(), &words("rhubarb")).len(), usize::from(round) + 1);
            }
        }
    });
    assert_shows(&index.view(), &world.fresh().1.view(), "settled");
}

/// Rewrites the version that the index on disk says it is of, and the check over it.
fn age(documents: &Path) {
    let path = documents.join("meta.json");
    let text = fs::read_to_string(&path).unwrap();
    let (_, rest) = text.split_once("\"payload\"").unwrap();
    let payload = rest.split('"').nth(1).unwrap();
    let (said, _) = payload.rsplit_once(' ').unwrap();
    let (version, said) = said.split_once(' ').unwrap();
    assert_eq!(version, "2");
    let older = format!("1 {said}");
    let check: String =
        ChangeHash::of(older.as_bytes()).0[..24].iter().map(|byte| format!("{byte:02x}")).collect();
    fs::write(path, text.replace(payload, &format!("{older} {check}"))).unwrap();
}

#[test]
fn an_index_of_an_older_version_answers_until_it_is_made_anew() {
    let mut world = World::new();
    drop(world.index());
    age(&world.folder().join("documents-1"));
    let reader = world.store.reader().unwrap();
    assert_eq!(Index::state(&world.folder(), &reader).unwrap(), IndexState::Unreadable);
    let index = Index::open(&world.folder()).unwrap();
    world.note(100, "2025-02-05", "Rhubarb planted");
    let reader = world.store.reader().unwrap();
    let followed = index.follow(&reader, &reader.book().unwrap(), Patience::Answer).unwrap();
    assert!(followed.needs_rebuild && !followed.whole);
    assert_eq!((found(&index, "cafe"), found(&index, "rhubarb")), (vec![ENTRY], vec![]));
    index.settle().unwrap();
    let before = index.view();
    let last_told = std::cell::Cell::new((0, 0));
    let made = index.rebuild(&reader, &|done, all| last_told.set((done, all))).unwrap();
    assert!(made.whole && !made.needs_rebuild);
    assert_eq!(last_told.get(), (made.written, made.written));
    assert_eq!((found(&index, "cafe"), found(&index, "rhubarb")), (vec![ENTRY], vec![100]));
    assert_eq!(numbers(&before, &words("rhubarb")), [0_u8; 0]);
    assert!(!world.folder().join("documents-1").exists() && world.folder().join("documents-2").exists());
    assert_eq!(index.standing(&reader).unwrap(), IndexState::Current);
}

#[test]
fn an_index_that_is_distrusted_answers_until_it_is_made_anew() {
    let world = World::new();
    let index = world.index();
    index.distrust();
    let reader = world.store.reader().unwrap();
    assert_eq!(index.standing(&reader).unwrap(), IndexState::Unreadable);
    let followed = index.follow(&reader, &reader.book().unwrap(), Patience::Answer).unwrap();
    assert!(followed.needs_rebuild && found(&index, "cafe") == [ENTRY]);
    assert!(world.follow(&index).whole && found(&index, "cafe") == [ENTRY]);
    assert_eq!(world.follow(&index).written, 0);
}

/// A folder whose index has two segments and a list of deleted documents, and what it shows.
fn several_files(world: &mut World) -> (tempfile::TempDir, Vec<PathBuf>, Contents) {
    let index = world.index();
    world.change(ENTRY, "entry", "text", "Rhubarb at the café");
    world.follow(&index);
    index.settle().unwrap();
    let folder = copied(&world.folder());
    let files = files(&folder.path().join("documents-1"));
    for ending in [".del", ".idx", ".term", ".store", ".fast", ".json"] {
        assert!(files.iter().any(|path| path.to_string_lossy().ends_with(ending)), "{files:?}");
    }
    (folder, files, told(&index.view(), &nothing()))
}

#[test]
fn whichever_file_is_cut_or_gone_the_answers_are_right() {
    let mut world = World::new();
    let (folder, files, expected) = several_files(&mut world);
    let reader = world.store.reader().unwrap();
    let book = reader.book().unwrap();
    for path in files {
        let bytes = fs::read(&path).unwrap();
        for what in ["cut", "gone"] {
            match what {
                "cut" => fs::write(&path, &bytes[..bytes.len() / 2]).unwrap(),
                _ => fs::remove_file(&path).unwrap(),
            }
            let copy = copied(folder.path());
            let index = Index::open(copy.path()).unwrap();
            index.follow(&reader, &book, Patience::Wait).unwrap();
            assert_eq!(told(&index.view(), &nothing()), expected, "{path:?} {what}");
            assert_eq!(numbers(&index.view(), &words("rhubarb")), [ENTRY], "{path:?} {what}");
        }
        fs::write(&path, &bytes).unwrap();
    }
}

/// A byte that changed on disk is noticed wherever it matters: all is shown as it was, or nothing until made anew.
#[test]
fn whichever_byte_is_wrong_nothing_wrong_is_shown() {
    let mut world = World::new();
    let (folder, files, expected) = several_files(&mut world);
    for path in files {
        let bytes = fs::read(&path).unwrap();
        let is_json = path.extension().is_some_and(|ending| ending == "json");
        // What holds no checksum of its own is looked at more closely.
        let step = if is_json { 5 } else { bytes.len() / 12 + 1 };
        for at in (0..bytes.len()).step_by(step) {
            for bit in [0x01, 0x10] {
                let mut flipped = bytes.clone();
                flipped[at] ^= bit;
                fs::write(&path, flipped).unwrap();
                let view = Index::open(folder.path()).unwrap().view();
                assert!(view.count() == 0 || told(&view, &nothing()) == expected, "{path:?} {at} {bit}");
            }
        }
        fs::write(&path, &bytes).unwrap();
    }
}

#[test]
fn what_is_no_index_is_made_anew_and_what_was_left_half_done_is_removed() {
    let world = World::new();
    let folder = world.folder();
    fs::create_dir_all(folder.join("documents")).unwrap();
    fs::create_dir_all(folder.join("building-1")).unwrap();
    fs::write(folder.join("documents").join("meta.json"), "{}").unwrap();
    fs::write(folder.join("documents-7"), "not a folder").unwrap();
    let reader = world.store.reader().unwrap();
    assert_eq!(Index::state(&folder, &reader).unwrap(), IndexState::Unreadable);
    assert_eq!(found(&world.index(), "cafe"), [ENTRY]);
    let names: Vec<_> = files(&folder).iter().map(|path| path.file_name().unwrap().to_owned()).collect();
    assert_eq!(names, ["documents-8", "lock"]);
    assert_eq!(Index::state(&folder, &reader).unwrap(), IndexState::Current);
    fs::remove_dir_all(&folder).unwrap();
    assert_eq!(Index::state(&folder, &reader).unwrap(), IndexState::Absent);
}

/// A folder may be deleted at any time, by who has no room.
#[test]
fn an_index_whose_folder_is_gone_is_made_anew() {
    let mut world = World::new();
    let index = world.index();
    fs::remove_dir_all(world.folder()).unwrap();
    assert_eq!(found(&index, "cafe"), [ENTRY]);
    world.note(100, "2025-02-05", "Rhubarb planted");
    world.follow(&index);
    assert_eq!(found(&index, "rhubarb"), [100]);
    index.rebuild(&world.store.reader().unwrap(), &|_, _| ()).unwrap();
    assert_eq!(found(&world.index(), "rhubarb"), [100]);
}

#[test]
fn a_large_change_is_written_to_disk_at_once() {
    let mut world = World::new();
    let index = world.index();
    world.compose(|composer| {
        for number in 0..600_u64 {
            let record = RecordId::from_parts(1_741_000_100_000 + number, [9; 10]);
            for (field, text) in [
                ("site", "#10"),
                ("date", "2025-01-05"),
                ("entry_kind", "note"),
                ("text", "Gooseneck fitted"),
            ] {
                composer.set(record, "entry", field, &value("entry", field, text)).unwrap();
            }
        }
    });
    let followed = world.follow(&index);
    assert_eq!((followed.written, followed.whole, followed.pending), (600, false, 0));
    assert_eq!(told(&Index::open(&world.folder()).unwrap().view(), &words("gooseneck")).len(), 600);
    // A new name of their site changes all of them.
    world.change(SITE, "site", "name", "Tin barn");
    assert_eq!(world.follow(&index).pending, 0);
    assert_eq!(
        told(&index.view(), &words("tin barn")).len(),
        told(&world.fresh().1.view(), &words("tin barn")).len()
    );
}

#[test]
fn a_folder_that_cannot_be_made_is_an_error_that_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("index");
    fs::write(&path, "a file").unwrap();
    let error = Index::open(&path).err().unwrap();
    assert!(error.to_string().contains("could not be read or written"), "{error}");
}

#[test]
fn followers_take_turns() {
    let world = World::new();
    let (folder, database) = (world.folder(), world.store.path().to_owned());
    std::thread::scope(|scope| {
        let ask = || {
            let index = Index::open(&folder).unwrap();
            let reader = storypole_store::Reader::open(&database).unwrap();
            index.follow(&reader, &reader.book().unwrap(), Patience::Wait).unwrap();
            found(&index, "cafe")
        };
        let (one, other) = (scope.spawn(ask), scope.spawn(ask));
        assert_eq!((one.join().unwrap(), other.join().unwrap()), (vec![ENTRY], vec![ENTRY]));
    });
}
