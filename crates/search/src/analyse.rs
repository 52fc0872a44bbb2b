//! How text becomes words, the same for what is indexed and for what is asked.
//!
//! Words are runs of letters or runs of digits, so `38x89`, `38 x 89` and `T01`, `T 01` are the same; a point
//! or slash between two digits stays inside, so `12.7` and `5/8` are one number, and `1,000` is `1000`. Accents are
//! folded, capitals lowered, English endings cut. A measure (`3.5 in`, `16 o.c.`, `2x4`, `R-15`) has, beside its
//! plain words, one more that every way of writing it shares: see [`measure`]. It stands where the first of
//! them stands, so phrases of plain words match as if it were not there. Leaves out what mixes scripts
//! without spaces: such a run is one word.

mod measure;

use std::ops::Range;

use tantivy::tokenizer::{
    AsciiFoldingFilter, LowerCaser, TextAnalyzer, Token, TokenFilter, TokenStream, Tokenizer,
};

use crate::stem::stem;

/// The name under which the index knows the analyser.
pub(crate) const NAME: &str = "plain";

/// The analyser of every indexed text: words, and beside them measures.
pub(crate) fn analyser() -> TextAnalyzer {
    filtered(Splitter::WithMeasures)
}

/// The words of a text, in order; measures only as they are written.
pub(crate) fn words(text: &str) -> Vec<String> {
    tokens(text).into_iter().map(|token| token.text).collect()
}

/// The words of a text with the bytes they cover.
pub(crate) fn tokens(text: &str) -> Vec<Token> {
    let mut found = Vec::new();
    filtered(Splitter::Plain).token_stream(text).process(&mut |token| found.push(token.clone()));
    found
}

/// The measures of a text in their shared form, with the bytes they cover, in order.
///
/// Forms are `mm:89` (a length in whole millimetres), `oc:406` (a spacing, whole millimetres), `stud:38x89` (a
/// section, dressed, whole millimetres) and `r:15` (thermal resistance as labelled, ft²·°F·h/Btu). One stretch
/// can say two: `16 in o.c.` is a length and a spacing.
pub(crate) fn measures(text: &str) -> Vec<(String, Range<usize>)> {
    let found = measure::read(text, &split(text));
    found.into_iter().map(|measure| (measure.text, measure.bytes)).collect()
}

fn filtered(splitter: Splitter) -> TextAnalyzer {
    TextAnalyzer::builder(splitter).filter(AsciiFoldingFilter).filter(LowerCaser).filter(Stemmed).build()
}

/// Cuts a text at everything that is neither letter nor digit, and between letters and digits.
#[derive(Clone)]
enum Splitter {
    Plain,
    WithMeasures,
}

struct Split {
    tokens: std::vec::IntoIter<Token>,
    token: Token,
}

impl Tokenizer for Splitter {
    type TokenStream<'a> = Split;

    fn token_stream<'a>(&'a mut self, text: &'a str) -> Split {
        let tokens = split(text);
        let tokens = match self {
            Self::Plain => tokens,
            Self::WithMeasures => with_measures(text, tokens),
        };
        Split { tokens: tokens.into_iter(), token: Token::default() }
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

/// Each measure behind the first of its plain words, at the same position.
fn with_measures(text: &str, tokens: Vec<Token>) -> Vec<Token> {
    let mut measures = measure::read(text, &tokens).into_iter().peekable();
    if measures.peek().is_none() {
        return tokens;
    }
    let mut all = Vec::with_capacity(tokens.len() + 4);
    for (number, token) in tokens.into_iter().enumerate() {
        let position = token.position;
        all.push(token);
        while let Some(measure) = measures.next_if(|measure| measure.first <= number) {
            let Range { start, end } = measure.bytes;
            all.push(Token {
                offset_from: start,
                offset_to: end,
                position,
                text: measure.text,
                position_length: 1,
            });
        }
    }
    all
}

#[derive(Clone, Copy, PartialEq)]
enum Class {
    Digit,
    Letter,
    /// An accent that stands after its letter.
    Mark,
    /// A fraction in one character: a word of its own, so that `3½` and `3 1/2` are the same.
    Fraction,
    Other,
}

fn class(letter: char) -> Class {
    match letter {
        '\u{300}'..='\u{36f}' => Class::Mark,
        // Between two sizes it is read as the letter.
        '×' => Class::Letter,
        _ if fraction(letter).is_some() => Class::Fraction,
        _ if letter.is_numeric() => Class::Digit,
        _ if letter.is_alphabetic() => Class::Letter,
        _ => Class::Other,
    }
}

/// A fraction in one character, written out.
fn fraction(letter: char) -> Option<&'static str> {
    Some(match letter {
        '½' => "1/2",
        '¼' => "1/4",
        '¾' => "3/4",
        '⅛' => "1/8",
        '⅜' => "3/8",
        '⅝' => "5/8",
        '⅞' => "7/8",
        '⅓' => "1/3",
        '⅔' => "2/3",
        _ => return None,
    })
}

