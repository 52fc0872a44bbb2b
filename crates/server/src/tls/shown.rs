//! The certificate that is shown just now, and what stands in it.

use std::fmt;
use std::net::IpAddr;
use std::path::Path;
use std::sync::{Arc, PoisonError, RwLock};

use rustls::pki_types::{CertificateDer, PrivateKeyDer};
use rustls::server::{ClientHello, ResolvesServerCert};
use rustls::sign::CertifiedKey;
use rustls::{Error, InconsistentKeys};
use x509_parser::prelude::{FromDer, GeneralName, X509Certificate};

use super::{Name, TlsError, provider, sha256};

/// A server's certificate with its key.
pub struct Shown {
    /// SHA-256 of the server's own certificate, DER.
    pub hash: [u8; 32],
    /// What it is for.
    pub names: Vec<Name>,
    /// First and last second it holds, since 1970.
    pub from_s: i64,
    pub until_s: i64,
    certified: Arc<CertifiedKey>,
}

impl Shown {
    /// Puts a chain and its key together; `path` is where the chain came from.
    ///
    /// # Errors
    /// They do not belong together, or are of a kind that cannot be used.
    pub fn new(
        chain: Vec<CertificateDer<'static>>,
        key: PrivateKeyDer<'static>,
        path: &Path,
        key_path: &Path,
    ) -> Result<Self, TlsError> {
        let bad = || TlsError::BadCertificate(path.to_owned());
        let leaf = chain.first().ok_or_else(bad)?;
        let facts = Facts::read(leaf).ok_or_else(bad)?;
        let hash = sha256(leaf);
        let unusable = |source| match source {
            Error::InconsistentKeys(InconsistentKeys::KeyMismatch) => {
                TlsError::OtherKey { certificate: path.to_owned(), key: key_path.to_owned() }
            }
            source => TlsError::Unusable { path: path.to_owned(), source },
        };
        let certified = CertifiedKey::from_der(chain, key, &provider()).map_err(unusable)?;
        let Facts { names, from_s, until_s } = facts;
        Ok(Self { hash, names, from_s, until_s, certified: Arc::new(certified) })
    }

    /// Whether it holds at a moment.
    pub fn holds_at(&self, at_s: i64) -> bool {
        (self.from_s..=self.until_s).contains(&at_s)
    }

    /// Whether less than a third of its time is left (convention of this project: time for several attempts).
    pub fn is_due(&self, at_s: i64) -> bool {
        at_s > self.until_s - (self.until_s - self.from_s) / 3
    }

    /// Whether a host is one of its names.
    pub fn covers(&self, host: &str) -> bool {
        self.names.iter().any(|name| name.covers(host))
    }
}

impl fmt::Debug for Shown {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.debug_struct("Shown").field("names", &self.names).finish_non_exhaustive()
    }
}

/// What of a certificate matters here.
struct Facts {
    names: Vec<Name>,
    from_s: i64,
    until_s: i64,
}

impl Facts {
    fn read(der: &[u8]) -> Option<Self> {
        let (_, certificate) = X509Certificate::from_der(der).ok()?;
        let alternatives = certificate.subject_alternative_name().ok()?;
        let names = alternatives.map(|found| found.value.general_names.iter().filter_map(name).collect());
        let validity = certificate.validity();
        Some(Self {
            names: names.unwrap_or_default(),
            from_s: validity.not_before.timestamp(),
            until_s: validity.not_after.timestamp(),
        })
    }
}

fn name(found: &GeneralName<'_>) -> Option<Name> {
    match found {
        GeneralName::DNSName(name) => Some(Name::Dns(name.to_ascii_lowercase())),
        GeneralName::IPAddress(bytes) => address(bytes).map(Name::Address),
        _ => None,
    }
}

/// An address in network order (RFC 5280 section 4.2.1.6).
pub(super) fn address(bytes: &[u8]) -> Option<IpAddr> {
    let v4 = <[u8; 4]>::try_from(bytes).map(IpAddr::from);
    v4.or_else(|_| <[u8; 16]>::try_from(bytes).map(IpAddr::from)).ok()
}

/// Gives each new connection what is shown just now. Open connections keep what they began with.
pub struct Showing(RwLock<Arc<Shown>>);

impl Showing {
    pub fn new(shown: Shown) -> Self {
        Self(RwLock::new(Arc::new(shown)))
    }

    pub fn now(&self) -> Arc<Shown> {
        Arc::clone(&self.0.read().unwrap_or_else(PoisonError::into_inner))
    }

    pub fn swap(&self, shown: Shown) {
        *self.0.write().unwrap_or_else(PoisonError::into_inner) = Arc::new(shown);
    }
}

impl fmt::Debug for Showing {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.now().fmt(out)
    }
}

impl ResolvesServerCert for Showing {
    fn resolve(&self, _: ClientHello<'_>) -> Option<Arc<CertifiedKey>> {
        Some(Arc::clone(&self.now().certified))
    }
}
