//! The chore `sim`: many simulated worlds, in the release profile.
//!
//! The test it runs is part of the chore `test` too, with fewer worlds.

use std::path::Path;

use crate::Stop;
use crate::call::Call;

/// Worlds that are run where nobody says how many.
const WORLDS: u64 = 10_000;

/// Runs as many worlds as asked for.
pub fn run(root: &Path, arguments: &[String]) -> Result<(), Stop> {
    call(count(arguments)?).run_or_stop(root)
}

fn count(arguments: &[String]) -> Result<u64, Stop> {
    let usage = |got: &str| Stop::Usage(format!("`cargo xtask sim [COUNT]`: how many worlds? Got `{got}`"));
    match arguments {
        [] => Ok(WORLDS),
        [count] => count.parse().ok().filter(|count| *count > 0).ok_or_else(|| usage(count)),
        more => Err(usage(&more.join(" "))),
    }
}

fn call(count: u64) -> Call {
    let test = ["cargo", "test", "--release", "-p", "storypole-tests", "--test", "replicas"];
    let words = [&test[..], &["--", "--exact", "replicas_converge", "--nocapture"]].concat();
    Call::new(&words).with("STORYPOLE_WORLDS", &count.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_number_of_worlds_reaches_the_test() {
        assert_eq!(
            call(300).to_string(),
            "STORYPOLE_WORLDS=300 cargo test --release -p storypole-tests --test replicas -- --exact replicas_converge --nocapture"
        );
    }

    #[test]
    fn only_a_number_of_worlds_is_understood() {
        let counts = |words: &[&str]| {
            let words: Vec<String> = words.iter().map(|&word| word.to_owned()).collect();
            count(&words).ok()
        };
        assert_eq!((counts(&[]), counts(&["25"])), (Some(10_000), Some(25)));
        assert_eq!((counts(&["0"]), counts(&["many"]), counts(&["1", "2"])), (None, None, None));
    }
}
