//! What this computer is called by others: its host name, its addresses, and what its owner adds.
//!
//! The system is asked through files and a socket that sends nothing; where it tells less, the owner names more.

use std::collections::BTreeSet;
use std::fs;
use std::net::{IpAddr, Ipv4Addr, Ipv6Addr, SocketAddr, UdpSocket};
use std::sync::LazyLock;

use rustls::pki_types::ServerName;

/// Most names one certificate is for; a computer with more addresses than this has them for other ends.
const MOST: usize = 48;

/// A name in a certificate.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Name {
    /// A host name in lower case; of certificates of others it may begin with `*.`.
    Dns(String),
    Address(IpAddr),
}

impl Name {
    /// Reads a host name or an address, the latter with brackets or without.
    pub fn parse(text: &str) -> Option<Self> {
        let bare = text.trim();
        let bare = bare.strip_prefix('[').and_then(|rest| rest.strip_suffix(']')).unwrap_or(bare);
        match ServerName::try_from(bare).ok()? {
            ServerName::DnsName(name) => Some(Self::Dns(name.as_ref().to_ascii_lowercase())),
            ServerName::IpAddress(address) => Some(Self::Address(IpAddr::from(address))),
            _ => None,
        }
    }

    /// As it stands in an address (RFC 3986 section 3.2.2).
    pub fn host(&self) -> String {
        match self {
            Self::Dns(name) => name.clone(),
            Self::Address(IpAddr::V4(address)) => address.to_string(),
            Self::Address(IpAddr::V6(address)) => format!("[{address}]"),
        }
    }

    /// Whether a host is this name, or one that its first `*` stands for (RFC 6125 section 6.4.3).
    pub fn covers(&self, host: &str) -> bool {
        let own = self.host();
        if own.eq_ignore_ascii_case(host) {
            return true;
        }
        let (Some(parent), Some((label, rest))) = (own.strip_prefix("*."), host.split_once('.')) else {
            return false;
        };
        !label.is_empty() && rest.eq_ignore_ascii_case(parent)
    }

    /// Whether it means any computer that says it, so that no other can be reached by it.
    pub fn is_loopback(&self) -> bool {
        match self {
            Self::Dns(name) => name == "localhost",
            Self::Address(address) => address.is_loopback(),
        }
    }
}

/// All names of this computer, those that others can best use first: given ones, addresses, the host name.
pub fn of_this_computer(given: &[Name], listens_at: IpAddr) -> Vec<Name> {
    let mut names: Vec<Name> = given.to_vec();
    if listens_at.is_unspecified() {
        names.extend(addresses().into_iter().map(Name::Address));
    } else if !listens_at.is_loopback() {
        names.push(Name::Address(listens_at));
    }
    if let Some(Name::Dns(host)) = host_name() {
        let first = host.split('.').next().unwrap_or_default();
        names.extend(Name::parse(&format!("{first}.local")));
        names.push(Name::Dns(host));
    }
    names.push(Name::Dns("localhost".to_owned()));
    names.extend([Ipv4Addr::LOCALHOST.into(), Ipv6Addr::LOCALHOST.into()].map(Name::Address));
    let mut seen = BTreeSet::new();
    names.retain(|name| seen.insert(name.clone()));
    // Given names come first and loopback last; a surplus of addresses is what goes.
    while names.len() > MOST {
        let Some(surplus) =
            names.iter().rposition(|name| matches!(name, Name::Address(a) if !a.is_loopback()))
        else {
            break;
        };
        names.remove(surplus);
    }
    names
}

/// The host name as the system has it, unless it is nothing a certificate could hold.
pub fn host_name() -> Option<Name> {
    let from_file = || fs::read_to_string("/proc/sys/kernel/hostname").ok();
    let from_environment = || std::env::var("COMPUTERNAME").ok();
    let text = from_file().or_else(from_environment).or_else(from_command)?;
    Name::parse(text.trim()).filter(|name| matches!(name, Name::Dns(_)) && !name.is_loopback())
}

/// Where neither tells, the system's own command does; asked once, since it starts a program.
fn from_command() -> Option<String> {
    static SAID: LazyLock<Option<String>> = LazyLock::new(|| {
        let said = std::process::Command::new("hostname").output().ok()?;
        String::from_utf8(said.stdout).ok()
    });
    SAID.clone()
}

/// The addresses of this computer, the one that others most likely reach first.
fn addresses() -> Vec<IpAddr> {
    let mut found: Vec<IpAddr> = OUTWARD.iter().filter_map(|to| towards(to)).collect();
    let read = |path| fs::read_to_string(path).unwrap_or_default();
    found.extend(local_of_trie(&read("/proc/net/fib_trie")).into_iter().map(IpAddr::V4));
    found.extend(of_interfaces(&read("/proc/net/if_inet6")).into_iter().map(IpAddr::V6));
    found.retain(is_reachable);
    found
}

