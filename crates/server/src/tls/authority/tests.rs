//! What the authority signs, judged by webpki (the verifier of rustls) and read with x509-parser.

use std::collections::BTreeSet;
use std::fs;
use std::sync::Arc;
use std::time::Duration;

use rustls::client::WebPkiServerVerifier;
use rustls::client::danger::ServerCertVerifier;
use rustls::pki_types::{ServerName, UnixTime};
use rustls::{CertificateError, Error, RootCertStore};
use tempfile::TempDir;
use x509_parser::extensions::ParsedExtension;

use super::*;
use crate::tls::provider;

/// 2025-03-04, by hand.
const NOW_S: i64 = 1_741_046_400;

fn names(texts: &[&str]) -> Vec<Name> {
    texts.iter().map(|text| Name::parse(text).unwrap()).collect()
}

fn folder() -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("tls");
    (folder, path)
}

fn open(folder: &Path, given: &[&str], now_s: i64) -> Result<Authority, TlsError> {
    Authority::open(folder, "box c0ffee01", &names(given), now_s)
}

fn chain(folder: &Path) -> Vec<CertificateDer<'static>> {
    let path = folder.join("leaf.pem");
    files::chain(&path, &fs::read(&path).unwrap()).unwrap()
}

/// What webpki says of a chain whose authority is trusted.
fn judged(ca: &Ca, chain: &[CertificateDer<'_>], name: &str, at_s: i64) -> Result<(), Error> {
    let mut roots = RootCertStore::empty();
    roots.add(CertificateDer::from(ca.der.clone())).unwrap();
    let verifier = WebPkiServerVerifier::builder_with_provider(Arc::new(roots), provider()).build().unwrap();
    let name = ServerName::try_from(name.to_owned()).unwrap();
    let at = UnixTime::since_unix_epoch(Duration::from_secs(at_s.unsigned_abs()));
    verifier.verify_server_cert(&chain[0], &chain[1..], &name, &[], at).map(drop)
}

#[test]
fn a_chain_holds_for_each_of_its_names_and_no_other() {
    let (_kept, folder) = folder();
    let own = ["box.local", "box", "192.168.4.17", "10.0.0.9", "fd00::17", "localhost", "127.0.0.1", "::1"];
    let given = ["box", "shop.example", "203.0.113.5"];
    let authority = open(&folder, &given, NOW_S).unwrap();
    let wanted: Vec<Name> = [names(&own), names(&given)].concat();
    let shown = authority.shown(&wanted, NOW_S).unwrap();
    assert_eq!(shown.names.iter().collect::<BTreeSet<_>>(), wanted.iter().collect());
    let chain = chain(&folder);
    assert_eq!((chain.len(), shown.hash), (2, sha256(&chain[0])));
    for name in own.iter().chain(&given) {
        assert_eq!(judged(authority.ca(), &chain, name, NOW_S), Ok(()), "{name}");
    }
    for name in ["other.local", "www.box.local", "192.168.4.18", "fd00::18", "shop.example.com"] {
        let said = judged(authority.ca(), &chain, name, NOW_S);
        let is_name =
            matches!(said, Err(Error::InvalidCertificate(CertificateError::NotValidForNameContext { .. })));
        assert!(is_name, "{name}: {said:?}");
    }
    let other = open(&folder.join("../other"), &[], NOW_S).unwrap();
    let said = judged(other.ca(), &chain, "box.local", NOW_S);
    assert!(
        matches!(said, Err(Error::InvalidCertificate(_))),
        "another authority of the same name: {said:?}"
    );
}

#[test]
fn a_chain_holds_for_90_days_and_a_day_before() {
    let (_kept, folder) = folder();
    let authority = open(&folder, &[], NOW_S).unwrap();
    authority.shown(&names(&["box.local"]), NOW_S).unwrap();
    let chain = chain(&folder);
    for (days, holds) in [(-2, false), (-1, true), (0, true), (90, true), (91, false)] {
        let said = judged(authority.ca(), &chain, "box.local", NOW_S + days * DAY_S);
        assert_eq!(said.is_ok(), holds, "after {days} days: {said:?}");
    }
    let (_, leaf) = X509Certificate::from_der(&chain[0]).unwrap();
    let validity = leaf.validity();
    let days = (validity.not_after.timestamp() - validity.not_before.timestamp()) / DAY_S;
    assert_eq!(days, 91, "398 at most: CA/Browser Forum Baseline Requirements section 6.3.2");
}

/// RFC 5280 sections 4.1.2.2, 4.2.1.3, 4.2.1.9, 4.2.1.10 and 4.2.1.12.
#[test]
fn certificates_say_what_they_are_for() {
    let (_kept, folder) = folder();
    let authority = open(&folder, &[], NOW_S).unwrap();
    authority.shown(&names(&["box.local"]), NOW_S).unwrap();
    let chain = chain(&folder);
    let (_, ca) = X509Certificate::from_der(&authority.ca().der).unwrap();
    assert_eq!(ca.subject().to_string(), "CN=Storypole CA of box c0ffee01");
    let constraints = ca.basic_constraints().unwrap().unwrap();
    assert!(constraints.critical && constraints.value.ca);
    assert_eq!(constraints.value.path_len_constraint, Some(0));
    let usage = ca.key_usage().unwrap().unwrap().value;
    assert!(usage.key_cert_sign() && !usage.digital_signature());
    let is_bound = |parsed: &ParsedExtension<'_>| matches!(parsed, ParsedExtension::NameConstraints(_));
    assert!(ca.extensions().iter().any(|found| found.critical && is_bound(found.parsed_extension())));
    assert!(ca.verify_signature(None).is_ok(), "signed by itself");

    let (_, leaf) = X509Certificate::from_der(&chain[0]).unwrap();
    assert!(!leaf.is_ca() && leaf.issuer() == ca.subject());
    let usage = leaf.extended_key_usage().unwrap().unwrap().value;
    assert!(usage.server_auth && !usage.client_auth && !usage.any);
    assert!(leaf.verify_signature(Some(ca.public_key())).is_ok());
    for certificate in [&ca, &leaf] {
        let serial = certificate.raw_serial();
        assert!(serial.len() == 16 && (0x40..0x80).contains(&serial[0]), "{serial:x?}");
        let curve = &certificate.public_key().algorithm.parameters.as_ref().unwrap().as_oid().unwrap();
        // RFC 5480 section 2.1.1.1: secp256r1.
        assert_eq!(curve.to_id_string(), "1.2.840.10045.3.1.7");
    }
    assert_ne!(ca.raw_serial(), leaf.raw_serial());
}

/// Whoever steals the key must not be able to forge a page of the open internet.
#[test]
fn what_the_key_signs_beyond_its_bounds_holds_nowhere() {
    let (_kept, folder) = folder();
    let authority = open(&folder, &["shop.example"], NOW_S).unwrap();
    for name in ["bank.example", "203.0.113.5", "2001:db8::1", "localhost.example", "notshop.example"] {
        let name = Name::parse(name).unwrap();
        let made = leaf(&[&name], NOW_S, NOW_S + DAY_S, &authority.issuer).unwrap();
        let chain = [made.0.der().clone(), CertificateDer::from(authority.ca().der.clone())];
        let bare = name.host();
        let bare = bare.trim_matches(['[', ']']);
        let said = judged(authority.ca(), &chain, bare, NOW_S);
        let said = said.unwrap_err();
        let is_bound = matches!(&said, Error::InvalidCertificate(CertificateError::Other(why))
            if why.to_string().contains("NameConstraintViolation"));
        assert!(is_bound, "{bare}: {said:?}");
        assert!(!authority.bounds.permit(&name), "{bare}");
    }
}

#[test]
fn what_lies_beyond_the_bounds_is_left_out_or_refused() {
    let (_kept, folder) = folder();
    let authority = open(&folder, &[], NOW_S).unwrap();
    let shown = authority.shown(&names(&["box.local", "shop.example", "203.0.113.5", "::1"]), NOW_S).unwrap();
    assert_eq!(shown.names, names(&["box.local", "::1"]));
    let refused = authority.covers(&names(&["box.local", "shop.example"])).unwrap_err();
    assert!(matches!(&refused, TlsError::NameOutside { name, .. } if name.host() == "shop.example"));
    assert!(refused.to_string().contains("a name under .local, or move that folder away"), "{refused}");
}

#[test]
fn an_authority_is_made_once_and_its_keys_are_for_their_owner() {
    let (_kept, folder) = folder();
    let first = open(&folder, &[], NOW_S).unwrap();
    let shown = first.shown(&names(&["box.local"]), NOW_S).unwrap();
    let again = open(&folder, &[], NOW_S + DAY_S).unwrap();
    assert_eq!(again.ca(), first.ca());
    assert_eq!(again.shown(&names(&["box.local"]), NOW_S + DAY_S).unwrap().hash, shown.hash);
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let mode = |path: PathBuf| fs::metadata(path).unwrap().permissions().mode() & 0o777;
        let modes = ["ca.key", "leaf.key", "ca.pem", "leaf.pem"].map(|name| mode(folder.join(name)));
        assert_eq!((mode(folder.clone()), modes), (0o700, [0o600, 0o600, 0o644, 0o644]));
    }
}

