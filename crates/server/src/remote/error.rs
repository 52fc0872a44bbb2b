//! Why another server gave no answer that counts.

use std::io;
use std::time::Duration;

/// Nothing was answered, or nothing that may be believed. An answer of any status is no error.
#[derive(Debug, thiserror::Error)]
pub enum RemoteError {
    #[error("\"{0}\" is no address of a server: write it as https://host or https://host:port")]
    BadUrl(String),
    #[error("{0} is another computer, which is asked over https only: write https:// before its name")]
    PlainHttp(String),
    #[error("{0} is asked over https, so it must be said whose certificate is trusted there")]
    NoTrust(String),
    /// A mistake of the program.
    #[error("the request names no path of a server")]
    BadPath,
    #[error(
        "this computer has no list of certificate authorities: install the system's, or join the server anew"
    )]
    NoRoots,
    #[error(
        "no computer of the name {host} is found: check the name and that both are on the same network, or use its address in numbers"
    )]
    NoSuchHost { host: String, source: io::Error },
    #[error("{url} cannot be reached: check that it serves there and that both are on the same network")]
    NotReached { url: String, source: io::Error },
    #[error("{url} says nothing, waited {patience:?}: check the network and try again")]
    Silent { url: String, patience: Duration },
    #[error("{0} does not speak https: check its port, or ask over http where it is this computer itself")]
    NotTls(String),
    /// The one failure that may be an attack.
    #[error(
        "{url} does not show the certificate it showed when this device joined: it was set up anew, or someone stands between; ask in the workshop, then join again"
    )]
    OtherCertificate { url: String, source: rustls::Error },
    #[error("the certificate of {url} is signed by nobody this computer trusts: join it with a code instead")]
    NotTrusted { url: String, source: rustls::Error },
    #[error(
        "the certificate of {url} is not for the name {host}: use a name it is for, or serve it with --name {host}"
    )]
    WrongName { url: String, host: String, source: rustls::Error },
    #[error(
        "the certificate of {url} does not hold at this time: check date and time on both computers, then renew it there"
    )]
    OutOfDate { url: String, source: rustls::Error },
    #[error("no safe connection to {url} could be agreed: check that both run a recent version")]
    Handshake { url: String, source: io::Error },
    #[error("the connection to {url} ended before its answer was here: try again")]
    CutOff { url: String, source: hyper::Error },
    #[error("what {url} says is no answer over HTTP: check its port")]
    NotHttp { url: String, source: hyper::Error },
    #[error(
        "the answer of {url} is larger than {most_bytes} bytes: check that it is the right server, of the same version"
    )]
    TooLarge { url: String, most_bytes: usize },
}
