//! The words that choices are made from. Stored as they stand here, so a word that was once in use stays.
//!
//! Leaves out which field takes which: that is said where the kinds are.

/// States of a task.
pub const TASK_STATES: &[&str] = &["to-do", "doing", "blocked", "done", "checked"];
/// Kinds of entries of the day log.
pub const ENTRY_KINDS: &[&str] =
    &["work", "delivery", "delay", "inspection", "decision", "safety", "snag", "visitor", "note"];
/// Stages of a test's sets.
pub const STAGES: &[&str] = &["before", "open-studs", "filled", "boarded", "finished", "after", "repeat"];
/// Cost groups of a receipt's lines.
pub const COST_GROUPS: &[&str] = &[
    "material",
    "rental",
    "tool",
    "subcontract",
    "permit",
    "disposal",
    "delivery",
    "testing",
    "travel",
    "overhead",
    "credit",
];
/// What a reading is of.
pub const ROLES: &[&str] = &["source", "receive", "background", "direct"];
/// What a number is.
pub const SUBJECTS: &[&str] = &[
    "level",
    "level-difference",
    "inside-air",
    "outside-air",
    "surface",
    "moisture",
    "smoke-paths",
    "flow",
    "pressure",
    "light",
    "humidity",
    "reverberation",
    "outside-surface",
    "heat-flow",
    "resting-pressure",
];
/// How the meter averaged.
pub const RESPONSES: &[&str] = &["leq", "fast-max", "slow-max", "fast", "slow", "spot"];
/// Whether a condition held.
pub const FOUND_STATES: &[&str] = &["same", "corrected", "changed", "unknown"];
/// How much a condition weighs.
pub const CONDITION_CLASSES: &[&str] = &["critical", "important", "minor"];
/// What a test measures.
pub const TEST_QUANTITIES: &[&str] = &[
    "level-difference",
    "air-leakage",
    "thermal",
    "thermal-resistance",
    "temperature",
    "moisture",
    "light",
    "other",
];
/// Background rules, by standard and edition.
pub const BACKGROUND_RULES: &[&str] = &["astm_e336", "iso16283", "astm_e336_19a"];
/// What an assembly is.
pub const ELEMENTS: &[&str] = &["wall", "ceiling", "floor", "door", "rim", "panel"];
/// What an assembly stands between.
pub const BETWEEN: &[&str] = &["rooms", "dwellings", "garage", "outside", "shaft"];
/// Shapes in which material is sold.
pub const MATERIAL_FORMS: &[&str] =
    &["batt", "loose-fill", "sheet", "tube", "channel", "screws", "tape", "stick", "other"];
/// What material is made of.
pub const MADE_OF: &[&str] = &[
    "glass fibre",
    "stone wool",
    "cellulose",
    "cotton",
    "foam",
    "gypsum",
    "cement",
    "wood",
    "steel",
    "sealant",
    "other",
];
/// What is met or done on a job that can hurt someone.
pub const HAZARDS: &[&str] = &[
    "mineral-fibre",
    "silica-dust",
    "old-paint",
    "suspect-material",
    "loud-work",
    "box-work",
    "hot-light-or-flue",
    "fuel-appliance",
    "rated-wall",
    "hole-through-plates",
    "open-outside-wall",
    "cut-framing",
    "heavy-board",
    "ladder",
    "permit-work",
    "dust-indoors",
    "heavy-lifting",
    "mould",
    "animals",
    "old-wiring",
];
/// Kinds of rough openings.
pub const OPENING_KINDS: &[&str] = &["door", "window", "hatch", "pass-through"];
/// States of a wall.
pub const WALL_STATES: &[&str] = &["bare-studs", "boarded-a", "boarded-both", "finished"];
