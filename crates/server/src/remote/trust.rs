//! Whose certificate is believed.
//!
//! A device that joined has the certificate authority of its server pinned, and that is stronger than any date: its
//! clock may be years off after a dead battery, and it must still reach the notebook. So a pinned certificate counts
//! whatever the clock says, with a line in the log; one that the system's list vouches for must hold today.

use std::sync::Arc;

use rustls::client::danger::{HandshakeSignatureValid, ServerCertVerified, ServerCertVerifier};
use rustls::client::{verify_server_cert_signed_by_trust_anchor, verify_server_name};
use rustls::crypto::{WebPkiSupportedAlgorithms, verify_tls12_signature, verify_tls13_signature};
use rustls::pki_types::{CertificateDer, ServerName, UnixTime};
use rustls::server::ParsedCertificate;
use rustls::{CertificateError, ClientConfig, DigitallySignedStruct, Error, RootCertStore, SignatureScheme};

use super::RemoteError;
use super::address::Address;
use crate::tls::{provider, sha256};

/// Whom to believe that it is the server that is meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Trust {
    /// Plain HTTP to this computer itself.
    Loopback,
    /// Whom this computer's system trusts.
    System,
    /// SHA-256 of a certificate (DER) in the chain that is shown: that of an authority, or the server's own.
    Pinned([u8; 32]),
    /// Nobody is asked: that the other end is the right one is shown by other means, as in joining.
    Unproven,
}

/// What TLS needs to know to believe the other end.
pub fn config(trust: &Trust, address: &Address) -> Result<Arc<ClientConfig>, RemoteError> {
    let builder = ClientConfig::builder_with_provider(provider())
        .with_safe_default_protocol_versions()
        .expect("the provider has suites for TLS 1.2 and 1.3");
    let algorithms = provider().signature_verification_algorithms;
    let mut config = match trust {
        Trust::Loopback => return Err(RemoteError::NoTrust(address.url.clone())),
        Trust::System => builder.with_root_certificates(system_roots()?).with_no_client_auth(),
        Trust::Pinned(pin) => {
            let verifier = Arc::new(Pinned { pin: *pin, algorithms });
            builder.dangerous().with_custom_certificate_verifier(verifier).with_no_client_auth()
        }
        Trust::Unproven => {
            let verifier = Arc::new(Unproven { algorithms });
            builder.dangerous().with_custom_certificate_verifier(verifier).with_no_client_auth()
        }
    };
    config.alpn_protocols = vec![b"http/1.1".to_vec()];
    Ok(Arc::new(config))
}

fn system_roots() -> Result<RootCertStore, RemoteError> {
    let mut roots = RootCertStore::empty();
    // Lists of systems hold odd certificates; those that can be read are enough.
    roots.add_parsable_certificates(rustls_native_certs::load_native_certs().certs);
    if roots.is_empty() { Err(RemoteError::NoRoots) } else { Ok(roots) }
}

/// Believes one certificate, and what it signed.
#[derive(Debug)]
struct Pinned {
    pin: [u8; 32],
    algorithms: WebPkiSupportedAlgorithms,
}

