//! TLS: certificates of our own making or of the owner's, shown to those who connect and renewed while serving.
//!
//! Reading order: `names` (what this computer is called), `authority` (the built-in certificate authority), `own` (a
//! certificate of the owner's), `shown` (what is shown just now), `files` (keys on disk).
//!
//! Left out on purpose: certificates of clients. Who asks is shown by keys and sessions, over any connection.

use std::fmt::Write as _;
use std::net::IpAddr;
use std::path::{Path, PathBuf};
use std::sync::{Arc, LazyLock, Mutex, PoisonError};

use rustls::ServerConfig;
use rustls::crypto::CryptoProvider;
use rustls::version::{TLS12, TLS13};

mod authority;
mod error;
mod files;
mod names;
mod own;
mod shown;

pub use authority::Ca;
pub use error::TlsError;
pub use names::{Name, host_name};
pub use shown::Shown;

use authority::Authority;
use own::Own;
use shown::Showing;

/// How a server is secured.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Tls {
    /// Not at all: for this computer itself only.
    None,
    /// By the built-in certificate authority; `names` are what this computer is called beside its own names.
    BuiltIn { names: Vec<String> },
    /// By a certificate of the owner's: files in PEM, the chain with the server's own certificate first.
    Own { certificate: PathBuf, key: PathBuf },
}

/// What is known of the computer when its server starts.
#[derive(Debug, Clone, Copy)]
pub struct Place<'a> {
    /// The data folder.
    pub folder: &'a Path,
    /// What the authority is called by, so that people tell it from others. No word of the notebook: anyone sees it.
    pub label: &'a str,
    /// Where the server listens.
    pub listens_at: IpAddr,
}

/// A certificate that is shown, and what keeps it good.
#[derive(Debug)]
pub struct Secured {
    source: Source,
    showing: Arc<Showing>,
    config: Arc<ServerConfig>,
    told: Mutex<Option<String>>,
}

#[derive(Debug)]
enum Source {
    BuiltIn { authority: Box<Authority>, given: Vec<Name>, listens_at: IpAddr },
    Own(Own),
}

impl Secured {
    /// Makes or reads what is needed; none where nothing is secured.
    ///
    /// # Errors
    /// No certificate can be made or read.
    pub fn open(tls: &Tls, place: Place<'_>, now_s: i64) -> Result<Option<Arc<Self>>, TlsError> {
        let (source, shown) = match tls {
            Tls::None => return Ok(None),
            Tls::BuiltIn { names } => built_in(names, place, now_s)?,
            Tls::Own { certificate, key } => {
                let (own, shown) = Own::open(certificate, key)?;
                (Source::Own(own), shown)
            }
        };
        if !shown.holds_at(now_s) {
            tracing::warn!(
                "by this computer's clock its certificate does not hold today: check date and time"
            );
        }
        let showing = Arc::new(Showing::new(shown));
        let config = config(Arc::clone(&showing));
        Ok(Some(Arc::new(Self { source, showing, config, told: Mutex::default() })))
    }

    /// SHA-256 of the server's own certificate that is shown just now.
    pub fn leaf(&self) -> [u8; 32] {
        self.showing.now().hash
    }

    /// What is shown just now.
    pub fn shown(&self) -> Arc<Shown> {
        self.showing.now()
    }

    /// The built-in authority's certificate, where it is used.
    pub fn ca(&self) -> Option<&Ca> {
        match &self.source {
            Source::BuiltIn { authority, .. } => Some(authority.ca()),
            Source::Own(_) => None,
        }
    }

    /// By what this computer's own browser reaches it: a name the certificate is for.
    pub fn near_host(&self) -> String {
        let (shown, localhost) = (self.shown(), "localhost");
        if shown.covers(localhost) { localhost.to_owned() } else { self.far_host() }
    }

    /// By what others reach it: the first name of the certificate that does not mean any computer that says it.
    pub fn far_host(&self) -> String {
        let shown = self.shown();
        let is_plain = |name: &&Name| !name.is_loopback() && !name.host().starts_with("*.");
        let first = shown.names.iter().find(is_plain).or_else(|| shown.names.first());
        first.map_or_else(|| "localhost".to_owned(), Name::host)
    }

