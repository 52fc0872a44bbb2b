//! `storypole serve`: the notebook in browsers, and for other devices, until it is stopped.

use std::io::Write as _;
use std::net::{IpAddr, SocketAddr};
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use serde_json::{Value, json};
use storypole_server::backups::Plan;
use storypole_server::{Limits, Listening, Options, ServeError, ShownTo, Tls, qr};
use tracing::Level;

use crate::context::Context;
use crate::print::say;
use crate::refused::{Outcome, Refused};

/// Serve the notebook to browsers and other devices, until Ctrl-C stops it.
///
/// The address that is printed lets one browser in, once. Without options only this computer reaches it. With
/// --address other computers do, over https: with a certificate of your own, or else with one that Storypole signs
/// itself, which each phone and browser is told to trust once, on a page whose address is printed.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole serve
  storypole serve --port 0                 on any free port
  storypole serve --address 0.0.0.0        for phones and devices on this network, over https
  storypole serve --address 0.0.0.0 --name box.local
  storypole serve --address 0.0.0.0 --certificate chain.pem --key key.pem
  storypole serve --verbose                with a line for each request
  storypole serve --backup-to /media/disk  a backup each day, two weeks of them
  storypole --data ./try-out serve --json  address and key for a program")]
pub struct Args {
    /// Address of this computer to listen at; 0.0.0.0 takes all of them.
    #[arg(long, default_value = "127.0.0.1", value_name = "IP")]
    address: IpAddr,
    /// Port to listen at; 0 takes a free one.
    #[arg(long, default_value_t = 8417)]
    port: u16,
    /// A further name or address others reach this computer by; may be given several times. Turns https on.
    #[arg(long = "name", value_name = "HOST", conflicts_with = "certificate")]
    names: Vec<String>,
    /// Your own certificate with its chain, in PEM; read again when it changes.
    #[arg(long, value_name = "FILE", requires = "key")]
    certificate: Option<PathBuf>,
    /// The key of your own certificate, in PEM.
    #[arg(long, value_name = "FILE", requires = "certificate")]
    key: Option<PathBuf>,
    /// Say each request, without what it asked or wrote.
    #[arg(long)]
    verbose: bool,
    /// Make backups into this folder as long as it runs; best on another disk.
    #[arg(long, value_name = "FOLDER")]
    backup_to: Option<PathBuf>,
    /// Time between two backups, like 24h, 90m or 7d.
    #[arg(long, value_name = "TIME", default_value = "24h", value_parser = interval, requires = "backup_to")]
    backup_every: Duration,
    /// How many of the newest stay; the first of each of the last twelve months stays too.
    #[arg(long, value_name = "COUNT", default_value_t = 14, value_parser = clap::value_parser!(u16).range(1..), requires = "backup_to")]
    backup_keep: u16,
}

/// Reads `24h`, `90m` or `7d`; at least a minute.
fn interval(typed: &str) -> Result<Duration, String> {
    let unit_s = match typed.chars().last() {
        Some('m') => 60,
        Some('h') => 60 * 60,
        Some('d') => 24 * 60 * 60,
        _ => return Err("write a number with m, h or d behind it, like 24h".to_owned()),
    };
    let count = typed[..typed.len() - 1].parse::<u32>().ok().filter(|count| *count > 0);
    let count = count.ok_or_else(|| "write a whole number above 0 with m, h or d behind it".to_owned())?;
    Ok(Duration::from_secs(u64::from(count) * unit_s))
}

impl Args {
    /// Off loopback nothing is served without TLS, so that it need not be asked for.
    fn tls(&self) -> Tls {
        match (&self.certificate, &self.key) {
            (Some(certificate), Some(key)) => Tls::Own { certificate: certificate.clone(), key: key.clone() },
            _ if self.address.is_loopback() && self.names.is_empty() => Tls::None,
            _ => Tls::BuiltIn { names: self.names.clone() },
        }
    }
}

