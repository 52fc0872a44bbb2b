//! A write-up before it goes out.

use storypole_drawing::Ground;
use storypole_writeup::CardShape;

use super::called::Called;
use super::word::{Day, Hash, Id};

words! {
    /// What a picture lies on.
    #[derive(Default)]
    enum GroundWord {
        /// A light ground.
        #[default]
        Light = "light",
        /// A dark one.
        Dark = "dark",
    }
    /// The shape of a card.
    enum CardShapeWord {
        /// 1920 by 1080.
        Wide = "wide",
        /// 1080 by 1920.
        Tall = "tall",
        /// 1280 by 720.
        Small = "small",
    }
    /// A section of a write-up.
    enum SectionWord {
        /// What was asked, and the answer in short.
        Question = "question",
        /// Each version of each assembly.
        Built = "built",
        /// How it was measured.
        Method = "method",
        /// What was held constant.
        Conditions = "conditions",
        /// Numbers, changes and what they mean.
        Results = "results",
        /// What others publish and what a formula gives.
        Others = "others",
        /// What did not count, was struck or was corrected.
        LeftOut = "left-out",
        /// What it cost.
        Cost = "cost",
        /// What the author makes of it.
        Conclusion = "conclusion",
        /// What it does not show.
        Limits = "limits",
        /// What can hurt someone.
        Cautions = "cautions",
        /// Gifts and ties.
        Disclosure = "disclosure",
        /// What the numbers were computed with.
        Versions = "versions",
        /// Where the readings are.
        Data = "data",
    }
}

impl From<GroundWord> for Ground {
    fn from(word: GroundWord) -> Self {
        match word {
            GroundWord::Light => Self::Light,
            GroundWord::Dark => Self::Dark,
        }
    }
}

impl From<CardShapeWord> for CardShape {
    fn from(word: CardShapeWord) -> Self {
        match word {
            CardShapeWord::Wide => Self::Wide,
            CardShapeWord::Tall => Self::Tall,
            CardShapeWord::Small => Self::Small,
        }
    }
}

answers! {
    /// A write-up: what is in it, what leaves the notebook with it, and what its author should know.
    struct WriteUpPreview {
        /// Its title.
        title: String,
        /// Its name for files and addresses.
        slug: String,
        /// The day it bears.
        date: Day,
        /// The day its numbers last became others than in its first edition.
        updated: Option<Day>,
        /// The answer in a few sentences.
        summary: String,
        /// The stored write-up it was made from.
        writeup: Option<Called>,
        /// The jobs and tests it was asked about, in their order; none for a question.
        about: Vec<Called>,
        /// Stored write-ups whose words were used, by label, though none was named.
        words_from: Vec<String>,
        /// Labels of its jobs.
        jobs: Vec<String>,
        /// Labels of its tests.
        tests: Vec<String>,
        /// Gifts and ties, as the author wrote them.
        disclosure: Option<String>,
        /// Licence of its data, SPDX.
        licence: String,
        /// Where it stands on the web.
        link: Option<String>,
        /// Its results in large print.
        headlines: Vec<WriteUpHeadline>,
        /// Its sections, in their order.
        sections: Vec<WriteUpSection>,
        /// Its figures.
        figures: Vec<WriteUpFigure>,
        /// Results and figures its author may leave out, also those that are left out.
        parts: Vec<WriteUpPart>,
        /// Its photographs.
        photos: Vec<WriteUpPhoto>,
        /// Photographs that could go along: those pinned to what it is about.
        pictures: Vec<WriteUpPicture>,
        /// Numbers the newest edition printed otherwise.
        stale: Vec<StaleNumber>,
        /// What leaves the notebook.
        told: Vec<ToldWords>,
        /// What stays in it.
        kept_back: Vec<KeptBack>,
        /// What its author should know before it goes out.
        warnings: Vec<String>,
        /// The numbers it prints, each a line `name = value`: what an `edition` record keeps.
        numbers: String,
        /// A short text to post.
        post: String,
        /// SHA-256 of the list of these files, as an `edition` record keeps it.
        hash: Option<String>,
        /// The files that were made of it.
        files: Vec<WriteUpFile>,
    }
    /// A result in large print.
    struct WriteUpHeadline {
        /// What it is of.
        label: String,
        /// What was asked or done.
        title: String,
        /// The answer in a few words.
        big: String,
        /// How sure.
        range: Option<String>,
        /// The answer in a sentence.
        sentence: String,
        /// Grade of the comparison.
        grade: Option<String>,
        /// Whether it may be claimed.
        claimed: bool,
        /// Name of the figure to show with it.
        figure: Option<String>,
        /// What was held constant, in short lines.
        conditions: Vec<String>,
        /// What it cost, in short lines.
        cost: Vec<String>,
        /// What it does not show, in short lines.
        limits: Vec<String>,
    }
    /// A section.
    struct WriteUpSection {
        /// Its name, as typed.
        name: SectionWord,
        /// Its heading.
        heading: String,
        /// How many tables it has.
        tables: usize,
        /// How many figures.
        figures: usize,
        /// How many notes of the program on the author's words.
        notes: usize,
        /// Why it cannot be left out; null where it can.
        stays_because: Option<String>,
    }
    /// A result or a figure that the author may leave out.
    struct WriteUpPart {
        /// The name that leaves it out, as a `writeup` record keeps it.
        name: String,
        /// What it is.
        words: String,
        /// Whether it is left out.
        left_out: bool,
    }
    /// A figure.
    struct WriteUpFigure {
        /// Its name.
        name: String,
        /// The line below it.
        caption: String,
    }
    /// A photograph.
    struct WriteUpPhoto {
        /// Its file name.
        name: String,
        /// What it shows.
        caption: String,
        /// Its size as it goes out.
        bytes: usize,
        /// How much of the camera's notes was taken out.
        taken_out_bytes: usize,
    }
    /// A photograph that could go along.
    struct WriteUpPicture {
        /// Its record.
        id: Id,
        /// Its file name.
        name: Option<String>,
        /// What it shows.
        caption: Option<String>,
        /// Its content, as `/api/attachments` names it. The file may still be on another device.
        hash: Option<Hash>,
    }
    /// A number an earlier edition printed otherwise.
    struct StaleNumber {
        /// What it is of.
        what: String,
        /// The day of the edition.
        printed_on: Day,
        /// As printed.
        was: String,
        /// As it is now; null where there is no such number any more.
        now: Option<String>,
    }
    /// One kind of thing that is told.
    struct ToldWords {
        /// The kind.
        what: String,
        /// Each of them.
        words: Vec<String>,
    }
    /// One kind of thing that is not told.
    struct KeptBack {
        /// The kind.
        what: String,
        /// How many there are.
        count: usize,
    }
    /// A file.
    struct WriteUpFile {
        /// Where it lies in the write-up's folder.
        path: String,
        /// Its media type.
        media_type: String,
        /// Its size.
        bytes: usize,
    }
}
