//! Patterns that tell wood, boards and fills apart without colour.
//!
//! Leaves out the words beside them: every drawing names what a pattern stands for.

use crate::markup::{Markup, Value};
use crate::picture::Tone;

/// A way to fill a shape.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum Hatch {
    /// Paper.
    Plain,
    /// Pale grey without a pattern.
    Grey,
    Rising,
    Falling,
    Level,
    Upright,
    Crossed,
    Dots,
    FineDots,
    /// Rows of bows, for loose fibre.
    Bows,
    /// Short dashes, for packed fibre.
    Dashes,
    /// Ticks in all directions, for flakes.
    Flakes,
    /// Small rings, for foam.
    Rings,
    /// Steep saw teeth.
    Teeth,
}

impl Hatch {
    /// Returns the part of the id that names it; `None` where no pattern is needed.
    pub(crate) fn id(self) -> Option<&'static str> {
        Some(match self {
            Self::Plain | Self::Grey => return None,
            Self::Rising => "rising",
            Self::Falling => "falling",
            Self::Level => "level",
            Self::Upright => "upright",
            Self::Crossed => "crossed",
            Self::Dots => "dots",
            Self::FineDots => "fine-dots",
            Self::Bows => "bows",
            Self::Dashes => "dashes",
            Self::Flakes => "flakes",
            Self::Rings => "rings",
            Self::Teeth => "teeth",
        })
    }

    /// Returns what a shape is painted with.
    pub(crate) fn paint(self) -> Value<'static> {
        match self.id() {
            Some(id) => Value::Paint(id),
            None if self == Self::Grey => Tone::Pale.into(),
            None => Tone::Paper.into(),
        }
    }

    /// Defines the pattern, if it is one.
    pub(crate) fn define(self, markup: &mut Markup) {
        let Some(id) = self.id() else { return };
        let (width, height, path) = self.tile();
        let size = |value| Value::Number(value);
        markup.open(
            "pattern",
            &[
                ("id", Value::Id(id)),
                ("width", size(width)),
                ("height", size(height)),
                ("patternUnits", "userSpaceOnUse".into()),
            ],
        );
        markup
            .empty("rect", &[("width", size(width)), ("height", size(height)), ("fill", Tone::Paper.into())]);
        let stroke = if matches!(self, Self::Dots | Self::FineDots) { 1.4 } else { 0.8 };
        markup.empty(
            "path",
            &[
                ("d", path.into()),
                ("fill", "none".into()),
                ("stroke", Tone::Ink.into()),
                ("stroke-width", stroke.into()),
                ("stroke-linecap", if stroke > 1.0 { "round" } else { "butt" }.into()),
            ],
        );
        markup.close();
    }

    /// Returns a tile's width and height, and the strokes in it; strokes run over the edges so that tiles join.
    fn tile(self) -> (f64, f64, &'static str) {
        match self {
            Self::Plain | Self::Grey => (1.0, 1.0, ""),
            Self::Rising => (6.0, 6.0, "M-1 7L7 -1M-1 1L1 -1M5 7L7 5"),
            Self::Falling => (6.0, 6.0, "M-1 -1L7 7M5 -1L7 1M-1 5L1 7"),
            Self::Level => (4.0, 4.0, "M0 2H4"),
            Self::Upright => (4.0, 4.0, "M2 0V4"),
            Self::Crossed => (5.0, 5.0, "M-1 -1L6 6M-1 6L6 -1"),
            Self::Dots => (6.0, 6.0, "M1.5 1.5h.01M4.5 4.5h.01"),
            Self::FineDots => (3.5, 3.5, "M1.7 1.7h.01"),
            Self::Bows => (14.0, 10.0, "M0 8C0 2 7 2 7 8C7 2 14 2 14 8"),
            Self::Dashes => (10.0, 6.0, "M1 1.5H6M6 4.5H11M-4 4.5H1"),
            Self::Flakes => (14.0, 12.0, "M2 3L5 1M8 2L10 5M12 8L9 9M3 7L4 10M6 6H8M12 1V3"),
            Self::Rings => (9.0, 9.0, "M2.5 4.5a2 2 0 1 0 4 0a2 2 0 1 0 -4 0"),
            Self::Teeth => (6.0, 8.0, "M0 8L3 0L6 8"),
        }
    }
}
