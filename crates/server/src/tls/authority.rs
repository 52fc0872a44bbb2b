//! The built-in certificate authority: made at the first start that needs it, and what it signs.
//!
//! It is bound to names of local networks and to what its owner named when it was made (RFC 5280 section 4.2.1.10):
//! whoever steals its key cannot show a phone that trusts it a false page of a bank. What it costs is that another
//! name of the open internet needs a new authority, or a certificate of the owner's, which such a name can have.

use std::fmt;
use std::net::IpAddr;
use std::path::{Path, PathBuf};
use std::time::Duration;

use rcgen::{
    BasicConstraints, CertificateParams, CidrSubnet, DistinguishedName, DnType, ExtendedKeyUsagePurpose,
    GeneralSubtree, IsCa, Issuer, KeyPair, KeyUsagePurpose, NameConstraints, SanType, SerialNumber,
    date_time_ymd,
};
use rustls::pki_types::CertificateDer;
use storypole_desk::edge;
use x509_parser::prelude::{FromDer, X509Certificate};

use super::error::date;
use super::files::{self, Readers};
use super::shown::Shown;
use super::{Name, TlsError, sha256};

mod bounds;

use bounds::Bounds;

const DAY_S: i64 = 24 * 60 * 60;

/// How long the authority lasts: ten years (convention of this project; devices that pin it do not mind its end).
const AUTHORITY_S: i64 = 3652 * DAY_S;

/// How long a server's certificate lasts: 90 days. Phones and browsers refuse those of more than 825 or, later, 398
/// days (CA/Browser Forum Baseline Requirements section 6.3.2, which systems apply to authorities of one's own too).
const LEAF_S: i64 = 90 * DAY_S;

/// How far certificates reach back, for clocks that are slow (convention of this project).
const BACK_S: i64 = DAY_S;

/// 2020-01-01: a clock that stands before it was never set.
const EARLIEST_S: i64 = 1_577_836_800;

/// Longest common name, characters (RFC 5280 appendix A.1, `ub-common-name`).
const COMMON_NAME: usize = 64;

/// An authority's certificate, for all to see.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ca {
    /// For programs (RFC 7468).
    pub pem: String,
    /// For phones.
    pub der: Vec<u8>,
    /// SHA-256 of the DER.
    pub hash: [u8; 32],
}

/// The authority with its key, and the folder of both.
pub struct Authority {
    folder: PathBuf,
    ca: Ca,
    issuer: Issuer<'static, KeyPair>,
    bounds: Bounds,
    from_s: i64,
    until_s: i64,
}

impl Authority {
    /// Reads the authority of a folder, or makes it: for names of local networks and those that are given.
    ///
    /// # Errors
    /// It is damaged, has ended, or the clock forbids to make one.
    pub fn open(folder: &Path, label: &str, given: &[Name], now_s: i64) -> Result<Self, TlsError> {
        let (path, key_path) = (folder.join("ca.pem"), folder.join("ca.key"));
        if !path.exists() {
            make(folder, label, given, now_s)?;
        }
        if !key_path.exists() {
            return Err(TlsError::LostKey { certificate: path, key: key_path });
        }
        files::warn_if_open(&key_path);
        Self::read(folder.to_owned(), &path, &key_path)
    }

    fn read(folder: PathBuf, path: &Path, key_path: &Path) -> Result<Self, TlsError> {
        let der = files::chain(path, &files::read(path)?)?.swap_remove(0);
        let pem =
            String::from_utf8(files::read(path)?).map_err(|_| TlsError::NoCertificate(path.to_owned()))?;
        let text = String::from_utf8(files::read(key_path)?).unwrap_or_default();
        let key = KeyPair::from_pem(&text).map_err(|_| TlsError::NoKey(key_path.to_owned()))?;
        let bad = || TlsError::BadCertificate(path.to_owned());
        let (_, certificate) = X509Certificate::from_der(&der).map_err(|_| bad())?;
        if certificate.public_key().subject_public_key.data.as_ref() != key.public_key_raw() {
            return Err(TlsError::OtherKey { certificate: path.to_owned(), key: key_path.to_owned() });
        }
        let bounds = Bounds::of(&certificate).ok_or_else(bad)?;
        let validity = certificate.validity();
        let (from_s, until_s) = (validity.not_before.timestamp(), validity.not_after.timestamp());
        let issuer = Issuer::from_ca_cert_der(&der, key).map_err(|source| TlsError::Make { source })?;
        let ca = Ca { pem, hash: sha256(&der), der: der.to_vec() };
        Ok(Self { folder, ca, issuer, bounds, from_s, until_s })
    }

