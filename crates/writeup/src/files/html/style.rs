//! How the page looks: one sheet, hard edges, two grounds, and paper.
//!
//! Every pair of colours stands at 7:1 or more (WCAG 2.2, success criterion 1.4.6); the grounds are those pictures are drawn for.

/// The style sheet. Pictures turn narrow where it does: see the test.
pub(super) const STYLE: &str = include_str!("style.css");

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::html::figures::NARROW_PX;

    fn luminance(colour: &str) -> f64 {
        let channel = |at: usize| {
            let value = f64::from(u8::from_str_radix(&colour[at..at + 2], 16).unwrap()) / 255.0;
            if value <= 0.04045 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5)
    }

    /// Values of a name, in the order they are set: light, dark, paper.
    fn values(name: &str) -> Vec<&'static str> {
        let set = format!("{name}: #");
        let found = STYLE.match_indices(&set);
        found.map(|(at, set)| &STYLE[at + set.len() - 1..at + set.len() + 6]).collect()
    }

    /// Source: contrast ratio of WCAG 2.2, success criterion 1.4.6 (7:1).
    #[test]
    fn words_can_be_read_on_their_ground() {
        let grounds: Vec<&str> = values("--ground");
        assert_eq!(grounds.len(), 3);
        for name in ["--ink", "--soft", "--link", "--odd"] {
            let inks = values(name);
            assert_eq!(inks.len(), 3, "{name}");
            for (ink, behind) in inks.iter().zip(&grounds).chain(inks.iter().zip(&values("--pale"))) {
                let (own, other) = (luminance(ink), luminance(behind));
                let contrast = (own.max(other) + 0.05) / (own.min(other) + 0.05);
                assert!(contrast >= 7.0, "{name} {ink} on {behind}: {contrast}");
            }
        }
    }

    #[test]
    fn the_style_and_the_pictures_turn_narrow_together() {
        assert!(STYLE.contains(&format!("@media screen and (max-width: {}.98px)", NARROW_PX - 1)));
        assert!(!STYLE.contains("url(") && !STYLE.contains("@import") && !STYLE.contains('<'));
    }
}
