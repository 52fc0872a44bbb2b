//! Finds what must not leave the notebook in any text, and writes something else instead.
//!
//! Words are compared, not letters: between the words of an address may stand blanks, line ends, hyphens, points or letters that
//! nobody sees, because whoever writes a file may make one blank of them. All secrets are searched at once, so that a text is read
//! once however many there are. Leaves out which texts are searched: see `privacy`.

use std::collections::{BTreeMap, BTreeSet};

use storypole_notebook::Book;
use storypole_notebook::kinds::Person;

/// What stands where something was taken out.
const LEFT_OUT: &str = "(left out)";
/// What stands for the name of a site.
const HOUSE: &str = "the house";
/// What stands for the name of a device.
const DEVICE: &str = "a device";
/// Words for buildings, which sites are called too. Common words, no source.
const BUILDINGS: &[&str] = &[
    "apartment",
    "attic",
    "barn",
    "basement",
    "cabin",
    "cottage",
    "duplex",
    "flat",
    "garage",
    "hall",
    "home",
    "house",
    "kitchen",
    "laboratory",
    "office",
    "shed",
    "shop",
    "store",
    "studio",
    "workshop",
    "yard",
];
/// With fewer letters a name is a common word too.
const SHORTEST_SECRET: usize = 4;
/// With fewer letters, words run into one are a common word too.
const SHORTEST_JOINED: usize = 6;

/// What to take out of text, and what to write instead.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Cleaner {
    secrets: Vec<Secret>,
    /// Steps from letter to letter. The first node is where every secret begins.
    nodes: Vec<Node>,
    /// Names that are everyday words: taking them out would spoil the text.
    not_looked_for: BTreeSet<String>,
    /// Whether names of suppliers may be told.
    pub(crate) suppliers: bool,
}

#[derive(Debug, Clone, PartialEq, Eq)]
struct Secret {
    instead: String,
    /// The same within a label, where no blanks stand; may be empty.
    in_label: String,
    /// How it is written, where only that counts.
    exact: Option<String>,
    letters: usize,
    is_number: bool,
}

#[derive(Debug, Clone, Default, PartialEq, Eq)]
struct Node {
    /// The next letter, and whether a word begins with it.
    next: BTreeMap<(char, bool), usize>,
    /// Secrets that end here.
    ends: Vec<usize>,
}

/// What stands before a letter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Gap {
    /// Another letter of the same word.
    Nothing,
    /// Letters that nobody sees.
    Hidden,
    /// Blanks, hyphens, underscores, commas.
    Blank,
    /// Any other sign.
    Sign,
}

/// A letter or digit in lower case, with its place in the text.
struct Letter {
    lower: char,
    gap: Gap,
    start: usize,
    end: usize,
}

/// How a name is searched for.
enum Search {
    AnyCase,
    SameCase,
    Never,
}

impl Default for Cleaner {
    fn default() -> Self {
        Self {
            secrets: Vec::new(),
            nodes: vec![Node::default()],
            not_looked_for: BTreeSet::new(),
            suppliers: false,
        }
    }
}

impl Cleaner {
    /// Learns what a notebook must not tell, suppliers among it.
    #[cfg(test)]
    pub(crate) fn of(book: &Book) -> Self {
        Self::telling(book, false)
    }

    /// Learns what a notebook must not tell.
    pub(crate) fn telling(book: &Book, suppliers: bool) -> Self {
        let mut cleaner = Self { suppliers, ..Self::default() };
        for (name, role) in book.people.all().filter_map(name) {
            let in_label = words(&role).join("-");
            cleaner.add(&name, &role, &in_label, of_person(&name));
        }
        let addresses = book.sites.all().map(|site| &site.address);
        // A supplier called as a role is, `licensed electrician`, tells nothing more than the role.
        let roles: BTreeSet<Vec<String>> =
            book.people.all().filter_map(|person| person.role.as_deref()).map(words).collect();
        let is_role =
            |name: &Option<String>| name.as_deref().is_some_and(|name| roles.contains(&words(name)));
        let sellers = book.suppliers.all().map(|seller| &seller.name);
        let sellers = sellers.filter(|name| !suppliers && !is_role(name));
        let secrets = addresses.chain(book.meters.all().map(|meter| &meter.serial)).chain(sellers);
        for secret in secrets.flatten() {
            cleaner.add(secret, LEFT_OUT, "", of_name(secret));
        }
        for site in book.sites.all().filter_map(|site| site.name.as_ref()) {
            cleaner.add(site, HOUSE, "house", of_site(site));
        }
        for device in book.devices.all().filter_map(|device| device.label.as_ref()) {
            cleaner.add(device, DEVICE, "device", of_device(device));
        }
        // A role can hold what must not be told as any text can.
        let roles: Vec<String> =
            cleaner.secrets.iter().map(|secret| cleaner.clean(&secret.instead)).collect();
        for (secret, role) in cleaner.secrets.iter_mut().zip(roles) {
            if secret.instead != role {
                secret.in_label = words(&role).join("-");
                secret.instead = role;
            }
        }
        cleaner
    }

