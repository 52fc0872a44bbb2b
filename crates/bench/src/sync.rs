//! How many bytes and seconds it takes to bring a notebook to another device, beside libraries that merge documents
//! and beside compressed JSON Lines.
//!
//! All carry the same drafts: first to a device that has nothing, then a hundredth more. A step is over when what was
//! sent is durable at the far end and values can be asked for. For the product and for JSON Lines that is a database
//! with `synchronous=FULL` and its tables; for a library it is a file that was synced and a document in memory, so
//! that its next start has to load that again. Both ends run on one thread, one after the other, and the network takes
//! no time. Each contender has a process of its own, so that its memory is its own. Seconds on a core stand beside
//! those on the clock, for a machine that does other things too.
//!
//! The libraries are large: they are built with the feature `peers`, which `cargo xtask bench sync` sets, and nowhere else.
//!
//! Left out of what a library carries: what a write had seen, hash chain and signatures, and in most rows the id of
//! the draft, ten random bytes each. The product's bytes hold them.

#![cfg_attr(
    not(feature = "peers"),
    allow(dead_code, reason = "only the libraries use it, and they are not built")
)]

mod content;
mod json_lines;
mod leg;
#[cfg(feature = "peers")]
mod of_automerge;
#[cfg(feature = "peers")]
mod of_loro;
mod of_storypole;
#[cfg(feature = "peers")]
mod of_yrs;

use std::path::PathBuf;
use std::process::{Command, Stdio};

use content::{Content, Work};
pub use leg::{Leg, cpu_s};
pub use of_storypole::{founded, write};

/// The kinds that the drafts write.
const KINDS: &[&str] = &["entry", "line", "reading", "receipt", "task"];

/// How often a contender runs whose seconds are compared.
const ROUNDS: usize = 3;

/// What stands beside what.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Side {
    Product,
    /// A library that keeps every value with its time and author.
    Library,
    /// And the id of the draft, by which a draft that comes again is known: as much as the notebook needs.
    FullLibrary,
    /// One that does not keep as much; shown, but no yardstick.
    LesserLibrary,
    Lines,
}

struct Contender {
    name: &'static str,
    side: Side,
    run: fn(&Work) -> [Leg; 2],
}

const fn contender(name: &'static str, side: Side, run: fn(&Work) -> [Leg; 2]) -> Contender {
    Contender { name, side, run }
}

const CONTENDERS: &[Contender] = &[
    contender("storypole", Side::Product, of_storypole::run),
    #[cfg(feature = "peers")]
    contender("automerge save, changes", Side::Library, of_automerge::changes),
    #[cfg(feature = "peers")]
    contender("automerge save, bundle, zstd 19", Side::Library, of_automerge::bundle),
    #[cfg(feature = "peers")]
    contender("loro snapshot", Side::Library, of_loro::snapshot),
    #[cfg(feature = "peers")]
    contender("loro snapshot, zstd 19", Side::Library, of_loro::snapshot_packed),
    #[cfg(feature = "peers")]
    contender("loro updates, zstd 19", Side::Library, of_loro::updates_packed),
    #[cfg(feature = "peers")]
    contender("yrs v2 and log, zstd 19", Side::Library, of_yrs::with_log),
    #[cfg(feature = "peers")]
    contender("automerge with ids, zstd 19", Side::FullLibrary, of_automerge::bundle_with_ids),
    #[cfg(feature = "peers")]
    contender("loro with ids, zstd 19", Side::FullLibrary, of_loro::updates_with_ids),
    #[cfg(feature = "peers")]
    contender("yrs and log with ids, zstd 19", Side::FullLibrary, of_yrs::with_log_and_ids),
    #[cfg(feature = "peers")]
    contender("yrs v2 values only, zstd 19", Side::LesserLibrary, of_yrs::values),
    contender("JSON Lines, zstd 3, SQLite", Side::Lines, json_lines::fast),
    contender("JSON Lines, zstd 19, SQLite", Side::Lines, json_lines::small),
];

/// Runs every contender in a process of its own and prints the table and the aims.
///
/// # Errors
/// As [`run_one`].
pub fn run(count: usize, content: &str) -> Result<(), String> {
    println!("sync: {count} changes to an empty device, then {} more; {content}", count.div_ceil(100));
    let [full, more] = Work::new(count, content_of(content)?, PathBuf::new()).random_bytes();
    println!("random digits of the ids alone, which nothing makes smaller: {full} bytes, then {more}");
    println!(
        "{:<32} {:>10} {:>6} {:>6} {:>9} {:>6} {:>7} {:>7} {:>7} {:>7} {:>6}",
        "", "bytes", "each", "ratio", "bytes 1%", "ratio", "s", "cpu s", "s 1%", "cpu 1%", "MB"
    );
    let mut product: Option<[Leg; 2]> = None;
    let mut seen: Vec<(Side, [Leg; 2])> = Vec::new();
    for contender in CONTENDERS {
        // Those whose seconds are compared run more than once, and the fastest counts.
        let rounds = if matches!(contender.side, Side::Product | Side::Lines) { ROUNDS } else { 1 };
        let rounds = (0..rounds).map(|_| in_a_process(contender.name, count, content));
        let Some(legs) = rounds.collect::<Option<Vec<_>>>().and_then(fastest) else {
            println!("{:<32} failed", contender.name);
            continue;
        };
        let own = *product.get_or_insert(legs);
        print_row(contender.name, count, &legs, &own);
        seen.push((contender.side, legs));
    }
    print_aims(&seen);
    Ok(())
}

