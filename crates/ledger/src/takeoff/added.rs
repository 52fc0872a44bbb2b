//! What a rebuild adds to the version it replaces: boards, fill, beads of sealant, channel.
//!
//! A wall that replaces none, or of which everything is asked for, is counted whole. Leaves out what is torn out.

use storypole_notebook::assembly::{Cavity, Fill, Layer, Leaf, Seal, Seals, Via};
use storypole_notebook::kinds::Assembly;

/// What is new in an assembly.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Added {
    /// Boards of leaf A.
    pub boards_a: Vec<Layer>,
    /// Boards of leaf B.
    pub boards_b: Vec<Layer>,
    /// The fill.
    pub fill: Option<Fill>,
    /// Beads of sealant all round, both sides together.
    pub beads: u32,
    /// Sides with new channel: the most between two rows, thousandths of a millimetre.
    pub channel_spacing_um: Vec<i64>,
    /// Sides with new damping compound between boards.
    pub damped_sides: u32,
    /// Parts that cannot be read.
    pub unread: Vec<&'static str>,
    /// Sides with boards of which nobody wrote what the version before had: all of their boards count as new.
    pub not_known_before: Vec<&'static str>,
}

/// Finds what `one` adds to `before`; all of it where there is none before.
pub fn added(one: &Assembly, before: Option<&Assembly>) -> Added {
    let mut added = Added::default();
    let text = |part: &Option<String>| part.clone().unwrap_or_else(|| "unknown".to_owned());
    let leaf = |part: &Option<String>| Leaf::parse(&text(part)).ok();
    for (name, now, then) in [
        ("leaf A", &one.leaf_a, before.map(|before| &before.leaf_a)),
        ("leaf B", &one.leaf_b, before.map(|before| &before.leaf_b)),
    ] {
        let Some(now) = leaf(now) else {
            added.unread.push(name);
            continue;
        };
        let then = then.and_then(leaf);
        let boards = boards_added(&now, then.as_ref());
        if before.is_some() && matches!(then, None | Some(Leaf::Unknown)) && !boards.is_empty() {
            added.not_known_before.push(if name == "leaf A" { "A" } else { "B" });
        }
        added.channel_spacing_um.extend(channel_added(&now, then.as_ref()));
        added.damped_sides += u32::from(is_damped(&now) && !then.as_ref().is_some_and(is_damped));
        if name == "leaf A" { added.boards_a = boards } else { added.boards_b = boards }
    }
    match Cavity::parse(&text(&one.cavity)) {
        Ok(now) => {
            let then = before.and_then(|before| Cavity::parse(&text(&before.cavity)).ok());
            added.fill = fill_of(&now).filter(|fill| then.as_ref().and_then(fill_of) != Some(*fill)).cloned();
        }
        Err(_) => added.unread.push("cavity"),
    }
    match Seals::parse(&text(&one.seals)) {
        Ok(now) => {
            let then = before.and_then(|before| Seals::parse(&text(&before.seals)).ok());
            added.beads = beads_added(&now, then.as_ref());
        }
        Err(_) => added.unread.push("seals"),
    }
    added
}

fn layers(leaf: &Leaf) -> &[Layer] {
    if let Leaf::Boards { layers, .. } = leaf { layers } else { &[] }
}

/// Layers beyond those of the same board and thickness that were there.
fn boards_added(now: &Leaf, then: Option<&Leaf>) -> Vec<Layer> {
    let is_same =
        |one: &Layer, other: &Layer| one.material == other.material && one.thickness_mm == other.thickness_mm;
    let mut there: Vec<Layer> = then.map(layers).unwrap_or_default().to_vec();
    let mut new = Vec::new();
    for layer in layers(now) {
        let mut count = layer.count;
        for known in there.iter_mut().filter(|known| is_same(known, layer)) {
            let shared = known.count.min(count);
            known.count -= shared;
            count -= shared;
        }
        if count > 0 {
            new.push(Layer { count, ..layer.clone() });
        }
    }
    new
}

