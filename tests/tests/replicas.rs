//! Goal: copies agree once the network heals, and nothing that was acknowledged is lost. Method: worlds of three to six
//! machines, each with the store and the sessions that ship, on disks, clocks and a network that fail; every world
//! follows from its seed.
//!
//! `cargo xtask sim` runs 10,000 of them; `STORYPOLE_WORLDS` sets how many, and `SEED=17` replays one and tells it.

use std::env;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Mutex, PoisonError};
use std::time::Instant;

use storypole_testkit::world::{Outcome, Plan, Tally, run};

/// Worlds that are run where nobody says how many.
const WORLDS: u64 = 500;

/// After so many broken worlds the others are not run: these have to be looked at first.
const BROKEN_MOST: usize = 5;

fn number(name: &str) -> Option<u64> {
    env::var(name).ok().map(|text| text.parse().unwrap_or_else(|_| panic!("{name} is not a number: {text}")))
}

/// What became of all worlds.
#[derive(Default)]
struct Sum {
    tally: Tally,
    broken: Vec<(u64, Outcome)>,
}

#[test]
fn replicas_converge() {
    if let Some(seed) = number("SEED") {
        return tell(seed);
    }
    let count = number("STORYPOLE_WORLDS").unwrap_or(WORLDS);
    let begun = Instant::now();
    let Sum { tally, broken } = run_all(count);
    println!("{tally}in {} s", begun.elapsed().as_secs());
    for (seed, outcome) in &broken {
        println!("SEED={seed}: {:?}", outcome.broken);
    }
    assert!(
        broken.is_empty(),
        "promises were broken: SEED={} cargo test -p storypole-tests --test replicas -- --nocapture",
        broken.first().map_or(0, |(seed, _)| *seed)
    );
    let missing: Vec<&str> =
        tally.faults().into_iter().filter(|(_, met)| *met == 0).map(|(what, _)| what).collect();
    assert!(count < WORLDS || missing.is_empty(), "never met, so nothing was shown of them: {missing:?}");
}

/// Runs worlds on as many threads as there are cores.
fn run_all(count: u64) -> Sum {
    let (next, sum) = (AtomicU64::new(0), Mutex::new(Sum::default()));
    let work = || {
        loop {
            let seed = next.fetch_add(1, Ordering::SeqCst);
            if seed >= count || sum.lock().unwrap_or_else(PoisonError::into_inner).broken.len() >= BROKEN_MOST
            {
                return;
            }
            let outcome = run(Plan::of(seed));
            let mut sum = sum.lock().unwrap_or_else(PoisonError::into_inner);
            sum.tally.add(&outcome.tally);
            if sum.tally.worlds.is_multiple_of(1_000) {
                println!("{} worlds, {} of them broken", sum.tally.worlds, sum.broken.len());
            }
            if !outcome.broken.is_empty() {
                sum.broken.push((seed, outcome));
            }
        }
    };
    std::thread::scope(|scope| {
        let threads = std::thread::available_parallelism().map_or(2, usize::from);
        (0..threads).for_each(|_| _ = scope.spawn(work));
    });
    sum.into_inner().unwrap_or_else(PoisonError::into_inner)
}

fn tell(seed: u64) {
    let Outcome { broken, tally, story } = run(Plan { is_told: true, ..Plan::of(seed) });
    println!("{}\n{tally}", story.join("\n"));
    assert!(broken.is_empty(), "SEED={seed}: {broken:#?}");
}
