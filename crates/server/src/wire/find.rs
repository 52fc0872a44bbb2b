//! What a question about past work finds, how it was understood, and walls built alike.

use super::called::Called;
use super::change::{Claim, Letter};
use super::number::{Amount, Estimate, Interval};
use super::word::{Cursor, Day};

words! {
    /// What a part of a question says.
    enum PartKind {
        /// A word to look for.
        Word = "word",
        /// Words that stand as they were written.
        Phrase = "phrase",
        /// A fill by name.
        Fill = "fill",
        /// A frame by name.
        Frame = "frame",
        /// A state of the work by name.
        State = "state",
        /// A kind of record.
        Kind = "kind",
        /// A site of the notebook.
        Site = "site",
        /// A range of changes, dB.
        Reduction = "reduction",
        /// A range of level differences, dB.
        Difference = "difference",
        /// A range of depths of the cavity.
        Depth = "depth",
        /// A range of stud spacings.
        Spacing = "spacing",
        /// A range of what jobs or receipts cost.
        Cost = "cost",
        /// A range of costs of a square foot.
        CostPerArea = "cost-per-area",
        /// A range of densities of the fill.
        Density = "density",
        /// A range of labelled resistances.
        LabelR = "label-r",
        /// A span of days.
        Days = "days",
        /// A range of grades.
        Grade = "grade",
        /// A word that says nothing of its own.
        Little = "little",
    }
    /// What an answer can be narrowed by.
    enum FilterName {
        /// Kind of record.
        Kind = "kind",
        /// Site.
        Site = "site",
        /// Fill of the cavity.
        Fill = "fill",
        /// How the leaves are tied.
        Frame = "frame",
        /// State of the work.
        State = "state",
        /// Grade of the result.
        Grade = "grade",
        /// Year.
        Year = "year",
    }
    /// The order of what is found.
    enum SortWord {
        /// Best match first.
        Match = "match",
        /// Newest first.
        Date = "date",
        /// Largest reduction first; what may not be claimed apart, at the end.
        Reduction = "reduction",
    }
    /// What a result is of.
    enum FoundMeasure {
        /// Change of a level difference by a rebuild.
        Change = "change",
        /// Level difference of a wall as it stands.
        LevelDifference = "level-difference",
    }
    /// How alike two walls are.
    enum AlikeLevel {
        /// All classes, bands and the kind of fill equal.
        Same = "same",
        /// Coupling, mass bands, filled or not equal.
        Near = "near",
        /// Coupling equal.
        Family = "family",
    }
}

