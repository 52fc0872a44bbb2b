//! Sections of softwood: nominal inches, dressed inches and millimetres, and the spacing written behind them.
//!
//! Leaves out steel, which is named by its depth alone, and 4x8, 4x10 and 4x12, which are sheets more often than posts.

use super::{Number, Ratio, Reader, Unit, bare_spacing_mm, is_short_gap};

/// Nominal inches and the dressed size of one of them in hundredths of an inch: American Softwood Lumber Standard
/// (PS 20), dry, from memory.
const DRESSED: &[(u128, u128)] =
    &[(1, 75), (2, 150), (3, 250), (4, 350), (6, 550), (8, 725), (10, 925), (12, 1_125)];
/// Which nominal sections are read.
const NOMINAL: &[(u128, u128)] = &[
    (1, 2),
    (1, 3),
    (1, 4),
    (1, 6),
    (1, 8),
    (1, 10),
    (1, 12),
    (2, 2),
    (2, 3),
    (2, 4),
    (2, 6),
    (2, 8),
    (2, 10),
    (2, 12),
    (4, 4),
    (4, 6),
    (6, 6),
];
/// What may stand between a section and its spacing.
const STUDS: &[&str] =
    &["s", "stud", "studs", "joist", "joists", "rafter", "rafters", "wall", "framing", "wood", "frame"];

impl Reader<'_> {
    /// A section that begins with this number; returns the token to go on with.
    pub(super) fn section(&mut self, at: usize, width: Number) -> Option<usize> {
        let by = width.next;
        let depth = self.number(by + 1).filter(|_| self.is_by(by))?;
        let (stud, next) = self.stud(by + 1, width, depth)?;
        let end = self.end(depth.next - 1);
        if let Some((mm, _, end)) = self.length(width) {
            self.say(at, "mm", mm, end);
        }
        self.push(at, format!("stud:{}x{}", stud.0, stud.1), end);
        if next == depth.next {
            return Some(self.spacing(next).unwrap_or(next));
        }
        // Its depth is a length of its own where it has a unit.
        if let Some((mm, behind, end)) = self.length(depth) {
            self.say(by + 1, "mm", mm, end);
            return Some(behind);
        }
        Some(self.spacing(depth.next).unwrap_or(depth.next))
    }

    /// Whether this word stands between two sizes: `2x4`, `2 x 4`, `2" x 4"`, `2by4`.
    fn is_by(&self, at: usize) -> bool {
        let mark = self.gap(at - 1).trim().trim_matches(['"', '″', '”', '“']);
        mark.is_empty() && self.is(at, &["x", "by"]) && is_short_gap(self.gap(at))
    }

    /// Dressed millimetres, and the last token that belongs to the section alone.
    fn stud(&self, depth_at: usize, width: Number, depth: Number) -> Option<((u128, u128), usize)> {
        let unit = self.unit(depth.next - 1).map(|written| written.unit);
        let pair = (width.value.whole(), depth.value.whole());
        if let (Some(wide), Some(deep)) = pair
            && NOMINAL.contains(&(wide, deep))
            && matches!(unit, None | Some(Unit::Inch))
        {
            return Some(((dressed_mm(wide)?, dressed_mm(deep)?), depth.next));
        }
        if unit.is_none_or(|unit| unit == Unit::Millimetre)
            && width.value.is_within(19, 400)
            && depth.value.is_within(19, 400)
        {
            return Some(((width.value.mm(Unit::Millimetre), depth.value.mm(Unit::Millimetre)), depth_at));
        }
        // Dressed inches: only the sizes that are sawn, for `15.9 x2` is two boards.
        let inches = (is_dressed(width.value) && is_dressed(depth.value))
            && matches!(unit, None | Some(Unit::Inch))
            && pair != (Some(1), Some(1));
        inches.then(|| ((width.value.mm(Unit::Inch), depth.value.mm(Unit::Inch)), depth_at))
    }

    /// The spacing of studs behind their section: `@406`, `@ 16"`, `s at 16`.
    fn spacing(&mut self, behind: usize) -> Option<usize> {
        let mut at = behind;
        while at < behind + 2 && self.is(at, STUDS) {
            at += 1;
        }
        let is_marked = self.gap(at.checked_sub(1)?).trim() == "@";
        if !is_marked {
            at += usize::from(self.is(at, &["at"]));
            if at == behind || !self.is(at - 1, &["at"]) {
                return None;
            }
        }
        let number = self.number(at)?;
        if let Some((mm, next, end)) = self.length(number) {
            self.say(at, "mm", mm, end);
            let (next, end) = self.on_centre(next, end).unwrap_or((next, end));
            self.say(at, "oc", mm, end);
            return Some(next);
        }
        let mm = bare_spacing_mm(number.value)?;
        let end = self.end(number.next - 1);
        let (next, end) = self.on_centre(number.next, end).unwrap_or((number.next, end));
        self.say(at, "oc", mm, end);
        Some(next)
    }
}

fn hundredths(inches: u128) -> Option<u128> {
    DRESSED.iter().find(|(nominal, _)| *nominal == inches).map(|(_, dressed)| *dressed)
}

fn dressed_mm(inches: u128) -> Option<u128> {
    hundredths(inches).map(|over| Ratio { over, under: 100 }.mm(Unit::Inch))
}

fn is_dressed(value: Ratio) -> bool {
    DRESSED.iter().any(|(_, dressed)| value.over * 100 == dressed * value.under)
}
