//! What has to be the same before and after, by quantity: the list a plan puts beside a test's own conditions.
//!
//! Classes are a convention of this project; the list is common practice, no source.

/// One condition worth noting.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Standard {
    /// How much it weighs.
    pub class: &'static str,
    /// What is held.
    pub variable: &'static str,
    /// How.
    pub wanted: &'static str,
    /// A test has it already where its variable holds one of these.
    known_by: &'static [&'static str],
}

const fn row(
    class: &'static str,
    variable: &'static str,
    wanted: &'static str,
    known_by: &'static [&'static str],
) -> Standard {
    Standard { class, variable, wanted, known_by }
}

const SOUND: &[Standard] = &[
    row(
        "critical",
        "source and its setting",
        "same device and file, played from start to end, same volume step; a reading 1 m in front of it",
        &["source and", "source setting", "source level", "volume", "track"],
    ),
    row(
        "critical",
        "source position",
        "same place, height and direction; never against the wall under test",
        &["source position", "source place", "place of the source"],
    ),
    row(
        "critical",
        "microphone positions",
        "marked on the plan: 0.5 m or more from walls, 1 m from the source, 0.7 m apart, 1.2 to 1.5 m high, not in one line",
        &["microphone", "meter position", "receive position"],
    ),
    row(
        "critical",
        "meter and weighting",
        "same meter, weighting and averaging; calibrator before and after, 0.5 dB apart at most",
        &["meter", "weighting"],
    ),
    row(
        "critical",
        "doors and windows",
        "each one, with grilles and dampers: open, closed or sealed",
        &["door", "window", "opening"],
    ),
    row("critical", "other work on the same wall", "none but what the test asks about", &["other work"]),
    row(
        "important",
        "furniture",
        "same in both rooms, rugs and stacks of board too; else measure reverberation",
        &["furniture", "absorption", "contents"],
    ),
    row(
        "important",
        "heating and fans",
        "off, with fridge, pump and dehumidifier",
        &["heating", "fan", "ventilation", "hvac"],
    ),
    row("important", "doors of other rooms", "as they were", &["other room"]),
    row(
        "important",
        "background level",
        "source off, same positions, just before and just after",
        &["background", "own noise"],
    ),
    row("minor", "people in the room", "none in the receiving room", &["people", "occupant", "person"]),
    row("minor", "operator", "same person, meter on a tripod, body away", &["operator"]),
    row("minor", "air temperature", "within 5 °C", &["temperature"]),
    row("minor", "time of day", "about the same", &["time of day", "hour"]),
];

const AIR: &[Standard] = &[
    row("critical", "fan and its place", "same fan, ring and door", &["fan"]),
    row(
        "critical",
        "openings",
        "the same ones open and the same ones sealed",
        &["door", "window", "opening", "damper"],
    ),
    row("critical", "other work on the envelope", "none but what the test asks about", &["other work"]),
    row("important", "wind", "under 5 m/s", &["wind"]),
    row("important", "temperature inside and outside", "noted both times", &["temperature"]),
    row("minor", "operator", "same person", &["operator"]),
];

const HEAT: &[Standard] = &[
    row(
        "critical",
        "instrument and its setting",
        "same one; emissivity 0.95 on paint, no bare metal",
        &["instrument", "probe", "emissivity", "meter"],
    ),
    row("critical", "spots", "marked, the same each time", &["spot", "position"]),
    row("critical", "other work on the same part", "none but what the test asks about", &["other work"]),
    row(
        "important",
        "temperature inside and outside",
        "10 °C apart or more, steady for hours",
        &["temperature"],
    ),
    row("important", "sun", "none on the surface", &["sun"]),
    row("important", "heating", "same setting", &["heating", "thermostat"]),
    row("minor", "time of day", "about the same", &["time of day", "hour"]),
];

const MOISTURE: &[Standard] = &[
    row(
        "critical",
        "instrument and its setting",
        "same one, set to the species and the temperature of the wood",
        &["instrument", "meter", "species"],
    ),
    row(
        "critical",
        "spots and depth",
        "three spots or more, marked, the same depth",
        &["spot", "depth", "position"],
    ),
    row("important", "humidity and temperature of the air", "logged each hour", &["humidity", "temperature"]),
    row("minor", "operator", "same person", &["operator"]),
];

const LIGHT: &[Standard] = &[
    row("critical", "meter and its height", "same one, level, 0.8 m above the floor", &["meter"]),
    row("critical", "spots", "a grid of five, marked", &["spot", "grid", "position"]),
    row("critical", "blinds and lamps", "each one named and the same", &["blind", "lamp"]),
    row("critical", "sky", "the same state; daylight compares under one sky only", &["sky"]),
    row("important", "clock time", "the same", &["time", "hour"]),
];

const OTHER: &[Standard] = &[
    row("critical", "instrument and its setting", "same one", &["instrument", "meter"]),
    row("critical", "spots", "marked, the same each time", &["spot", "position"]),
    row("critical", "other work", "none but what the test asks about", &["other work"]),
];

/// The list for a quantity.
pub fn standard(measures: &str) -> &'static [Standard] {
    match measures {
        "level-difference" => SOUND,
        "air-leakage" => AIR,
        "thermal" | "thermal-resistance" | "temperature" => HEAT,
        "moisture" => MOISTURE,
        "light" => LIGHT,
        _ => OTHER,
    }
}

impl Standard {
    /// Whether a test's own condition is this one.
    pub fn is(&self, variable: &str) -> bool {
        let variable = variable.to_lowercase();
        // Doors of other rooms are not the doors of this wall, and where the source stands is not how it is set.
        let is_elsewhere = variable.contains("other room") && !self.known_by.contains(&"other room");
        !is_elsewhere && self.known_by.iter().any(|word| variable.contains(word))
    }
}

/// What to photograph before anything is changed, so that the same views can be taken after.
pub const PHOTOS: &[&str] = &[
    "each room from its four corners",
    "every wall straight on",
    "every door, window, grille and seal, as it is",
    "outlets and boxes, and the edges at ceiling and floor",
    "inside the wall while it is open, with a tape measure in view",
    "the meter in place at each position, and its display at each reading",
    "the source in place with its volume setting in view",
    "thermostat and fan switches",
    "a card with room, side and date in every view; no faces, plates, addresses or papers",
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tests_own_conditions_are_recognised() {
        // The variables of the demo scenario, invented, and the doors of other rooms.
        let known = |variable: &str| {
            let found = standard("level-difference").iter().filter(|row| row.is(variable));
            found.map(|row| row.variable).collect::<Vec<_>>()
        };
        for variable in [
            "source and its setting",
            "source position",
            "microphone positions",
            "meter and weighting",
            "doors and windows",
            "furniture",
            "heating and fans",
            "people in the room",
        ] {
            assert_eq!(known(variable), [variable]);
        }
        assert_eq!(known("Doors of other rooms"), ["doors of other rooms"]);
        assert!(known("colour of the paint").is_empty());
    }

    #[test]
    fn every_quantity_has_a_list_with_critical_rows_first() {
        for measures in storypole_notebook::kinds::TEST_QUANTITIES {
            let classes: Vec<usize> = standard(measures)
                .iter()
                .map(|row| {
                    ["critical", "important", "minor"].iter().position(|class| *class == row.class).unwrap()
                })
                .collect();
            assert!(classes[0] == 0 && classes.is_sorted(), "{measures}: {classes:?}");
        }
    }
}
