//! Addresses as QR codes (ISO/IEC 18004): for a terminal in half blocks, for a page as SVG.

use std::fmt::Write as _;

use qrcodegen::{QrCode, QrCodeEcc};

/// Light modules around a code (ISO/IEC 18004 section 5.3.8, quiet zone).
const MARGIN: i32 = 4;

/// A code for a terminal, two rows of modules in each line; light modules are the filled ones, since most terminals
/// are dark. None where the text is too long for any code.
pub fn for_terminal(text: &str) -> Option<String> {
    let code = encode(text)?;
    let last = code.size() + MARGIN;
    let is_light = |x, y| y < last && !code.get_module(x, y);
    let mut drawn = String::new();
    for y in (-MARGIN..last).step_by(2) {
        for x in -MARGIN..last {
            drawn.push(match (is_light(x, y), is_light(x, y + 1)) {
                (true, true) => '\u{2588}',
                (true, false) => '\u{2580}',
                (false, true) => '\u{2584}',
                (false, false) => ' ',
            });
        }
        drawn.push('\n');
    }
    Some(drawn)
}

/// A code as an SVG image of one unit for each module. None where the text is too long for any code.
pub fn svg(text: &str) -> Option<String> {
    let code = encode(text)?;
    let (size, whole) = (code.size(), code.size() + 2 * MARGIN);
    let mut path = String::new();
    for (x, y) in
        (0..size).flat_map(|y| (0..size).map(move |x| (x, y))).filter(|(x, y)| code.get_module(*x, *y))
    {
        write!(path, "M{},{}h1v1h-1z", x + MARGIN, y + MARGIN).expect("a text takes all that is written");
    }
    Some(format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {whole} {whole}\" shape-rendering=\"crispEdges\">\
         <rect width=\"100%\" height=\"100%\" fill=\"#fff\"/><path d=\"{path}\" fill=\"#000\"/></svg>\n"
    ))
}

fn encode(text: &str) -> Option<QrCode> {
    QrCode::encode_text(text, QrCodeEcc::Medium).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The finder pattern in three corners and none in the fourth: ISO/IEC 18004 section 6.3.3, by hand.
    #[test]
    fn a_code_has_its_corners() {
        let drawn = for_terminal("http://192.0.2.7:8417/trust").unwrap();
        let lines: Vec<Vec<char>> = drawn.lines().map(|line| line.chars().collect()).collect();
        let width = lines[0].len();
        assert!(lines.iter().all(|line| line.len() == width), "{drawn}");
        let is_dark = |x: usize, y: usize| match lines[y / 2][x] {
            ' ' => true,
            '\u{2588}' => false,
            '\u{2580}' => y % 2 == 1,
            _ => y.is_multiple_of(2),
        };
        let finder = |left: usize, top: usize| {
            let ring = |at: usize| usize::abs_diff(at, 3);
            (0..7).all(|y| (0..7).all(|x| is_dark(left + x, top + y) == (ring(x).max(ring(y)) != 2)))
        };
        let far = width - 4 - 7;
        assert!(finder(4, 4) && finder(far, 4) && finder(4, far), "{drawn}");
        assert!(!finder(far, far), "{drawn}");
        let image = svg("http://192.0.2.7:8417/trust").unwrap();
        assert!(image.contains(&format!("viewBox=\"0 0 {width} {width}\"")), "{image}");
        assert!(image.contains("M4,4h1v1h-1z") && !image.contains("M5,5h"), "{image}");
    }

    #[test]
    fn what_is_too_long_has_no_code() {
        // ISO/IEC 18004 table 7: 2331 bytes at most at level M.
        assert!(for_terminal(&"x".repeat(2331)).is_some());
        assert!(for_terminal(&"x".repeat(2332)).is_none() && svg(&"x".repeat(2332)).is_none());
    }
}