    fn add(&mut self, text: &str, instead: &str, in_label: &str, search: Search) {
        let letters = letters(text);
        if letters.is_empty() {
            return;
        }
        let exact = match search {
            Search::AnyCase => None,
            Search::SameCase => Some(text.trim().to_owned()),
            Search::Never => {
                self.not_looked_for.insert(text.trim().to_owned());
                return;
            }
        };
        let mut at = 0;
        for letter in &letters {
            let step = (letter.lower, letter.gap > Gap::Hidden);
            at = match self.nodes[at].next.get(&step) {
                Some(next) => *next,
                None => {
                    self.nodes.push(Node::default());
                    let new = self.nodes.len() - 1;
                    self.nodes[at].next.insert(step, new);
                    new
                }
            };
        }
        self.nodes[at].ends.push(self.secrets.len());
        self.secrets.push(Secret {
            instead: instead.to_owned(),
            in_label: in_label.to_owned(),
            exact,
            letters: letters.len(),
            is_number: letters.iter().all(|letter| letter.lower.is_numeric()),
        });
    }

    /// The text without them.
    pub(crate) fn clean(&self, text: &str) -> String {
        self.changed(text).unwrap_or_else(|| text.to_owned())
    }

    /// The text without them, where there was one.
    pub(super) fn changed(&self, text: &str) -> Option<String> {
        self.replaced(text, |secret| &secret.instead)
    }

    /// A label without them, where there was one: words with hyphens between, or nothing.
    pub(super) fn changed_label(&self, label: &str) -> Option<String> {
        let left = self.replaced(label, |secret| &secret.in_label)?;
        let is_between = |letter: char| letter.is_whitespace() || matches!(letter, '-' | '_' | ',');
        Some(left.split(is_between).filter(|word| !word.is_empty()).collect::<Vec<_>>().join("-"))
    }

    /// A text without them that knows no signs but letters: the same word for all of them.
    pub(super) fn changed_plain(&self, text: &str) -> Option<String> {
        self.replaced(text, |_| "left out")
    }

    /// Whether a text holds one of them.
    pub(crate) fn finds(&self, text: &str) -> bool {
        self.changed(text).is_some()
    }

    /// Names that were not looked for because they are everyday words, and stand in a text.
    pub(crate) fn not_looked_for(&self, text: &str) -> Vec<String> {
        if self.not_looked_for.is_empty() {
            return Vec::new();
        }
        let said = format!(" {} ", words(text).join(" "));
        let stands = |name: &&String| said.contains(&format!(" {} ", words(name).join(" ")));
        self.not_looked_for.iter().filter(stands).cloned().collect()
    }

    fn replaced(&self, text: &str, instead: impl Fn(&Secret) -> &str) -> Option<String> {
        if self.secrets.is_empty() {
            return None;
        }
        let letters = letters(text);
        let mut out = String::new();
        let (mut at, mut copied) = (0, 0);
        while at < letters.len() {
            match self.found(text, &letters, at) {
                Some((end, secret)) => {
                    out.push_str(&text[copied..letters[at].start]);
                    out.push_str(instead(secret));
                    copied = letters[end - 1].end;
                    at = end;
                }
                None => at += 1,
            }
        }
        (copied > 0).then(|| out + &text[copied..])
    }

    /// The longest secret that begins with a letter, with the place behind its last one.
    fn found(&self, text: &str, letters: &[Letter], start: usize) -> Option<(usize, &Secret)> {
        if letters[start].gap == Gap::Nothing {
            return None;
        }
        let first = *self.nodes[0].next.get(&(letters[start].lower, true))?;
        let mut best: Option<(usize, &Secret)> = None;
        let mut open = vec![(first, start + 1, false, false)];
        while let Some((node, at, is_joined, has_sign)) = open.pop() {
            let next = letters.get(at);
            if next.is_none_or(|next| next.gap != Gap::Nothing) && best.is_none_or(|(end, _)| end < at) {
                let written = &text[letters[start].start..letters[at - 1].end];
                let fits = |secret: &&Secret| {
                    secret.exact.as_ref().is_none_or(|exact| exact == written)
                        && !(is_joined && secret.letters < SHORTEST_JOINED)
                        && !(has_sign && secret.is_number)
                };
                let ends = self.nodes[node].ends.iter().map(|secret| &self.secrets[*secret]);
                best = ends.into_iter().find(fits).map(|secret| (at, secret)).or(best);
            }
            let Some(next) = next else { continue };
            let steps = &self.nodes[node].next;
            if next.gap <= Gap::Hidden
                && let Some(within) = steps.get(&(next.lower, false))
            {
                open.push((*within, at + 1, is_joined, has_sign));
            }
            if let Some(word) = steps.get(&(next.lower, true)) {
                let (joined, sign) = (next.gap == Gap::Nothing, next.gap == Gap::Sign);
                open.push((*word, at + 1, is_joined || joined, has_sign || sign));
            }
        }
        best
    }
}

