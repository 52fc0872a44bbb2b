//! The one cookie: its name, reading it, setting and clearing it (RFC 6265).

use axum::http::{HeaderMap, HeaderValue, header};
use storypole_journal::NotebookId;

use super::{SESSION_S, secret};

/// Its name: notebooks served from one computer share its host name, whatever their ports, so each has its own.
///
/// The last digits of the id are random; the first ones tell when it was made, and two may be made at once.
pub fn name(notebook: NotebookId) -> String {
    let id = notebook.to_string();
    format!("storypole-{}", &id[id.len() - 8..])
}

/// Finds its value among all cookies of a request. Other cookies, and values that none of ours has, are ignored.
pub fn find(headers: &HeaderMap, name: &str) -> Option<String> {
    let lines = headers.get_all(header::COOKIE).iter().filter_map(|line| line.to_str().ok());
    let mut pairs = lines.flat_map(|line| line.split(';')).filter_map(|pair| pair.trim().split_once('='));
    pairs.find(|(given, value)| *given == name && secret::is_formed(value)).map(|(_, value)| value.to_owned())
}

/// Over what a browser may send it back.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Over {
    /// Any connection: plain HTTP never leaves this computer.
    Any,
    /// HTTPS only.
    Tls,
}

/// The header that gives it to a browser.
pub fn set(name: &str, value: &str, over: Over) -> HeaderValue {
    let secure = secure(over);
    header(format!("{name}={value}; Path=/; Max-Age={SESSION_S}; HttpOnly; SameSite=Strict{secure}"))
}

/// The header that takes it away.
pub fn clear(name: &str, over: Over) -> HeaderValue {
    let secure = secure(over);
    header(format!("{name}=; Path=/; Max-Age=0; HttpOnly; SameSite=Strict{secure}"))
}

fn secure(over: Over) -> &'static str {
    if over == Over::Tls { "; Secure" } else { "" }
}

fn header(text: String) -> HeaderValue {
    HeaderValue::try_from(text).expect("names and values are made of plain letters")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_is_found_among_others() {
        let ours = secret::new();
        let name = name("01957f00-1111-7000-8000-0000c0ffee01".parse().unwrap());
        assert_eq!(name, "storypole-c0ffee01");
        let found = |lines: &[&str]| {
            let mut headers = HeaderMap::new();
            for line in lines {
                headers.append(header::COOKIE, HeaderValue::from_str(line).unwrap());
            }
            find(&headers, &name)
        };
        let own = format!("storypole-c0ffee01={ours}");
        for lines in [
            &[own.as_str()][..],
            &[&format!("theme=night; {own}; other=\"a=b\"")],
            &["theme=night", &own],
            &[&format!("storypole-c0ffee01=short; {own}")],
            &[&format!("storypole-c0ffee02={}; {own}", secret::new())],
        ] {
            assert_eq!(found(lines).as_deref(), Some(ours.as_str()), "{lines:?}");
        }
        for lines in
            [&[][..], &["theme=night"], &["storypole-c0ffee01="], &[";;;==="], &["storypole-c0ffee01"]]
        {
            assert_eq!(found(lines), None, "{lines:?}");
        }
        assert_eq!(found(&[&format!("storypole-c0ffee02={ours}")]), None, "another notebook's");
    }
}