    /// Its certificate.
    pub fn ca(&self) -> &Ca {
        &self.ca
    }

    /// Whether it may vouch for all of these.
    ///
    /// # Errors
    /// The first it may not vouch for.
    pub fn covers(&self, names: &[Name]) -> Result<(), TlsError> {
        match names.iter().find(|name| !self.bounds.permit(name)) {
            None => Ok(()),
            Some(name) => Err(TlsError::NameOutside { name: name.clone(), folder: self.folder.clone() }),
        }
    }

    /// What a server of these names shows: what lies in the folder where it is good, or something new.
    ///
    /// # Errors
    /// Nothing good is there and nothing new can be made.
    pub fn shown(&self, names: &[Name], now_s: i64) -> Result<Shown, TlsError> {
        // What was cut off while it was written is as good as nothing.
        let Ok(kept) = self.kept() else { return self.issue(names, now_s) };
        Ok(self.renewed(&kept, names, now_s)?.unwrap_or(kept))
    }

    /// Something new, where what is shown ends soon, or lacks a name this computer has by now.
    ///
    /// # Errors
    /// It cannot be made.
    pub fn renewed(&self, shown: &Shown, names: &[Name], now_s: i64) -> Result<Option<Shown>, TlsError> {
        let lacks = |name: &&Name| self.bounds.permit(name) && !shown.names.contains(name);
        // A clock that stands wrong needs no other names; what is there serves until it is set.
        let is_set = now_s >= EARLIEST_S;
        let is_due = is_set && (shown.is_due(now_s) || names.iter().any(|name| lacks(&name)));
        if is_due { self.issue(names, now_s).map(Some) } else { Ok(None) }
    }

    fn kept(&self) -> Result<Shown, TlsError> {
        let (path, key_path) = (self.folder.join("leaf.pem"), self.folder.join("leaf.key"));
        let chain = files::chain(&path, &files::read(&path)?)?;
        if chain.last().is_none_or(|last| **last != *self.ca.der) {
            return Err(TlsError::BadCertificate(path));
        }
        let key = files::key(&key_path, &files::read(&key_path)?)?;
        files::warn_if_open(&key_path);
        Shown::new(chain, key, &path, &key_path)
    }

    /// Signs a new certificate with a new key, and keeps both.
    fn issue(&self, names: &[Name], now_s: i64) -> Result<Shown, TlsError> {
        check_clock(now_s)?;
        if now_s > self.until_s {
            return Err(TlsError::Ended { folder: self.folder.clone(), ended: date(self.until_s) });
        }
        let names: Vec<&Name> = names.iter().filter(|name| self.bounds.permit(name)).collect();
        let from_s = (now_s - BACK_S).max(self.from_s);
        let until_s = (now_s + LEAF_S).min(self.until_s);
        let made = leaf(&names, from_s, until_s, &self.issuer).map_err(|source| TlsError::Make { source })?;
        let (certificate, key) = made;
        let (path, key_path) = (self.folder.join("leaf.pem"), self.folder.join("leaf.key"));
        files::write(&key_path, key.serialize_pem().as_bytes(), Readers::Owner)?;
        let pem = format!("{}{}", certificate.pem(), self.ca.pem);
        files::write(&path, pem.as_bytes(), Readers::All)?;
        let ca = CertificateDer::from(self.ca.der.clone());
        let key = files::key(&key_path, key.serialize_pem().as_bytes())?;
        Shown::new(vec![certificate.der().clone(), ca], key, &path, &key_path)
    }
}

impl fmt::Debug for Authority {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.debug_struct("Authority").field("folder", &self.folder).finish_non_exhaustive()
    }
}