fn fastest(rounds: Vec<[Leg; 2]>) -> Option<[Leg; 2]> {
    rounds.into_iter().reduce(|one, other| [one[0].faster(other[0]), one[1].faster(other[1])])
}

fn print_row(name: &str, count: usize, [full, more]: &[Leg; 2], own: &[Leg; 2]) {
    println!(
        "{name:<32} {:>10} {:>6.1} {:>6.2} {:>9} {:>6.2} {:>7.2} {:>7.2} {:>7.3} {:>7.3} {:>6.0}",
        full.bytes,
        full.bytes as f64 / count as f64,
        own[0].bytes as f64 / full.bytes as f64,
        more.bytes,
        own[1].bytes as f64 / more.bytes as f64,
        full.time_s,
        full.cpu_s,
        more.time_s,
        more.cpu_s,
        full.peak_mb,
    );
}

fn print_aims(seen: &[(Side, [Leg; 2])]) {
    let of = |side: Side| seen.iter().filter(move |(other, _)| *other == side).map(|(_, legs)| legs);
    let Some([full, more]) = of(Side::Product).next() else { return };
    let least =
        |side: Side, measure: fn(&[Leg; 2]) -> f64| of(side).map(measure).fold(f64::INFINITY, f64::min);
    println!("ratios are the product's bytes over the other's; MB is memory at the peak, both ends");
    let aim = |what: &str, ratio: f64, aim: f64| {
        let met = if ratio <= aim { "met" } else { "NOT met" };
        println!("{what}: {ratio:.2} (aim: at most {aim:.2}) {met}");
    };
    for (side, what) in
        [(Side::Library, "best library's without ids of drafts"), (Side::FullLibrary, "with them")]
    {
        let best = [least(side, |legs| legs[0].bytes as f64), least(side, |legs| legs[1].bytes as f64)];
        aim(&format!("bytes of all / {what}"), full.bytes as f64 / best[0], 0.70);
        aim(&format!("bytes of 1 % / {what}"), more.bytes as f64 / best[1], 0.80);
    }
    aim("seconds of all / fastest JSON Lines", full.time_s / least(Side::Lines, |legs| legs[0].time_s), 1.30);
    aim("seconds of 1 % / fastest JSON Lines", more.time_s / least(Side::Lines, |legs| legs[1].time_s), 1.30);
    let cpu = [
        full.cpu_s / least(Side::Lines, |legs| legs[0].cpu_s),
        more.cpu_s / least(Side::Lines, |legs| legs[1].cpu_s),
    ];
    println!("the same in seconds on a core: {:.2} and {:.2}", cpu[0], cpu[1]);
}

fn in_a_process(name: &str, count: usize, content: &str) -> Option<[Leg; 2]> {
    let this = std::env::current_exe().expect("this program has a place");
    let output = Command::new(this)
        .args(["sync", &count.to_string(), content, name])
        .stderr(Stdio::inherit())
        .output()
        .expect("this program runs again");
    if !output.status.success() {
        return None;
    }
    let text = String::from_utf8(output.stdout).ok()?;
    let numbers: Vec<f64> = text.split_whitespace().map(str::parse).collect::<Result<_, _>>().ok()?;
    let [a, b, c, d, e, f, g, h] = *numbers.as_slice() else { return None };
    let leg = |bytes: f64, time_s, cpu_s, peak_mb| Leg { bytes: bytes as usize, time_s, cpu_s, peak_mb };
    Some([leg(a, b, c, d), leg(e, f, g, h)])
}

/// Runs one contender here and prints its numbers alone, for the process that asked.
///
/// # Errors
/// Tells the names there are when it knows none of this name.
pub fn run_one(name: &str, count: usize, content: &str) -> Result<(), String> {
    let content = content_of(content)?;
    let Some(contender) = CONTENDERS.iter().find(|contender| contender.name == name) else {
        let names: Vec<&str> = CONTENDERS.iter().map(|contender| contender.name).collect();
        return Err(format!("{name} is no contender: {}", names.join("; ")));
    };
    let folder = tempfile::tempdir().expect("a temporary folder");
    let work = Work::new(count, content, folder.path().to_owned());
    for leg in (contender.run)(&work) {
        println!("{} {} {} {}", leg.bytes, leg.time_s, leg.cpu_s, leg.peak_mb);
    }
    Ok(())
}

fn content_of(name: &str) -> Result<Content, String> {
    match name {
        "crew" => Ok(Content::Crew),
        "strangers" => Ok(Content::Strangers),
        other => Err(format!("{other} is no content: choose crew or strangers")),
    }
}
