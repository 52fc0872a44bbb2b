//! A write-up as one page for a browser: nothing else is needed, nothing is fetched, and nothing runs.
//!
//! Top to bottom: title and dates, what is disclosed beside the results in large print, contents, then the sections in the order of
//! the document. `blocks` writes sections, `figures` pictures for light and dark and for wide and narrow windows, `json_ld` what
//! search engines read, `style` how it looks on screen and on paper. Leaves out links to files that may not lie beside it.
//!
//! # Source
//! HTML Living Standard; WCAG 2.2; Content Security Policy Level 3.

use std::collections::BTreeSet;

use super::{File, FileError};
use crate::document::{Document, Headline};

mod blocks;
mod escape;
mod figures;
mod json_ld;
mod style;

use blocks::Contents;
use escape::{attribute, auto, text};

/// What the page may do: show its own style and its own pictures.
const POLICY: &str =
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'";

/// The page, at `index.html`.
///
/// # Errors
/// [`FileError`] where a figure cannot be drawn.
pub fn page(document: &Document) -> Result<File, FileError> {
    let contents = Contents::of(document);
    let mut out = head(document);
    out.push_str("<body>\n<a class=\"skip\" href=\"#text\">Skip to the text</a>\n<main>\n");
    out.push_str(&title(document));
    out.push_str(&answers(document));
    out.push_str(&contents.list());
    out.push_str("<div id=\"text\" tabindex=\"-1\">\n");
    out.push_str(&contents.sections(document)?);
    out.push_str("</div>\n</main>\n</body>\n</html>\n");
    Ok(File {
        path: "index.html".to_owned(),
        media_type: "text/html; charset=utf-8",
        bytes: out.into_bytes(),
    })
}

fn head(document: &Document) -> String {
    let mut lines = vec![
        "<!DOCTYPE html>".to_owned(),
        format!("<html lang=\"{}\">", attribute(language(document))),
        "<head>".to_owned(),
        "<meta charset=\"utf-8\">".to_owned(),
        format!("<meta http-equiv=\"Content-Security-Policy\" content=\"{POLICY}\">"),
        format!("<title>{}</title>", text(heading(document))),
        "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">".to_owned(),
        "<meta name=\"color-scheme\" content=\"light dark\">".to_owned(),
        "<meta name=\"referrer\" content=\"no-referrer\">".to_owned(),
        format!("<meta name=\"generator\" content=\"storypole {}\">", attribute(&document.program_version)),
    ];
    if !text(&document.summary).is_empty() {
        lines.push(format!("<meta name=\"description\" content=\"{}\">", attribute(&document.summary)));
    }
    lines.extend(link(document).map(|link| format!("<link rel=\"canonical\" href=\"{}\">", attribute(link))));
    lines.push(format!("<style>\n{}</style>", style::STYLE));
    lines.push(format!("<script type=\"application/ld+json\">{}</script>", json_ld::write(document)));
    lines.push("</head>\n".to_owned());
    lines.join("\n")
}

/// The language, where it has the form of one: letters, digits and hyphens, BCP 47.
fn language(document: &Document) -> &str {
    let is_tag = |language: &str| {
        let parts = || language.split('-');
        parts().all(|part| {
            (1..=8).contains(&part.len()) && part.chars().all(|letter| letter.is_ascii_alphanumeric())
        }) && parts().next().is_some_and(|first| first.len() > 1)
    };
    if is_tag(&document.language) { &document.language } else { "en" }
}

/// The address of the page, where it is one for a browser.
fn link(document: &Document) -> Option<&str> {
    document.link.as_deref().filter(|link| {
        let is_web = link.starts_with("https://") || link.starts_with("http://");
        is_web && !link.contains(|letter: char| letter.is_whitespace() || letter.is_control())
    })
}

fn heading(document: &Document) -> &str {
    if text(&document.title).is_empty() { "Write-up" } else { &document.title }
}

fn title(document: &Document) -> String {
    let mut out = format!("<header>\n{}", auto("h1", "", heading(document)));
    let time = |day: &jiff::civil::Date| format!("<time datetime=\"{day}\">{day}</time>");
    out.push_str(&format!("<p class=\"days\">Written on {}.", time(&document.date)));
    if let Some(day) = &document.updated {
        out.push_str(&format!(" Its numbers last changed on {}.", time(day)));
    }
    out.push_str("</p>\n");
    if let Some(link) = link(document) {
        let address = attribute(link);
        out.push_str(&format!(
            "<p class=\"days\">Published at <a href=\"{address}\">{}</a></p>\n",
            text(link)
        ));
    }
    out.push_str("</header>\n");
    out
}

