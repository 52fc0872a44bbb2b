//! The chore `demo`: fills a notebook in `.demo/`, shows what it answers, each command first, so that a user can
//! repeat it from the project's root folder, and serves it to this computer's browser.

use std::fs;
use std::io::ErrorKind;
use std::net::{Ipv4Addr, TcpListener};
use std::path::Path;
use std::time::Instant;

use crate::Stop;
use crate::call::Call;
use crate::release;

/// The data folder of the demo; `.gitignore` names it.
const DATA: &str = ".demo";

/// Where the write-up is put, from the project's root folder.
const WRITEUP: &str = ".demo/writeup";

/// The port that `storypole serve` takes by itself.
const PORT: u16 = 8417;

/// What the demo runs once the binary is built: a heading and the words after `storypole --data .demo`.
///
/// Whatever ends by itself goes here, in the order it is shown. Serving, which stays up, comes after this table.
const SHOWN: &[(&str, &[&str])] = &[
    ("a notebook with the demo jobs", &["init", "--demo"]),
    ("today", &["today"]),
    ("what job J1 found", &["finding", "J1"]),
    ("the fills compared", &["compare", "fills"]),
    ("the write-up of job J1", &["writeup", "J1", "--out", WRITEUP]),
];

/// Builds screens and binary, starts the demo notebook afresh, shows it, and serves it until Ctrl-C.
pub fn run(root: &Path, arguments: &[String]) -> Result<(), Stop> {
    let serves = match arguments {
        [] => true,
        [flag] if flag == "--no-serve" => false,
        _ => return Err(Stop::Usage("cargo xtask demo [--no-serve]".to_owned())),
    };
    heading("the program");
    let start = Instant::now();
    let binary = release::build(root)?;
    took("built", start);
    clear(&root.join(DATA))?;
    let binary = binary.to_string_lossy();
    for (title, words) in SHOWN {
        heading(title);
        let start = Instant::now();
        call(&binary, words).run_or_stop(root)?;
        took("answered", start);
    }
    if !root.join(WRITEUP).exists() {
        return Err(Stop::Refused(format!(
            "the write-up is not in {WRITEUP}, though it was asked for there"
        )));
    }
    println!("\nThe notebook lies in {DATA}, the write-up in {WRITEUP}.");
    if !serves {
        return Ok(());
    }
    heading("the same notebook in a browser");
    // The last thing printed is what the server says: its address, with the key.
    call(&binary, &serving(is_free(PORT))).become_it(root)
}

/// How the demo is served: where a person expects it, or wherever there is room.
fn serving(is_free: bool) -> Vec<&'static str> {
    if is_free { vec!["serve"] } else { vec!["serve", "--port", "0"] }
}

fn is_free(port: u16) -> bool {
    TcpListener::bind((Ipv4Addr::LOCALHOST, port)).is_ok()
}

fn took(what: &str, start: Instant) {
    println!("({what} in {:.1} s)", start.elapsed().as_secs_f64());
}

fn call(binary: &str, words: &[&str]) -> Call {
    let mut all = vec![binary, "--data", DATA];
    all.extend_from_slice(words);
    Call::new(&all)
}

fn heading(title: &str) {
    println!("\n== {title} ==");
}

/// Removes what an earlier demo left.
fn clear(folder: &Path) -> Result<(), Stop> {
    match fs::remove_dir_all(folder) {
        Err(error) if error.kind() != ErrorKind::NotFound => Err(Stop::io(format!("clear {DATA}"))(error)),
        _ => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_command_works_on_the_demo_folder_and_the_notebook_comes_first() {
        let shown: Vec<String> =
            SHOWN.iter().map(|(_, words)| call("storypole", words).to_string()).collect();
        assert_eq!(shown[0], "storypole --data .demo init --demo");
        assert!(shown.iter().all(|line| line.starts_with("storypole --data .demo ")), "{shown:?}");
        assert!(
            shown.contains(&"storypole --data .demo writeup J1 --out .demo/writeup".to_owned()),
            "{shown:?}"
        );
    }

    #[test]
    fn a_port_that_is_taken_is_left_alone() {
        let taken = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).expect("some port is free");
        assert!(!is_free(taken.local_addr().expect("it is bound").port()));
        assert_eq!(call("storypole", &serving(false)).to_string(), "storypole --data .demo serve --port 0");
        assert_eq!(call("storypole", &serving(true)).to_string(), "storypole --data .demo serve");
    }

    #[test]
    fn clearing_what_is_not_there_is_fine() {
        assert!(clear(Path::new("no-such-demo-folder")).is_ok());
    }
}