#[test]
fn a_certificate_is_renewed_when_a_third_is_left_or_a_name_is_new() {
    let (_kept, folder) = folder();
    let authority = open(&folder, &[], NOW_S).unwrap();
    let own = names(&["box.local", "192.168.4.17"]);
    let shown = authority.shown(&own, NOW_S).unwrap();
    // 91 days in all, one of them before now: a third, 30 days and 8 hours, is left after 59 days and 16 hours.
    for (hours, is_renewed) in
        [(-1000, false), (0, false), (59 * 24 + 15, false), (59 * 24 + 17, true), (100_000, false)]
    {
        let renewed = authority.renewed(&shown, &own, NOW_S + hours * 3600);
        match renewed {
            Ok(renewed) => assert_eq!(renewed.is_some(), is_renewed, "after {hours} h"),
            Err(error) => {
                assert!(hours == 100_000 && matches!(error, TlsError::Ended { .. }), "{hours}: {error}")
            }
        }
    }
    let moved = names(&["box.local", "192.168.4.18"]);
    let renewed = authority.renewed(&shown, &moved, NOW_S).unwrap().expect("it has a new address");
    assert_eq!(renewed.names, moved);
    assert_ne!(renewed.hash, shown.hash);
    let fewer = authority.renewed(&shown, &names(&["box.local"]), NOW_S).unwrap();
    assert!(fewer.is_none(), "an address that is gone does no harm");
}