fn split(text: &str) -> Vec<Token> {
    let mut tokens: Vec<Token> = Vec::new();
    // The class of the run that is being read.
    let mut run = Class::Other;
    for (at, letter) in text.char_indices() {
        let kind = class(letter);
        let rest = &text[at + letter.len_utf8()..];
        if run == Class::Digit && joins(letter, rest, tokens.last()) {
            if let Some(token) = tokens.last_mut().filter(|_| letter != ',') {
                token.text.push(if letter == '\u{2044}' { '/' } else { letter });
            }
            continue;
        }
        let extends = (kind == run && matches!(kind, Class::Digit | Class::Letter))
            || (kind == Class::Mark && run == Class::Letter);
        if !extends {
            run = if kind == Class::Mark { Class::Other } else { kind };
            if run == Class::Other {
                continue;
            }
            tokens.push(begun(at, tokens.len()));
        }
        if let Some(token) = tokens.last_mut() {
            token.offset_to = at + letter.len_utf8();
            match (kind, fraction(letter)) {
                (Class::Mark, _) => (),
                (_, Some(fraction)) => token.text.push_str(fraction),
                _ => token.text.push(if letter == '×' { 'x' } else { letter }),
            }
        }
    }
    tokens
}

fn begun(at: usize, position: usize) -> Token {
    Token { offset_from: at, offset_to: at, position, text: String::new(), position_length: 1 }
}

/// Whether this character inside a number belongs to it: a point or slash before a digit, or the comma of
/// thousands. A comma before decimals is not told from one between two numbers, so it parts them.
fn joins(letter: char, rest: &str, number: Option<&Token>) -> bool {
    let digits = rest.bytes().take_while(u8::is_ascii_digit).count();
    match letter {
        '.' | '/' | '\u{2044}' => rest.starts_with(|next| class(next) == Class::Digit),
        ',' => digits == 3 && number.is_some_and(is_before_thousands),
        _ => false,
    }
}

