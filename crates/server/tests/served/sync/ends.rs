//! Conversations that end in the middle, whichever end goes.

use std::sync::Arc;
use std::time::Duration;

use storypole_desk::Desk;
use storypole_journal::Role;
use storypole_server::partner::sync_once;

use super::{There, are_equal, first, join, sites, sync, write};

/// Far longer than any sync here takes; a test that waits so long has failed.
const PATIENCE: Duration = Duration::from_secs(60);

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_client_that_goes_away_half_way_leaves_nothing_half() {
    let folder = tempfile::tempdir().unwrap();
    let there = There::serve(first(&folder)).await;
    write(&there.desk, 0..300);
    let here = join(&folder, "here", &there.desk, Role::Crew);
    sync(&here, &there).await.unwrap();
    write(&here, 300..600);
    write(&there.desk, 600..900);
    // Given up at every point at which it waits, one after the other: the future is polled so many times and dropped.
    for polls in 1.. {
        let (remote, mut left) = (there.remote(), polls);
        let mut syncing = Box::pin(sync_once(&here, &remote, |_| ()));
        let ended = std::future::poll_fn(|context| {
            if left == 0 {
                return std::task::Poll::Ready(None);
            }
            left -= 1;
            syncing.as_mut().poll(context).map(Some)
        });
        if let Some(done) = tokio::time::timeout(PATIENCE, ended).await.expect("it goes on") {
            done.unwrap();
            break;
        }
    }
    assert_eq!((sites(&here), sites(&there.desk)), (900, 900));
    are_equal(&here, &there.desk);
    assert_eq!(here.verify().unwrap().faults, []);
    there.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn after_a_restart_of_the_server_a_client_signs_in_anew_by_itself() {
    let folder = tempfile::tempdir().unwrap();
    let there = There::serve(first(&folder)).await;
    let here = join(&folder, "here", &there.desk, Role::Crew);
    let mut partner = storypole_server::partner::Partner::new(Arc::clone(&here), there.remote());
    partner.sync(|_| ()).await.unwrap();
    let (path, port) = (there.desk.path().to_owned(), there.url.rsplit(':').next().unwrap().parse().unwrap());
    let desk = Arc::clone(&there.desk);
    there.stop().await;
    assert!(partner.sync(|_| ()).await.is_err(), "nobody is there");
    drop(Arc::into_inner(desk).expect("the server has let go of it"));
    let there = There::serve_at(Arc::new(Desk::open(&path).unwrap()), port).await;
    write(&there.desk, 0..3);
    write(&here, 3..5);
    let outcome = partner.sync(|_| ()).await.unwrap();
    assert_eq!((outcome.tally.taken, outcome.tally.sent), (3, 2));
    are_equal(&here, &there.desk);
    there.stop().await;
}

/// The folder was copied while nobody looked, and both went on.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_copied_folder_is_noticed_and_goes_on_as_a_new_device() {
    let folder = tempfile::tempdir().unwrap();
    let there = There::serve(first(&folder)).await;
    let here = join(&folder, "here", &there.desk, Role::Crew);
    sync(&here, &there).await.unwrap();
    write(&here, 0..2);
    sync(&here, &there).await.unwrap();
    let path = here.path().to_owned();
    drop(Arc::into_inner(here).expect("nobody else has it"));
    let copied = folder.path().join("copied");
    std::fs::create_dir(&copied).unwrap();
    for name in ["notebook.db", "device.key"] {
        std::fs::copy(path.join(name), copied.join(name)).unwrap();
    }
    let (one, other) = (Arc::new(Desk::open(&path).unwrap()), Arc::new(Desk::open(&copied).unwrap()));
    assert_eq!(one.device(), other.device());
    write(&one, 2..5);
    write(&other, 5..7);
    let (mut anew, mut forks) = (0, 0);
    for _ in 0..3 {
        for desk in [&one, &other] {
            let outcome = sync(desk, &there).await.unwrap();
            anew += usize::from(outcome.begun_anew.is_some());
            forks += outcome.forked.len();
        }
    }
    assert_eq!(anew, 1, "one of the two goes on as a new device");
    assert!(forks > 0, "and it is told");
    assert_ne!(one.device(), other.device());
    for desk in [&one, &other, &there.desk] {
        assert_eq!(sites(desk), 7, "nothing is lost");
        assert_eq!(desk.verify().unwrap().faults, []);
    }
    are_equal(&one, &there.desk);
    are_equal(&other, &there.desk);
    there.stop().await;
}

/// The new device is not known anywhere yet, but for the word of the old one in its own first change.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_device_that_is_not_known_yet_signs_in_on_the_word_of_a_member() {
    let folder = tempfile::tempdir().unwrap();
    let there = There::serve(first(&folder)).await;
    let here = join(&folder, "here", &there.desk, Role::Crew);
    sync(&here, &there).await.unwrap();
    let path = here.path().to_owned();
    drop(Arc::into_inner(here).expect("nobody else has it"));
    let copied = folder.path().join("copied");
    std::fs::create_dir(&copied).unwrap();
    for name in ["notebook.db", "device.key"] {
        std::fs::copy(path.join(name), copied.join(name)).unwrap();
    }
    let (one, other) = (Desk::open(&path).unwrap(), Desk::open(&copied).unwrap());
    let (one, other) = (Arc::new(one), Arc::new(other));
    write(&one, 0..1);
    write(&other, 1..2);
    // The two meet each other, out of the server's sight.
    let was = one.device();
    for _ in 0..2 {
        let vector = |desk: &Desk| desk.read(storypole_store::Reader::vector).unwrap();
        let _ = one.receive(other.since(&storypole_journal::Vector::new(), usize::MAX).unwrap()).unwrap();
        let _ = other.receive(one.since(&storypole_journal::Vector::new(), usize::MAX).unwrap()).unwrap();
        assert!(!vector(&one).is_empty());
    }
    let new = if one.device() == was { &other } else { &one };
    assert_ne!(new.device(), was);
    sync(new, &there).await.unwrap();
    assert_eq!(sites(&there.desk), 2);
    are_equal(new, &there.desk);
    there.stop().await;
}
