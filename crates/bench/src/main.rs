//! Benchmarks that run a peer and the product side by side in one process and print ratios.
//!
//! `cargo xtask bench NAME [ARGS]`. Never part of the tests: times on shared cores swing.

mod find;
mod findings;
mod ingest;
mod merge;
mod serve;
mod sync;
mod takeoff;
mod writeup;

use std::process::ExitCode;

/// As in the product; the peer's side of each benchmark has it too.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

const USAGE: &str = "usage: cargo xtask bench ingest [CHANGES]
       cargo xtask bench serve [SECONDS]
       cargo xtask bench sync [CHANGES [crew|strangers]]
       cargo xtask bench merge [WRITES]
       cargo xtask bench find [NOTES]
       cargo xtask bench findings [RECORDS]
       cargo xtask bench takeoff [WALLS]
       cargo xtask bench writeup [ROUNDS]";

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    match arguments.as_slice() {
        ["ingest", rest @ ..] => ingest::run(number(rest.first(), 100_000)),
        ["serve", rest @ ..] => serve::run(number(rest.first(), 30)),
        ["sync", count, content, name] => return ended(sync::run_one(name, number(Some(count), 0), content)),
        ["sync", rest @ ..] => {
            let content = rest.get(1).copied().unwrap_or("crew");
            return ended(sync::run(number(rest.first(), 100_000), content));
        }
        ["merge", rest @ ..] => merge::run(number(rest.first(), 20_000)),
        ["find"] => find::run(&[10_000, 100_000, 1_000_000]),
        ["find", count] => find::run(&[number(Some(count), 100_000)]),
        ["findings"] => findings::run(&[100_000, 1_000_000]),
        ["findings", count] => findings::run(&[number(Some(count), 100_000)]),
        ["writeup", rest @ ..] => writeup::run(number(rest.first(), 5)),
        ["takeoff", rest @ ..] => takeoff::run(number(rest.first(), 1_000)),
        _ => {
            eprintln!("{USAGE}");
            return ExitCode::from(2);
        }
    }
    ExitCode::SUCCESS
}

fn ended(result: Result<(), String>) -> ExitCode {
    match result {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => {
            eprintln!("{why}");
            ExitCode::from(2)
        }
    }
}

fn number<T: std::str::FromStr>(text: Option<&&str>, otherwise: T) -> T {
    text.and_then(|text| text.parse().ok()).unwrap_or(otherwise)
}
