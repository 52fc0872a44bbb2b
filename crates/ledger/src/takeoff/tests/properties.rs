//! What holds for any take-off: more at hand never buys more, a wall seen from behind takes the same, a plan never buys short,
//! all of it takes no less than what is new, and no record makes it stop.

use proptest::prelude::*;
use storypole_notebook::Value;
use storypole_takeoff::wall::Cell;
use storypole_units::{Area, Length};

use super::*;

fn nm(nm: i64) -> Value {
    Value::Length(Length::from_nm(nm).unwrap())
}

fn tenths_of_inch(tenths: i64) -> i64 {
    tenths * 2_540_000
}

/// Part, name and count of every need.
fn counted(sheet: &Sheet) -> Vec<(Part, String, Decimal)> {
    sheet.needs.iter().map(|need| (need.part, need.name.clone(), need.wanted)).collect()
}

/// Where things stand along a wall of two walls, in tenths of an inch; mirrored, from the other end.
#[derive(Debug, Clone)]
struct Along {
    runs: [i64; 2],
    first: Option<i64>,
    from_right: bool,
    studs: Vec<i64>,
    /// Left edge, width.
    doors: Vec<(i64, i64)>,
    /// Left and right end.
    row: Option<(Option<i64>, Option<i64>)>,
}

impl Along {
    fn mirrored(&self) -> Self {
        let length: i64 = self.runs.iter().sum();
        let back = |at: i64| length - at;
        Self {
            runs: [self.runs[1], self.runs[0]],
            first: self.first,
            from_right: !self.from_right,
            studs: self.studs.iter().rev().map(|at| back(*at)).collect(),
            doors: self.doors.iter().rev().map(|(left, width)| (back(left + width), *width)).collect(),
            row: self.row.map(|(left, right)| (right.map(back), left.map(back))),
        }
    }

    fn wall(&self) -> Fixture {
        let mut all = walls();
        let length = nm(tenths_of_inch(self.runs.iter().sum()));
        for label in ["A11", "A12"] {
            all.change_value("assembly", label, "length", Some(length.clone()));
        }
        let listed = |places: &[i64]| -> Option<Value> {
            let inches = |tenths: &i64| format!("{}.{} in", tenths / 10, tenths % 10);
            let text = places.iter().map(inches).collect::<Vec<_>>().join("; ");
            (!places.is_empty()).then_some(Value::Text(text))
        };
        all.change_value("assembly", "A11", "runs", listed(&self.runs));
        all.change_value("assembly", "A11", "studs_at", listed(&self.studs));
        all.change_value("assembly", "A11", "first_stud", self.first.map(|at| nm(tenths_of_inch(at))));
        all.change("assembly", "A11", &[("layout_from", if self.from_right { "right" } else { "left" })]);
        all.change("assembly", "A12", &[("leaf_b", "gypsum 15.9 x2, channel 13@566"), ("seals", "B 2")]);
        for (index, (left, width)) in self.doors.iter().enumerate() {
            let key = format!("D{index}");
            all.put("opening", &key, &[("assembly", "A11"), ("head", "80 in"), ("header_depth", "5 in")]);
            all.change_value("opening", &key, "left", Some(nm(tenths_of_inch(*left))));
            all.change_value("opening", &key, "width", Some(nm(tenths_of_inch(*width))));
        }
        if let Some((left, right)) = self.row {
            all.put("blocking", "row", &[("assembly", "A11"), ("height", "50 in")]);
            all.change_value("blocking", "row", "left", left.map(|at| nm(tenths_of_inch(at))));
            all.change_value("blocking", "row", "right", right.map(|at| nm(tenths_of_inch(at))));
        }
        all
    }
}

prop_compose! {
    /// Places are shares of the length, in thousandths: a door and a measured stud in either wall, a row over both.
    fn any_along()(
        runs in [400i64..1500, 400i64..1500],
        first in proptest::option::of(50i64..250),
        from_right in any::<bool>(),
        studs in [proptest::option::of(150i64..850), proptest::option::of(150i64..850)],
        doors in [proptest::option::of((100i64..500, 100i64..150)), proptest::option::of((100i64..500, 100i64..150))],
        row in proptest::option::of((proptest::option::of(0i64..400), proptest::option::of(600i64..1000))),
    ) -> Along {
        let length: i64 = runs.iter().sum();
        let within = |run: usize, share: i64| (if run == 0 { 0 } else { runs[0] }) + runs[run] * share / 1000;
        Along {
            runs,
            first,
            from_right,
            studs: (0..2).filter_map(|run| Some(within(run, studs[run]?))).collect(),
            doors: (0..2).filter_map(|run| doors[run].map(|(share, width)| (within(run, share), width))).collect(),
            row: row.map(|(left, right)| [left, right].map(|end| end.map(|share| length * share / 1000))).map(|[left, right]| (left, right)),
        }
    }
}