/// The letters and digits of a text.
fn letters(text: &str) -> Vec<Letter> {
    let mut letters = Vec::with_capacity(text.len());
    let mut gap = Gap::Sign;
    for (start, letter) in text.char_indices() {
        if letter.is_alphanumeric() {
            let end = start + letter.len_utf8();
            for lower in letter.to_lowercase().filter(|lower| lower.is_alphanumeric()) {
                letters.push(Letter { lower, gap, start, end });
                gap = Gap::Nothing;
            }
        } else {
            gap = gap.max(between(letter));
        }
    }
    letters
}

/// What a sign that is no letter does to the words on both sides.
///
/// # Source
/// Unicode 15, chapter 23.2 and 23.3 (layout controls, invisible letters), and 6.2 (dashes).
fn between(letter: char) -> Gap {
    match letter {
        '\u{ad}'
        | '\u{34f}'
        | '\u{300}'..='\u{34e}'
        | '\u{61c}'
        | '\u{115f}'..='\u{1160}'
        | '\u{17b4}'..='\u{17b5}'
        | '\u{180b}'..='\u{180e}'
        | '\u{200b}'..='\u{200f}'
        | '\u{202a}'..='\u{202e}'
        | '\u{2060}'..='\u{206f}'
        | '\u{fe00}'..='\u{fe0f}'
        | '\u{feff}'
        | '\u{e0000}'..='\u{e01ef}' => Gap::Hidden,
        '-' | '_' | ',' | '\u{2010}'..='\u{2015}' | '\u{2212}' => Gap::Blank,
        _ if letter.is_whitespace() => Gap::Blank,
        _ if letter.is_control() => Gap::Hidden,
        _ => Gap::Sign,
    }
}

/// The words of a text in lower case.
fn words(text: &str) -> Vec<String> {
    let words = text.split(|letter: char| !letter.is_alphanumeric()).filter(|word| !word.is_empty());
    words.map(str::to_lowercase).collect()
}

/// A person's short name with the role to write instead. A name made of words of the role tells nothing more.
fn name(person: &Person) -> Option<(String, String)> {
    let label = person.label.as_deref()?.trim();
    let role = person.role.clone().unwrap_or_else(|| "a person".to_owned());
    let of_role = words(&role);
    let tells = words(label).iter().any(|word| !of_role.contains(word));
    (tells && !label.is_empty()).then(|| (label.to_owned(), role))
}

fn count(text: &str) -> usize {
    text.chars().filter(|letter| letter.is_alphanumeric()).count()
}

/// A name of one letter would take every such letter with it.
fn of_person(name: &str) -> Search {
    if count(name) > 1 { Search::AnyCase } else { Search::Never }
}

/// Short names count as written; where they are written as everyday words or numbers are, they are left alone.
fn of_name(name: &str) -> Search {
    match count(name) {
        SHORTEST_SECRET.. => Search::AnyCase,
        _ if words(name).len() == 1 && name.chars().any(char::is_uppercase) => Search::SameCase,
        _ => Search::Never,
    }
}

/// A site called by what it is tells nothing.
fn of_site(name: &str) -> Search {
    let is_kind = BUILDINGS.contains(&words(name).join(" ").as_str());
    if is_kind { Search::Never } else { of_name(name) }
}