fn is_damped(leaf: &Leaf) -> bool {
    matches!(leaf, Leaf::Boards { damping: true, .. })
}

fn channel_added(now: &Leaf, then: Option<&Leaf>) -> Option<i64> {
    let spacing = |leaf: &Leaf| match leaf {
        Leaf::Boards { via: Via::Channel { spacing_mm, .. }, .. } => Some(spacing_mm.0),
        _ => None,
    };
    spacing(now).filter(|spacing_um| then.and_then(spacing) != Some(*spacing_um))
}

fn fill_of(cavity: &Cavity) -> Option<&Fill> {
    if let Cavity::Space { fill, .. } = cavity { fill.as_ref() } else { None }
}

/// Beads by side, all round. Edges say where beads of a side run and are not counted by themselves.
fn beads_added(now: &Seals, then: Option<&Seals>) -> u32 {
    let beads = |seals: &Seals, side: &str| -> u32 {
        let Seals::Sides(sides) = seals else { return 0 };
        sides.iter().find(|(name, _)| name == side).map_or(0, |(_, seal)| match seal {
            Seal::Beads(count) => u32::from(*count),
            Seal::None | Seal::Gasket => 0,
        })
    };
    ["A", "B"]
        .iter()
        .map(|side| beads(now, side).saturating_sub(then.map_or(0, |then| beads(then, side))))
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::Fixture;

    fn of(parts: &[(&str, &str)], before: &[(&str, &str)]) -> Added {
        let mut all = Fixture::default();
        all.put("assembly", "A1", before);
        all.put("assembly", "A2", parts);
        let get = |key| all.book.assemblies.get(all.id("assembly", key)).unwrap();
        added(get("A2"), Some(get("A1")))
    }

    fn layer(material: &str, thickness_um: i64, count: u8) -> Layer {
        Layer {
            material: material.into(),
            thickness_mm: storypole_notebook::assembly::Milli(thickness_um),
            count,
        }
    }

    #[test]
    fn only_what_is_new_counts() {
        let before = [
            ("leaf_a", "gypsum 12.7 x1, 8.1 kg/m2, direct"),
            ("leaf_b", "gypsum 12.7 x1, 8.1 kg/m2, direct"),
            ("cavity", "89 clear, empty"),
            ("seals", "A 1"),
        ];
        let same = of(&before, &before);
        assert_eq!(same, Added::default());
        let after = [
            ("leaf_a", "gypsum 15.9 x1 + gypsum 12.7 x1, 19.1 kg/m2, direct, damping"),
            ("leaf_b", "gypsum 15.9 x2, 22 kg/m2, channel 13@566"),
            ("cavity", "102 clear, glass fibre 89, 10 kg/m3, 100%"),
            ("seals", "A 1, B 2, top 2"),
        ];
        let new = of(&after, &before);
        assert_eq!(new.boards_a, [layer("gypsum", 15_900, 1)]);
        assert_eq!(new.boards_b, [layer("gypsum", 15_900, 2)]);
        assert_eq!(new.fill.as_ref().map(|fill| fill.kind.as_str()), Some("glass fibre"));
        assert_eq!((new.beads, new.damped_sides), (2, 1));
        assert_eq!(new.channel_spacing_um, [566_000]);
        let back = of(&before, &after);
        assert_eq!((back.boards_a.len(), back.fill.as_ref(), back.beads), (0, None, 0));
        assert_eq!(back.boards_b, [layer("gypsum", 12_700, 1)], "a board put back is new");
    }

    #[test]
    fn a_wall_that_replaces_none_counts_whole() {
        let mut all = Fixture::default();
        all.put(
            "assembly",
            "A1",
            &[("leaf_a", "gypsum 12.7 x2, direct"), ("leaf_b", "none"), ("seals", "B 2")],
        );
        let whole = added(all.book.assemblies.get(all.id("assembly", "A1")).unwrap(), None);
        assert_eq!(
            (whole.boards_a, whole.boards_b.len(), whole.beads),
            (vec![layer("gypsum", 12_700, 2)], 0, 2)
        );
    }
}
