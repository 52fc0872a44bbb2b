//! A short text to post with a film or a page.
//!
//! Title, disclosure and limit always stand in it, however long they are: a claim without them would mislead. The rest comes
//! as far as there is room. Plain text; leaves out pictures and what any one site asks for.

use super::File;
use crate::document::{Document, Headline};
use crate::markdown::escape::plain_line;

/// Most that a post takes, in Unicode scalar values, its last line end included. Convention of this project.
pub const POST_LIMIT: usize = 500;

/// What no post leaves out, where the first result names no limit of its own.
const LIMIT_LINE: &str = "One house, informal, not a laboratory rating.";

/// The text, at `post.txt`, within [`POST_LIMIT`] where title, disclosure and limit leave room.
pub fn post(document: &Document) -> File {
    let bytes = text(document, POST_LIMIT).into_bytes();
    File { path: "post.txt".to_owned(), media_type: "text/plain; charset=utf-8", bytes }
}

/// The text in at most `limit` Unicode scalar values; longer only where title, disclosure and limit alone are.
pub fn text(document: &Document, limit: usize) -> String {
    let title = plain_line(&document.title);
    let title = if title.is_empty() { "Write-up".to_owned() } else { title };
    let mut post = Post {
        answers: Vec::new(),
        cost: None,
        link: None,
        title,
        disclosure: disclosure(document),
        limit: limit_line(document),
    };
    let mut answers = document.headlines.iter();
    if let Some(first) = answers.next() {
        post.add_answer(first, limit);
    }
    post.add(limit, |post| {
        post.link = document.link.as_deref().map(plain_line).filter(|link| !link.is_empty())
    });
    answers.for_each(|answer| post.add_answer(answer, limit));
    post.tell_missing(document.headlines.len(), limit);
    let [long, brief] = costs(&document.headlines);
    let is_told = post.add(limit, |post| post.cost = long);
    if !is_told {
        post.add(limit, |post| post.cost = brief);
    }
    post.written()
}

/// What the claimed results cost, each once, with what that includes; and the sums alone.
fn costs(headlines: &[Headline]) -> [Option<String>; 2] {
    let claimed = headlines.iter().filter(|headline| headline.claimed);
    let mut costs: Vec<(&String, &[String])> = Vec::new();
    for (sum, included) in claimed.filter_map(|headline| headline.cost.split_first()) {
        if costs.iter().all(|(known, _)| *known != sum) {
            costs.push((sum, included));
        }
    }
    let Some(((_, included), _)) = costs.split_first() else { return [None, None] };
    let sums: Vec<String> = costs.iter().map(|(sum, _)| (*sum).clone()).collect();
    let long = [sums.as_slice(), included].concat();
    [Some(format!("Cost: {}", sentences(&long))), Some(format!("Cost: {}", sentences(&sums)))]
}

/// A post under way.
#[derive(Clone)]
struct Post {
    title: String,
    answers: Vec<String>,
    disclosure: String,
    cost: Option<String>,
    limit: String,
    link: Option<String>,
}

impl Post {
    /// Its lines: what is disclosed comes right behind what is claimed.
    fn written(&self) -> String {
        let lines = [&self.title].into_iter().chain(&self.answers).chain([&self.disclosure]);
        let lines = lines.chain(&self.cost).chain([&self.limit]).chain(&self.link);
        lines.map(|line| format!("{line}\n")).collect()
    }

    /// Makes a change where it leaves the post within its limit, and says whether it did.
    fn add(&mut self, limit: usize, change: impl FnOnce(&mut Self)) -> bool {
        let mut longer = self.clone();
        change(&mut longer);
        let fits = longer.written().chars().count() <= limit;
        if fits {
            *self = longer;
        }
        fits
    }

    /// Says how many results have no room, so that none is gone without a word; the last ones make room for that.
    fn tell_missing(&mut self, all: usize, limit: usize) {
        while (1..all).contains(&self.answers.len()) {
            let missing = all - self.answers.len();
            let results = if missing == 1 { "result stands" } else { "results stand" };
            if self.add(limit, |post| post.answers.push(format!("{missing} more {results} in the write-up.")))
            {
                return;
            }
            if self.answers.len() == 1 {
                return;
            }
            self.answers.pop();
        }
    }

    /// Adds a result in its sentence, or else in few words.
    fn add_answer(&mut self, headline: &Headline, limit: usize) {
        let (long, short) = (long(headline), short(headline));
        if !self.add(limit, |post| post.answers.push(long)) {
            self.add(limit, |post| post.answers.push(short));
        }
    }
}

/// The sentence says at how many spots it was measured; the range stands there too, or behind it.
fn long(headline: &Headline) -> String {
    let (title, sentence) = (plain_line(&headline.title), plain_line(&headline.sentence));
    let mut out = if sentence.starts_with(&title) || title.is_empty() {
        sentence
    } else {
        format!("{} {}", opened(&title), ended(&sentence))
    };
    let said = numbers(&out);
    let is_new = |range: &&str| numbers(range).iter().any(|number| !said.contains(number));
    if let Some(range) = headline.range.as_deref().filter(is_new) {
        out.push_str(&format!(" Range: {}", ended(&plain_line(range))));
    }
    if let Some(grade) = headline.grade {
        out.push_str(&format!(" Grade {grade}."));
    }
    out
}

/// Numbers of a text as written.
fn numbers(text: &str) -> Vec<String> {
    let parts = text.split(|letter: char| !letter.is_ascii_digit() && letter != '.');
    parts.map(|part| part.trim_matches('.').to_owned()).filter(|part| !part.is_empty()).collect()
}

