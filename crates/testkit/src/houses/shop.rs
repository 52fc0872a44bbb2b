//! What the shops of the generated notebook sell, and a receipt of it. Names and prices are invented.

use jiff::civil::Date;
use storypole_journal::RecordId;
use storypole_notebook::Value;
use storypole_units::{Decimal, Length, Money};

use super::pen::{Pen, currency, text};
use super::truth::{Bought, Named};
use super::wall::Wall;

/// Sales tax, hundredths of a percent.
const TAX_RATE: i64 = 650;

pub(super) const SUPPLIERS: &[(&str, &str)] = &[
    ("pewter-gull", "Pewter Gull Building Supply"),
    ("sawpit", "Sawpit Bend Lumber"),
    ("copper-finch", "Copper Finch Hardware"),
    ("gravel-street", "Gravel Street Boards"),
    ("nine-lamps", "Nine Lamps Tool Rental"),
    ("marl-yard", "Marl Yard Insulation"),
    ("old-ferry", "Old Ferry Doors"),
    ("hollow-oak", "Hollow Oak Timber"),
];

/// Something that is sold.
pub(super) struct Ware {
    label: &'static str,
    name: &'static str,
    item: &'static str,
    unit: &'static str,
    cents: i64,
    made_of: &'static str,
    thickness: &'static str,
    label_r: i64,
    group: &'static str,
}

