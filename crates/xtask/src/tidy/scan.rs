//! Rust text without what the rules do not mean: comments, literals, test items.
//!
//! Removed bytes become spaces and line ends stay, so places in the result are places in the text. It knows just
//! enough of Rust's tokens to find where comments and literals end; macros are not expanded.

use std::iter;
use std::ops::Range;

/// Blanks comments and the contents of string and character literals.
pub fn without_comments_and_literals(text: &str) -> String {
    let bytes = text.as_bytes();
    let mut kept = bytes.to_vec();
    let mut at = 0;
    while at < bytes.len() {
        let end = match comment_end(bytes, at).or_else(|| literal_end(bytes, at)) {
            Some(end) => {
                blank(&mut kept, at..end);
                end
            }
            None => word_end(bytes, at),
        };
        at = end.max(at + 1);
    }
    String::from_utf8(kept).expect("whole characters were replaced by spaces")
}

/// Finds the items under `#[cfg(test)]` and `#[cfg(all(test, ..))]` in code without comments and literals.
///
/// A file under `#![cfg(test)]` is one such range.
pub fn test_items(code: &str) -> Vec<Range<usize>> {
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(attribute) = next_attribute(code, at) {
        at = attribute.end;
        if !is_test_only(&code[attribute.clone()]) {
            continue;
        }
        if code[attribute.clone()].starts_with("#!") {
            return iter::once(0..code.len()).collect();
        }
        at = item_end(code.as_bytes(), attribute.end);
        found.push(attribute.start..at);
    }
    found
}

/// Blanks ranges of a text.
pub fn without(code: &str, ranges: &[Range<usize>]) -> String {
    let mut kept = code.as_bytes().to_vec();
    for range in ranges {
        blank(&mut kept, range.clone());
    }
    String::from_utf8(kept).expect("whole characters were replaced by spaces")
}

/// The line of a place in a text, from 1.
pub fn line_of(text: &str, at: usize) -> usize {
    text.as_bytes()[..at].iter().filter(|&&byte| byte == b'\n').count() + 1
}

/// Where `word` stands in code as a word of its own, neither start nor end of a longer one.
pub fn find_word<'a>(code: &'a str, word: &'a str) -> impl Iterator<Item = usize> + 'a {
    code.match_indices(word).map(|(at, _)| at).filter(move |&at| {
        let before = at.checked_sub(1).map(|before| code.as_bytes()[before]);
        let after = code.as_bytes().get(at + word.len()).copied();
        let ends_as_word = word.as_bytes().last().copied().is_some_and(is_word);
        !(before.is_some_and(is_word) || ends_as_word && after.is_some_and(is_word))
    })
}

fn blank(bytes: &mut [u8], range: Range<usize>) {
    for byte in &mut bytes[range] {
        if *byte != b'\n' {
            *byte = b' ';
        }
    }
}

fn is_word(byte: u8) -> bool {
    byte.is_ascii_alphanumeric() || byte == b'_' || !byte.is_ascii()
}

/// The end of the word, number or single byte that starts at `at`.
fn word_end(bytes: &[u8], at: usize) -> usize {
    at + bytes[at..].iter().take_while(|&&byte| is_word(byte)).count()
}

fn comment_end(bytes: &[u8], at: usize) -> Option<usize> {
    let rest = &bytes[at..];
    if rest.starts_with(b"//") {
        let length = rest.iter().position(|&byte| byte == b'\n').unwrap_or(rest.len());
        return Some(at + length);
    }
    if !rest.starts_with(b"/*") {
        return None;
    }
    let mut depth = 0_usize; // Block comments nest.
    let mut here = at;
    while here < bytes.len() {
        if bytes[here..].starts_with(b"/*") {
            depth += 1;
            here += 2;
        } else if bytes[here..].starts_with(b"*/") {
            depth -= 1;
            here += 2;
            if depth == 0 {
                return Some(here);
            }
        } else {
            here += 1;
        }
    }
    Some(bytes.len())
}

/// The end of the literal that starts at `at`, its prefix (`b`, `c`, `r`, `br`, `cr`) included.
fn literal_end(bytes: &[u8], at: usize) -> Option<usize> {
    let quote = word_end(bytes, at);
    match &bytes[at..quote] {
        b"" | b"b" | b"c" => match bytes.get(quote)? {
            b'"' => Some(string_end(bytes, quote)),
            b'\'' => character_end(bytes, quote),
            _ => None,
        },
        b"r" | b"br" | b"cr" => raw_string_end(bytes, quote),
        _ => None,
    }
}

fn string_end(bytes: &[u8], quote: usize) -> usize {
    let mut here = quote + 1;
    while here < bytes.len() {
        match bytes[here] {
            b'\\' => here += 2,
            b'"' => return here + 1,
            _ => here += 1,
        }
    }
    bytes.len()
}

fn raw_string_end(bytes: &[u8], at: usize) -> Option<usize> {
    let hashes = bytes[at..].iter().take_while(|&&byte| byte == b'#').count();
    if bytes.get(at + hashes) != Some(&b'"') {
        return None; // A raw identifier.
    }
    let closing: Vec<u8> = [b"\"".as_slice(), &b"#".repeat(hashes)].concat();
    let start = at + hashes + 1;
    let length = bytes[start..].windows(closing.len()).position(|window| window == closing);
    Some(length.map_or(bytes.len(), |length| start + length + closing.len()))
}

