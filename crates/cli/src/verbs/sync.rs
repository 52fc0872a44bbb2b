//! `storypole sync`: changes handed to and fro with other devices, and the addresses where they are.
//!
//! While a server holds the folder it does the work, since it syncs all the time anyway; this only asks it to, and
//! tells how it went.

use std::collections::HashSet;
use std::io::{IsTerminal, Write as _};
use std::sync::Arc;

use serde_json::{Value as Json, json};
use storypole_desk::Desk;
use storypole_server::conversation::Tally;
use storypole_server::fetching::{self, Exchanged, Keyed};
use storypole_server::follow::trust;
use storypole_server::partner::{Outcome as Synced, Partner as OtherEnd, SyncError};
use storypole_server::problem::chain;
use storypole_server::remote::Remote;
use storypole_store::partners::Partner;

use crate::context::Context;
use crate::print::{Table, say};
use crate::refused::{Outcome, Refused};
use crate::running::{Server, runtime};

mod served;

/// A clock that is further off than this is worth a word, milliseconds: a day (convention of this project).
const CLOCK_MS: u64 = 24 * 60 * 60 * 1000;

/// Hand changes to and fro with other devices of the notebook.
///
/// With an address, syncs there and remembers it; without one, with every address that is known. What breaks off goes
/// on from there the next time. While `storypole serve` runs it syncs with all of them by itself.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole sync                            with every address that is known
  storypole sync https://box.local:8417     there, now and from now on
  storypole sync --list
  storypole sync --forget https://box.local:8417")]
pub struct Args {
    /// Address of the device that serves.
    #[arg(value_name = "ADDRESS")]
    url: Option<String>,
    /// Fingerprint of the certificate to trust there, as `storypole serve` prints it; else the one known from joining.
    #[arg(long, value_name = "FINGERPRINT", requires = "url")]
    pin: Option<String>,
    /// List the addresses and how it went last.
    #[arg(long, conflicts_with_all = ["url", "forget"])]
    list: bool,
    /// Forget an address.
    #[arg(long, value_name = "ADDRESS", conflicts_with = "url")]
    forget: Option<String>,
}

/// Syncs, lists or forgets.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let pin = args.pin.as_deref().map(fingerprint).transpose()?;
    let url = args.url.as_deref().map(|url| address(url, pin)).transpose()?;
    if args.list {
        return list(context);
    }
    if let Some(server) = Server::find(context)? {
        return match &args.forget {
            Some(forgotten) => served::forget(context, &server, forgotten),
            None => served::sync(context, &server, url.as_deref(), pin),
        };
    }
    let desk = Arc::new(context.open()?);
    match (&args.forget, url) {
        (Some(forgotten), _) => forget(context, &desk, forgotten),
        (None, Some(url)) => sync_there(context, &desk, url, pin),
        (None, None) => sync_all(context, &desk),
    }
}

/// The address in its one form.
fn address(url: &str, pin: Option<[u8; 32]>) -> Result<String, Refused> {
    // An address is copied with the key behind its host.
    let url = url.split("/#").next().unwrap_or_default();
    Ok(Remote::new(url, trust(url, pin))?.url().to_owned())
}

/// A fingerprint as systems show it: pairs of digits in either case, with or without colons.
fn fingerprint(text: &str) -> Result<[u8; 32], Refused> {
    let bad = || {
        let reason = format!("\"{text}\" is no fingerprint");
        Refused::new(reason, "give the 64 digits that `storypole serve` prints there, with or without colons")
    };
    let digits: Vec<u32> = text
        .chars()
        .filter(|letter| !matches!(letter, ':' | ' '))
        .map(|letter| letter.to_digit(16))
        .collect::<Option<_>>()
        .ok_or_else(bad)?;
    let bytes: Vec<u8> =
        digits.chunks(2).filter_map(|pair| u8::try_from(pair[0] << 4 | pair.get(1)?).ok()).collect();
    if digits.len() == 64 { bytes.try_into().map_err(|_| bad()) } else { Err(bad()) }
}

fn list(context: &Context) -> Outcome {
    let partners = Desk::open_to_read(&context.folder()?)?.partners()?;
    let shown = |ms: Option<u64>| ms.map(when);
    if context.json() {
        let partner = |partner: &Partner| {
            json!({
                "url": partner.url,
                "device": partner.device.map(|device| device.to_string()),
                "pinned": partner.pin.is_some(),
                "synced_at": shown(partner.synced_ms),
                "tried_at": shown(partner.tried_ms),
                "failed": partner.failed,
            })
        };
        say!("{}", json!({ "partners": partners.iter().map(partner).collect::<Vec<_>>() }));
        return Ok(());
    }
    if partners.is_empty() {
        say!("No address is known. Name one: storypole sync https://box.local:8417");
        return Ok(());
    }
    let mut table = Table::new(&["address", "synced last", "failing since then"]);
    for Partner { url, synced_ms, failed, .. } in partners {
        let synced = shown(synced_ms).unwrap_or_else(|| "never".to_owned());
        table.row([url, synced, failed.unwrap_or_default()]);
    }
    say!("{}", table.text().trim_end());
    Ok(())
}

