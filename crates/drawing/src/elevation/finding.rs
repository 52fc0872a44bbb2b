//! What an elevation shows, in words, for those who do not see it.
//!
//! Leaves out what each cell measures: the table under the drawing has it.

use storypole_units::Length;

use super::{CellPlace, Elevation};

pub(super) fn words(wall: &Elevation) -> String {
    let (length, height) = (wall.style.whole(wall.length), wall.style.whole(wall.height));
    let openings = openings(wall);
    let cells = cells(wall);
    format!("Wall {length} long and {height} high, seen from one side. {openings} {cells}")
}

fn openings(wall: &Elevation) -> String {
    if wall.openings.is_empty() {
        return "No openings.".to_owned();
    }
    let mut sorted: Vec<_> = wall.openings.iter().collect();
    sorted.sort_by_key(|opening| (opening.left, opening.bottom));
    let words: Vec<&str> = sorted.iter().map(|opening| opening.word.as_str()).collect();
    let name = if words.len() == 1 { "Opening" } else { "Openings from the left" };
    format!("{name}: {}.", words.join(", "))
}

fn cells(wall: &Elevation) -> String {
    let counted = [
        (CellPlace::Full, "full-height bay"),
        (CellPlace::Part, "part of a bay"),
        (CellPlace::Above, "cell over an opening"),
        (CellPlace::Below, "cell under an opening"),
    ];
    let counted = counted.into_iter().filter_map(|(place, name)| {
        let count = wall.cells.iter().filter(|cell| cell.place == place).count();
        (count > 0).then(|| format!("{count} {}", plural(name, count)))
    });
    let counted = counted.collect::<Vec<_>>().join(", ");
    let widths = wall.cells.iter().map(|cell| cell.width);
    match (widths.clone().min(), widths.max()) {
        (Some(narrowest), Some(widest)) => format!("{counted}; {}.", range(wall, narrowest, widest)),
        _ => "No cells.".to_owned(),
    }
}

fn range(wall: &Elevation, narrowest: Length, widest: Length) -> String {
    let part = |length| wall.style.part(length);
    if narrowest == widest {
        format!("each {} wide", part(narrowest))
    } else {
        format!("{} to {} wide", part(narrowest), part(widest))
    }
}

fn plural(name: &str, count: usize) -> String {
    match name.split_once(' ') {
        _ if count == 1 => name.to_owned(),
        Some((noun, rest)) if !noun.contains('-') => format!("{noun}s {rest}"),
        _ => format!("{name}s"),
    }
}
