//! The chore `screenshots`: pictures of twelve screens on the demo, as README.md shows them; and the soak that looks at every screen
//! in three lights.

use std::path::Path;

use crate::Stop;
use crate::call::Call;
use crate::chromium;
use crate::release;
use crate::schema;
use crate::screens;
use crate::tally::Runner;

/// What makes the pictures, and where they are put.
const SCRIPT: &str = "web-ui/browser/screenshots.mjs";
const FOLDER: &str = "web-ui/pictures";

/// The test of every screen.
const LOOK: &str = "web-ui/browser/look.test.mjs";

/// Makes the pictures anew.
pub fn run(root: &Path, _arguments: &[String]) -> Result<(), Stop> {
    ready(root)?;
    browser(&["node", SCRIPT])?.and(&[FOLDER.to_owned()]).run_or_stop(root)
}

/// Looks at every screen in three lights on phone and laptop, where the short form takes one light.
///
/// # Errors
/// A screen is at fault, or none was looked at.
pub fn every_light(root: &Path) -> Result<(), Stop> {
    ready(root)?;
    let words = ["node", "--test", "--test-force-exit", "--test-reporter=spec", LOOK];
    let (succeeded, tally) =
        browser(&words)?.with("STORYPOLE_LIGHTS", "all").run_counted(root, Runner::Node)?;
    if succeeded && tally.passed > 0 { Ok(()) } else { Err(Stop::Failed) }
}

/// Sees to it that there are screens, a browser and the program.
///
/// # Errors
/// One of them cannot be made or found.
pub fn ready(root: &Path) -> Result<(), Stop> {
    screens::prepare(root)?;
    chromium::set_up(root)?;
    schema::program().run_or_stop(root)
}

fn browser(words: &[&str]) -> Result<Call, Stop> {
    let binary = release::debug_binary()?;
    Ok(Call::new(words).with("STORYPOLE_BINARY", &binary.to_string_lossy()))
}