/// The end of a character literal; none for a lifetime or a label.
fn character_end(bytes: &[u8], quote: usize) -> Option<usize> {
    let closing_from = |from: usize| {
        let length = bytes.get(from..)?.iter().position(|&byte| byte == b'\'')?;
        Some(from + length + 1)
    };
    match bytes.get(quote + 1)? {
        b'\\' => closing_from(quote + 3), // The escaped character may be the quote itself.
        first => {
            let after = quote + 1 + character_length(*first);
            (bytes.get(after) == Some(&b'\'')).then_some(after + 1)
        }
    }
}

/// How many bytes a character takes in UTF-8, told by the first of them.
fn character_length(first: u8) -> usize {
    match first {
        0xf0.. => 4,
        0xe0.. => 3,
        0xc0.. => 2,
        _ => 1,
    }
}

/// The next attribute from `#` to its `]`.
fn next_attribute(code: &str, from: usize) -> Option<Range<usize>> {
    let bytes = code.as_bytes();
    let starts = code[from..].match_indices('#').map(|(at, _)| from + at);
    starts
        .filter_map(|start| {
            let bracket = start + 1 + usize::from(bytes.get(start + 1) == Some(&b'!'));
            (bytes.get(bracket) == Some(&b'[')).then(|| start..group_end(bytes, bracket))
        })
        .next()
}

fn is_test_only(attribute: &str) -> bool {
    let tight: String = attribute.chars().filter(|c| !c.is_whitespace()).collect();
    let tight = tight.trim_start_matches(['#', '!']);
    tight == "[cfg(test)]" || tight.starts_with("[cfg(all(test,")
}

/// The end of the item that follows an attribute: its block, or its semicolon.
fn item_end(bytes: &[u8], from: usize) -> usize {
    let mut here = from;
    while let Some(&byte) = bytes.get(here) {
        match byte {
            b'{' => return group_end(bytes, here),
            b'(' | b'[' => here = group_end(bytes, here),
            b';' => return here + 1,
            b'}' => return here, // The attribute belonged to the last thing in a block.
            _ => here += 1,
        }
    }
    bytes.len()
}

/// The end of the group that opens at `at`, in code whose literals are blanked.
fn group_end(bytes: &[u8], at: usize) -> usize {
    let mut depth = 0_usize;
    for (here, byte) in bytes.iter().enumerate().skip(at) {
        match byte {
            b'{' | b'(' | b'[' => depth += 1,
            b'}' | b')' | b']' => depth = depth.saturating_sub(1),
            _ => (),
        }
        if depth == 0 {
            return here + 1;
        }
    }
    bytes.len()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn comments_and_literals_become_spaces() {
        let cases = [
            ("a // b\nc", "a c"),
            ("a /* b /* c */ d */ e", "a e"),
            ("//! \u{e9}\nx", "x"),
            (r#"f("a \" // b")"#, "f( )"),
            (r##"f(r#"a " b"#, b"c", br"\", c"d")"##, "f( , , , )"),
            (r"f('a', b'\'', '\u{e9}', '\\')", "f( , , , )"),
            ("f('\u{e9}', '\"', g)", "f( , , g)"),
            ("fn f<'a>(x: &'a str, r#type: u8)", "fn f<'a>(x: &'a str, r#type: u8)"),
            ("'outer: loop { break 'outer; }", "'outer: loop { break 'outer; }"),
            ("number\"text\" b", "number b"),
            ("a \"open", "a"),
            ("a /* open", "a"),
            ("a r#\"open", "a"),
        ];
        for (text, expected) in cases {
            let code = without_comments_and_literals(text);
            let words: Vec<&str> = code.split_whitespace().collect();
            assert_eq!(words.join(" "), expected, "{text}");
            assert_eq!(code.len(), text.len(), "{text}");
        }
        assert_eq!(without_comments_and_literals("/* a\nb */ c \"d\ne\""), "    \n     c   \n  ");
    }

    #[test]
    fn test_items_are_found_whole() {
        let cases = [
            ("fn a() {} #[cfg(test)] mod tests { fn b() { {} } } fn c() {}", "fn a() {}  fn c() {}"),
            ("#[cfg(test)]\nuse a::b;\nfn c() {}", "\nfn c() {}"),
            ("#[cfg(test)] mod tests; fn c() {}", " fn c() {}"),
            ("#[cfg(all(test, unix))] #[allow(x)] fn b(x: [u8; 2]) {} fn c() {}", " fn c() {}"),
            ("mod m { fn a() {} #[cfg(test)] x } fn c() {}", "mod m { fn a() {} } fn c() {}"),
            ("#[cfg(not(test))] fn a() {}", "#[cfg(not(test))] fn a() {}"),
            ("#[cfg(any(test, unix))] fn a() {}", "#[cfg(any(test, unix))] fn a() {}"),
            ("#[derive(Debug)] struct A;", "#[derive(Debug)] struct A;"),
            ("#![cfg(test)] fn a() {}", ""),
        ];
        for (code, expected) in cases {
            let mut kept = code.to_owned();
            for range in test_items(code).into_iter().rev() {
                kept.replace_range(range, "");
            }
            assert_eq!(kept, expected, "{code}");
        }
    }

    #[test]
    fn words_stand_alone() {
        let cases = [
            ("println!()", "print!", 0),
            ("eprint!() print!()", "print!", 1),
            ("std::environment", "std::env", 0),
            ("use ::std::env;", "std::env", 1),
            ("my_tokio tokio_util tokio::spawn", "tokio", 1),
        ];
        for (code, word, count) in cases {
            assert_eq!(find_word(code, word).count(), count, "{word} in {code}");
        }
    }
}