    pub(crate) fn config(&self) -> Arc<ServerConfig> {
        Arc::clone(&self.config)
    }

    /// Renews what is shown, where it is time; new connections see it, open ones go on. Waits for the disk.
    ///
    /// Where that fails, what was shown is shown on, and the reason is logged, once.
    pub fn look_after(&self, now_s: i64) {
        let shown = self.showing.now();
        let renewed = match &self.source {
            Source::BuiltIn { authority, given, listens_at } => {
                authority.renewed(&shown, &names::of_this_computer(given, *listens_at), now_s)
            }
            Source::Own(own) => own.changed(),
        };
        match renewed {
            Ok(None) => (),
            Ok(Some(shown)) => {
                self.showing.swap(shown);
                tracing::info!("a new certificate is shown from now on");
                self.tell(None);
            }
            Err(error) => self.tell(Some(storypole_desk::reasons::of(&error).join(": "))),
        }
    }

    /// Logs a problem when it is another than the one before.
    fn tell(&self, problem: Option<String>) {
        let mut told = self.told.lock().unwrap_or_else(PoisonError::into_inner);
        if *told != problem
            && let Some(problem) = &problem
        {
            tracing::warn!(problem, "the certificate could not be renewed; the one before is shown on");
        }
        *told = problem;
    }
}

fn built_in(names: &[String], place: Place<'_>, now_s: i64) -> Result<(Source, Shown), TlsError> {
    let parse = |name: &String| Name::parse(name).ok_or_else(|| TlsError::BadName(name.clone()));
    let given = names.iter().map(parse).collect::<Result<Vec<_>, _>>()?;
    let wanted = names::of_this_computer(&given, place.listens_at);
    let mut bounds = given.clone();
    bounds.extend(names::host_name());
    bounds.extend((!place.listens_at.is_unspecified()).then_some(Name::Address(place.listens_at)));
    let authority = Authority::open(&place.folder.join("tls"), place.label, &bounds, now_s)?;
    authority.covers(&given)?;
    let shown = authority.shown(&wanted, now_s)?;
    let authority = Box::new(authority);
    Ok((Source::BuiltIn { authority, given, listens_at: place.listens_at }, shown))
}

/// TLS 1.2 and 1.3 (RFC 5246, RFC 8446); what came before is broken (RFC 8996).
fn config(showing: Arc<Showing>) -> Arc<ServerConfig> {
    let mut config = ServerConfig::builder_with_provider(provider())
        .with_protocol_versions(&[&TLS13, &TLS12])
        .expect("the provider has suites for TLS 1.2 and 1.3")
        .with_no_client_auth()
        .with_cert_resolver(showing);
    config.alpn_protocols = vec![b"http/1.1".to_vec()];
    Arc::new(config)
}

/// SHA-256 (FIPS 180-4): what names a certificate to people and to other devices.
pub fn sha256(bytes: &[u8]) -> [u8; 32] {
    let digest = ring::digest::digest(&ring::digest::SHA256, bytes);
    digest.as_ref().try_into().expect("SHA-256 has 32 bytes")
}

/// A fingerprint as systems show it in their settings: capital digits in pairs, parted by colons.
pub fn fingerprint(hash: &[u8; 32]) -> String {
    let mut text = String::with_capacity(95);
    for (at, byte) in hash.iter().enumerate() {
        let part = if at == 0 { "" } else { ":" };
        write!(text, "{part}{byte:02X}").expect("a text takes all that is written");
    }
    text
}

/// The cryptography all of TLS uses, named wherever it is wanted: nothing is set for the whole process.
pub(crate) fn provider() -> Arc<CryptoProvider> {
    static PROVIDER: LazyLock<Arc<CryptoProvider>> =
        LazyLock::new(|| Arc::new(rustls::crypto::ring::default_provider()));
    Arc::clone(&PROVIDER)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// FIPS 180-4's worked example for SHA-256, "abc".
    #[test]
    fn sha256_as_published() {
        let text = fingerprint(&sha256(b"abc"));
        assert!(text.starts_with("BA:78:16:BF:8F:01:CF:EA:41:41:40:DE"), "{text}");
        assert!(text.ends_with(":F2:00:15:AD") && text.len() == 95, "{text}");
    }
}
