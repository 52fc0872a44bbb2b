//! What an authority may vouch for, as its own certificate says.

use std::net::IpAddr;

use x509_parser::extensions::{GeneralName, ParsedExtension};
use x509_parser::prelude::X509Certificate;

use crate::tls::Name;
use crate::tls::shown::address;

/// Names that mean something within a local network only: RFC 6761 and RFC 6762, RFC 8375, and `internal`, which ICANN
/// reserved for that in 2024. `lan` and `home` are common practice without a source; nobody can own them.
pub const LOCAL_NAMES: [&str; 6] = ["localhost", "local", "home.arpa", "internal", "lan", "home"];

/// Addresses of local networks: loopback, RFC 1918, RFC 3927, RFC 4193, RFC 4291 section 2.5.6; and RFC 6598, which
/// private networks across the internet use.
pub const LOCAL_NETWORKS: [(IpAddr, u8); 9] = {
    use std::net::{Ipv4Addr, Ipv6Addr};
    [
        (IpAddr::V4(Ipv4Addr::new(127, 0, 0, 0)), 8),
        (IpAddr::V4(Ipv4Addr::new(10, 0, 0, 0)), 8),
        (IpAddr::V4(Ipv4Addr::new(172, 16, 0, 0)), 12),
        (IpAddr::V4(Ipv4Addr::new(192, 168, 0, 0)), 16),
        (IpAddr::V4(Ipv4Addr::new(169, 254, 0, 0)), 16),
        (IpAddr::V4(Ipv4Addr::new(100, 64, 0, 0)), 10),
        (IpAddr::V6(Ipv6Addr::LOCALHOST), 128),
        (IpAddr::V6(Ipv6Addr::new(0xfc00, 0, 0, 0, 0, 0, 0, 0)), 7),
        (IpAddr::V6(Ipv6Addr::new(0xfe80, 0, 0, 0, 0, 0, 0, 0)), 10),
    ]
};

/// The permitted names and networks; none of either kind means all of it.
#[derive(Debug)]
pub struct Bounds {
    names: Vec<String>,
    /// Address and mask.
    networks: Vec<(IpAddr, IpAddr)>,
}

impl Bounds {
    /// Reads them from an authority's certificate; none where they are of a kind never written here.
    pub fn of(certificate: &X509Certificate<'_>) -> Option<Self> {
        let mut bounds = Self { names: Vec::new(), networks: Vec::new() };
        for extension in certificate.extensions() {
            let ParsedExtension::NameConstraints(constraints) = extension.parsed_extension() else {
                continue;
            };
            if constraints.excluded_subtrees.is_some() {
                return None;
            }
            for subtree in constraints.permitted_subtrees.iter().flatten() {
                bounds.take(&subtree.base)?;
            }
        }
        Some(bounds)
    }

    fn take(&mut self, base: &GeneralName<'_>) -> Option<()> {
        match base {
            GeneralName::DNSName(name) => self.names.push(name.to_ascii_lowercase()),
            GeneralName::IPAddress(bytes) => {
                let (network, mask) = bytes.split_at_checked(bytes.len() / 2)?;
                self.networks.push((address(network)?, address(mask)?));
            }
            _ => return None,
        }
        Some(())
    }

    /// Whether a name lies within them (RFC 5280 section 4.2.1.10).
    pub fn permit(&self, name: &Name) -> bool {
        match name {
            Name::Dns(name) => {
                let is_below = |parent: &String| {
                    name.strip_suffix(parent.as_str())
                        .is_some_and(|rest| rest.is_empty() || rest.ends_with('.'))
                };
                self.names.is_empty() || self.names.iter().any(is_below)
            }
            Name::Address(address) => {
                self.networks.is_empty() || self.networks.iter().any(|network| holds(*network, *address))
            }
        }
    }
}

fn holds((network, mask): (IpAddr, IpAddr), address: IpAddr) -> bool {
    match (network, mask, address) {
        (IpAddr::V4(network), IpAddr::V4(mask), IpAddr::V4(address)) => {
            (address.to_bits() ^ network.to_bits()) & mask.to_bits() == 0
        }
        (IpAddr::V6(network), IpAddr::V6(mask), IpAddr::V6(address)) => {
            (address.to_bits() ^ network.to_bits()) & mask.to_bits() == 0
        }
        _ => false,
    }
}
