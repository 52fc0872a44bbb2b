//! The end-to-end tests that are run with all others, in one program: each program of its own is linked anew, which took longer
//! than what it tests. Tests that `cargo xtask soak` and `cargo xtask sim` run by themselves stand alone, as `Cargo.toml` lists them.

mod access;
mod cli_read;
mod cli_write;
mod find_judged;
mod find_sql;
mod full_disk;
mod joining;
mod keep;
mod materials;
mod measure;
mod quantities;
mod readme;
mod serve;
mod stumbles_read;
mod stumbles_write;
mod two_desks;
mod writeup;
