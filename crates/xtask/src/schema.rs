//! What the server promises in its OpenAPI document, held against what it answers to requests made from it: in
//! order, wrong, and odd.
//!
//! The requests are made by a published tool, installed in its exact version into the target folder. The stream of
//! events is left out, since it never ends, and so is the end of the session, which would end the test.

use std::path::Path;

use crate::Stop;
use crate::call::Call;
use crate::python;
use crate::release;
use crate::served::Served;

/// Package and version, as pip takes it.
const TOOL: &str = "schemathesis==4.32.5";

/// What that version was tried with.
const TOOL_VERSIONS: &str = "crates/xtask/src/schema-tools.txt";

/// No answer is a failure of the server, and every answer is one that the document names, in the form it names.
const CHECKS: &str = "not_a_server_error,status_code_conformance,content_type_conformance,\
                      response_headers_conformance,response_schema_conformance";

/// Seconds of the short run, and the seed that makes it the same each time.
const SHORT_S: u32 = 60;
const SHORT_SEED: &str = "20";

/// Seconds of the long run.
const LONG_S: u32 = 1200;

/// About a minute, the same requests each time.
pub fn short(root: &Path) -> Result<(), Stop> {
    run(root, arguments(SHORT_S, &["--seed", SHORT_SEED]))
}

/// Twenty minutes, other requests each time; the tool prints the seed.
pub fn long(root: &Path) -> Result<(), Stop> {
    if !python::is_possible(root) {
        return Err(Stop::Refused(python::BY_HAND.to_owned()));
    }
    program().run_or_stop(root)?;
    run(root, arguments(LONG_S, &[]))
}

/// The call that builds the program and the tests, which take the same libraries with the same features only where both
/// are asked for at once: else nearly everything is built twice.
pub fn program() -> Call {
    Call::new(&[
        "cargo",
        "build",
        "--workspace",
        "--exclude",
        "storypole-bench",
        "--bin",
        "storypole",
        "--lib",
        "--tests",
    ])
}

fn run(root: &Path, arguments: Vec<String>) -> Result<(), Stop> {
    let target = release::target()?;
    let folder = target.join("schema");
    let name = TOOL.replace("==", "-");
    let environment = python::environment(root, &folder, &name, &[TOOL, "--constraint", TOOL_VERSIONS])?;
    let binary = release::debug_binary()?;
    let served = Served::demo(root, &binary, &folder.join("notebook"))?;
    let program = environment.join("bin").join("schemathesis");
    let tool = Call::new(&[program.to_string_lossy().as_ref(), "run"]).and(&arguments).and(&words(&[
        "--header",
        &format!("Cookie: {}", served.cookie),
        &format!("http://{}/api/openapi.json", served.address),
    ]));
    // In its own folder, where it leaves what it remembers.
    let passed = tool.run(&folder)?;
    served.end(root, &binary)?;
    if passed {
        Ok(())
    } else {
        Err(Stop::Refused("the server answered what its OpenAPI document does not promise".to_owned()))
    }
}

/// The tool's arguments but for where the server is.
fn arguments(seconds: u32, more: &[&str]) -> Vec<String> {
    let seconds = seconds.to_string();
    let mut all = words(&["--checks", CHECKS, "--max-time", &seconds]);
    all.extend(words(&["--exclude-path", "/api/events", "--exclude-operation-id", "end_session"]));
    all.extend(words(&["--generation-with-security-parameters", "false", "--generation-database", "none"]));
    all.extend(words(&["--suppress-health-check", "all", "--warnings", "off", "--max-failures", "20"]));
    all.extend(words(more));
    all
}

fn words(words: &[&str]) -> Vec<String> {
    words.iter().map(|&word| word.to_owned()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_tool_is_the_version_it_was_tried_with() {
        let tried = include_str!("schema-tools.txt");
        assert!(tried.lines().any(|line| line == TOOL), "{TOOL} is not in {TOOL_VERSIONS}");
        let exact = tried.lines().filter(|line| !line.starts_with('#'));
        assert!(exact.clone().count() > 1 && exact.clone().all(|line| line.contains("==")));
    }

    #[test]
    fn the_short_run_is_the_same_each_time_and_the_long_one_is_not() {
        let short = arguments(SHORT_S, &["--seed", SHORT_SEED]).join(" ");
        assert!(short.contains("--max-time 60 ") && short.ends_with("--seed 20"), "{short}");
        let long = arguments(LONG_S, &[]).join(" ");
        assert!(long.contains("--max-time 1200 ") && !long.contains("--seed"), "{long}");
        for call in [short, long] {
            assert!(call.contains("--exclude-path /api/events "), "{call}");
        }
    }
}