#[test]
fn a_clock_before_2020_makes_nothing_and_what_is_there_serves_on() {
    let (_kept, folder) = folder();
    for now_s in [0, EARLIEST_S - 1] {
        let refused = open(&folder, &[], now_s).unwrap_err();
        assert!(matches!(refused, TlsError::ClockBehind(_)), "{refused}");
        assert!(refused.to_string().contains("set date and time"), "{refused}");
        assert!(!folder.exists(), "nothing was begun");
    }
    let shown = open(&folder, &[], NOW_S).unwrap().shown(&names(&["box.local"]), NOW_S).unwrap();
    let authority = open(&folder, &[], 0).unwrap();
    let own = names(&["box.local", "new.local"]);
    assert_eq!(authority.shown(&own, 0).unwrap().hash, shown.hash);
    let refused = authority.issue(&own, 0).unwrap_err();
    assert!(matches!(refused, TlsError::ClockBehind(_)), "{refused}");
}

#[test]
fn what_is_lost_or_damaged_is_told_and_never_overwritten() {
    let (_kept, folder) = folder();
    let authority = open(&folder, &[], NOW_S).unwrap();
    authority.shown(&names(&["box.local"]), NOW_S).unwrap();
    let (ca, key) = (fs::read(folder.join("ca.pem")).unwrap(), fs::read(folder.join("ca.key")).unwrap());
    let told = |expected: &str| {
        let refused = open(&folder, &[], NOW_S).unwrap_err().to_string();
        assert!(refused.contains(expected), "{refused}");
    };
    fs::remove_file(folder.join("ca.key")).unwrap();
    told("without its key");
    fs::write(folder.join("ca.key"), KeyPair::generate().unwrap().serialize_pem()).unwrap();
    told("is not the key of");
    fs::write(folder.join("ca.key"), b"\xff\x00odd").unwrap();
    told("holds no private key");
    fs::write(folder.join("ca.key"), &key).unwrap();
    for cut in [0, ca.len() / 2] {
        fs::write(folder.join("ca.pem"), &ca[..cut]).unwrap();
        told("holds no certificate");
    }
    fs::write(folder.join("ca.pem"), &ca).unwrap();
    assert_eq!(open(&folder, &[], NOW_S).unwrap().ca(), authority.ca(), "put back, it is as before");
}

#[test]
fn a_certificate_that_was_cut_off_is_made_anew() {
    let (_kept, folder) = folder();
    let authority = open(&folder, &[], NOW_S).unwrap();
    let own = names(&["box.local"]);
    let other = open(&folder.join("../other"), &[], NOW_S).unwrap();
    other.shown(&own, NOW_S).unwrap();
    let foreign = fs::read(other.folder.join("leaf.pem")).unwrap();
    for (name, content) in [("leaf.pem", &b""[..]), ("leaf.key", b"odd"), ("leaf.pem", &foreign)] {
        let before = authority.shown(&own, NOW_S).unwrap();
        fs::write(folder.join(name), content).unwrap();
        let made = authority.shown(&own, NOW_S).unwrap();
        assert_ne!(made.hash, before.hash, "{name}");
        assert_eq!(judged(authority.ca(), &chain(&folder), "box.local", NOW_S), Ok(()));
        assert_eq!(authority.shown(&own, NOW_S).unwrap().hash, made.hash, "and kept");
    }
}