/// A moment by this computer's clock.
fn when(unix_ms: u64) -> String {
    let zone = jiff::tz::TimeZone::system();
    let moment = jiff::Timestamp::from_millisecond(i64::try_from(unix_ms).unwrap_or(i64::MAX));
    moment.map_or_else(
        |_| String::new(),
        |moment| jiff::ZonedDateTime::new(moment, zone).strftime("%Y-%m-%d %H:%M:%S").to_string(),
    )
}

fn forget(context: &Context, desk: &Desk, url: &str) -> Outcome {
    if !desk.partner_forget(url)? {
        return Err(Refused::new(
            format!("{url} is not an address this device syncs with"),
            "see those that are with `storypole sync --list`",
        ));
    }
    forgotten(context, url);
    Ok(())
}

fn forgotten(context: &Context, url: &str) {
    if context.json() {
        say!("{}", json!({ "forgotten": url }));
    } else {
        say!("{url} is forgotten; what came from there stays.");
    }
}

/// Syncs with one address, and remembers it once that went well.
fn sync_there(context: &Context, desk: &Arc<Desk>, url: String, pin: Option<[u8; 32]>) -> Outcome {
    let known = desk.partners()?.into_iter().find(|partner| partner.url == url);
    let pin = pin.or_else(|| known.as_ref().and_then(|known| known.pin));
    let synced = sync(desk, &url, pin);
    if synced.is_ok() {
        desk.partner_add(&url, pin)?;
    }
    note(desk, &url, &synced)?;
    tell(context, &url, synced)
}

fn sync_all(context: &Context, desk: &Arc<Desk>) -> Outcome {
    let partners = desk.partners()?;
    if partners.is_empty() {
        return Err(none_known());
    }
    let (all, mut failed) = (partners.len(), Vec::new());
    for Partner { url, pin, .. } in partners {
        let synced = sync(desk, &url, pin);
        note(desk, &url, &synced)?;
        if let Err(refused) = tell(context, &url, synced) {
            failed.push(refused);
        }
    }
    whole(all, failed)
}

fn none_known() -> Refused {
    Refused::new("no address to sync with is known", "name one: storypole sync https://box.local:8417")
}

/// One refusal for all that failed; each has been told by itself where there are more.
fn whole(all: usize, mut failed: Vec<Refused>) -> Outcome {
    match (failed.len(), all) {
        (0, _) => Ok(()),
        (1, 1) => Err(failed.remove(0)),
        (some, all) => {
            failed.iter().for_each(|refused| eprintln!("failed: {}", refused.reason()));
            let reason = format!("{some} of {all} addresses could not be synced with");
            Err(Refused::new(
                reason,
                "see each reason above; what was taken stays, sync again when it is mended",
            ))
        }
    }
}

/// What one sync came to, and what became of the files.
type Went = Result<(Synced, Exchanged), Refused>;

fn sync(desk: &Arc<Desk>, url: &str, pin: Option<[u8; 32]>) -> Went {
    let remote = Remote::new(url, trust(url, pin))?;
    let shows = std::io::stderr().is_terminal();
    let synced = runtime()?.block_on(async {
        let mut other = OtherEnd::new(Arc::clone(desk), remote);
        let synced = other
            .sync(|tally| {
                if shows {
                    eprint!("\r{}", bar(url, tally));
                    // A terminal that cannot be written to shows nothing; the work goes on.
                    let _ = std::io::stderr().flush();
                }
            })
            .await?;
        if shows {
            eprintln!();
        }
        let (remote, key) = other.key().await?;
        let files = fetching::exchange(desk, &Keyed::new(remote, &key), &HashSet::new(), &|_| ()).await;
        Ok::<_, SyncError>((synced, files))
    });
    synced.map_err(Refused::from)
}

