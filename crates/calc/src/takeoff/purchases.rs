//! Packs, sealant, loose fill and channel: one purchase each, counted in what is sold whole.
//!
//! Leaves out boards, which have a file of their own, and prices.

use storypole_takeoff::channel::{ChannelError, ChannelNeed, DoorCut, channel};
use storypole_takeoff::loose_fill::{FillError, FillNeed, KG_PER_LB, loose_fill};
use storypole_takeoff::packs::{PackNeed, PacksError, packs};
use storypole_takeoff::sealant::{Bead, IN3_PER_US_FL_OZ, SealantError, SealantNeed, sealant};
use storypole_takeoff::{Batt, Waste};
use storypole_units::density::DensityUnit;
use storypole_units::{Density, Length};

use super::measures::{
    FOOT, INCH, NEEDED, WASTE, area_ft2, count, count_or, decimal, positive, tell_unknown, waste,
};
use crate::answering::Answering;
use crate::{Answer, Calc, Field, Fields, Refused};

const LENGTH: Field = Field { name: "length_in", about: "of the wall, in" };
const HEIGHT: Field = Field { name: "height_in", about: "of the wall, from floor to ceiling, in" };

const DOOR_NAMES: &[&str] = &["ro_width_in", "ro_head_in"];

pub(super) const PACKS: Calc = Calc {
    name: "takeoff.packs",
    about: "Packs of batts, waste first, stock second, whole packs last: common practice, no source.",
    takes: &[
        Field { name: "pieces_required", about: "batts that the wall takes" },
        WASTE,
        Field { name: "loose_pieces_in_stock", about: "batts that lie there already; 0 when left out" },
        Field { name: "pieces_per_pack", about: "from the label" },
        Field { name: "batt_width_in", about: "of one batt, in" },
        Field { name: "batt_length_in", about: "of one batt, in" },
    ],
    gives: &[
        Field { name: "pieces_with_waste", about: "rounded up" },
        Field { name: "pieces_to_buy", about: "of these, beyond the stock" },
        Field { name: "packs", about: "whole packs" },
        Field {
            name: "left_over_pieces_if_estimate_is_right",
            about: "pieces left, those of the stock included, if the wall takes just what was counted",
        },
        Field { name: "coverage_per_pack_ft2", about: "face of a pack's pieces, without studs" },
        NEEDED,
    ],
    example: r#"{"pieces_required": 9, "waste_fraction": 0.05, "loose_pieces_in_stock": 0, "pieces_per_pack": 11, "batt_width_in": 15, "batt_length_in": 93}"#,
    run: packs_of_batts,
};

pub(super) const SEALANT: Calc = Calc {
    name: "takeoff.sealant",
    about: "Tubes of sealant for the four edges of a wall, by the volume of a round bead: geometry.",
    takes: &[
        LENGTH,
        HEIGHT,
        Field { name: "beads", about: "along every edge, both sides counted" },
        Field { name: "bead_diameter_in", about: "of a round bead, in" },
        Field { name: "tube_fl_oz", about: "what a tube holds, US fluid ounces" },
        Field { name: "in3_per_fl_oz", about: "231/128, exact in the US, when left out" },
        WASTE,
    ],
    gives: &[
        Field { name: "perimeter_ft", about: "all four edges" },
        Field { name: "bead_ft", about: "all beads, without waste" },
        Field { name: "in3_per_ft", about: "volume of a foot of bead" },
        Field { name: "ft_per_tube", about: "feet of bead from one tube" },
        NEEDED,
        Field { name: "tubes", about: "whole tubes, with waste" },
    ],
    example: r#"{"length_in": 144, "height_in": 97.125, "beads": 2, "bead_diameter_in": 0.25, "tube_fl_oz": 28, "in3_per_fl_oz": 1.8046875, "waste_fraction": 0.10}"#,
    run: tubes_of_sealant,
};

