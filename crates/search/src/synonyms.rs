//! Words that mean the same, from the file `words.txt`. Applied to what is asked, never to what is indexed.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use crate::analyse::words;

/// The groups of `words.txt`, by each of their members as the analyser reads it.
static GROUPS: LazyLock<BTreeMap<Vec<String>, Vec<Vec<String>>>> =
    LazyLock::new(|| read(include_str!("../words.txt")));

/// The most words a member has: how far ahead a reader must look.
static LONGEST: LazyLock<usize> = LazyLock::new(|| GROUPS.keys().map(Vec::len).max().unwrap_or(0));

/// What else means the same as this sequence of words; empty when the file does not know it.
pub(crate) fn of(sequence: &[String]) -> &'static [Vec<String>] {
    GROUPS.get(sequence).map_or(&[], Vec::as_slice)
}

/// The most words a sequence with synonyms has.
pub(crate) fn longest() -> usize {
    *LONGEST
}

fn read(text: &str) -> BTreeMap<Vec<String>, Vec<Vec<String>>> {
    let mut groups: BTreeMap<Vec<String>, Vec<Vec<String>>> = BTreeMap::new();
    for line in text.lines().map(str::trim).filter(|line| !line.is_empty() && !line.starts_with('#')) {
        let members: Vec<Vec<String>> = line.split('=').map(words).collect();
        for member in &members {
            let others = groups.entry(member.clone()).or_default();
            others.extend(members.iter().filter(|other| *other != member).cloned());
        }
    }
    groups
}

#[cfg(test)]
mod tests {
    use super::*;

    fn same(one: &str, other: &str) -> bool {
        of(&words(one)).contains(&words(other))
    }

    #[test]
    fn every_line_is_a_group_and_every_member_is_in_one_only() {
        let mut seen: Vec<Vec<String>> = Vec::new();
        for line in
            include_str!("../words.txt").lines().filter(|line| line.contains('=') && !line.starts_with('#'))
        {
            let members: Vec<Vec<String>> = line.split('=').map(words).collect();
            assert!(members.len() > 1 && members.iter().all(|member| !member.is_empty()), "{line}");
            for member in members {
                assert!(!seen.contains(&member), "{member:?} twice");
                seen.push(member);
            }
        }
    }

    #[test]
    fn fills_of_different_fibre_stay_apart() {
        assert!(same("drywall", "gypsum board") && same("Plasterboards", "drywall"));
        assert!(same("mineral wool", "stone wool") && same("fiberglass", "glass fibre"));
        assert!(!same("stone wool", "glass fibre") && !same("mineral wool", "glass fiber"));
        assert!(of(&words("cellulose")).iter().all(|other| !other.contains(&"glass".to_owned())));
    }

    /// Dressed dry sizes in inches of the American Softwood Lumber Standard (PS 20), from memory, × 25.4 mm.
    #[test]
    fn nominal_sections_are_the_dressed_millimetres() {
        for (nominal, width_in, depth_in) in [
            ("2x2", 1.5, 1.5),
            ("2x3", 1.5, 2.5),
            ("2x4", 1.5, 3.5),
            ("2x6", 1.5, 5.5),
            ("2x8", 1.5, 7.25),
            ("2x10", 1.5, 9.25),
            ("2x12", 1.5, 11.25),
        ] {
            let mm = |inches: f64| (inches * 25.4).round();
            let metric = format!("{}x{}", mm(width_in), mm(depth_in));
            assert!(same(nominal, &metric), "{nominal} {metric}");
        }
    }

    /// 25.4 mm to the inch, exactly; board thicknesses are printed to a tenth of a millimetre.
    #[test]
    fn board_thicknesses_are_the_same_length() {
        for (inches, fraction, mm) in [
            ("1/4 in", 0.25, "6.4"),
            ("3/8 in", 0.375, "9.5"),
            ("1/2 in", 0.5, "12.7"),
            ("5/8 in", 0.625, "15.9"),
            ("3/4 in", 0.75, "19.1"),
        ] {
            assert!((mm.parse::<f64>().unwrap() - fraction * 25.4).abs() < 0.051, "{inches}");
            assert!(same(inches, mm) && same(inches, &format!("{mm} mm")), "{inches}");
        }
    }
}
