//! The name under which a browser saves a file, cleaned of what could lead elsewhere (RFC 6266, RFC 8187).

use std::fmt::Write as _;

/// Letters of a name at most.
const MOST: usize = 120;

/// The header that says whether a file is shown or saved, and under which name.
pub fn disposition(is_shown: bool, name: &str) -> String {
    let how = if is_shown { "inline" } else { "attachment" };
    let name = clean(name);
    let plain: String = name.chars().map(|letter| if letter.is_ascii() { letter } else { '_' }).collect();
    let mut header = format!("{how}; filename=\"{plain}\"");
    if plain != name {
        header.push_str("; filename*=UTF-8''");
        for byte in name.bytes() {
            // attr-char of RFC 8187 section 3.2.1.
            if byte.is_ascii_alphanumeric() || b"!#$&+-.^_`|~".contains(&byte) {
                header.push(char::from(byte));
            } else {
                write!(header, "%{byte:02X}").expect("writing to a string cannot fail");
            }
        }
    }
    header
}

/// A plain file name: no folders, no quotes, nothing unseen, no dot in front.
fn clean(name: &str) -> String {
    let seen = name.chars().filter(|letter| !is_unseen(*letter));
    let safe = seen.map(|letter| if is_of_paths(letter) { '_' } else { letter });
    let cleaned: String = safe.take(MOST).collect();
    let cleaned = cleaned.trim_matches(|letter: char| letter == '.' || letter.is_whitespace());
    if cleaned.is_empty() { "file".to_owned() } else { cleaned.to_owned() }
}

/// Letters with a meaning in paths, in headers or to a command line of some system.
fn is_of_paths(letter: char) -> bool {
    matches!(letter, '/' | '\\' | ':' | '*' | '?' | '"' | '<' | '>' | '|' | '%')
}

/// Letters that show nothing or turn the direction of others, so that a name looks like another.
fn is_unseen(letter: char) -> bool {
    letter.is_control()
        || matches!(letter, '\u{ad}' | '\u{61c}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff0}'..='\u{ffff}' | '\u{e0000}'..='\u{e007f}')
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The encoded form of "€ rates" is that of RFC 8187 section 3.2.2; the others by hand.
    #[test]
    fn names_lead_nowhere() {
        for (name, expected) in [
            ("boxes.jpg", "filename=\"boxes.jpg\""),
            ("\u{20ac} rates", "filename=\"_ rates\"; filename*=UTF-8''%E2%82%AC%20rates"),
            ("../../etc/passwd", "filename=\"_.._etc_passwd\""),
            ("..\\..\\autoexec.bat", "filename=\"_.._autoexec.bat\""),
            ("/absolute", "filename=\"_absolute\""),
            ("C:\\photo.png", "filename=\"C__photo.png\""),
            ("a\"; filename=\"b.exe", "filename=\"a_; filename=_b.exe\""),
            ("a\r\nset-cookie: x=y", "filename=\"aset-cookie_ x=y\""),
            ("photo\u{202e}gpj.exe", "filename=\"photogpj.exe\""),
            (".hidden", "filename=\"hidden\""),
            ("...", "filename=\"file\""),
            ("", "filename=\"file\""),
            ("\0", "filename=\"file\""),
            ("%2e%2e%2fx", "filename=\"_2e_2e_2fx\""),
        ] {
            assert_eq!(disposition(false, name), format!("attachment; {expected}"), "{name:?}");
        }
        assert_eq!(disposition(true, "a.png"), "inline; filename=\"a.png\"");
        assert!(disposition(true, &"x".repeat(5_000)).len() < 200);
    }
}
