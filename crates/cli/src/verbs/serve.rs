//! `storypole serve`: the notebook in a browser of this computer, until it is stopped.

use std::io::Write as _;
use std::net::{IpAddr, SocketAddr};
use std::sync::Arc;

use serde_json::json;
use storypole_server::{Limits, Listening, Options, ServeError};
use tracing::Level;

use crate::context::Context;
use crate::print::say;
use crate::refused::{Outcome, Refused};

/// Serve the notebook to this computer's browser, until Ctrl-C stops it.
///
/// The address that is printed lets one browser in, once. Other computers cannot reach it.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole serve
  storypole serve --port 0                 on any free port
  storypole serve --verbose                with a line for each request
  storypole --data ./try-out serve --json  address and key for a program")]
pub struct Args {
    /// Address of this computer to listen at.
    #[arg(long, default_value = "127.0.0.1", value_name = "IP")]
    address: IpAddr,
    /// Port to listen at; 0 takes a free one.
    #[arg(long, default_value_t = 8417)]
    port: u16,
    /// Say each request, without what it asked or wrote.
    #[arg(long)]
    verbose: bool,
}

/// Serves until a signal comes.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let desk = Arc::new(context.open()?);
    let level = if args.verbose { Level::INFO } else { Level::WARN };
    tracing_subscriber::fmt().with_max_level(level).with_target(false).with_writer(std::io::stderr).init();
    let failed =
        |error| Refused::from(error).next("start it again; if it fails again, restart this computer");
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().map_err(failed)?;
    let options = Options { address: SocketAddr::new(args.address, args.port), limits: Limits::default() };
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
    let Listening { address, key, url } = listening;
    if as_json {
        say!("{}", json!({ "address": address.to_string(), "key": key, "url": url }));
    } else {
        say!("The notebook is served at http://{address}");
        say!("Open  {url}");
        say!("The address works once, for this computer's browser. Stop with Ctrl-C.");
    }
    // A reader that has gone is no fault; the server goes on.
    let _ = std::io::stdout().flush();
}

fn refused(error: ServeError) -> Refused {
    let next = match &error {
        ServeError::NotLoopback(_) => "leave --address out, or name 127.0.0.1 or ::1",
        ServeError::InUse(_) => "storypole serve --port 0 takes a free one",
        ServeError::NotAllowed { .. } => "ports below 1024 are often kept for the system; 0 takes a free one",
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