/// Makes an authority. The key goes first: a certificate without its key would look like a loss.
fn make(folder: &Path, label: &str, given: &[Name], now_s: i64) -> Result<(), TlsError> {
    check_clock(now_s)?;
    let key = KeyPair::generate().map_err(|source| TlsError::Make { source })?;
    let name: String = format!("Storypole CA of {label}").chars().take(COMMON_NAME).collect();
    let mut params = CertificateParams::default();
    params.distinguished_name = called(&name);
    params.is_ca = IsCa::Ca(BasicConstraints::Constrained(0));
    params.key_usages = vec![KeyUsagePurpose::KeyCertSign, KeyUsagePurpose::CrlSign];
    params.name_constraints =
        Some(NameConstraints { permitted_subtrees: permitted(given), excluded_subtrees: Vec::new() });
    params.serial_number = Some(serial());
    let epoch = date_time_ymd(1970, 1, 1);
    params.not_before = epoch + since(now_s - BACK_S);
    params.not_after = epoch + since(now_s + AUTHORITY_S);
    let certificate = params.self_signed(&key).map_err(|source| TlsError::Make { source })?;
    files::make_folder(folder)?;
    files::write(&folder.join("ca.key"), key.serialize_pem().as_bytes(), Readers::Owner)?;
    files::write(&folder.join("ca.pem"), certificate.pem().as_bytes(), Readers::All)
}

fn leaf(
    names: &[&Name],
    from_s: i64,
    until_s: i64,
    issuer: &Issuer<'static, KeyPair>,
) -> Result<(rcgen::Certificate, KeyPair), rcgen::Error> {
    let key = KeyPair::generate()?;
    let mut params = CertificateParams::default();
    // The name is for people; programs read the alternative names only (RFC 6125 section 6.4.4).
    params.distinguished_name = called("Storypole");
    for name in names {
        params.subject_alt_names.push(match name {
            Name::Dns(name) => SanType::DnsName(name.as_str().try_into()?),
            Name::Address(address) => SanType::IpAddress(*address),
        });
    }
    params.key_usages = vec![KeyUsagePurpose::DigitalSignature];
    params.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
    params.use_authority_key_identifier_extension = true;
    params.serial_number = Some(serial());
    let epoch = date_time_ymd(1970, 1, 1);
    params.not_before = epoch + since(from_s);
    params.not_after = epoch + since(until_s);
    Ok((params.signed_by(&key, issuer)?, key))
}

fn permitted(given: &[Name]) -> Vec<GeneralSubtree> {
    let local = bounds::LOCAL_NAMES.iter().map(|name| GeneralSubtree::DnsName((*name).to_owned()));
    let networks = bounds::LOCAL_NETWORKS.iter().map(|(address, bits)| subnet(*address, *bits));
    let given = given.iter().map(|name| match name {
        Name::Dns(name) => GeneralSubtree::DnsName(name.clone()),
        Name::Address(address) => subnet(*address, if address.is_ipv4() { 32 } else { 128 }),
    });
    local.chain(networks).chain(given).collect()
}

fn subnet(address: IpAddr, bits: u8) -> GeneralSubtree {
    GeneralSubtree::IpAddress(CidrSubnet::from_addr_prefix(address, bits))
}

fn called(name: &str) -> DistinguishedName {
    let mut called = DistinguishedName::new();
    called.push(DnType::CommonName, name);
    called
}

/// 126 random bits: positive, of one length, and never the same twice (RFC 5280 section 4.1.2.2).
fn serial() -> SerialNumber {
    let mut bytes = edge::random::<16>();
    bytes[0] = (bytes[0] & 0x3f) | 0x40;
    SerialNumber::from_slice(&bytes)
}

fn check_clock(now_s: i64) -> Result<(), TlsError> {
    if now_s < EARLIEST_S { Err(TlsError::ClockBehind(date(now_s))) } else { Ok(()) }
}

/// Time since 1970. Only called with what `check_clock` let through.
fn since(at_s: i64) -> Duration {
    Duration::from_secs(at_s.unsigned_abs())
}

#[cfg(test)]
mod tests;