const LENGTHS: [i64; 10] = [
    0,
    1,
    38_100_000,
    89_000_000,
    381_000_000,
    406_400_000,
    2_362_200_000,
    3_810_000_000,
    50_000_000_000,
    1_000_000_000_000_000,
];
const TEXTS: [&str; 12] = [
    "",
    "none",
    "unknown",
    "open",
    "64 in; 86 in",
    "16 in; 150 in",
    "0 in",
    "gypsum 9999999 x255, channel 9999999@9999999, damping",
    "gypsum 0 x1, channel 0@0",
    "double wood 38x0@406, gap 9999999",
    "9999999 clear, cellulose 9999999, 9999999 kg/m3, 0%",
    "A 9, B 9",
];
const FIELDS: [(&str, &str); 20] = [
    ("length", "l"),
    ("height", "l"),
    ("stud_face", "l"),
    ("stud_spacing", "l"),
    ("first_stud", "l"),
    ("leaf_a", "t"),
    ("leaf_b", "t"),
    ("frame", "t"),
    ("cavity", "t"),
    ("seals", "t"),
    ("studs_at", "t"),
    ("runs", "t"),
    ("element", "t"),
    ("layout_from", "t"),
    ("plate_count", "n"),
    ("label", "t"),
    ("replaces", "r"),
    ("job", "j"),
    ("leaf_b", "t"),
    ("frame", "t"),
];

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn more_at_hand_never_buys_more(
        sheets in 0i64..20,
        pieces in 0i64..40,
        more in 0i64..20,
        waste in 0i64..100,
        by_plan in any::<bool>(),
    ) {
        let bought = |sheets: i64, pieces: i64| {
            let mut all = walls();
            all.change("assembly", "A03", &[("leaf_a", "gypsum type x 15.9 x1, 11 kg/m2, direct")]);
            all.change("material", "board-58x", &[("pack_unit", "lift"), ("pack_size", "4")]);
            let (sheets, pieces) = (sheets.to_string(), pieces.to_string());
            let lines = [("board-58x", sheets.as_str(), "sheet", "17.85"), ("batt", pieces.as_str(), "piece", "6.00")];
            all.receipt("P1", &[("job", "J1"), ("date", "2025-03-04")], &lines);
            let waste = storypole_takeoff::Waste::from_fraction(Decimal::from_parts(waste.into(), 2).unwrap()).ok();
            let sheet = of(&all, "A03", &Ask { waste, by_plan, ..Ask::default() });
            let told = |need: &Need| (need.part, need.to_buy, need.packs.clone().map_or(0, |packs| packs.1));
            sheet.needs.iter().map(told).collect::<Vec<_>>()
        };
        let (less, more) = (bought(sheets, pieces), bought(sheets + more, pieces + more));
        prop_assert_eq!(less.len(), more.len());
        for (less, more) in less.iter().zip(&more) {
            prop_assert!(more.1 <= less.1 && more.2 <= less.2, "{:?} {:?}", less, more);
        }
    }

    #[test]
    fn a_wall_seen_from_behind_takes_the_same(along in any_along()) {
        let of_side = |along: &Along| {
            let all = along.wall();
            let sheet = takeoff(&all.book, all.id("assembly", "A12"), &Ask::default());
            sheet.map(|sheet| (counted(&sheet), sheet.net_area, sheet.batts.map(|plan| plan.without_reuse)))
        };
        let (front, back) = (of_side(&along), of_side(&along.mirrored()));
        prop_assert_eq!(front.is_ok(), back.is_ok());
        prop_assume!(front.is_ok());
        prop_assert_eq!(front, back);
    }

    /// Every cell takes the pieces that the rule counts for it, and what the plan buys covers all that are filled.
    #[test]
    fn a_plan_never_buys_short(along in any_along()) {
        let all = along.wall();
        let sheet = takeoff(&all.book, all.id("assembly", "A12"), &Ask::default());
        prop_assume!(sheet.is_ok());
        let plan = sheet.unwrap().batts.unwrap();
        for (index, planned) in plan.cells.iter().enumerate() {
            let parts = plan.fitted.parts.iter().filter(|part| part.cell == index).count();
            prop_assert_eq!(parts, planned.pieces as usize);
        }
        let face = |cell: &Cell| Area::of(cell.width, cell.height).nm2();
        let filled: i128 = plan.cells.iter().filter(|one| one.pieces > 0).map(|one| face(&one.cell)).sum();
        prop_assert!(plan.batt.coverage(plan.cuts.bought).unwrap().nm2() >= filled);
    }

    #[test]
    fn all_of_it_takes_no_less_than_what_is_new(index in 0usize..4, waste in 0i64..100) {
        let all = walls();
        let label = ["A03", "A09", "A10", "A12"][index];
        let waste = storypole_takeoff::Waste::from_fraction(Decimal::from_parts(waste.into(), 2).unwrap()).ok();
        let [new, whole] = [false, true].map(|whole| of(&all, label, &Ask { waste, whole, ..Ask::default() }));
        for need in &new.needs {
            let sum = |sheet: &Sheet| -> Decimal {
                sheet.needs.iter().filter(|one| one.part == need.part && one.name == need.name).map(|one| one.wanted).sum()
            };
            prop_assert!(sum(&whole) >= sum(&new), "{}", need.name);
        }
    }

    /// Whatever a device wrote into a wall, its openings and its goods.
    #[test]
    fn no_record_stops_it(
        walls_changed in proptest::collection::vec((0usize..20, 0usize..12, any::<bool>()), 0..6),
        goods_changed in proptest::collection::vec((0usize..4, 0usize..4, 0usize..10), 0..4),
        hole in (0usize..10, 0usize..10, 0usize..10, proptest::option::of(0usize..10)),
        row in (0usize..10, proptest::option::of(0usize..10), proptest::option::of(0usize..10)),
        by_plan in any::<bool>(),
    ) {
        let mut all = walls();
        let length = |index: usize| Some(nm(LENGTHS[index % LENGTHS.len()]));
        for (field, index, is_old) in walls_changed {
            let label = if is_old { "A11" } else { "A12" };
            let (field, takes) = FIELDS[field];
            let value = match takes {
                "l" => length(index),
                "t" => Some(Value::Text(TEXTS[index].to_owned())),
                "n" => Some(Value::Integer([-1, 0, 3, i64::MAX][index % 4])),
                "r" => Some(Value::Record(all.id("assembly", ["A11", "A12", "A01"][index % 3]))),
                _ => None,
            };
            all.change_value("assembly", label, field, value);
        }
        for (material, field, index) in goods_changed {
            let material = ["batt", "board-58x", "channel", "sealant"][material];
            match field {
                3 => all.change_value("material", material, "content_ml", Some(Value::Decimal(Decimal::ZERO))),
                field => all.change_value("material", material, ["width", "length", "thickness"][field], length(index)),
            }
        }
        all.put("opening", "hole", &[("assembly", "A11")]);
        for (field, index) in [("left", hole.0), ("width", hole.1), ("head", hole.2)] {
            all.change_value("opening", "hole", field, length(index));
        }
        all.change_value("opening", "hole", "sill", hole.3.and_then(length));
        if hole.0 == 0 {
            all.strike("opening", "hole");
        }
        all.put("blocking", "row", &[("assembly", "A12")]);
        all.change_value("blocking", "row", "height", length(row.0));
        all.change_value("blocking", "row", "left", row.1.and_then(length));
        all.change_value("blocking", "row", "right", row.2.and_then(length));
        for label in ["A11", "A12"] {
            let counted = takeoff(&all.book, all.id("assembly", label), &Ask { by_plan, ..Ask::default() });
            if let Ok(sheet) = counted {
                prop_assert!(sheet.framed.is_none_or(|share| (0.0..=1.0).contains(&share)));
                prop_assert!(sheet.needs.iter().all(|need| !need.to_buy.is_negative() && need.exact.is_finite()));
            }
        }
    }
}
