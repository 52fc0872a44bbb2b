//! The chore `soak`: tests that run long, by name.
//!
//! Short forms of the same tests belong to the chore `test`; what runs here repeats them many times.

use std::path::Path;

use crate::Stop;
use crate::call::Call;
use crate::pictures;
use crate::schema;
use crate::screens;
use crate::suite;
use crate::tally::{Runner, Tally};

/// A long test: its name here, what it is for, how it is run. More are added as rows.
struct Soak {
    name: &'static str,
    about: &'static str,
    work: Work,
}

enum Work {
    /// One of the project's tests, with environment variables that make it long.
    Test { variables: &'static [(&'static str, &'static str)], words: &'static [&'static str] },
    /// Work of this program.
    Here(fn(&Path) -> Result<(), Stop>),
}

const SOAKS: &[Soak] = &[
    Soak {
        name: "kill",
        about: "kill an import 200 times; no acknowledged change may be lost",
        work: Work::Test {
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
        },
    },
    Soak {
        name: "crew",
        about: "kill one of three syncing servers 300 times; all must agree in the end",
        work: Work::Test {
            variables: &[("STORYPOLE_KILLS", "300")],
            words: &[
                "cargo",
                "test",
                "-p",
                "storypole-tests",
                "--test",
                "crew",
                "--",
                "--exact",
                "killed_servers_agree_in_the_end",
                "--nocapture",
            ],
        },
    },
    Soak {
        name: "find",
        about: "kill a search 100 times while it brings the index to the log; its answers must be those of a fresh one",
        work: Work::Test {
            variables: &[("STORYPOLE_KILLS", "100")],
            words: &[
                "cargo",
                "test",
                "-p",
                "storypole-tests",
                "--test",
                "find_kill",
                "--",
                "--exact",
                "a_killed_search_costs_nothing",
                "--nocapture",
            ],
        },
    },
    Soak {
        name: "schema",
        about: "twenty minutes of requests, in order and not; every answer as the OpenAPI document says",
        work: Work::Here(schema::long),
    },
    Soak {
        name: "screens",
        about: "every screen in three lights on phone and laptop: contrast, names, sizes, nothing that sticks out",
        work: Work::Here(pictures::every_light),
    },
    Soak {
        name: "slow",
        about: "the browser tests three times, with a slow network and slow devices: what races comes to light",
        work: Work::Here(slowly),
    },
];

/// How often the browser tests run where all is slow.
const SLOW_ROUNDS: usize = 3;

fn slowly(root: &Path) -> Result<(), Stop> {
    pictures::ready(root)?;
    suite::browser_slowly(root, SLOW_ROUNDS)
}

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
    screens::prepare(root)?;
    let mut failed = Vec::new();
    for soak in chosen {
        println!("\n== {} ==", soak.name);
        let passed = take(root, &soak.work).unwrap_or_else(|stop| {
            eprintln!("{stop}");
            false
        });
        if !passed {
            failed.push(soak.name);
        }
    }
    if failed.is_empty() {
        Ok(())
    } else {
        Err(Stop::Refused(format!("failed soaks: {}", failed.join(", "))))
    }
}

/// Does the work of one soak. Returns whether it passed.
fn take(root: &Path, work: &Work) -> Result<bool, Stop> {
    match work {
        Work::Test { variables, words } => {
            let (succeeded, tally) = call(variables, words).run_counted(root, Runner::Libtest)?;
            Ok(succeeded && ran(tally))
        }
        Work::Here(work) => work(root).map(|()| true),
    }
}

/// Whether any test ran: a filter that fits nothing succeeds too.
fn ran(tally: Tally) -> bool {
    tally.passed + tally.failed > 0
}

fn call(variables: &[(&str, &str)], words: &[&str]) -> Call {
    variables.iter().fold(Call::new(words), |call, (name, value)| call.with(name, value))
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
        let Work::Test { variables, words } = &kill.work else { panic!("it is one of the project's tests") };
        assert_eq!(
            call(variables, words).to_string(),
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
