//! How many batts the cutting plans of random walls buy, beside first-fit decreasing and beside no reuse at all.
//!
//! The gap is the count less the fewest pieces that any way of cutting could do with, so it is never too small; what is left
//! of it may be the plan's or the bound's. Both sides get the same parts, and the peer is the plain rule that the plan also
//! starts from. Left out: boards, and the time of fitting parts to bays, which is nothing beside either.

use std::time::Instant;

use storypole_takeoff::batts::{Batt, batts};
use storypole_takeoff::cuts::{self, Size, Stock};
use storypole_takeoff::fit::{Fit, fit};
use storypole_takeoff::wall::{End, Frame, Opening, Sill, Surface, Wall, frame};
use storypole_testkit::Chance;
use storypole_units::Length;

/// A sixteenth of an inch.
const SIXTEENTH_NM: i64 = 1_587_500;
/// Parts, or cavities, of one large plan.
const LARGE_PARTS: usize = 400;

/// What came out for one wall.
struct Outcome {
    bought: u32,
    bound: u32,
    first_fit: u32,
    no_reuse: u32,
    is_proven: bool,
    plan_ms: f64,
    first_fit_ms: f64,
}

/// Plans `count` walls and prints gaps and ratios.
pub fn run(count: usize) {
    let mut chance = Chance::new(1);
    let outcomes: Vec<Outcome> = (0..count).filter_map(|_| outcome(&mut chance)).collect();
    println!("\ntakeoff: cutting plans of {} random walls, batts by friction fit", outcomes.len());
    let total = |of: fn(&Outcome) -> u32| outcomes.iter().map(of).map(f64::from).sum::<f64>();
    let (bought, bound) = (total(|one| one.bought), total(|one| one.bound));
    let (first_fit, no_reuse) = (total(|one| one.first_fit), total(|one| one.no_reuse));
    println!(
        "  pieces: plans {bought}, at the very least {bound}, first-fit decreasing {first_fit}, no reuse {no_reuse}"
    );
    let gaps: Vec<f64> = outcomes.iter().map(|one| f64::from(one.bought) - f64::from(one.bound)).collect();
    spread("gap above the bound, pieces", &gaps);
    let relative = outcomes.iter().zip(&gaps).map(|(one, gap)| 100.0 * gap / f64::from(one.bound.max(1)));
    spread("gap above the bound, percent", &relative.collect::<Vec<_>>());
    let proven = outcomes.iter().filter(|one| one.is_proven).count();
    let fewer = outcomes.iter().filter(|one| one.bought < one.first_fit).count();
    let share = |part: usize| 100.0 * part as f64 / outcomes.len() as f64;
    println!("  proven that no plan with these cuts buys fewer: {:.1} percent", share(proven));
    println!("  fewer pieces than first-fit decreasing: {:.1} percent of walls", share(fewer));
    println!("  ratio (pieces, plan / first-fit decreasing): {:.4}", bought / first_fit);
    println!("  ratio (pieces, plan / no reuse): {:.4}", bought / no_reuse);
    let plan_ms: Vec<f64> = outcomes.iter().map(|one| one.plan_ms).collect();
    let first_fit_ms: Vec<f64> = outcomes.iter().map(|one| one.first_fit_ms).collect();
    spread("time of a plan, ms", &plan_ms);
    spread("time of first-fit decreasing, ms", &first_fit_ms);
    let sum = |times: &[f64]| times.iter().sum::<f64>();
    println!("  ratio (time, plan / first-fit decreasing): {:.0}", sum(&plan_ms) / sum(&first_fit_ms));
    let batt = Batt { width: nm(381_000_000), length: nm(2_362_200_000) };
    let sizes = (0..LARGE_PARTS).map(|_| {
        let [width, length] =
            [(48, 240), (96, 1488)].map(|(least, most)| nm(sixteenths(&mut chance, least, most)));
        Size { width, length }
    });
    large("parts of different sizes", &sizes.collect::<Vec<_>>(), batt);
    let cells = (0..).filter_map(|_| any_frame(&mut chance)).flat_map(|frame| frame.cells).take(LARGE_PARTS);
    let fitted = fit(&cells.collect::<Vec<_>>(), batt, Fit::inches()).expect("a batt that is sold");
    large("parts of many walls", &fitted.parts.iter().map(|part| part.size()).collect::<Vec<_>>(), batt);
}

/// Many parts in one plan, to see that time stays in bounds.
fn large(what: &str, parts: &[Size], batt: Batt) {
    let stock = Stock { width: batt.width, length: batt.length, kerf: Length::ZERO };
    let (time_ms, plan) = timed(|| cuts::plan(parts, stock, &[]).expect("parts within the batt"));
    println!(
        "  {} {what}: {} pieces, at least {}, first-fit decreasing {}, {time_ms:.1} ms (aim: under 50) {}",
        parts.len(),
        plan.bought,
        plan.bound,
        plan.first_fit,
        if time_ms < 50.0 { "met" } else { "NOT met" }
    );
}

