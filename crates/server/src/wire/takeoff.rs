//! What an assembly takes: bays, cuts, materials.

use super::called::Called;
use super::number::{Amount, Number};
use super::word::Decimal;

words! {
    /// Where a cavity lies.
    enum BayPlace {
        /// From plate to plate.
        Full = "full",
        /// Under or over a row of blocking.
        Part = "part",
        /// Over an opening.
        Above = "above",
        /// Under an opening.
        Below = "below",
    }
    /// What a material is for.
    enum NeedPart {
        /// Batts in the cavities.
        Batts = "batts",
        /// Loose fill in the cavities.
        LooseFill = "loose-fill",
        /// Boards of one kind.
        Boards = "boards",
        /// Screws for them.
        Screws = "screws",
        /// Tape over their joints.
        Tape = "tape",
        /// Compound between two boards.
        Damping = "damping",
        /// Channel under the boards.
        Channel = "channel",
        /// Beads at the edges.
        Sealant = "sealant",
    }
}

answers! {
    /// A length.
    struct MeasuredLength {
        /// In millimetres.
        mm: Number,
        /// As it is called out on site: inches where they are on a tape, else millimetres.
        printed: String,
    }
    /// An area in both units.
    struct AreaBoth {
        /// In ft².
        ft2: Number,
        /// In m².
        m2: Number,
    }
    /// One wall of the assembly.
    struct FramedWall {
        /// From end to end.
        length: MeasuredLength,
        /// Plates included.
        height: MeasuredLength,
        /// Between the plates.
        cavity_height: MeasuredLength,
        /// Frames one behind another.
        frames: u32,
        /// Undivided bays of full height.
        full_height_bays: u32,
        /// Rough openings.
        openings: u32,
        /// Short studs over and under openings.
        cripple_studs: u32,
    }
    /// One cavity.
    struct Bay {
        /// Its number on the drawing and in the cut list, from 1.
        number: u32,
        /// Its wall, from 1.
        wall: u32,
        /// Where it lies.
        place: BayPlace,
        /// Clear width.
        width: MeasuredLength,
        /// Clear height.
        height: MeasuredLength,
        /// Batts it takes from whole ones; null where no batt is chosen.
        pieces: Option<u32>,
    }
    /// One size to cut.
    struct Cut {
        /// Across.
        width: MeasuredLength,
        /// Along.
        length: MeasuredLength,
        /// How many.
        count: u32,
        /// A whole batt, neither ripped nor cut across.
        whole: bool,
        /// Numbers of the bays it is for.
        cells: Vec<u32>,
    }
    /// Where a part lies in its batt.
    struct PlacedCut {
        /// The bay it is for.
        cell: Option<u32>,
        /// From the left side.
        left: MeasuredLength,
        /// From the lower end.
        bottom: MeasuredLength,
        /// Across.
        width: MeasuredLength,
        /// Along.
        length: MeasuredLength,
    }
    /// A rectangle that is left of a batt.
    struct OffcutSize {
        /// Across.
        width: MeasuredLength,
        /// Along.
        length: MeasuredLength,
    }
    /// How one batt is cut.
    struct CutLayout {
        /// It lay there already.
        from_hand: bool,
        /// Its parts.
        placed: Vec<PlacedCut>,
        /// What is left, the largest first.
        left_over: Vec<OffcutSize>,
    }
    /// How batts are cut.
    struct Cuts {
        /// The batt.
        material: Option<Called>,
        /// What to cut, the largest first.
        list: Vec<Cut>,
        /// Batts by this plan.
        pieces: u32,
        /// The fewest that any way of cutting could do with.
        fewest_possible: u32,
        /// No plan with such cuts takes fewer.
        proven_best: bool,
        /// Batts by plain first-fit decreasing.
        first_fit: u32,
        /// Batts where every bay is cut from whole ones.
        without_reuse: u32,
        /// How the plan was found.
        method: String,
        /// Bays too narrow for a piece of their own.
        slivers: Vec<u32>,
        /// Batt by batt.
        layouts: Vec<CutLayout>,
    }
    /// A piece of board on the wall, from its left end and from the lower edge of the board.
    struct BoardPlaced {
        /// The wall, from 1.
        wall: u32,
        /// From the left end.
        left: MeasuredLength,
        /// From the lower edge of the board.
        bottom: MeasuredLength,
        /// Along the wall.
        width: MeasuredLength,
        /// Up the wall.
        length: MeasuredLength,
    }
    /// How one sheet is cut.
    struct SheetCut {
        /// Its pieces.
        cut: Vec<OffcutSize>,
        /// What is left, the largest first.
        left_over: Vec<OffcutSize>,
    }
    /// How the boards of one kind are laid out and cut.
    struct BoardCuts {
        /// The material; null where none of the notebook is meant for sure.
        material: Option<Called>,
        /// What it is called.
        name: String,
        /// One sheet.
        sheet: OffcutSize,
        /// Layers of it.
        layers: u32,
        /// Pieces of one layer.
        pieces: Vec<BoardPlaced>,
        /// Sheets for all layers by this plan.
        sheets: u32,
        /// The fewest that any way of cutting could do with.
        fewest_possible: u32,
        /// Sheet by sheet.
        cuts: Vec<SheetCut>,
        /// Where pieces of one layer meet, to be taped.
        joints: MeasuredLength,
    }
    /// What the filled cavities resist.
    struct BuiltResistance {
        /// R in the cavity, h·ft²·°F/Btu; null where nobody published it.
        cavity_r: Option<Number>,
        /// The same, m²·K/W.
        cavity_rsi: Option<Number>,
        /// R of the wall with its studs, boards and air films left out.
        wall_r: Option<Number>,
        /// The same, m²·K/W.
        wall_rsi: Option<Number>,
        /// In words, with the source.
        words: String,
    }
    /// How much of one material is needed.
    struct Need {
        /// For what.
        part: NeedPart,
        /// The material; null where none of the notebook is meant for sure.
        material: Option<Called>,
        /// What it is called.
        name: String,
        /// The unit it is counted in.
        unit: String,
        /// How it was counted.
        how: String,
        /// Units before waste and rounding.
        exact: Number,
        /// Units with waste.
        wanted: Decimal,
        /// Units at the site of the job.
        at_hand: Decimal,
        /// Units beyond those.
        to_buy: Decimal,
        /// The name of a pack; null where it is not sold in packs.
        pack: Option<String>,
        /// Packs to buy.
        packs: Option<u32>,
        /// What they cost at the price paid last, with tax.
        price: Option<Amount>,
        /// What lies elsewhere.
        elsewhere: Option<String>,
    }
    /// What an assembly takes.
    struct Takeoff {
        /// The assembly.
        assembly: Called,
        /// The version its framing was measured on.
        framed_by: Called,
        /// The version it is counted against; null where all of it is counted.
        against: Option<Called>,
        /// Its walls.
        walls: Vec<FramedWall>,
        /// Its cavities.
        cells: Vec<Bay>,
        /// All cavities together.
        net_cavity: AreaBoth,
        /// All faces together, openings included.
        gross_wall: AreaBoth,
        /// Share of the face, openings left out, that is wood, percent.
        framed_percent: Option<Number>,
        /// How batts are cut; null where no batt is chosen.
        cuts: Option<Cuts>,
        /// How boards are cut, kind by kind.
        boards: Vec<BoardCuts>,
        /// What the cavities resist as built.
        resistance: Option<BuiltResistance>,
        /// Material by material.
        needs: Vec<Need>,
        /// What could not be counted, with what to write.
        notes: Vec<String>,
    }
}
