//! The chore `demo`: fills a notebook in `.demo/` and shows what it answers, each command first, so that a user
//! can repeat it from the project's root folder.

use std::fs;
use std::io::ErrorKind;
use std::path::Path;

use crate::Stop;
use crate::call::Call;
use crate::release;

/// The data folder of the demo; `.gitignore` names it.
const DATA: &str = ".demo";

/// Where the write-up is put, from the project's root folder.
const WRITEUP: &str = ".demo/writeup";

/// What the demo runs once the binary is built: a heading and the words after `storypole --data .demo`.
///
/// Whatever ends by itself goes here, in the order it is shown. A command that stays up, as serving does, has its
/// place in [`run`] after this table.
const SHOWN: &[(&str, &[&str])] = &[
    ("a notebook with the demo jobs", &["init", "--demo"]),
    ("today", &["today"]),
    ("what job J1 found", &["finding", "J1"]),
    ("the fills compared", &["compare", "fills"]),
    ("the write-up of job J1", &["writeup", "J1", "--out", WRITEUP]),
];

/// Builds the binary, starts the demo notebook afresh and shows it.
pub fn run(root: &Path, _arguments: &[String]) -> Result<(), Stop> {
    heading("the program");
    let binary = release::build(root)?;
    clear(&root.join(DATA))?;
    for (title, words) in SHOWN {
        heading(title);
        call(&binary.to_string_lossy(), words).run_or_stop(root)?;
    }
    if !root.join(WRITEUP).exists() {
        return Err(Stop::Refused(format!(
            "the write-up is not in {WRITEUP}, though it was asked for there"
        )));
    }
    println!("\nThe notebook lies in {DATA}, the write-up in {WRITEUP}.");
    Ok(())
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
    fn clearing_what_is_not_there_is_fine() {
        assert!(clear(Path::new("no-such-demo-folder")).is_ok());
    }
}