/// Devices are mostly called by what they are: `phone`, `laptop`. One such word tells nothing.
fn of_device(name: &str) -> Search {
    let is_word = name.trim().chars().all(|letter| letter.is_alphabetic() && letter.is_lowercase());
    if is_word { Search::Never } else { of_name(name) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::Fixture;

    fn notebook() -> Fixture {
        let mut all = Fixture::default();
        all.put("site", "S1", &[("name", "Elm corner"), ("address", "12 Invented Row")]);
        all.put("meter", "M1", &[("meter_kind", "level meter"), ("serial", "SN-00417")]);
        all.put("supplier", "corner", &[("name", "Corner Lumber")]);
        all.put("supplier", "ace", &[("name", "Ace")]);
        all.put("supplier", "low", &[("name", "nut")]);
        all.put("person", "lead", &[("role", "site lead")]);
        all.put("person", "owner-a", &[("role", "owner A")]);
        all.put("person", "zz-nick", &[("role", "helper")]);
        all.put("site", "S3", &[("name", "Workshop")]);
        all.put("person", "electrician", &[("role", "licensed electrician")]);
        all.put("person", "odd", &[("role", "helper at 12 Invented Row")]);
        all.put("supplier", "electrician", &[("name", "Licensed electrician")]);
        for device in ["bench-pc", "phone"] {
            all.put("device", device, &[("device", "00000000-0000-0000-0000-000000000000")]);
        }
        all
    }

    #[test]
    fn secrets_are_found_across_any_blanks_and_nothing_else_is() {
        let cleaner = Cleaner::of(&notebook().book);
        let cases = [
            ("ZZ-Nick's photo shows it", "helper's photo shows it"),
            ("zz-nickel is no name", "zz-nickel is no name"),
            ("lead paint, said owner-a", "lead paint, said owner-a"),
            ("at 12 invented row", "at (left out)"),
            ("at 12  Invented Row.", "at (left out)."),
            ("at 12 Invented\nRow", "at (left out)"),
            ("at 12\u{a0}Invented\u{2009}Row", "at (left out)"),
            ("at 12\u{200b}Invented \u{200d}Row", "at (left out)"),
            ("at 12 Inv\u{ad}ented\u{7}Row", "at (left out)"),
            ("12_Invented-Row.mp4", "(left out).mp4"),
            ("GX01_12-invented-row_hall.jpg", "GX01_(left out)_hall.jpg"),
            ("12, Invented, Row", "(left out)"),
            ("12InventedRow", "(left out)"),
            ("zz_nick zznick ZZ NICK", "helper helper helper"),
            ("meter SN-00417.", "meter (left out)."),
            ("meter sn 00417", "meter (left out)"),
            ("12 Invented Rows", "12 Invented Rows"),
            ("112 Invented Row", "112 Invented Row"),
            ("from Corner Lumber yard", "from (left out) yard"),
            ("kitchen of Elm corner", "kitchen of the house"),
            ("an elm at the corner", "an elm at the corner"),
            ("from Ace, an ace", "from (left out), an ace"),
            ("a nut and a phone", "a nut and a phone"),
            ("typed on the bench-pc", "typed on the a device"),
            ("in the workshop", "in the workshop"),
            ("the licensed electrician", "the licensed electrician"),
            ("ODD said", "helper at (left out) said"),
            ("", ""),
        ];
        for (text, expected) in cases {
            assert_eq!(cleaner.clean(text), expected, "{text}");
        }
        assert_eq!(cleaner.not_looked_for("A nut, no telephone."), ["nut"]);
        let telling = Cleaner::telling(&notebook().book, true);
        assert_eq!(telling.clean("from Corner Lumber"), "from Corner Lumber");
    }

    #[test]
    fn the_longest_secret_goes_first_and_the_others_are_still_found() {
        let mut all = Fixture::default();
        all.put("site", "S1", &[("name", "Elm"), ("address", "12 Invented Row, Milltown")]);
        all.put("site", "S2", &[("name", "The barn"), ("address", "12 Invented Row")]);
        let cleaner = Cleaner::of(&all.book);
        assert_eq!(
            cleaner.clean("12 Invented Row\nMilltown, 12 Invented Row, Elm"),
            "(left out), (left out), the house"
        );
        assert_eq!(cleaner.clean("12 12 Invented Row"), "12 (left out)");
    }

    /// Goal: the work grows with the length of a text alone. A thousand addresses, each searched on its own in two megabytes,
    /// would take minutes.
    #[test]
    fn many_secrets_cost_no_more_than_a_few() {
        let mut all = Fixture::default();
        for at in 0..1_000 {
            let address = format!("{at} Invented Row of the long name");
            all.put("site", &format!("S{at}"), &[("name", &format!("Place {at}")), ("address", &address)]);
        }
        let cleaner = Cleaner::of(&all.book);
        let text =
            "12 Invented Row of the long street. ".repeat(60_000) + "999 Invented Row of the long name";
        assert!(cleaner.clean(&text).ends_with("street. (left out)"));
    }

    proptest::proptest! {
        #[test]
        fn whatever_stands_between_its_words_an_address_goes(
            one in "[ \\-_,\n\u{a0}\u{200b}\u{ad}\t]{1,5}",
            other in "[ \\-_,\n\u{a0}\u{200b}\u{ad}\t]{1,5}",
            before in "[a-z ]{0,8}",
        ) {
            let cleaner = Cleaner::of(&notebook().book);
            let text = format!("{before} 12{one}Invented{other}Row, {before}");
            proptest::prop_assert_eq!(cleaner.clean(&text), format!("{} (left out), {}", before, before));
        }

        #[test]
        fn any_text_is_read_and_clean_text_stays(text in proptest::prelude::any::<String>()) {
            let cleaner = Cleaner::of(&notebook().book);
            let once = cleaner.clean(&text);
            proptest::prop_assert_eq!(cleaner.clean(&once), once);
        }
    }
}
