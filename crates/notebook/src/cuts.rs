//! What was cut out of a recording, as a reading keeps it: `12 to 15 s: a truck passed; 30 to 31 s: the dog; with it 45.2 dBA`.
//!
//! Writer and reader stand side by side, so that what one writes the other reads. Leaves out what people type, and the levels.

/// Between one cut and the next.
const BETWEEN: &str = "; ";
/// What stands before the level that nothing was cut out of.
const UNCUT: &str = "with it ";

/// One stretch of a recording that was cut out.
#[derive(Debug, Clone, PartialEq)]
pub struct CutOut {
    /// Its start, s from the start of the recording.
    pub from_s: f64,
    /// Its end, s.
    pub to_s: f64,
    /// Why.
    pub why: String,
}

impl CutOut {
    /// In words: `12 to 15 s: a truck passed`. Whole seconds, since every second that a cut touches is taken.
    pub fn words(&self) -> String {
        format!("{} to {} s: {}", self.from_s.floor(), self.to_s.ceil(), self.why)
    }

    fn read(part: &str) -> Option<Self> {
        let (span, why) = part.split_once(" s: ")?;
        let (from, to) = span.trim().split_once(" to ")?;
        Some(Self { from_s: from.parse().ok()?, to_s: to.parse().ok()?, why: why.trim().to_owned() })
    }
}

/// Cuts in one line, with the level of the whole recording behind them where it is known, such as `45.2 dBA`.
pub fn print(cuts: &[CutOut], uncut: Option<&str>) -> String {
    let uncut = uncut.map(|level| format!("{UNCUT}{level}"));
    cuts.iter().map(CutOut::words).chain(uncut).collect::<Vec<_>>().join(BETWEEN)
}

/// Reads such a line. A part that is no cut belongs to the reason before it; what stands before the first cut is passed over.
pub fn read(text: &str) -> Vec<CutOut> {
    let mut found: Vec<CutOut> = Vec::new();
    for part in text.split(BETWEEN) {
        match (CutOut::read(part), found.last_mut()) {
            (Some(cut), _) => found.push(cut),
            (None, Some(last)) if !part.starts_with(UNCUT) => {
                last.why = format!("{}{BETWEEN}{}", last.why, part.trim());
            }
            (None, _) => {}
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cut(from_s: f64, to_s: f64, why: &str) -> CutOut {
        CutOut { from_s, to_s, why: why.to_owned() }
    }

    #[test]
    fn what_is_written_is_read() {
        let cuts = [cut(12.0, 15.0, "a truck passed"), cut(30.0, 31.0, "the dog; and a door: twice")];
        let line = print(&cuts, Some("45.2 dBA"));
        assert_eq!(
            line,
            "12 to 15 s: a truck passed; 30 to 31 s: the dog; and a door: twice; with it 45.2 dBA"
        );
        assert_eq!(read(&line), cuts);
        assert_eq!(read(&print(&cuts[..1], None)), cuts[..1]);
        assert_eq!(print(&[cut(2.4, 2.6, "a click")], None), "2 to 3 s: a click");
    }

    #[test]
    fn what_is_no_cut_is_none() {
        for text in ["", "nothing", "12 s: a truck", "a to b s: a truck", "with it 45.2 dBA"] {
            assert_eq!(read(text), [], "{text}");
        }
    }

    proptest::proptest! {
        #[test]
        fn cuts_of_any_reason_come_back(
            spans in proptest::collection::vec((0_u32..7200, 1_u32..60, "[a-zA-Z0-9,.:' ]{0,20}[a-z]"), 0..5),
        ) {
            let cuts: Vec<CutOut> = spans
                .iter()
                .map(|(from, long, why)| cut(f64::from(*from), f64::from(from + long), why.trim()))
                .collect();
            proptest::prop_assert_eq!(read(&print(&cuts, Some("45.2 dBA"))), cuts);
        }

        #[test]
        fn any_text_is_read_without_a_fault(text in proptest::prelude::any::<String>()) {
            read(&text);
        }
    }
}
