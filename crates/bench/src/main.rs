//! Benchmarks that run a peer and the product side by side in one process and print ratios.
//!
//! `cargo xtask bench NAME [ARGS]`. Never part of the tests: times on shared cores swing.

mod ingest;
mod serve;

use std::process::ExitCode;

/// As in the product; the peer's side of each benchmark has it too.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    match arguments.first().map(String::as_str) {
        Some("ingest") => {
            ingest::run(arguments.get(1).and_then(|count| count.parse().ok()).unwrap_or(100_000));
            ExitCode::SUCCESS
        }
        Some("serve") => {
            serve::run(arguments.get(1).and_then(|seconds| seconds.parse().ok()).unwrap_or(30));
            ExitCode::SUCCESS
        }
        _ => {
            eprintln!("usage: cargo xtask bench ingest [CHANGES]\n       cargo xtask bench serve [SECONDS]");
            ExitCode::from(2)
        }
    }
}
