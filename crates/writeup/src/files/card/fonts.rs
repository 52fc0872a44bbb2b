//! The typefaces of cards, held in the program: Noto Sans, and DejaVu Sans for the letters it lacks.
//!
//! No typeface of the machine is looked at, so a card is the same everywhere. Leaves out where words stand.

use std::sync::{Arc, OnceLock};

use resvg::usvg::fontdb::{Database, ID, Source};
use resvg::usvg::{Font, FontFamily, FontResolver, ImageHrefResolver, Options};

/// Noto Sans Regular, a TrueType font under the SIL Open Font License 1.1.
pub const NOTO_SANS: &[u8] = notosans::REGULAR_TTF;
/// Noto Sans Bold, a TrueType font under the SIL Open Font License 1.1.
pub const NOTO_SANS_BOLD: &[u8] = notosans::BOLD_TTF;

/// DejaVu Sans, a TrueType font under its own free licence, that of Bitstream Vera with changes in the public domain.
pub fn dejavu_sans() -> &'static [u8] {
    dejavu::sans::regular()
}

/// DejaVu Sans Bold, a TrueType font under its own free licence, that of Bitstream Vera with changes in the public domain.
pub fn dejavu_sans_bold() -> &'static [u8] {
    dejavu::sans::bold()
}

/// A typeface.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum Family {
    /// The first choice.
    Noto,
    /// Has more scripts, Hebrew and Arabic among them.
    Dejavu,
}

impl Family {
    /// Its name in an SVG.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Noto => "Noto Sans",
            Self::Dejavu => "DejaVu Sans",
        }
    }

    fn other(self) -> Self {
        match self {
            Self::Noto => Self::Dejavu,
            Self::Dejavu => Self::Noto,
        }
    }
}

/// A typeface in one weight.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) struct Cut {
    pub(crate) family: Family,
    pub(crate) bold: bool,
}

impl Cut {
    const ALL: [Self; 4] = [
        Self { family: Family::Noto, bold: false },
        Self { family: Family::Noto, bold: true },
        Self { family: Family::Dejavu, bold: false },
        Self { family: Family::Dejavu, bold: true },
    ];

    fn bytes(self) -> &'static [u8] {
        match (self.family, self.bold) {
            (Family::Noto, false) => NOTO_SANS,
            (Family::Noto, true) => NOTO_SANS_BOLD,
            (Family::Dejavu, false) => dejavu_sans(),
            (Family::Dejavu, true) => dejavu_sans_bold(),
        }
    }

    /// The cut that an SVG asks for: the first of its families counts, and all but DejaVu Sans become Noto Sans.
    fn asked(font: &Font) -> Self {
        let family = match font.families().first() {
            Some(FontFamily::Named(name)) if name == Family::Dejavu.name() => Family::Dejavu,
            _ => Family::Noto,
        };
        Self { family, bold: font.weight() >= 600 }
    }
}

/// The four fonts, loaded once.
struct Faces {
    database: Arc<Database>,
    ids: Vec<(Cut, ID)>,
}

impl Faces {
    fn load() -> Self {
        let mut database = Database::new();
        let mut ids = Vec::new();
        for cut in Cut::ALL {
            let loaded = database.load_font_source(Source::Binary(Arc::new(cut.bytes())));
            ids.push((cut, *loaded.first().expect("the program's own fonts can be read")));
        }
        Self { database: Arc::new(database), ids }
    }

    fn id(&self, cut: Cut) -> Option<ID> {
        self.ids.iter().find(|(own, _)| *own == cut).map(|&(_, id)| id)
    }

    fn cut(&self, id: ID) -> Option<Cut> {
        self.ids.iter().find(|(_, own)| *own == id).map(|&(cut, _)| cut)
    }
}

fn faces() -> &'static Faces {
    static FACES: OnceLock<Faces> = OnceLock::new();
    FACES.get_or_init(Faces::load)
}

/// What happens to a letter that the typeface asked for lacks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Missing {
    /// It is taken from the other typeface in the same weight.
    FromOther,
    /// It becomes an empty box.
    Box,
}

/// Options to read an SVG with: these fonts and no others, and no pictures from outside.
pub(crate) fn options(missing: Missing) -> Options<'static> {
    let faces = faces();
    Options {
        font_family: Family::Noto.name().to_owned(),
        font_resolver: FontResolver {
            select_font: Box::new(|font, _| faces.id(Cut::asked(font))),
            select_fallback: Box::new(move |_, used, _| match missing {
                Missing::Box => None,
                Missing::FromOther => {
                    let first = faces.cut(*used.first()?)?;
                    let other = faces.id(Cut { family: first.family.other(), ..first })?;
                    (!used.contains(&other)).then_some(other)
                }
            }),
        },
        image_href_resolver: ImageHrefResolver {
            resolve_data: Box::new(|_, _, _| None),
            resolve_string: Box::new(|_, _| None),
        },
        fontdb: Arc::clone(&faces.database),
        ..Options::default()
    }
}
