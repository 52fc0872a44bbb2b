//! Addresses as pictures for a camera: SVG for screens, blocks of letters for a terminal.

use std::fmt::Write as _;

use qrcodegen::{QrCode, QrCodeEcc};

/// Light squares around the code, as ISO/IEC 18004 asks for.
const MARGIN: i32 = 4;

fn code(text: &str) -> Option<QrCode> {
    QrCode::encode_text(text, QrCodeEcc::Medium).ok()
}

/// A picture of a text; none where it is too long for one. It brings its own light ground, for dark screens.
pub fn svg(text: &str) -> Option<String> {
    let code = code(text)?;
    let size = code.size() + 2 * MARGIN;
    let mut path = String::new();
    for y in 0..code.size() {
        for x in (0..code.size()).filter(|x| code.get_module(*x, y)) {
            // Writing to a string cannot fail.
            let _ = write!(path, "M{},{}h1v1h-1z", x + MARGIN, y + MARGIN);
        }
    }
    Some(format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {size} {size}\" shape-rendering=\"crispEdges\">\
         <path fill=\"#fff\" d=\"M0,0h{size}v{size}h-{size}z\"/><path fill=\"#000\" d=\"{path}\"/></svg>"
    ))
}

/// A picture of a text for a terminal, two rows of squares in each line; none where it is too long for one.
///
/// Dark terminals are the rule, so a light square is what is printed.
pub fn blocks(text: &str) -> Option<String> {
    let code = code(text)?;
    let is_light = |x: i32, y: i32| !code.get_module(x, y);
    let span = -MARGIN..code.size() + MARGIN;
    let mut lines = String::new();
    for y in span.clone().step_by(2) {
        for x in span.clone() {
            // Below the last row there is nothing to print.
            let below = y + 1 < span.end && is_light(x, y + 1);
            lines.push(match (is_light(x, y), below) {
                (true, true) => '\u{2588}',
                (true, false) => '\u{2580}',
                (false, true) => '\u{2584}',
                (false, false) => ' ',
            });
        }
        lines.push('\n');
    }
    Some(lines)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ISO/IEC 18004: version 1 has 21 squares a side, and three corners with a dark ring of seven.
    #[test]
    fn pictures_have_the_published_size_and_corners() {
        let lines = blocks("7KQ2-M9XD").unwrap();
        let rows: Vec<Vec<char>> = lines.lines().map(|line| line.chars().collect()).collect();
        assert_eq!((rows.len(), rows[0].len()), (15, 29));
        // The top edge of the ring: dark above, below it dark only at its sides.
        let corner: String = rows[2][4..11].iter().collect();
        assert_eq!(corner, " \u{2584}\u{2584}\u{2584}\u{2584}\u{2584} ");
        let drawn = svg("7KQ2-M9XD").unwrap();
        assert!(drawn.contains("viewBox=\"0 0 29 29\"") && drawn.contains("M4,4h1"), "{drawn}");
        assert_eq!(svg(&"x".repeat(5000)), None);
    }
}