/// The results in large print, with what is disclosed right before them and what they do not show right behind.
fn answers(document: &Document) -> String {
    let mut out =
        "<section class=\"answers\" aria-labelledby=\"in-short\">\n<h2 id=\"in-short\">In short</h2>\n"
            .to_owned();
    out.push_str(&disclosure(document));
    if document.headlines.is_empty() {
        out.push_str(&auto("p", "sentence", &document.summary));
    }
    document.headlines.iter().for_each(|headline| out.push_str(&answer(document, headline)));
    let limits = limits(document);
    if !limits.is_empty() {
        out.push_str("<h3>What this does not show</h3>\n<ul>\n");
        limits.iter().for_each(|limit| out.push_str(&auto("li", "", limit)));
        out.push_str("</ul>\n");
    }
    out.push_str("</section>\n");
    out
}

/// Every limit once; one that is not of every result stands behind the names of those it is of.
fn limits(document: &Document) -> Vec<String> {
    let mut limits: Vec<(&str, Vec<&str>)> = Vec::new();
    for headline in &document.headlines {
        for limit in &headline.limits {
            match limits.iter_mut().find(|(known, _)| *known == limit.as_str()) {
                Some((_, labels)) if labels.contains(&headline.label.as_str()) => (),
                Some((_, labels)) => labels.push(&headline.label),
                None => limits.push((limit, vec![&headline.label])),
            }
        }
    }
    let labels: BTreeSet<&str> = document.headlines.iter().map(|headline| headline.label.as_str()).collect();
    // What is of all results comes first.
    limits.sort_by_key(|(_, of)| of.len() < labels.len());
    let is_of_all = |of: &[&str]| of.len() >= labels.len();
    let name = |label: &&str| brief(label, &labels).to_owned();
    let said = limits.into_iter().map(|(limit, of)| {
        let names: Vec<String> = of.iter().map(name).collect();
        if is_of_all(&of) { limit.to_owned() } else { format!("{}: {limit}", names.join(", ")) }
    });
    said.collect()
}

/// The sets of a label without which way the sound went, where no other label begins alike.
fn brief<'a>(label: &'a str, labels: &BTreeSet<&str>) -> &'a str {
    let first = |label: &'a str| label.split(", ").next().unwrap_or(label);
    let own = first(label);
    let is_alone = labels.iter().filter(|other| other.split(", ").next() == Some(own)).count() == 1;
    if is_alone { own } else { label }
}

fn disclosure(document: &Document) -> String {
    let said = document.disclosure.as_deref().filter(|said| !text(said).is_empty());
    let said = said.unwrap_or(
        "Not written: the author has not said whether anything was paid for, given or discounted.",
    );
    format!("<div class=\"disclosure\"><p><strong>Disclosure.</strong> {}</p></div>\n", escape::span(said))
}

fn answer(document: &Document, headline: &Headline) -> String {
    let mut out = "<div class=\"answer\">\n".to_owned();
    let name = [&headline.label, &headline.title].map(|part| text(part));
    let name: Vec<&str> = name.iter().map(String::as_str).filter(|part| !part.is_empty()).collect();
    out.push_str(&format!("<h3 dir=\"auto\">{}</h3>\n", name.join(": ")));
    out.push_str(&auto("p", "big", &headline.big));
    let range = headline.range.as_ref().map(|range| format!("Very likely {}.", escape::span(range)));
    let grade = headline.grade.map(|grade| {
        format!("Grade {} for how it was compared: A is best, D is worst.", text(&grade.to_string()))
    });
    let unclaimed = (!headline.claimed).then(|| "Nothing is claimed.".to_owned());
    let facts: Vec<String> = [range, grade, unclaimed].into_iter().flatten().collect();
    if !facts.is_empty() {
        out.push_str(&format!("<p class=\"range\">{}</p>\n", facts.join(" ")));
    }
    out.push_str(&auto("p", "sentence", &headline.sentence));
    let shown =
        headline.figure.as_deref().filter(|name| document.figures().any(|figure| figure.name == *name));
    if let Some(name) = shown {
        let of = text(&headline.label);
        let id = figures::id(name);
        out.push_str(&format!("<p class=\"to-figure\"><a href=\"#{id}\">Picture of {of}</a></p>\n"));
    }
    out.push_str("</div>\n");
    out
}

#[cfg(test)]
pub(crate) mod tests;
