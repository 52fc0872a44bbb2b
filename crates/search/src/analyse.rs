//! How text becomes words, the same for what is indexed and for what is asked.
//!
//! Words are runs of letters or runs of digits, so `38x89`, `38 x 89` and `T01`, `T 01` are the same; a point
//! or slash between two digits stays inside, so `12.7` and `5/8` are one number. Accents are folded, capitals
//! lowered, English endings cut. Leaves out what mixes scripts without spaces: such a run is one word.

use tantivy::tokenizer::{
    AsciiFoldingFilter, LowerCaser, TextAnalyzer, Token, TokenFilter, TokenStream, Tokenizer,
};

use crate::stem::stem;

/// The name under which the index knows the analyser.
pub(crate) const NAME: &str = "plain";

/// The analyser of every indexed text.
pub(crate) fn analyser() -> TextAnalyzer {
    TextAnalyzer::builder(Splitter).filter(AsciiFoldingFilter).filter(LowerCaser).filter(Stemmed).build()
}

/// The words of a text, in order.
pub(crate) fn words(text: &str) -> Vec<String> {
    tokens(text).into_iter().map(|token| token.text).collect()
}

/// The words of a text with the bytes they cover.
pub(crate) fn tokens(text: &str) -> Vec<Token> {
    let mut found = Vec::new();
    analyser().token_stream(text).process(&mut |token| found.push(token.clone()));
    found
}

/// Cuts a text at everything that is neither letter nor digit, and between letters and digits.
#[derive(Clone)]
struct Splitter;

struct Split {
    tokens: std::vec::IntoIter<Token>,
    token: Token,
}

impl Tokenizer for Splitter {
    type TokenStream<'a> = Split;

    fn token_stream<'a>(&'a mut self, text: &'a str) -> Split {
        Split { tokens: split(text).into_iter(), token: Token::default() }
    }
}

impl TokenStream for Split {
    fn advance(&mut self) -> bool {
        match self.tokens.next() {
            Some(token) => {
                self.token = token;
                true
            }
            None => false,
        }
    }

    fn token(&self) -> &Token {
        &self.token
    }

    fn token_mut(&mut self) -> &mut Token {
        &mut self.token
    }
}

#[derive(Clone, Copy, PartialEq)]
enum Class {
    Digit,
    Letter,
    /// An accent that stands after its letter.
    Mark,
    Other,
}

fn class(letter: char) -> Class {
    match letter {
        '\u{300}'..='\u{36f}' => Class::Mark,
        _ if letter.is_numeric() => Class::Digit,
        _ if letter.is_alphabetic() => Class::Letter,
        _ => Class::Other,
    }
}

fn split(text: &str) -> Vec<Token> {
    let mut tokens: Vec<Token> = Vec::new();
    let mut letters = text.char_indices().peekable();
    // The class of the run that is being read.
    let mut run = Class::Other;
    while let Some((at, letter)) = letters.next() {
        let kind = class(letter);
        let after_digit = letters.peek().is_some_and(|(_, next)| class(*next) == Class::Digit);
        let joins = run == Class::Digit && matches!(letter, '.' | '/') && after_digit;
        let extends =
            joins || (kind == run && kind != Class::Other) || (kind == Class::Mark && run == Class::Letter);
        if !extends {
            run = if kind == Class::Mark { Class::Other } else { kind };
            if run == Class::Other {
                continue;
            }
            let position = tokens.len();
            tokens.push(Token {
                offset_from: at,
                offset_to: at,
                position,
                text: String::new(),
                position_length: 1,
            });
        }
        if let Some(token) = tokens.last_mut() {
            token.offset_to = at + letter.len_utf8();
            if kind != Class::Mark {
                token.text.push(letter);
            }
        }
    }
    tokens
}

/// Cuts the endings of what an inner tokenizer finds.
#[derive(Clone)]
struct Stemmed;

#[derive(Clone)]
struct StemmedTokenizer<T>(T);

struct StemmedStream<T>(T);

impl TokenFilter for Stemmed {
    type Tokenizer<T: Tokenizer> = StemmedTokenizer<T>;

    fn transform<T: Tokenizer>(self, tokenizer: T) -> StemmedTokenizer<T> {
        StemmedTokenizer(tokenizer)
    }
}

impl<T: Tokenizer> Tokenizer for StemmedTokenizer<T> {
    type TokenStream<'a> = StemmedStream<T::TokenStream<'a>>;

    fn token_stream<'a>(&'a mut self, text: &'a str) -> Self::TokenStream<'a> {
        StemmedStream(self.0.token_stream(text))
    }
}

impl<T: TokenStream> TokenStream for StemmedStream<T> {
    fn advance(&mut self) -> bool {
        if !self.0.advance() {
            return false;
        }
        let token = self.0.token_mut();
        token.text = stem(&token.text);
        true
    }

    fn token(&self) -> &Token {
        self.0.token()
    }

    fn token_mut(&mut self) -> &mut Token {
        self.0.token_mut()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_letters_or_numbers() {
        for (text, expected) in [
            ("gypsum 15.9 x2, 22 kg/m2", "gypsum 15.9 x 2 22 kg m 2"),
            ("38x89@406", "38 x 89 406"),
            ("R-13 batts, 5/8 type X", "r 13 batt 5/8 type x"),
            ("T01 T 01", "t 01 t 01"),
            ("2025-03-04", "2025 03 04"),
            ("Café, cafe\u{301} ÖL", "cafe cafe ol"),
            ("ends 12. And /5", "end 12 and 5"),
            ("\u{301}x \u{0} 🙂 …", "x"),
            ("קיר חדש", "קיר חדש"),
            ("", ""),
        ] {
            assert_eq!(words(text).join(" "), expected, "{text}");
        }
    }

    #[test]
    fn words_know_the_bytes_they_cover() {
        let text = "é 38x89";
        let covered: Vec<&str> =
            tokens(text).iter().map(|token| &text[token.offset_from..token.offset_to]).collect();
        assert_eq!(covered, ["é", "38", "x", "89"]);
    }
}