pub(super) const LOOSE_FILL: Calc = Calc {
    name: "takeoff.loose_fill",
    about: "Bags of loose fill blown into cavities, by weight: geometry. Whether they may be filled is for local code.",
    takes: &[
        Field { name: "net_cavity_area_ft2", about: "cavities without wood" },
        Field { name: "depth_in", about: "of the cavities, in" },
        Field { name: "density_lb_ft3", about: "of the fill as it lies in the cavity" },
        Field { name: "bag_lb", about: "what a bag holds" },
        WASTE,
    ],
    gives: &[
        Field { name: "volume_ft3", about: "of the cavities" },
        Field { name: "weight_lb", about: "of the fill in them, without waste" },
        NEEDED,
        Field { name: "bags", about: "whole bags, with waste" },
    ],
    example: r#"{"net_cavity_area_ft2": 82.977, "depth_in": 3.5, "density_lb_ft3": 3.5, "bag_lb": 25, "waste_fraction": 0.05}"#,
    run: bags_of_fill,
};

pub(super) const CHANNEL: Calc = Calc {
    name: "takeoff.channel",
    about: "Rows of resilient channel on one side of a wall: common practice, no source; a tested listing comes first.",
    takes: &[
        LENGTH,
        HEIGHT,
        Field { name: "first_row_above_floor_in", about: "2 when left out" },
        Field { name: "last_row_below_ceiling_in", about: "6 when left out" },
        Field { name: "max_spacing_in", about: "most between two rows; 24 when left out" },
        Field { name: "door", about: "ro_width_in and ro_head_in; null or left out where there is none" },
        Field { name: "piece_ft", about: "length of the pieces sold" },
        WASTE,
    ],
    gives: &[
        Field { name: "rows", about: "the lowest and the highest included" },
        Field { name: "row_spacing_in", about: "from row to row, even; null for a single row" },
        Field {
            name: "rows_crossing_door",
            about: "lower than the head, so that each loses the door's width",
        },
        Field { name: "channel_ft", about: "all rows, without waste" },
        NEEDED,
        Field { name: "pieces", about: "whole pieces, with waste" },
    ],
    example: r#"{"length_in": 144, "height_in": 97.125, "first_row_above_floor_in": 2, "last_row_below_ceiling_in": 6, "max_spacing_in": 24, "door": {"ro_width_in": 38.5, "ro_head_in": 82.5}, "piece_ft": 12, "waste_fraction": 0.10}"#,
    run: pieces_of_channel,
};

fn packs_of_batts(fields: &Fields<'_>) -> Answer {
    let need = PackNeed {
        pieces: count(fields, "pieces_required")?,
        waste: waste(fields)?,
        in_stock: count_or(fields, "loose_pieces_in_stock", 0)?,
        per_pack: count(fields, "pieces_per_pack")?,
        batt: Batt {
            width: INCH.length(fields, "batt_width_in")?,
            length: INCH.length(fields, "batt_length_in")?,
        },
    };
    let got = packs(&need).map_err(|error| {
        let field = match error {
            PacksError::EmptyPack => "pieces_per_pack",
            PacksError::TooMany => "pieces_required",
        };
        Refused::from_error("out_of_range", field, &error)
    })?;
    let mut given = Answering::default();
    given.give("pieces_with_waste", got.pieces_with_waste);
    given.give("pieces_to_buy", got.pieces_to_buy);
    given.give("packs", got.packs);
    given.give("left_over_pieces_if_estimate_is_right", got.left_over);
    given.give("coverage_per_pack_ft2", got.coverage_per_pack.ft2());
    given.give(NEEDED.name, got.needed);
    given.done()
}

fn tubes_of_sealant(fields: &Fields<'_>) -> Answer {
    let in3_per_fl_oz = match fields.some("in3_per_fl_oz") {
        Some(_) => positive(fields, "in3_per_fl_oz")?,
        None => IN3_PER_US_FL_OZ,
    };
    let need = SealantNeed {
        length: INCH.length(fields, LENGTH.name)?,
        height: INCH.length(fields, HEIGHT.name)?,
        beads: count(fields, "beads")?,
        bead: Bead::Round { diameter: INCH.length(fields, "bead_diameter_in")? },
        tube_in3: positive(fields, "tube_fl_oz")? * in3_per_fl_oz,
        waste: waste(fields)?,
    };
    let got = sealant(&need).map_err(|error| {
        let field = match error {
            SealantError::NoWall { .. } | SealantError::TooMuch => LENGTH.name,
            SealantError::NoBead => "bead_diameter_in",
            SealantError::NoTube { .. } => "tube_fl_oz",
        };
        Refused::from_error("out_of_range", field, &error)
    })?;
    let mut given = Answering::default();
    given.give("perimeter_ft", got.perimeter.to_ft_f64());
    given.give("bead_ft", got.bead.to_ft_f64());
    given.give("in3_per_ft", got.in3_per_ft);
    given.give("ft_per_tube", got.ft_per_tube);
    given.give(NEEDED.name, got.needed);
    given.give("tubes", got.tubes);
    given.done()
}