/// Serves until a signal comes.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let desk = Arc::new(context.open()?);
    let level = if args.verbose { Level::INFO } else { Level::WARN };
    tracing_subscriber::fmt().with_max_level(level).with_target(false).with_writer(std::io::stderr).init();
    let failed =
        |error| Refused::from(error).next("start it again; if it fails again, restart this computer");
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().map_err(failed)?;
    let backups = args.backup_to.clone().map(|folder| Plan {
        folder,
        every: args.backup_every,
        keep: usize::from(args.backup_keep),
    });
    let address = SocketAddr::new(args.address, args.port);
    let options = Options { address, limits: Limits::default(), tls: args.tls(), backups };
    let as_json = context.json();
    let served = runtime.block_on(async {
        // Asked for before the address is printed: whoever reads it may stop us at once.
        let stop = Signals::new()?;
        let ready = |listening: &Listening| announce(listening, as_json);
        Ok(storypole_server::serve(desk, options, ready, stop.wait()).await)
    });
    served.map_err(failed)?.map_err(refused)?;
    eprintln!("stopped; everything that was acknowledged is on disk");
    Ok(())
}

fn announce(listening: &Listening, as_json: bool) {
    if as_json {
        say!("{}", as_line(listening));
    } else {
        match &listening.shown {
            Some(shown) => say!("The notebook is served at {}", shown.url),
            None => say!("The notebook is served at http://{}", listening.address),
        }
        say!("Open  {}", listening.url);
        if let Some(shown) = &listening.shown {
            announce_trust(shown);
        }
        let whose = if listening.shown.is_some() { "one browser" } else { "this computer's browser" };
        say!("The address to open works once, for {whose}. Stop with Ctrl-C.");
    }
    // A reader that has gone is no fault; the server goes on.
    let _ = std::io::stdout().flush();
}

/// All of it in one line, for a program.
fn as_line(listening: &Listening) -> Value {
    let Listening { address, key, url, shown } = listening;
    let mut line = json!({ "address": address.to_string(), "key": key, "url": url });
    if let Some(shown) = shown {
        line["fingerprint"] = shown.fingerprint().into();
        line["trust_url"] = shown.trust_url.as_deref().into();
    }
    line
}

/// How phones and other browsers come to trust the certificate.
fn announce_trust(shown: &ShownTo) {
    let Some(trust_url) = &shown.trust_url else { return };
    say!("");
    say!("A phone or another computer is told to trust this server once, at");
    say!("      {trust_url}");
    if let Some(code) = qr::for_terminal(trust_url) {
        say!("{}", code.trim_end_matches('\n'));
    }
    say!("The page must show this fingerprint (SHA-256), letter for letter:");
    let fingerprint = shown.fingerprint();
    let pairs: Vec<&str> = fingerprint.split(':').collect();
    for row in pairs.chunks(8) {
        say!("      {}", row.join(":"));
    }
    say!("");
}

fn refused(error: ServeError) -> Refused {
    let next = match &error {
        ServeError::NotLoopback(_) => "leave --address out, or name 127.0.0.1 or ::1",
        ServeError::InUse(_) => "storypole serve --port 0 takes a free one",
        ServeError::NotAllowed { .. } => "ports below 1024 are often kept for the system; 0 takes a free one",
        // Each of its reasons says what to do.
        ServeError::NotSecured { .. } => return Refused::from(error),
    };
    Refused::from(error).next(next)
}

/// What asks a program to stop.
struct Signals {
    #[cfg(unix)]
    terminate: tokio::signal::unix::Signal,
    #[cfg(unix)]
    interrupt: tokio::signal::unix::Signal,
}

#[cfg(unix)]
impl Signals {
    fn new() -> std::io::Result<Self> {
        use tokio::signal::unix::{SignalKind, signal};
        Ok(Self { terminate: signal(SignalKind::terminate())?, interrupt: signal(SignalKind::interrupt())? })
    }

    async fn wait(mut self) {
        tokio::select! {
            _ = self.terminate.recv() => (),
            _ = self.interrupt.recv() => (),
        }
    }
}

#[cfg(not(unix))]
impl Signals {
    fn new() -> std::io::Result<Self> {
        Ok(Self {})
    }

    async fn wait(self) {
        if tokio::signal::ctrl_c().await.is_err() {
            // Nothing can be heard; then only ending the process stops it.
            std::future::pending::<()>().await;
        }
    }
}
