//! How long a write-up takes with everything it can be, for a job of five hundred readings, beside general libraries.
//!
//! Each figure is drawn beside a plain line chart of as many points by a drawing library, which knows neither how to keep words
//! apart nor what a chart says; each card beside the mere packing of as many pixels as PNG. Best of a number of rounds, one thread.
//!
//! Left out: reading the book from disk, and photographs.

mod job;

use std::collections::BTreeSet;
use std::time::Instant;

use plotters::prelude::{ChartBuilder, Circle, IntoDrawingArea, LineSeries, SVGBackend};
use plotters::style::{BLACK, WHITE};
use storypole_drawing::{Look, Room};
use storypole_writeup::{Choices, Document, Format, Subject, Wanted, document, files};

/// Aims: seconds for everything, milliseconds for a figure.
const AIM_S: f64 = 3.0;
const AIM_FIGURE_MS: f64 = 5.0;

/// Runs both sides and prints the ratios.
pub fn run(rounds: usize) {
    let made = job::invented(1);
    let subject = Subject::Job(made.job);
    let choices = Choices::new("2025-05-24".parse().expect("a day"), env!("CARGO_PKG_VERSION"));
    let write = || document(&made.book, subject.clone(), &choices).expect("a job that was measured");
    let (document_ms, written) = best(rounds, write);
    println!(
        "\nwriteup: a job with {} readings, {} figures, {} headlines; best of {rounds}, one thread",
        made.readings,
        written.figures().count(),
        written.headlines.len()
    );
    println!("  the document:            {document_ms:>9.1} ms");
    let mut sum_ms = document_ms;
    for format in Format::ALL {
        let wanted = Wanted { formats: BTreeSet::from([format]), ..Wanted::everything() };
        let (took_ms, made) = best(rounds, || files(&written, &wanted).expect("files"));
        sum_ms += took_ms;
        let bytes: usize = made.iter().map(|file| file.bytes.len()).sum();
        println!(
            "  {:<24} {took_ms:>9.1} ms {:>4} files {:>7} kB",
            format!("{}:", format.word()),
            made.len(),
            bytes / 1000
        );
    }
    let (all_ms, _) = best(rounds, || files(&written, &Wanted::everything()).expect("files"));
    let total_s = (document_ms + all_ms) / 1000.0;
    println!(
        "  everything at once:      {:>9.2} s (one by one {:.2} s; aim under {AIM_S} s): {}",
        total_s,
        sum_ms / 1000.0,
        met(total_s < AIM_S)
    );
    figures(rounds, &written);
    cards(rounds, &written);
}

fn figures(rounds: usize, written: &Document) {
    println!("  figures, a sheet wide (aim under {AIM_FIGURE_MS} ms each):");
    for figure in written.figures() {
        let (own_ms, drawn) = best(rounds.max(20), || figure.chart.draw(Room::SHEET, Look::LIGHT));
        let Ok(drawn) = drawn else { continue };
        let shapes = drawn.svg.matches('<').count();
        let (peer_ms, _) = best(rounds.max(20), || plain(shapes / 2, drawn.height));
        println!(
            "    {:<32} {own_ms:>7.3} ms {:>5} shapes, {:>6.2} times a plain chart of the library: {}",
            figure.name,
            shapes,
            own_ms / peer_ms,
            met(own_ms < AIM_FIGURE_MS)
        );
    }
}

/// A line chart of so many points by the library.
fn plain(points: usize, height: f64) -> String {
    let mut svg = String::new();
    {
        let area =
            SVGBackend::with_string(&mut svg, (800, height.clamp(200.0, 4000.0) as u32)).into_drawing_area();
        area.fill(&WHITE).expect("a string");
        let mut chart = ChartBuilder::on(&area)
            .margin(20)
            .x_label_area_size(30)
            .y_label_area_size(40)
            .build_cartesian_2d(0f64..points as f64, 0f64..10.0)
            .expect("ranges");
        chart.configure_mesh().draw().expect("a string");
        let values: Vec<(f64, f64)> = (0..points).map(|at| (at as f64, (at % 10) as f64)).collect();
        chart.draw_series(LineSeries::new(values.iter().copied(), &BLACK)).expect("a string");
        chart.draw_series(values.iter().map(|at| Circle::new(*at, 3, BLACK))).expect("a string");
        area.present().expect("a string");
    }
    svg
}

fn cards(rounds: usize, written: &Document) {
    println!("  cards, each beside the packing of its pixels alone:");
    let all = Wanted::everything();
    for shape in all.shapes {
        for look in &all.looks {
            let mut one = written.clone();
            one.headlines.truncate(1);
            let paint = || {
                storypole_writeup::files::card::cards(&one, &BTreeSet::from([shape]), &[*look])
                    .expect("a card")
            };
            let (own_ms, made) = best(rounds, paint);
            let Some(card) = made.first() else { continue };
            let (width, height, pixels) = unpacked(&card.bytes);
            let (peer_ms, _) = best(rounds, || packed(width, height, &pixels));
            let clear = if look.clear { "clear" } else { "opaque" };
            println!(
                "    {:<6} {clear:<7} {own_ms:>8.1} ms, {:>6.2} times the packing",
                shape.word(),
                own_ms / peer_ms
            );
        }
    }
}

fn unpacked(png: &[u8]) -> (u32, u32, Vec<u8>) {
    let mut reader = png::Decoder::new(std::io::Cursor::new(png)).read_info().expect("a PNG");
    let mut pixels = vec![0; reader.output_buffer_size().expect("a size")];
    let told = reader.next_frame(&mut pixels).expect("a picture");
    pixels.truncate(told.buffer_size());
    (told.width, told.height, pixels)
}

fn packed(width: u32, height: u32, pixels: &[u8]) -> Vec<u8> {
    let mut out = Vec::new();
    let mut encoder = png::Encoder::new(&mut out, width, height);
    let channels = pixels.len() / (width as usize * height as usize);
    encoder.set_color(if channels == 4 { png::ColorType::Rgba } else { png::ColorType::Rgb });
    encoder.write_header().and_then(|mut writer| writer.write_image_data(pixels)).expect("a string of bytes");
    out
}

fn best<T>(rounds: usize, mut work: impl FnMut() -> T) -> (f64, T) {
    let mut least_ms = f64::INFINITY;
    let mut last = None;
    for _ in 0..rounds.max(1) {
        let begun = Instant::now();
        last = Some(work());
        least_ms = least_ms.min(begun.elapsed().as_secs_f64() * 1000.0);
    }
    (least_ms, last.expect("at least one round"))
}

fn met(is_met: bool) -> &'static str {
    if is_met { "met" } else { "NOT met" }
}