fn outcome(chance: &mut Chance) -> Option<Outcome> {
    let frame = any_frame(chance)?;
    let (batt, usual) = any_batt(chance);
    let fitted = fit(&frame.cells, batt, usual).expect("a batt that is sold");
    let parts: Vec<Size> = fitted.parts.iter().map(|part| part.size()).collect();
    let stock = Stock { width: batt.width, length: batt.length, kerf: Length::ZERO };
    let (plan_ms, plan) = timed(|| cuts::plan(&parts, stock, &[]).expect("parts were cut from this batt"));
    let (first_fit_ms, first_fit) = timed(|| cuts::first_fit_decreasing(&parts, stock).expect("as before"));
    assert_eq!(plan.first_fit, first_fit, "both are the same rule");
    let no_reuse = batts(&frame, batt, usual.min_bay_width).expect("a batt that is sold").pieces;
    Some(Outcome {
        bought: plan.bought,
        bound: plan.bound,
        first_fit,
        no_reuse,
        is_proven: plan.proven,
        plan_ms,
        first_fit_ms,
    })
}

/// A wall of 3 to 30 ft with up to three openings; openings that do not stand together are left out, one by one.
fn any_frame(chance: &mut Chance) -> Option<Frame> {
    let length_nm = sixteenths(chance, 36 * 16, 360 * 16);
    let odd_nm = sixteenths(chance, 84 * 16, 120 * 16);
    let height_nm = *chance.pick(&[2_466_975_000, 2_771_775_000, odd_nm]);
    let spacing_nm = *chance.pick(&[304_800_000, 406_400_000, 487_680_000, 609_600_000]);
    let openings = (0..chance.below(4)).map(|_| any_opening(chance, length_nm, height_nm)).collect();
    let mut wall = Wall {
        surface: Surface::Wall,
        length: nm(length_nm),
        height: nm(height_nm),
        stud: nm(38_100_000),
        plates: 3,
        spacing: nm(spacing_nm),
        first: None,
        layout_from: End::Left,
        studs_at: Vec::new(),
        frames: 1,
        openings,
        blocking: Vec::new(),
    };
    loop {
        match frame(&wall) {
            Ok(frame) => return Some(frame),
            Err(_) => drop(wall.openings.pop()?),
        }
    }
}

fn any_opening(chance: &mut Chance, length_nm: i64, height_nm: i64) -> Opening {
    let width_nm = sixteenths(chance, 24 * 16, 72 * 16);
    let room = ((length_nm - width_nm) / SIXTEENTH_NM - 96).max(97);
    let left_nm = sixteenths(chance, 48, room.unsigned_abs());
    let header_nm = *chance.pick(&[76_200_000, 139_700_000, 184_150_000]);
    let head_nm = (height_nm - header_nm - 76_200_000 - sixteenths(chance, 0, 16 * 16)).min(2_095_500_000);
    let sill = chance.below(2) == 1;
    let sill = sill.then(|| Sill { height: nm(sixteenths(chance, 20 * 16, 48 * 16)), plates: 1 });
    Opening { left: nm(left_nm), width: nm(width_nm), head: nm(head_nm), header_depth: nm(header_nm), sill }
}

fn any_batt(chance: &mut Chance) -> (Batt, Fit) {
    let of = |width_nm, length_nm| Batt { width: nm(width_nm), length: nm(length_nm) };
    *chance.pick(&[
        (of(381_000_000, 2_362_200_000), Fit::inches()),
        (of(387_350_000, 1_193_800_000), Fit::inches()),
        (of(584_200_000, 2_362_200_000), Fit::inches()),
        (of(580_000_000, 1_170_000_000), Fit::millimetres()),
    ])
}

/// A length on the tape, in nm; `least` and `most` count sixteenths of an inch.
fn sixteenths(chance: &mut Chance, least: u64, most: u64) -> i64 {
    (least + chance.below(most - least)).cast_signed() * SIXTEENTH_NM
}

fn nm(nm: i64) -> Length {
    Length::from_nm(nm).expect("no wall is longer than 30 ft")
}

fn timed<T>(work: impl FnOnce() -> T) -> (f64, T) {
    let begun = Instant::now();
    let result = work();
    (begun.elapsed().as_secs_f64() * 1e3, result)
}

fn spread(what: &str, values: &[f64]) {
    let mut values = values.to_vec();
    values.sort_unstable_by(f64::total_cmp);
    let at = |percent: usize| values[(values.len() - 1) * percent / 100];
    println!("  {what}: median {:.3}, 95 of 100 {:.3}, worst {:.3}", at(50), at(95), at(100));
}
