//! A laid-out card as SVG, and the SVG as PNG.
//!
//! Leaves out where things stand.

use std::fmt::Write;

use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use image::{ExtendedColorType, ImageEncoder};
use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Options, Tree};
use storypole_drawing::{Look, Tone};

use super::fit::directed;
use super::layout::{Bar, CHART_EDGE, Layout, Place, TextBox, panel};
use crate::files::CardShape;

/// How much of a film a panel hides: its words stay at 4.5:1 or better over anything.
pub(crate) const PANEL_OPACITY: f64 = 0.88;

/// Writes a card as SVG.
pub(crate) fn svg(layout: &Layout, shape: CardShape, look: Look) -> String {
    let (width, height) = shape.size();
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" height=\"{height}\">\n"
    );
    let paper = Tone::Paper.colour(look.ground);
    if look.clear {
        rect(&mut out, panel(shape), &format!("{paper}\" fill-opacity=\"{PANEL_OPACITY}"));
    } else {
        let all = Place { left: 0.0, top: 0.0, width: f64::from(width), height: f64::from(height) };
        rect(&mut out, all, paper);
    }
    for Bar { place, tone } in &layout.bars {
        rect(&mut out, *place, tone.colour(look.ground));
    }
    if let Some(chart) = &layout.chart {
        let edge = CHART_EDGE * chart.scale;
        let (left, top) = (chart.place.left - edge, chart.place.top - edge);
        writeln!(out, "<g transform=\"translate({left:.2} {top:.2}) scale({:.4})\">", chart.scale)
            .and_then(|()| writeln!(out, "{}</g>", chart.picture.svg))
            .expect("a string takes all text");
    }
    for line in &layout.boxes {
        text(&mut out, line, look);
    }
    out.push_str("</svg>\n");
    out
}

fn rect(out: &mut String, place: Place, fill: &str) {
    let Place { left, top, width, height } = place;
    writeln!(
        out,
        "<rect x=\"{left:.2}\" y=\"{top:.2}\" width=\"{width:.2}\" height=\"{height:.2}\" fill=\"{fill}\"/>"
    )
    .expect("a string takes all text");
}

fn text(out: &mut String, line: &TextBox, look: Look) {
    let words = escaped(&directed(&line.text, line.rtl));
    writeln!(
        out,
        "<text x=\"{:.2}\" y=\"{:.2}\" font-family=\"{}\" font-size=\"{:.2}\" font-weight=\"{}\" fill=\"{}\">{words}</text>",
        line.start.0,
        line.start.1,
        line.cut.family.name(),
        line.size,
        if line.cut.bold { "bold" } else { "normal" },
        line.tone.colour(look.ground),
    )
    .expect("a string takes all text");
}

/// Escapes a text for XML; control characters are out of it already.
pub(crate) fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

/// Paints an SVG as PNG, one pixel to a unit.
///
/// # Errors
/// Why it cannot be read or painted; what is written here always can.
pub(crate) fn png(svg: &str, shape: CardShape, look: Look, options: &Options<'_>) -> Result<Vec<u8>, String> {
    let tree = Tree::from_str(svg, options).map_err(|error| error.to_string())?;
    let (width, height) = shape.size();
    let mut pixmap = Pixmap::new(width, height).ok_or("there is no memory for it")?;
    resvg::render(&tree, Transform::identity(), &mut pixmap.as_mut());
    let mut bytes = Vec::new();
    let encoder = PngEncoder::new_with_quality(&mut bytes, CompressionType::Fast, FilterType::Up);
    let written = if look.clear {
        let pixels = pixmap.take_demultiplied();
        encoder.write_image(&pixels, width, height, ExtendedColorType::Rgba8)
    } else {
        let mut pixels = Vec::with_capacity(pixmap.data().len() / 4 * 3);
        pixmap.data().chunks_exact(4).for_each(|pixel| pixels.extend_from_slice(&pixel[..3]));
        encoder.write_image(&pixels, width, height, ExtendedColorType::Rgb8)
    };
    written.map_err(|error| error.to_string())?;
    Ok(bytes)
}
