//! Few worlds, and that the world notices a promise broken on purpose. Many worlds are run from `tests`.

use super::*;

#[test]
fn a_few_worlds_keep_their_promises() {
    for seed in 0..6 {
        let outcome = run(Plan::of(seed));
        assert_eq!(outcome.broken, [], "SEED={seed}");
        assert!(outcome.tally.drafts_acknowledged > 5, "SEED={seed}");
    }
}

/// Runs sabotaged worlds until one reports a broken promise of the kind looked for.
#[track_caller]
fn check_noticed(sabotage: Sabotage, is_it: fn(&Broken) -> bool) {
    let mut others = Vec::new();
    for seed in 0..SEEDS_MOST {
        let Outcome { broken, .. } = run(Plan { events: 90, sabotage: Some(sabotage), ..Plan::of(seed) });
        if broken.iter().any(is_it) {
            return;
        }
        others.extend(broken);
    }
    panic!("{sabotage:?} was not noticed in {SEEDS_MOST} worlds; found were {others:?}");
}

/// Within so many worlds a broken promise must be noticed.
const SEEDS_MOST: u64 = 40;

#[test]
fn disks_that_lie_are_noticed() {
    check_noticed(Sabotage::LyingDisks, |broken| {
        matches!(broken, Broken::Lost { .. } | Broken::NotDelivered { .. } | Broken::Failed { .. })
    });
}

#[test]
fn drafts_acknowledged_and_never_written_are_noticed() {
    check_noticed(Sabotage::AcknowledgesUnwritten, |broken| matches!(broken, Broken::Lost { .. }));
}

#[test]
fn parcels_dropped_and_said_to_be_taken_are_noticed() {
    check_noticed(Sabotage::DropsAndSaysTaken, |broken| matches!(broken, Broken::NotDelivered { .. }));
}

#[test]
fn changes_without_what_they_have_seen_are_noticed() {
    check_noticed(Sabotage::SkipsASeries, |broken| matches!(broken, Broken::NotClosed { .. }));
}

#[test]
fn tables_that_follow_the_order_of_arrival_are_noticed() {
    check_noticed(
        Sabotage::ArrivalOrderWins,
        |broken| matches!(broken, Broken::Faults { what, .. } if what.contains("Tables")),
    );
}

#[test]
fn branches_thrown_away_are_noticed() {
    check_noticed(Sabotage::DropsAside, |broken| {
        matches!(broken, Broken::NotDelivered { .. } | Broken::Lost { .. })
    });
}

#[test]
fn copies_that_never_go_on_as_a_new_device_are_noticed() {
    check_noticed(Sabotage::NeverMends, |broken| {
        matches!(broken, Broken::Lost { .. } | Broken::Differ { .. })
    });
}

#[test]
fn a_world_happens_again_just_the_same() {
    for seed in [3, 4] {
        let plan = Plan { events: 90, is_told: true, ..Plan::of(seed) };
        let (one, two) = (run(plan), run(plan));
        assert!(one.story.len() > 50);
        let differs = one.story.iter().zip(&two.story).find(|(one, two)| one != two);
        assert_eq!((differs, one.story.len(), one.tally), (None, two.story.len(), two.tally));
    }
}
