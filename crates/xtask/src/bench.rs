//! The chore `bench`: runs one benchmark of the `bench` crate with the release profile.
//!
//! Which benchmarks exist is the `bench` binary's to know; a name it does not have is refused there. Only `meter` is not
//! one of its: that one's peer is Python.

use std::path::Path;

use crate::Stop;
use crate::call::Call;
use crate::reference;
use crate::release;
use crate::screens;

/// Runs the benchmark named first, with the remaining arguments.
pub fn run(root: &Path, arguments: &[String]) -> Result<(), Stop> {
    if arguments.is_empty() {
        return Err(Stop::Usage("which benchmark? `cargo xtask bench NAME [ARGS]`".to_owned()));
    }
    if arguments[0] == METER {
        return meter(root, &arguments[1..]);
    }
    screens::prepare(root)?;
    call(arguments).run_or_stop(root)
}

/// The benchmark whose peer is Python: the program as people run it, beside scipy.
const METER: &str = "meter";

fn meter(root: &Path, arguments: &[String]) -> Result<(), Stop> {
    let python = reference::python(root)?;
    let binary = release::build(root)?;
    let words = [python.to_string_lossy(), "tests/reference/meter_speed.py".into(), binary.to_string_lossy()];
    Call::new(&words.each_ref().map(AsRef::as_ref)).and(arguments).run_or_stop(root)
}

/// The benchmark whose peers are large libraries: only it waits for them to be built.
const SYNC: &str = "sync";

fn call(arguments: &[String]) -> Call {
    let mut words = vec!["cargo", "run", "--release", "-p", "storypole-bench"];
    if arguments.first().is_some_and(|name| name == SYNC) {
        words.extend(["--features", "peers"]);
    }
    words.push("--");
    Call::new(&words).and(arguments)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn name_and_arguments_reach_the_benchmark_and_peers_the_one_that_has_them() {
        let shown = |name: &str| call(&[name.to_owned(), "--rows".to_owned(), "10".to_owned()]).to_string();
        assert_eq!(shown("append"), "cargo run --release -p storypole-bench -- append --rows 10");
        assert_eq!(
            shown("sync"),
            "cargo run --release -p storypole-bench --features peers -- sync --rows 10"
        );
    }
}