fn short(headline: &Headline) -> String {
    let range =
        headline.range.as_deref().map(|range| format!(" ({})", plain_line(range))).unwrap_or_default();
    ended(&format!("{} {}{range}", opened(&plain_line(&headline.title)), plain_line(&headline.big)))
}

/// A title with what follows: a question ends with its own mark.
fn opened(title: &str) -> String {
    if title.ends_with('?') { title.to_owned() } else { format!("{title}:") }
}

fn disclosure(document: &Document) -> String {
    let said = document.disclosure.as_deref().map(plain_line).filter(|text| !text.is_empty());
    let said =
        said.unwrap_or_else(|| "the author has not said whether anything was paid for or given.".into());
    format!("Disclosure: {}", ended(&said))
}

fn limit_line(document: &Document) -> String {
    let of_first = document.headlines.first().and_then(|headline| headline.limits.first());
    ended(&plain_line(of_first.map_or(LIMIT_LINE, String::as_str)))
}

fn sentences(lines: &[String]) -> String {
    lines.iter().map(|line| ended(&plain_line(line))).collect::<Vec<_>>().join(" ")
}

fn ended(text: &str) -> String {
    if text.ends_with(['.', '!', '?', '…', '؟', '。']) { text.to_owned() } else { format!("{text}.") }
}

#[cfg(test)]
mod tests {
    use expect_test::expect;
    use proptest::prelude::*;

    use super::*;

    /// Numbers of the demo scenario, invented.
    fn headline() -> Headline {
        Headline {
            label: "T01 to T05".into(),
            title: "Boards and fill changed".into(),
            big: "11 dB quieter".into(),
            range: Some("10 to 12 dB".into()),
            sentence: "About 11 dB quieter, measured at 4 spots".into(),
            grade: Some('B'),
            claimed: true,
            figure: None,
            conditions: Vec::new(),
            cost: vec!["2705.90 USD in all".into(), "Own labour counted".into()],
            limits: vec!["One house, informal, not a laboratory rating.".into()],
        }
    }

    fn document() -> Document {
        Document {
            headlines: vec![headline()],
            disclosure: Some("Own money, no gifts.".into()),
            link: Some("https://example.org/walls".into()),
            ..Document::new("The door was the problem", "door", "2025-05-24".parse().unwrap(), "0.1.0")
        }
    }

    #[test]
    fn a_post_letter_by_letter() {
        expect![[r"
            The door was the problem
            Boards and fill changed: About 11 dB quieter, measured at 4 spots. Range: 10 to 12 dB. Grade B.
            Disclosure: Own money, no gifts.
            Cost: 2705.90 USD in all. Own labour counted.
            One house, informal, not a laboratory rating.
            https://example.org/walls
        "]]
        .assert_eq(&text(&document(), POST_LIMIT));
    }

    #[test]
    fn what_does_not_fit_goes_and_what_must_stand_stays() {
        expect![[r"
            The door was the problem
            Boards and fill changed: 11 dB quieter (10 to 12 dB).
            Disclosure: Own money, no gifts.
            One house, informal, not a laboratory rating.
        "]]
        .assert_eq(&text(&document(), 170));
        let least = text(&document(), 0);
        assert_eq!(least.lines().count(), 3);
        assert!(least.contains("Own money, no gifts.") && least.contains("not a laboratory rating"));
    }

    #[test]
    fn results_without_room_are_counted() {
        let document = Document { headlines: vec![headline(); 9], ..document() };
        let post = text(&document, POST_LIMIT);
        assert!(
            post.chars().count() <= POST_LIMIT && post.contains(" more results stand in the write-up."),
            "{post}"
        );
        let all = Document { headlines: vec![headline(); 2], ..document };
        assert!(!text(&all, POST_LIMIT).contains(" more result"));
    }

    #[test]
    fn cost_stands_only_by_a_claim_and_silence_is_told() {
        let unclaimed = Headline { claimed: false, ..headline() };
        let silent = Document { headlines: vec![unclaimed], disclosure: None, ..document() };
        let post = text(&silent, POST_LIMIT);
        assert!(!post.contains("Cost"), "{post}");
        assert!(post.contains("Disclosure: the author has not said"), "{post}");
    }

    #[test]
    fn a_range_in_the_sentence_is_not_said_twice() {
        let sentence = "About 11.2 dB better. The true figure is very likely between 10 and 12.".to_owned();
        let once = long(&Headline { sentence, ..headline() });
        assert!(!once.contains("Range"), "{once}");
        let sentence = "About 110 dB, 12 spots".to_owned();
        let twice = long(&Headline { sentence, ..headline() });
        assert!(twice.contains("Range: 10 to 12 dB."), "{twice}");
    }

    proptest! {
        /// Goal: no post is longer than it may be unless title, disclosure and limit are; those always stand.
        #[test]
        fn a_post_keeps_its_limit(title in ".{0,80}", sentence in ".{0,300}", disclosure in ".{0,120}", limit in 0usize..700) {
            let one = Headline { sentence, ..headline() };
            let document = Document { title, headlines: vec![one.clone(), one], disclosure: Some(disclosure), ..document() };
            let post = text(&document, limit);
            let least = text(&document, 0);
            prop_assert!(post.chars().count() <= limit.max(least.chars().count()));
            for line in least.lines() {
                prop_assert!(post.lines().any(|other| other == line), "{line}");
            }
            prop_assert!(!post.chars().any(|letter| letter != '\n' && letter.is_control()));
        }
    }
}
