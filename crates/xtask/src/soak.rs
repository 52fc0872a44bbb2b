//! The chore `soak`: tests that run long, by name.
//!
//! Short forms of the same tests belong to the chore `test`; what runs here repeats them many times.

use std::path::Path;

use crate::Stop;
use crate::call::Call;
use crate::tally::{Runner, Tally};

/// A long test: its name here, what it is for, how it is run. More are added as rows.
struct Soak {
    name: &'static str,
    about: &'static str,
    variables: &'static [(&'static str, &'static str)],
    words: &'static [&'static str],
}

const SOAKS: &[Soak] = &[Soak {
    name: "kill",
    about: "kill an import 200 times; no acknowledged change may be lost",
    variables: &[("STORYPOLE_KILLS", "200")],
    words: &[
        "cargo",
        "test",
        "-p",
        "storypole-tests",
        "--test",
        "kill",
        "--",
        "--exact",
        "no_acknowledged_change_is_lost",
        "--nocapture",
    ],
}];

/// Runs the named long test, or all of them in the table's order.
pub fn run(root: &Path, arguments: &[String]) -> Result<(), Stop> {
    let chosen: Vec<&Soak> = match arguments {
        [] => SOAKS.iter().collect(),
        [name] => SOAKS.iter().filter(|soak| soak.name == name.as_str()).collect(),
        _ => Vec::new(),
    };
    if chosen.is_empty() {
        return Err(Stop::Usage(format!("there is no soak `{}`\n\n{}", arguments.join(" "), list())));
    }
    let mut failed = Vec::new();
    for soak in chosen {
        println!("\n== {} ==", soak.name);
        let (succeeded, tally) = call(soak).run_counted(root, Runner::Libtest)?;
        if !succeeded || !ran(tally) {
            failed.push(soak.name);
        }
    }
    if failed.is_empty() {
        Ok(())
    } else {
        Err(Stop::Refused(format!("failed soaks: {}", failed.join(", "))))
    }
}

/// Whether any test ran: a filter that fits nothing succeeds too.
fn ran(tally: Tally) -> bool {
    tally.passed + tally.failed > 0
}

fn call(soak: &Soak) -> Call {
    let call = Call::new(soak.words);
    soak.variables.iter().fold(call, |call, (name, value)| call.with(name, value))
}

fn list() -> String {
    let lines: Vec<String> = SOAKS.iter().map(|soak| format!("  {:<8}  {}", soak.name, soak.about)).collect();
    format!("cargo xtask soak [NAME]\n{}", lines.join("\n"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_kill_soak_runs_one_test_for_long() {
        let kill = SOAKS.iter().find(|soak| soak.name == "kill").expect("the table has it");
        assert_eq!(
            call(kill).to_string(),
            "STORYPOLE_KILLS=200 cargo test -p storypole-tests --test kill -- --exact no_acknowledged_change_is_lost --nocapture"
        );
    }

    #[test]
    fn a_soak_in_which_no_test_ran_has_not_passed() {
        let mut tally = Tally::default();
        tally.take(
            Runner::Libtest,
            "test result: ok. 0 passed; 0 failed; 0 ignored; 0 measured; 6 filtered out",
        );
        assert!(!ran(tally));
        tally.take(
            Runner::Libtest,
            "test result: ok. 1 passed; 0 failed; 0 ignored; 0 measured; 5 filtered out",
        );
        assert!(ran(tally));
    }

    #[test]
    fn the_list_names_every_soak() {
        assert!(SOAKS.iter().all(|soak| list().contains(soak.name)));
    }
}
