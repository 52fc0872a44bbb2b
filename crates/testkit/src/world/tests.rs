//! Few worlds, and that the world notices a promise broken on purpose. Many worlds are run from `tests`.

use super::*;

#[test]
fn a_few_worlds_keep_their_promises() {
    let seed: u64 = std::env::var("SEED").ok().and_then(|seed| seed.parse().ok()).unwrap_or(0);
    let count: u64 = std::env::var("COUNT").ok().and_then(|seed| seed.parse().ok()).unwrap_or(10);
    let mut tally = Tally::default();
    for seed in seed..seed + count {
        let outcome = run(Plan { is_told: count == 1, ..Plan::of(seed) });
        tally.add(&outcome.tally);
        if !outcome.broken.is_empty() {
            println!("SEED={seed}: {:#?}\n{}", outcome.broken, outcome.story.join("\n"));
        }
    }
    println!("{tally}");
}