const fn ware(
    label: &'static str,
    (name, item): (&'static str, &'static str),
    (unit, cents): (&'static str, i64),
    (made_of, thickness, label_r): (&'static str, &'static str, i64),
    group: &'static str,
) -> Ware {
    Ware { label, name, item, unit, cents, made_of, thickness, label_r, group }
}

const MATERIAL: &str = "material";

pub(super) const WARES: &[Ware] = &[
    ware(
        "gf-r13",
        ("glass-fibre batt R-13, 15x93", "GLASS FIBRE BATT R-13 15X93"),
        ("pack", 6_240),
        ("glass fibre", "3.5 in", 13),
        MATERIAL,
    ),
    ware(
        "gf-r19",
        ("glass-fibre batt R-19, 15x93", "GLASS FIBRE BATT R-19 15X93"),
        ("pack", 7_810),
        ("glass fibre", "6.25 in", 19),
        MATERIAL,
    ),
    ware(
        "sw-r15",
        ("stone-wool batt R-15, 15.25x47", "STONE WOOL BATT R-15 15-1/4X47"),
        ("pack", 7_125),
        ("stone wool", "3.5 in", 15),
        MATERIAL,
    ),
    ware(
        "sw-r23",
        ("stone-wool batt R-23, 15.25x47", "STONE WOOL BATT R-23 15-1/4X47"),
        ("pack", 9_460),
        ("stone wool", "5.5 in", 23),
        MATERIAL,
    ),
    ware(
        "cell-25",
        ("cellulose, loose, 25 lb bag", "CELLULOSE LOOSE 25 LB"),
        ("bag", 1_375),
        ("cellulose", "", 0),
        MATERIAL,
    ),
    ware(
        "cot-r13",
        ("cotton batt R-13, 16x48", "COTTON BATT R-13 16X48"),
        ("pack", 8_890),
        ("cotton", "3.5 in", 13),
        MATERIAL,
    ),
    ware(
        "foam-kit",
        ("open-cell spray foam kit", "SPRAY FOAM KIT OPEN CELL"),
        ("kit", 29_900),
        ("foam", "", 0),
        MATERIAL,
    ),
    ware(
        "bd-12",
        ("drywall 1/2 4x8", "DRYWALL 1/2 4X8"),
        ("sheet", 1_302),
        ("gypsum", "1/2 in", 0),
        MATERIAL,
    ),
    ware(
        "bd-58",
        ("drywall 5/8 type X 4x8", "DRYWALL 5/8 TYPE X 4X8"),
        ("sheet", 1_785),
        ("gypsum", "5/8 in", 0),
        MATERIAL,
    ),
    ware("stud-24", ("stud 2x4x8 ft", "STUD 2X4X8"), ("each", 436), ("wood", "3 1/2 in", 0), MATERIAL),
    ware("stud-26", ("stud 2x6x8 ft", "STUD 2X6X8"), ("each", 712), ("wood", "5 1/2 in", 0), MATERIAL),
    ware(
        "stud-steel",
        ("steel stud 3-5/8, 8 ft", "STEEL STUD 3-5/8X8"),
        ("each", 588),
        ("steel", "3 5/8 in", 0),
        MATERIAL,
    ),
    ware(
        "rc-12",
        ("resilient channel 12 ft", "RESILIENT CHANNEL 12 FT"),
        ("piece", 695),
        ("steel", "", 0),
        MATERIAL,
    ),
    ware("clip-iso", ("isolation clip", "ISOLATION CLIP"), ("each", 415), ("steel", "", 0), MATERIAL),
    ware(
        "seal-28",
        ("acoustical sealant 28 fl oz", "ACOUSTICAL SEALANT 28 OZ"),
        ("tube", 925),
        ("sealant", "", 0),
        MATERIAL,
    ),
    ware(
        "damp-29",
        ("damping compound 29 fl oz", "DAMPING COMPOUND 29 OZ"),
        ("tube", 1_640),
        ("sealant", "", 0),
        MATERIAL,
    ),
    ware(
        "screw-1",
        ("drywall screws 1 lb", "DRYWALL SCREWS 1-1/4 1 LB"),
        ("box", 860),
        ("steel", "", 0),
        MATERIAL,
    ),
    ware(
        "mud-45",
        ("joint compound, 45 lb", "JOINT COMPOUND 45 LB"),
        ("pail", 1_890),
        ("gypsum", "", 0),
        MATERIAL,
    ),
    ware(
        "tape-250",
        ("paper joint tape 250 ft", "JOINT TAPE PAPER 250 FT"),
        ("roll", 450),
        ("other", "", 0),
        MATERIAL,
    ),
    ware(
        "pad-putty",
        ("putty pad for boxes", "PUTTY PAD FOR BOXES"),
        ("each", 640),
        ("other", "", 0),
        MATERIAL,
    ),
    ware(
        "door-sc",
        ("solid-core door slab 32x80", "DOOR SLAB SOLID CORE 32X80"),
        ("each", 18_900),
        ("wood", "", 0),
        MATERIAL,
    ),
    ware("gasket", ("perimeter gasket kit", "DOOR GASKET KIT"), ("kit", 4_850), ("other", "", 0), MATERIAL),
    ware(
        "drop-seal",
        ("automatic door bottom", "AUTOMATIC DOOR BOTTOM"),
        ("each", 6_400),
        ("other", "", 0),
        MATERIAL,
    ),
    ware(
        "rent-blower",
        ("insulation blower, one day", "RENTAL INSULATION BLOWER 1 DAY"),
        ("day", 8_500),
        ("other", "", 0),
        "rental",
    ),
    ware(
        "rent-lift",
        ("drywall lift, one day", "RENTAL DRYWALL LIFT 1 DAY"),
        ("day", 4_200),
        ("other", "", 0),
        "rental",
    ),
];

/// Ids of what is sold and who sells it.
#[derive(Debug, Clone, Default)]
pub(super) struct Shop {
    materials: Vec<RecordId>,
    suppliers: Vec<RecordId>,
}

impl Shop {
    /// Writes materials and suppliers.
    pub(super) fn open(pen: &mut Pen<'_>) -> Self {
        let suppliers = SUPPLIERS
            .iter()
            .map(|(label, name)| pen.write("supplier", &[("label", text(label)), ("name", text(name))]))
            .collect();
        let materials = WARES.iter().map(|ware| material(pen, ware)).collect();
        Self { materials, suppliers }
    }

    /// Writes a receipt for these wares, by their place in the list, each with its quantity.
    pub(super) fn receipt(
        &self,
        pen: &mut Pen<'_>,
        job: RecordId,
        label: String,
        date: Date,
        basket: &[(usize, i64)],
    ) -> Bought {
        let seller = usize::try_from(pen.chance.below(SUPPLIERS.len() as u64)).unwrap_or(0);
        let subtotal: i64 = basket.iter().map(|(ware, quantity)| WARES[*ware].cents * quantity).sum();
        // Half a cent goes up: all amounts here are above zero.
        let tax_cents = (subtotal * TAX_RATE + 5_000) / 10_000;
        let total_cents = subtotal + tax_cents;
        let receipt = pen.write(
            "receipt",
            &[
                ("label", text(&label)),
                ("supplier", Value::Record(self.suppliers[seller])),
                ("date", Value::Date(date)),
                ("job", Value::Record(job)),
                ("tax_rate", Value::Decimal(decimal(TAX_RATE, 2))),
                ("printed_tax", money(tax_cents)),
                ("printed_total", money(total_cents)),
            ],
        );
        for (place, (ware, quantity)) in basket.iter().enumerate() {
            self.line(pen, receipt, place + 1, (*ware, *quantity));
        }
        let items = basket.iter().map(|(ware, _)| WARES[*ware].item).collect();
        Bought {
            receipt: Named { record: receipt, label },
            date,
            supplier: SUPPLIERS[seller].1,
            items,
            total_cents,
        }
    }

    fn line(&self, pen: &mut Pen<'_>, receipt: RecordId, place: usize, (index, quantity): (usize, i64)) {
        let ware = &WARES[index];
        pen.write(
            "line",
            &[
                ("receipt", Value::Record(receipt)),
                ("place", Value::Integer(i64::try_from(place).unwrap_or(1))),
                ("material", Value::Record(self.materials[index])),
                ("item", text(ware.item)),
                ("quantity", Value::Decimal(Decimal::from_int(quantity))),
                ("unit", text(ware.unit)),
                ("unit_price", money(ware.cents)),
                ("taxed", Value::Flag(true)),
                ("cost_group", text(ware.group)),
            ],
        );
    }
}

fn material(pen: &mut Pen<'_>, ware: &Ware) -> RecordId {
    let mut fields = vec![
        ("label", text(ware.label)),
        ("name", text(ware.name)),
        ("unit", text(ware.unit)),
        ("valued", Value::Flag(false)),
        ("made_of", text(ware.made_of)),
    ];
    if !ware.thickness.is_empty() {
        fields.push((
            "thickness",
            Value::Length(Length::parse(ware.thickness).expect("thicknesses here are lengths")),
        ));
    }
    if ware.label_r > 0 {
        fields.push(("label_r", Value::Decimal(Decimal::from_int(ware.label_r))));
    }
    pen.write("material", &fields)
}

/// What a wall of this face needs, in one or two receipts: wares with their quantities.
pub(super) fn baskets(wall: &Wall, area_ft2: f64, is_new_door: IsNew) -> Vec<Vec<(usize, i64)>> {
    let per = |ft2: f64| ((area_ft2 / ft2).ceil() as i64).max(1);
    let of = |label: &str| WARES.iter().position(|ware| ware.label == label).expect("a ware of the list");
    let mut first = Vec::new();
    let is_deep = wall.fill.is_some_and(|fill| fill.thickness_mm >= 140);
    match wall.fill.map(|fill| fill.name) {
        Some("glass fibre") => first.push((of(if is_deep { "gf-r19" } else { "gf-r13" }), per(106.0))),
        Some("stone wool") => first.push((of(if is_deep { "sw-r23" } else { "sw-r15" }), per(60.0))),
        Some("cellulose") => first.extend([(of("cell-25"), per(22.0)), (of("rent-blower"), 1)]),
        Some("cotton") => first.push((of("cot-r13"), per(64.0))),
        Some(_) => first.push((of("foam-kit"), 1)),
        None => (),
    }
    let boards = i64::from(wall.boards_b.max(1)) * per(32.0);
    first.push((of(if wall.board_tenths_mm == 127 { "bd-12" } else { "bd-58" }), boards));
    match wall.framing.class {
        "resilient" => first.push((of("rc-12"), per(20.0))),
        "clip" => first.push((of("clip-iso"), per(8.0))),
        "staggered" | "double" => first.push((of("stud-24"), per(8.0))),
        "single-steel-thin" => first.push((of("stud-steel"), per(11.0))),
        _ => (),
    }
    let mut second = vec![(of("screw-1"), per(60.0))];
    if wall.beads > 0 {
        second.push((of("seal-28"), i64::from(wall.beads) * per(50.0)));
    }
    if wall.is_damped {
        second.push((of("damp-29"), per(16.0)));
    }
    if wall.opening.notation.contains("solid-core") && is_new_door == IsNew::Yes {
        second.extend([(of("door-sc"), 1), (of("gasket"), 1), (of("drop-seal"), 1)]);
    } else if wall.opening.notation.contains("tight") {
        second.push((of("pad-putty"), 2));
    } else {
        second.push((of("mud-45"), 1));
    }
    vec![first, second]
}

/// Whether the door was bought for the job.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum IsNew {
    /// It was.
    Yes,
    /// It was there before.
    No,
}

fn decimal(mantissa: i64, scale: u32) -> Decimal {
    Decimal::from_parts(i128::from(mantissa), scale).expect("small numbers are decimals")
}

pub(super) fn money(cents: i64) -> Value {
    Value::Money(Money::new(decimal(cents, 2), currency()))
}