/// How far it is, in one line.
fn bar(url: &str, tally: Tally) -> String {
    const CELLS: u64 = 20;
    let of = tally.to_take.unwrap_or(0) + tally.to_send.unwrap_or(0);
    let done = (tally.taken + tally.sent).min(of);
    let full = (done * CELLS).checked_div(of).unwrap_or(CELLS);
    let cells: String = (0..CELLS).map(|cell| if cell < full { '#' } else { '.' }).collect();
    format!("{url}  [{cells}]  {} taken, {} sent", tally.taken, tally.sent)
}

fn note(desk: &Desk, url: &str, synced: &Went) -> Result<(), Refused> {
    match synced {
        Ok((outcome, _)) => Ok(desk.partner_synced(url, outcome.device)?),
        Err(refused) => Ok(desk.partner_failed(url, &refused.reason())?),
    }
}

fn tell(context: &Context, url: &str, synced: Went) -> Outcome {
    let (outcome, files) = match synced {
        Ok(outcome) => outcome,
        Err(refused) => {
            if context.json() {
                say!("{}", json!({ "url": url, "failed": refused.reason() }));
            }
            return Err(refused);
        }
    };
    look(&outcome);
    look_at_files(&files);
    let Synced { device, tally, forked, begun_anew, .. } = outcome;
    told(
        context,
        url,
        &json!({
            "url": url,
            "device": device.to_string(),
            "taken": tally.taken,
            "sent": tally.sent,
            "bytes_taken": tally.taken_bytes,
            "bytes_sent": tally.sent_bytes,
            "files_taken": files.fetched.len(),
            "files_sent": files.brought.len(),
            "forked": forked.iter().map(ToString::to_string).collect::<Vec<_>>(),
            "begun_anew": begun_anew.map(|begun| begun.is.to_string()),
            "failed": null,
        }),
    );
    Ok(())
}

/// What a person should know beside that it went well.
fn look(outcome: &Synced) {
    let ahead_ms = outcome.clock_ahead_ms;
    if ahead_ms.unsigned_abs() > CLOCK_MS {
        let hours = ahead_ms.unsigned_abs() / 3_600_000;
        let which = if ahead_ms > 0 { "ahead of" } else { "behind" };
        eprintln!("look: the clock there is {hours} hours {which} this one: set the one that is wrong");
    }
    if let Some(begun) = &outcome.begun_anew {
        eprintln!(
            "look: this folder is a copy of another one that went on: it is device {} from now on",
            begun.is
        );
        eprintln!("      nothing is lost; give it a name of its own with `storypole devices name`");
    } else if !outcome.forked.is_empty() {
        eprintln!("look: a data folder was copied, and both copies wrote; see `storypole devices`");
    }
}

/// Files that could not be handed over; those that are nowhere yet are shown by `storypole files`.
fn look_at_files(files: &Exchanged) {
    for (_, fault) in &files.wrong {
        eprintln!("look: a file was not handed over: {}", chain(fault));
    }
    if let Some(stopped) = &files.stopped {
        eprintln!("look: not all files were handed over: {}", chain(stopped));
    }
}

fn told(context: &Context, url: &str, line: &Json) {
    if context.json() {
        say!("{line}");
        return;
    }
    let files = (line["files_taken"].as_u64().unwrap_or(0), line["files_sent"].as_u64().unwrap_or(0));
    if files != (0, 0) {
        say!("{url}: {} files taken, {} sent", files.0, files.1);
    }
    match (line["taken"].as_u64(), line["sent"].as_u64()) {
        (Some(0), Some(0)) => say!("{url}: nothing new on either side"),
        (Some(taken), Some(sent)) => say!("{url}: {taken} changes taken, {sent} sent"),
        _ => say!("{url}: synced"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fingerprints_are_read_as_they_are_shown() {
        let pairs = vec!["AB"; 32];
        assert_eq!(fingerprint(&pairs.join(":")).unwrap(), [0xab; 32]);
        assert_eq!(fingerprint(&pairs.join("").to_lowercase()).unwrap(), [0xab; 32]);
        for bad in ["", "AB", &pairs.join("-"), &format!("{}0", pairs.join("")), &"é".repeat(32)] {
            assert!(fingerprint(bad).unwrap_err().reason().contains("is no fingerprint"), "{bad}");
        }
    }

    #[test]
    fn the_bar_is_as_full_as_the_work_is_done() {
        let tally =
            |taken: u64, to_take: Option<u64>| Tally { taken, to_take, to_send: Some(0), ..Tally::default() };
        assert_eq!(bar("U", tally(5, Some(10))), "U  [##########..........]  5 taken, 0 sent");
        assert_eq!(bar("U", tally(12, Some(10))), "U  [####################]  12 taken, 0 sent");
        assert_eq!(bar("U", tally(0, None)), "U  [####################]  0 taken, 0 sent");
    }
}