fn is_before_thousands(number: &Token) -> bool {
    let text = &number.text;
    let is_plain = text.bytes().all(|byte| byte.is_ascii_digit()) && !text.starts_with('0');
    // Longer than its digits: a comma was left out before.
    is_plain && (text.len() <= 3 || number.offset_to - number.offset_from > text.len())
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
    use tantivy::Term;
    use tantivy::query::{PhraseQuery, TermQuery};
    use tantivy::schema::{Field, IndexRecordOption, Schema, TextFieldIndexing, TextOptions};

    use super::*;

    #[test]
    fn words_are_letters_or_numbers() {
        for (text, expected) in [
            ("gypsum 15.9 x2, 22 kg/m2", "gypsum 15.9 x 2 22 kg m 2"),
            ("38x89@406", "38 x 89 406"),
            ("2×4 ×2", "2 x 4 x 2"),
            ("R-13 batts, 5/8 type X", "r 13 batt 5/8 type x"),
            ("3½ in, ¾\u{201d} and 5⁄8", "3 1/2 in 3/4 and 5/8"),
            ("1,000 12,500,000.5 12,7 0,125 38,89 1,2345", "1000 12500000.5 12 7 0 125 38 89 1 2345"),
            ("T01 T 01", "t 01 t 01"),
            ("2025-03-04", "2025 03 04"),
            ("Café, cafe\u{301} ÖL ﬁnish m²", "cafe cafe ol finish m 2"),
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
        let text = "é 38x89 3½ 1,000 kg";
        let covered: Vec<&str> =
            tokens(text).iter().map(|token| &text[token.offset_from..token.offset_to]).collect();
        assert_eq!(covered, ["é", "38", "x", "89", "3", "½", "1,000", "kg"]);
    }

    #[test]
    fn measures_stand_where_their_first_word_stands() {
        let text = "Two 3-1/2\" batts, 16 in o.c.";
        let mut shown = Vec::new();
        analyser().token_stream(text).process(&mut |token| {
            let covered = &text[token.offset_from..token.offset_to];
            shown.push(format!("{} {} [{covered}]", token.position, token.text));
        });
        assert_eq!(
            shown,
            [
                "0 two [Two]",
                "1 3 [3]",
                "1 mm:89 [3-1/2\"]",
                "2 1/2 [1/2]",
                "3 batt [batts]",
                "4 16 [16]",
                "4 mm:406 [16 in]",
                "4 oc:406 [16 in o.c]",
                "5 in [in]",
                "6 o [o]",
                "7 c [c]",
            ]
        );
    }

    /// Documents that a query finds in an index of these, by their numbers.
    fn found(texts: &[&str], query: &dyn tantivy::query::Query) -> Vec<u32> {
        let mut writer = tantivy::IndexBuilder::new()
            .schema(schema())
            .tokenizers(tokenizers())
            .create_in_ram()
            .unwrap()
            .writer_with_num_threads(1, 15_000_000)
            .unwrap();
        for text in texts {
            writer.add_document(tantivy::doc!(Field::from_field_id(0) => *text)).unwrap();
        }
        writer.commit().unwrap();
        let searcher = writer.index().reader().unwrap().searcher();
        let hits = searcher.search(query, &tantivy::collector::DocSetCollector).unwrap();
        let mut numbers: Vec<u32> = hits.into_iter().map(|hit| hit.doc_id).collect();
        numbers.sort_unstable();
        numbers
    }

    fn tokenizers() -> tantivy::tokenizer::TokenizerManager {
        let manager = tantivy::tokenizer::TokenizerManager::new();
        manager.register(NAME, analyser());
        manager
    }

    fn schema() -> Schema {
        let mut schema = Schema::builder();
        let indexing = TextFieldIndexing::default()
            .set_tokenizer(NAME)
            .set_index_option(IndexRecordOption::WithFreqsAndPositions);
        schema.add_text_field("words", TextOptions::default().set_indexing_options(indexing));
        schema.build()
    }

    #[test]
    fn measures_are_found_and_phrases_of_plain_words_still_match() {
        let texts = ["two 3-1/2\" batts hung", "89 mm batts", "batts, 3 of them, 1/2 in", "38x89@406 studs"];
        let term = |text: &str| Term::from_field_text(Field::from_field_id(0), text);
        let phrase = |text: &str| PhraseQuery::new(words(text).iter().map(|word| term(word)).collect());
        let one = |text: &str| TermQuery::new(term(text), IndexRecordOption::Basic);
        assert_eq!(found(&texts, &one("mm:89")), [0, 1]);
        assert_eq!(found(&texts, &one("stud:38x89")), [3]);
        assert_eq!(found(&texts, &one("oc:406")), [3]);
        assert_eq!(found(&texts, &phrase("two 3 1/2 batts hung")), [0]);
        assert_eq!(found(&texts, &phrase("38x89@406 stud")), [3]);
        assert_eq!(found(&texts, &phrase("89 mm batts")), [1]);
        assert_eq!(found(&texts, &phrase("3 batts")), [0_u32; 0]);
    }
}