impl ServerCertVerifier for Pinned {
    fn verify_server_cert(
        &self,
        leaf: &CertificateDer<'_>,
        chain: &[CertificateDer<'_>],
        name: &ServerName<'_>,
        _: &[u8],
        now: UnixTime,
    ) -> Result<ServerCertVerified, Error> {
        if sha256(leaf) == self.pin {
            return Ok(ServerCertVerified::assertion());
        }
        let other = || Error::InvalidCertificate(CertificateError::ApplicationVerificationFailure);
        let pinned = chain.iter().find(|link| sha256(link) == self.pin).ok_or_else(other)?;
        let mut roots = RootCertStore::empty();
        roots.add(pinned.clone().into_owned()).map_err(|_| other())?;
        let leaf = ParsedCertificate::try_from(leaf)?;
        let at =
            |time| verify_server_cert_signed_by_trust_anchor(&leaf, &roots, chain, time, self.algorithms.all);
        at_its_own_time(at, now).map_err(|error| match error {
            Error::InvalidCertificate(CertificateError::UnknownIssuer | CertificateError::BadSignature) => {
                other()
            }
            error => error,
        })?;
        verify_server_name(&leaf, name)?;
        Ok(ServerCertVerified::assertion())
    }

    fn verify_tls12_signature(
        &self,
        message: &[u8],
        leaf: &CertificateDer<'_>,
        signed: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, Error> {
        verify_tls12_signature(message, leaf, signed, &self.algorithms)
    }

    fn verify_tls13_signature(
        &self,
        message: &[u8],
        leaf: &CertificateDer<'_>,
        signed: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, Error> {
        verify_tls13_signature(message, leaf, signed, &self.algorithms)
    }

    fn supported_verify_schemes(&self) -> Vec<SignatureScheme> {
        self.algorithms.supported_schemes()
    }
}

/// Checks a chain now; where this clock lies outside the time of a certificate, at the nearest moment of that time.
fn at_its_own_time(check: impl Fn(UnixTime) -> Result<(), Error>, now: UnixTime) -> Result<(), Error> {
    let Err(refused) = check(now) else { return Ok(()) };
    let own = match &refused {
        Error::InvalidCertificate(CertificateError::ExpiredContext { not_after, .. }) => *not_after,
        Error::InvalidCertificate(CertificateError::NotValidYetContext { not_before, .. }) => *not_before,
        _ => return Err(refused),
    };
    check(own)?;
    tracing::warn!(
        "by this computer's clock the server's certificate does not hold today; it is the right one, so one of the \
         two clocks is wrong: check date and time on both"
    );
    Ok(())
}

/// Believes any certificate whose key the other end has.
#[derive(Debug)]
struct Unproven {
    algorithms: WebPkiSupportedAlgorithms,
}

impl ServerCertVerifier for Unproven {
    fn verify_server_cert(
        &self,
        _: &CertificateDer<'_>,
        _: &[CertificateDer<'_>],
        _: &ServerName<'_>,
        _: &[u8],
        _: UnixTime,
    ) -> Result<ServerCertVerified, Error> {
        Ok(ServerCertVerified::assertion())
    }

    // The signatures are checked all the same: what is proven elsewhere is bound to this certificate.
    fn verify_tls12_signature(
        &self,
        message: &[u8],
        leaf: &CertificateDer<'_>,
        signed: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, Error> {
        verify_tls12_signature(message, leaf, signed, &self.algorithms)
    }

    fn verify_tls13_signature(
        &self,
        message: &[u8],
        leaf: &CertificateDer<'_>,
        signed: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, Error> {
        verify_tls13_signature(message, leaf, signed, &self.algorithms)
    }

    fn supported_verify_schemes(&self) -> Vec<SignatureScheme> {
        self.algorithms.supported_schemes()
    }
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use rcgen::{BasicConstraints, CertificateParams, CertifiedIssuer, IsCa, KeyPair, date_time_ymd};

    use super::*;

    const DAY_S: u64 = 24 * 60 * 60;

    /// An authority of the name that all have, whose certificates begin in 2025.
    fn authority() -> CertifiedIssuer<'static, KeyPair> {
        let mut params = CertificateParams::default();
        params.is_ca = IsCa::Ca(BasicConstraints::Constrained(0));
        params.not_before = date_time_ymd(2025, 1, 1);
        params.not_after = date_time_ymd(2035, 1, 1);
        CertifiedIssuer::self_signed(params, KeyPair::generate().unwrap()).unwrap()
    }

    fn leaf(by: &CertifiedIssuer<'static, KeyPair>, names: &[&str]) -> CertificateDer<'static> {
        let names: Vec<String> = names.iter().map(|name| (*name).to_owned()).collect();
        let mut params = CertificateParams::new(names).unwrap();
        params.not_before = date_time_ymd(2025, 6, 1);
        params.not_after = date_time_ymd(2025, 8, 30);
        params.signed_by(&KeyPair::generate().unwrap(), by).unwrap().der().clone()
    }

    fn said(pin: &[u8], chain: &[CertificateDer<'static>], name: &str, day: u64) -> Result<(), Error> {
        let verifier = Pinned { pin: sha256(pin), algorithms: provider().signature_verification_algorithms };
        let name = ServerName::try_from(name.to_owned()).unwrap();
        let now = UnixTime::since_unix_epoch(Duration::from_secs(day * DAY_S));
        verifier.verify_server_cert(&chain[0], &chain[1..], &name, &[], now).map(drop)
    }

    /// Days since 1970 by hand: 20,240 is 2025-06-02; the others are a year and more off, and the very beginning.
    #[test]
    fn a_clock_that_is_years_off_does_not_part_a_device_from_its_server() {
        let ca = authority();
        let chain = [leaf(&ca, &["box.example"]), ca.der().clone()];
        for day in [0, 18_000, 19_875, 20_240, 20_605, 30_000] {
            assert_eq!(said(ca.der(), &chain, "box.example", day), Ok(()), "day {day}");
            assert_eq!(said(&chain[0], &chain, "box.example", day), Ok(()), "day {day}, the leaf itself");
        }
    }

    #[test]
    fn names_and_addresses_of_an_authority_must_match() {
        let ca = authority();
        let chain = [leaf(&ca, &["box.example", "192.0.2.7", "2001:db8::1"]), ca.der().clone()];
        for name in ["box.example", "192.0.2.7", "2001:db8::1"] {
            assert_eq!(said(ca.der(), &chain, name, 20_240), Ok(()), "{name}");
        }
        for (name, day) in [("other.example", 20_240), ("192.0.2.8", 20_240), ("other.example", 0)] {
            let refused = said(ca.der(), &chain, name, day);
            let is_name = matches!(
                refused,
                Err(Error::InvalidCertificate(CertificateError::NotValidForNameContext { .. }))
            );
            assert!(is_name, "{name}: {refused:?}");
        }
    }

    /// Whoever stands between may show the true authority along with a certificate it never signed.
    #[test]
    fn showing_the_pinned_certificate_is_not_enough() {
        let (ca, forger) = (authority(), authority());
        let forged = leaf(&forger, &["box.example"]);
        let other = Err(Error::InvalidCertificate(CertificateError::ApplicationVerificationFailure));
        for (pin, chain) in [
            (ca.der(), vec![forged.clone(), ca.der().clone()]),
            (ca.der(), vec![forged.clone(), forger.der().clone(), ca.der().clone()]),
            (ca.der(), vec![forged.clone(), forger.der().clone()]),
            (ca.der(), vec![forged]),
            (ca.der(), vec![leaf(&ca, &["box.example"])]),
        ] {
            for day in [0, 20_240, 30_000] {
                assert_eq!(said(pin, &chain, "box.example", day), other, "{} links, day {day}", chain.len());
            }
        }
    }
}
