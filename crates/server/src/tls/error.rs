//! Why there is no certificate to show.

use std::io;
use std::path::PathBuf;

use super::Name;

/// A certificate could not be made or read.
#[derive(Debug, thiserror::Error)]
pub enum TlsError {
    #[error(
        "this computer's clock stands at {0}, before 2020, and a certificate made now would hold nowhere: set date and time, then serve again"
    )]
    ClockBehind(String),
    #[error(
        "\"{0}\" cannot be in a certificate: give a host name such as box.local, or an address in numbers"
    )]
    BadName(String),
    /// The authority was made for other names, and devices trust it for those only.
    #[error(
        "the certificate authority in {folder} may not vouch for {}: use a name under .local, or move that folder away so that a new one is made, which every device and phone must be told to trust",
        name.host()
    )]
    NameOutside { name: Name, folder: PathBuf },
    #[error(
        "{certificate} is there without its key {key}: put the key back; or move the folder away so that a new authority is made, and have every device join again"
    )]
    LostKey { certificate: PathBuf, key: PathBuf },
    #[error("{key} is not the key of {certificate}: give two files that belong together")]
    OtherKey { certificate: PathBuf, key: PathBuf },
    #[error(
        "the certificate authority in {folder} ended on {ended}: move that folder away so that a new one is made, and have every device join again"
    )]
    Ended { folder: PathBuf, ended: String },
    #[error("{0} holds no certificate: give a file in PEM, with a line BEGIN CERTIFICATE")]
    NoCertificate(PathBuf),
    #[error(
        "{0} holds no private key: give a file in PEM, with a line BEGIN PRIVATE KEY and without a password"
    )]
    NoKey(PathBuf),
    #[error("the certificate in {0} cannot be read: give one of version 3, for a server")]
    BadCertificate(PathBuf),
    #[error("the certificate in {path} cannot be shown: give one with a key of RSA, ECDSA or Ed25519")]
    Unusable { path: PathBuf, source: rustls::Error },
    #[error("{path} cannot be read: check that it is there and that you may read it")]
    Read { path: PathBuf, source: io::Error },
    #[error("{path} cannot be written: check that there is room and that you may write there")]
    Write { path: PathBuf, source: io::Error },
    #[error("no certificate could be made")]
    Make { source: rcgen::Error },
}

/// A moment in words, for messages: a date, or the bare number where it is no date.
pub fn date(at_s: i64) -> String {
    match jiff::Timestamp::from_second(at_s) {
        Ok(moment) => moment.strftime("%Y-%m-%d").to_string(),
        Err(_) => format!("{at_s} s"),
    }
}
