//! The words of the page. Where settings lie differs from phone to phone; the steps are common practice, without a
//! source, and name no maker.

use crate::tls::Name;

/// The page of a server with the built-in authority.
pub fn for_authority(fingerprint: &str, names: &[&Name], port: u16) -> String {
    let rows: String = groups(fingerprint).iter().map(|row| format!("<span>{row}</span>\n")).collect();
    let addresses: String = names.iter().map(|name| address(name, port)).collect();
    let own =
        include_str!("page.html").replace("{{fingerprint}}", &rows).replace("{{addresses}}", &addresses);
    whole(&own)
}

/// The page of a server whose certificate needs nobody's help.
pub fn nothing_to_do(why: &str) -> String {
    whole(&format!(
        "<h1>Nothing is to be done here</h1>\n<p>This server needs no trust to be set up: {why}.</p>\n\
         <p><a href=\"/\">To the notebook</a></p>\n"
    ))
}

fn whole(body: &str) -> String {
    format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>Trust this notebook's server</title>\n<link rel=\"stylesheet\" href=\"/trust/style.css\">\n\
         </head>\n<body>\n<main>\n{body}</main>\n</body>\n</html>\n"
    )
}

/// Rows of eight pairs: short enough to be compared, and as many as fit a phone.
fn groups(fingerprint: &str) -> Vec<String> {
    let pairs: Vec<&str> = fingerprint.split(':').collect();
    pairs.chunks(8).map(|row| row.join(":")).collect()
}

/// Names in certificates are letters, digits, points, hyphens and colons; nothing needs to be escaped.
fn address(name: &Name, port: u16) -> String {
    let url = format!("https://{}:{port}/", name.host());
    format!("<li><a href=\"{url}\">{url}</a></li>\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_page_shows_fingerprint_and_addresses() {
        let fingerprint = crate::tls::fingerprint(&[0xab; 32]);
        let name = Name::parse("box.local").unwrap();
        let page = for_authority(&fingerprint, &[&name], 8417);
        let row = "<span>AB:AB:AB:AB:AB:AB:AB:AB</span>";
        assert_eq!(page.matches(row).count(), 4);
        assert!(page.contains("<a href=\"https://box.local:8417/\">"));
        assert!(!page.contains("{{") && !page.contains("<script") && !page.contains("style="), "{page}");
    }
}