fn bags_of_fill(fields: &Fields<'_>) -> Answer {
    positive(fields, "density_lb_ft3")?;
    let density = Density::new(decimal(fields, "density_lb_ft3")?, DensityUnit::LbPerFt3)
        .map_err(|error| Refused::from_error("out_of_range", "density_lb_ft3", &error))?;
    let need = FillNeed {
        net_area: area_ft2(fields, "net_cavity_area_ft2")?,
        depth: INCH.length(fields, "depth_in")?,
        density,
        bag_kg: positive(fields, "bag_lb")? * KG_PER_LB,
        waste: waste(fields)?,
    };
    let got = loose_fill(&need).map_err(|error| {
        let field = match error {
            FillError::NoDepth => "depth_in",
            FillError::NoBag { .. } => "bag_lb",
            FillError::TooMany => "net_cavity_area_ft2",
        };
        Refused::from_error("out_of_range", field, &error)
    })?;
    let mut given = Answering::default();
    given.give("volume_ft3", got.volume_ft3());
    given.give("weight_lb", got.weight_lb());
    given.give(NEEDED.name, got.needed);
    given.give("bags", got.bags);
    given.done()
}

fn pieces_of_channel(fields: &Fields<'_>) -> Answer {
    let got = channel(&channel_need(fields)?).map_err(|error| refused_channel(&error))?;
    let mut given = Answering::default();
    given.give("rows", got.rows);
    match got.row_spacing {
        Some(spacing) => given.give("row_spacing_in", spacing.to_in_f64()),
        None => given.missing("row_spacing_in", "there is one row only"),
    };
    given.give("rows_crossing_door", got.rows_crossing_door);
    given.give("channel_ft", got.channel.to_ft_f64());
    given.give(NEEDED.name, got.needed);
    given.give("pieces", got.pieces);
    tell_unknown(&mut given, fields, &[("door", DOOR_NAMES)])?;
    given.done()
}

fn channel_need(fields: &Fields<'_>) -> Result<ChannelNeed, Refused> {
    let usual = |name, inches: i64| -> Result<Length, Refused> {
        let usual = Length::from_nm(inches * INCH.nm()).expect("some inches are a length");
        Ok(INCH.length_or_none(fields, name)?.unwrap_or(usual))
    };
    let door = |door: Fields<'_>| -> Result<DoorCut, Refused> {
        Ok(DoorCut { width: INCH.length(&door, "ro_width_in")?, head: INCH.length(&door, "ro_head_in")? })
    };
    let waste: Waste = waste(fields)?;
    Ok(ChannelNeed {
        length: INCH.length(fields, LENGTH.name)?,
        height: INCH.length(fields, HEIGHT.name)?,
        first_above_floor: usual("first_row_above_floor_in", 2)?,
        last_below_ceiling: usual("last_row_below_ceiling_in", 6)?,
        max_spacing: usual("max_spacing_in", 24)?,
        door: fields.object_or_none("door")?.map(door).transpose()?,
        piece: FOOT.length(fields, "piece_ft")?,
        waste,
    })
}

fn refused_channel(error: &ChannelError) -> Refused {
    let field = match error {
        ChannelError::NoLength | ChannelError::TooMuch => LENGTH.name,
        ChannelError::NoRoom { .. } => HEIGHT.name,
        ChannelError::NoSpacing | ChannelError::TooManyRows { .. } => "max_spacing_in",
        ChannelError::NoPiece => "piece_ft",
        ChannelError::DoorTooLarge { .. } => "door",
    };
    Refused::from_error("out_of_range", field, error)
}