answers! {
    /// A piece of a text, so that what was looked for can be marked.
    struct Piece {
        /// The text.
        text: String,
        /// Whether it is what was looked for.
        is_match: bool,
    }
    /// A part of the question as it was understood.
    struct Part {
        /// As it was typed.
        typed: String,
        /// What it says.
        kind: PartKind,
        /// How it was understood, in words.
        words: String,
        /// What to know about it, such as another spelling that was searched.
        note: Option<String>,
        /// Whether it must not hold.
        is_unwanted: bool,
        /// The question without this part.
        without: String,
    }
    /// A result in short.
    struct FindingInShort {
        /// What it is of.
        measure: FoundMeasure,
        /// The number, dB.
        value: Estimate,
        /// Its interval, dB.
        interval: Option<Interval>,
        /// Weighting of the readings.
        unit: Option<String>,
        /// Whether it may be claimed as a number or a lower bound; a level difference claims nothing.
        is_claimed: bool,
        /// The verdict in a word; null for a level difference.
        claim: Option<Claim>,
        /// How good the comparison was.
        grade: Option<Letter>,
        /// Jobs in which such a wall was measured, this one counted.
        jobs: u64,
        /// The same in words.
        words: String,
    }
    /// A record that was found.
    struct Hit {
        /// The record.
        record: Called,
        /// What it is called in the index, with what was looked for marked.
        title: Vec<Piece>,
        /// Where the words stand; null where they stand in the title, or no words were asked for.
        snippet: Option<Vec<Piece>>,
        /// Its site.
        site: Option<Called>,
        /// Its job.
        job: Option<Called>,
        /// Its day.
        date: Option<Day>,
        /// How it is built, in a few words: only of walls.
        built: Option<String>,
        /// What was achieved, in a sentence or two.
        achieved: Option<String>,
        /// Whether it is of a bench rig, which rates no wall.
        is_bench: bool,
        /// Its result in short.
        finding: Option<FindingInShort>,
        /// Cost of a square foot of its job.
        per_ft2: Option<Amount>,
        /// What the job cost, or what the receipt says.
        cost: Option<Amount>,
        /// Whether it stands apart because its result may not be claimed; only where sorted by reduction.
        is_apart: bool,
    }
    /// What was found of one kind.
    struct HitGroup {
        /// The kind.
        kind: String,
        /// The kind as a heading.
        title: String,
        /// How many there are.
        count: u64,
        /// How many stand behind this page.
        more: u64,
        /// A page of them.
        hits: Vec<Hit>,
        /// Where the next page of this kind begins.
        next: Option<Cursor>,
    }
    /// One value an answer can be narrowed to.
    struct FilterValue {
        /// As it is asked for.
        value: String,
        /// In words.
        words: String,
        /// How many records it would leave.
        count: u64,
        /// Whether it was chosen.
        is_chosen: bool,
    }
    /// One thing an answer can be narrowed by.
    struct Filter {
        /// Which.
        name: FilterName,
        /// As a heading.
        title: String,
        /// Its values, most records first.
        values: Vec<FilterValue>,
    }
    /// What a question finds.
    struct Found {
        /// The question as it was typed.
        asked: String,
        /// How it was understood, part by part.
        parts: Vec<Part>,
        /// What to know about the answer.
        notes: Vec<String>,
        /// Whether each hit has all that was asked for; else each has some of the words.
        all_words_matched: bool,
        /// How many records there are.
        total: u64,
        /// The order within each kind.
        sort: SortWord,
        /// Kind by kind.
        groups: Vec<HitGroup>,
        /// What it can be narrowed by.
        filters: Vec<Filter>,
        /// Said while the index is made anew and older answers stand.
        making: Option<String>,
    }
    /// One way to go on with what is being typed.
    struct Suggestion {
        /// The whole question, gone on.
        text: String,
        /// What that means.
        words: String,
        /// What kind of thing it is.
        kind: String,
    }
    /// How a question might go on.
    struct Suggested {
        /// As it was typed.
        typed: String,
        /// Best first.
        suggestions: Vec<Suggestion>,
    }
    /// One thing two walls differ in.
    struct Difference {
        /// What it is.
        what: String,
        /// As this wall has it.
        here: String,
        /// As the other has it.
        there: String,
        /// The same in words.
        words: String,
    }
    /// A wall built like another.
    struct AlikeWall {
        /// The wall.
        hit: Hit,
        /// How alike.
        level: AlikeLevel,
        /// Whether it is alike as seen from the other side.
        is_mirrored: bool,
        /// Whether it is another version of the same wall.
        is_same_wall: bool,
        /// What differs.
        differences: Vec<Difference>,
    }
    /// How many walls are alike at each level; each counts the better ones too.
    struct AlikeCounts {
        /// All classes, bands and the kind of fill equal.
        same: u64,
        /// Coupling, mass bands, filled or not equal.
        near: u64,
        /// Coupling equal.
        family: u64,
    }
    /// Walls built like one wall.
    struct BuiltAlike {
        /// The wall.
        assembly: Called,
        /// What it is, in words.
        words: String,
        /// What to know about the list.
        notes: Vec<String>,
        /// How alike walls must be.
        level: AlikeLevel,
        /// How many there are at each level.
        counts: AlikeCounts,
        /// Wall by wall, most alike first.
        alike: Vec<AlikeWall>,
        /// Where the next page begins.
        next: Option<Cursor>,
    }
}