/// Addresses for documentation (RFC 5737, RFC 3849), where nobody lives.
const OUTWARD: [&str; 2] = ["192.0.2.1:9", "[2001:db8::1]:9"];

/// From which address a packet would leave towards another. None is sent.
fn towards(to: &str) -> Option<IpAddr> {
    let to: SocketAddr = to.parse().ok()?;
    let any: IpAddr = if to.is_ipv4() { Ipv4Addr::UNSPECIFIED.into() } else { Ipv6Addr::UNSPECIFIED.into() };
    let socket = UdpSocket::bind((any, 0)).ok()?;
    socket.connect(to).ok()?;
    socket.local_addr().ok().map(|own| own.ip())
}

/// Addresses that a Linux routing table lists as its computer's own.
fn local_of_trie(table: &str) -> Vec<Ipv4Addr> {
    let mut found = Vec::new();
    let mut last: Option<Ipv4Addr> = None;
    for line in table.lines() {
        let line = line.trim();
        match line.strip_prefix("|-- ") {
            Some(address) => last = address.parse().ok(),
            None if line.starts_with("/32 host LOCAL") => found.extend(last),
            None => (),
        }
    }
    found
}

/// Addresses of a Linux list of IPv6 interfaces: 32 digits at the beginning of each line.
fn of_interfaces(list: &str) -> Vec<Ipv6Addr> {
    let address = |line: &str| u128::from_str_radix(line.get(..32)?, 16).ok();
    list.lines().filter_map(address).map(Ipv6Addr::from).collect()
}

/// Link-local IPv6 addresses need the sender's interface beside them, which no certificate holds.
fn is_reachable(address: &IpAddr) -> bool {
    let is_link = matches!(address, IpAddr::V6(address) if address.is_unicast_link_local());
    !(address.is_loopback() || address.is_unspecified() || address.is_multicast() || is_link)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_read() {
        let dns = |name: &str| Some(Name::Dns(name.to_owned()));
        for (text, expected) in [
            ("box.local", dns("box.local")),
            (" Box.Local ", dns("box.local")),
            ("box", dns("box")),
            ("192.0.2.7", Some(Name::Address("192.0.2.7".parse().unwrap()))),
            ("[2001:db8::1]", Some(Name::Address("2001:db8::1".parse().unwrap()))),
            ("2001:db8::1", Some(Name::Address("2001:db8::1".parse().unwrap()))),
            ("", None),
            ("*.local", None),
            ("box..local", None),
            ("https://box.local", None),
            ("box.local:8417", None),
            ("the box", None),
        ] {
            assert_eq!(Name::parse(text), expected, "{text}");
        }
    }

    #[test]
    fn a_star_stands_for_one_label() {
        let star = Name::Dns("*.shop.example".to_owned());
        for (host, covered) in [
            ("box.shop.example", true),
            ("BOX.Shop.Example", true),
            ("shop.example", false),
            (".shop.example", false),
            ("a.box.shop.example", false),
            ("boxshop.example", false),
        ] {
            assert_eq!(star.covers(host), covered, "{host}");
        }
        assert!(Name::parse("2001:db8::1").unwrap().covers("[2001:db8::1]"));
    }

    /// A table in the form of Linux, shortened by hand.
    #[test]
    fn own_addresses_are_found_in_a_routing_table() {
        let table = "Main:\n  +-- 0.0.0.0/0 3 0 5\n     |-- 0.0.0.0\n        /0 universe UNICAST\n\
                     \x20    |-- 127.0.0.1\n        /32 host LOCAL\n     |-- 192.168.4.0\n        /24 link UNICAST\n\
                     \x20    |-- 192.168.4.17\n        /32 host LOCAL\n     |-- 192.168.4.255\n        /32 link BROADCAST\n";
        assert_eq!(local_of_trie(table), [Ipv4Addr::LOCALHOST, Ipv4Addr::new(192, 168, 4, 17)]);
        let list = "fd000000000000000000000000000017 02 40 00 80     eth0\n\
                    fe800000000000000000000000000017 02 40 20 80     eth0\nodd\n";
        let found = of_interfaces(list);
        assert_eq!(found, ["fd00::17".parse::<Ipv6Addr>().unwrap(), "fe80::17".parse().unwrap()]);
        assert!(is_reachable(&found[0].into()) && !is_reachable(&found[1].into()));
    }

    #[test]
    fn a_computer_has_its_loopback_names_and_the_given_ones_once() {
        let given = [Name::parse("box.local").unwrap(), Name::parse("localhost").unwrap()];
        let names = of_this_computer(&given, Ipv4Addr::LOCALHOST.into());
        assert_eq!(names[0], given[0]);
        for name in ["localhost", "127.0.0.1", "::1"] {
            let name = Name::parse(name).unwrap();
            assert_eq!(names.iter().filter(|other| **other == name).count(), 1, "{name:?}");
        }
        let listens_at = "192.0.2.7".parse().unwrap();
        assert!(of_this_computer(&[], listens_at).contains(&Name::Address(listens_at)));
    }
}
