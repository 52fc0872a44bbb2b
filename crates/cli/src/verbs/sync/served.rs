//! The same while a server holds the folder: it does the work, and is asked how it went.

use std::time::{Duration, Instant};

use serde_json::{Value as Json, json};
use storypole_server::running::Asked;

use crate::context::Context;
use crate::print::say;
use crate::refused::{Outcome, Refused};
use crate::running::Server;

/// How long the server may take, and how often it is asked.
const PATIENCE: Duration = Duration::from_secs(600);
const PAUSE: Duration = Duration::from_millis(100);

/// Forgets an address.
pub fn forget(context: &Context, server: &Server, url: &str) -> Outcome {
    server.ask(Asked::Delete(&format!("/api/sync/partners?url={}", quoted(url))))?;
    super::forgotten(context, url);
    Ok(())
}

/// Has the server sync with one address, or with all, and tells how it went.
pub fn sync(context: &Context, server: &Server, url: Option<&str>, pin: Option<[u8; 32]>) -> Outcome {
    let before = partners(&server.ask(Asked::Get("/api/sync"))?);
    let is_known = |url: &str| before.iter().any(|partner| partner["url"] == url);
    match url {
        Some(url) if !is_known(url) || pin.is_some() => {
            let digits = pin.map(|pin| pin.iter().map(|byte| format!("{byte:02x}")).collect::<String>());
            let body = match digits {
                Some(pin) => json!({ "url": url, "pin": pin }),
                None => json!({ "url": url }),
            };
            server.ask(Asked::Put("/api/sync/partners", &body))?;
        }
        _ => {
            server.ask(Asked::Post("/api/sync/now", &Json::Null))?;
        }
    }
    let is_wanted = |partner: &Json| url.is_none_or(|url| partner["url"] == url);
    let done = wait(server, &before, url.is_some(), &is_wanted)?;
    if done.is_empty() {
        return Err(super::none_known());
    }
    let mut failed = Vec::new();
    for partner in &done {
        let url = partner["url"].as_str().unwrap_or_default();
        match partner["failed"].as_str() {
            Some(why) => {
                if context.json() {
                    say!("{}", json!({ "url": url, "failed": why }));
                }
                failed.push(Refused::new(why, "the server tries again by itself; what was taken stays"));
            }
            None => {
                let line = json!({
                    "url": url,
                    "device": partner["device"],
                    "taken": partner["taken"],
                    "sent": partner["sent"],
                    "failed": null,
                });
                super::told(context, url, &line);
            }
        }
    }
    super::whole(done.len(), failed)
}

/// Waits until each that is wanted was tried once more than before.
fn wait(
    server: &Server,
    before: &[Json],
    is_one: bool,
    is_wanted: &dyn Fn(&Json) -> bool,
) -> Result<Vec<Json>, Refused> {
    let until = Instant::now() + PATIENCE;
    loop {
        let all = partners(&server.ask(Asked::Get("/api/sync"))?);
        let wanted: Vec<Json> = all.into_iter().filter(is_wanted).collect();
        let tries = |partner: &Json| partner["tries"].as_u64().unwrap_or(0);
        let was = |partner: &Json| before.iter().find(|old| old["url"] == partner["url"]).map_or(0, tries);
        // An address that was just added is listed a moment later.
        let is_listed = !(wanted.is_empty() && is_one);
        if is_listed && wanted.iter().all(|partner| tries(partner) > was(partner)) {
            return Ok(wanted);
        }
        if Instant::now() > until {
            let reason = "the server is still at it after ten minutes";
            return Err(Refused::new(reason, "see how far it is with `storypole sync --list`"));
        }
        std::thread::sleep(PAUSE);
    }
}

fn partners(told: &Json) -> Vec<Json> {
    told["partners"].as_array().cloned().unwrap_or_default()
}

/// Percent-encoded but for what needs no encoding anywhere (RFC 3986 section 2.3).
fn quoted(text: &str) -> String {
    let is_plain = |byte: u8| byte.is_ascii_alphanumeric() || b"-._~".contains(&byte);
    let letter =
        |byte: u8| if is_plain(byte) { char::from(byte).to_string() } else { format!("%{byte:02X}") };
    text.bytes().map(letter).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_is_quoted_whole() {
        assert_eq!(quoted("https://box.local:8417"), "https%3A%2F%2Fbox.local%3A8417");
    }
}
