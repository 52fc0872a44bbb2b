//! The framing of an assembly as typed: studs and their spacing, rough openings, rows of blocking.
//!
//! Written with the assembly in one draft; what a rebuild does not say stays as it was measured on the version before.

use storypole_journal::RecordId;

use crate::draft::Writing;
use crate::refused::{Outcome, Refused};

/// What a take-off needs to know of the framing.
#[derive(Debug, clap::Args)]
#[command(next_help_heading = "Framing, for a take-off")]
pub struct Framing {
    /// Face and spacing of the studs as measured, like "1 1/2 in @ 16 in".
    #[arg(long, value_name = "FACE @ SPACING", allow_hyphen_values = true)]
    studs: Option<String>,
    /// All plates within the height.
    #[arg(long, value_name = "COUNT")]
    plates: Option<String>,
    /// Centre of the first stud of the layout from the end where it begins, where that is not the spacing.
    #[arg(long, value_name = "LENGTH")]
    first_stud: Option<String>,
    /// The end where the layout begins, seen from the side of leaf A: left or right.
    #[arg(long, value_name = "END")]
    layout_from: Option<String>,
    /// Centres of studs from the left end where no even spacing tells them, like "15 1/4 in; 31 in; 40 in".
    #[arg(long, value_name = "LENGTHS")]
    studs_at: Option<String>,
    /// Lengths of the walls it is made of, where it is more than one, like "64 in; 36 in".
    #[arg(long, value_name = "LENGTHS")]
    runs: Option<String>,
    /// A rough opening; may be given for each.
    #[arg(long = "rough-opening", value_name = "OPENING")]
    rough_openings: Vec<String>,
    /// Height of the centre of a row of blocking from the floor; may be given for each.
    #[arg(long, value_name = "HEIGHT")]
    blocking: Vec<String>,
    /// What it stands between: rooms, dwellings, garage, outside or shaft.
    #[arg(long)]
    between: Option<String>,
    /// Whether it has to hold back fire, as far as known: yes or no.
    #[arg(long, value_name = "YES | NO")]
    fire_rated: Option<String>,
}

impl Framing {
    /// What the assembly stands between: a rebuild keeps it unless it says otherwise.
    pub fn stands(&self) -> [(&'static str, Option<&str>); 2] {
        [("between", self.between.as_deref()), ("fire_rated", self.fire_rated.as_deref())]
    }

    /// Writes what was said about an assembly.
    ///
    /// # Errors
    /// Something cannot be read, or a value is refused.
    pub fn write(&self, writing: &mut Writing<'_>, assembly: RecordId, label: &str) -> Outcome {
        if let Some(studs) = &self.studs {
            let (face, spacing) = studs.split_once('@').ok_or_else(|| {
                Refused::new(
                    format!("\"{studs}\" does not say face and spacing"),
                    "write it like --studs \"1 1/2 in @ 16 in\"",
                )
            })?;
            writing.set(assembly, "assembly", "stud_face", face)?;
            writing.set(assembly, "assembly", "stud_spacing", spacing)?;
        }
        for (field, typed) in [
            ("plate_count", &self.plates),
            ("first_stud", &self.first_stud),
            ("layout_from", &self.layout_from),
            ("studs_at", &self.studs_at),
            ("runs", &self.runs),
        ] {
            writing.set_some(assembly, "assembly", field, typed.as_deref())?;
        }
        for typed in &self.rough_openings {
            let (id, _) = writing.add("opening", None)?;
            writing.set_value(id, "opening", "assembly", &storypole_notebook::Value::Record(assembly))?;
            for (field, value) in opening(typed)? {
                writing.set(id, "opening", field, value)?;
            }
        }
        for height in &self.blocking {
            let (id, _) = writing.add("blocking", None)?;
            writing.set_value(id, "blocking", "assembly", &storypole_notebook::Value::Record(assembly))?;
            writing.set(id, "blocking", "height", height)?;
        }
        let has_rows = !self.rough_openings.is_empty() || !self.blocking.is_empty();
        if has_rows && self.studs.is_none() && self.studs_at.is_none() {
            eprintln!(
                "note: {label} has openings or blocking of its own, so its studs are asked for too; say --studs"
            );
        }
        Ok(())
    }
}

/// Fields of an opening: `door at 104 in, 32 1/2 in wide, head 82 1/2 in, header 3 in`.
fn opening(typed: &str) -> Result<Vec<(&'static str, &str)>, Refused> {
    let form = |piece: &str| {
        Refused::new(
            format!("\"{}\" cannot be read in the opening \"{typed}\"", piece.trim()),
            "write it like \"door at 104 in, 32 1/2 in wide, head 82 1/2 in, header 3 in\" or \
             \"window at 40 in, 36 in wide, sill 36 in, head 80 in, header 5 1/2 in, 2 sill plates\"",
        )
    };
    let mut fields = Vec::new();
    for (place, piece) in typed.split(',').enumerate() {
        let piece = piece.trim();
        if place == 0 {
            let (kind, left) = piece.split_once(" at ").ok_or_else(|| form(piece))?;
            fields.extend([("opening_kind", kind.trim()), ("left", left.trim())]);
        } else if let Some(width) = piece.strip_suffix(" wide") {
            fields.push(("width", width));
        } else if let Some(count) = piece.strip_suffix("sill plates").or(piece.strip_suffix("sill plate")) {
            fields.push(("sill_plates", count.trim()));
        } else {
            let (word, length) = piece.split_once(' ').ok_or_else(|| form(piece))?;
            let field = match word {
                "head" => "head",
                "header" => "header_depth",
                "sill" => "sill",
                _ => return Err(form(piece)),
            };
            fields.push((field, length.trim()));
        }
    }
    for needed in ["width", "head"] {
        if !fields.iter().any(|(field, _)| *field == needed) {
            return Err(Refused::new(
                format!("the opening \"{typed}\" has no {needed}"),
                "write it like \"door at 104 in, 32 1/2 in wide, head 82 1/2 in, header 3 in\"",
            ));
        }
    }
    Ok(fields)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn openings_are_read_in_words() {
        let door = opening("door at 104 in, 32 1/2 in wide, head 82 1/2 in, header 3 in").unwrap();
        assert_eq!(
            door,
            [
                ("opening_kind", "door"),
                ("left", "104 in"),
                ("width", "32 1/2 in"),
                ("head", "82 1/2 in"),
                ("header_depth", "3 in")
            ]
        );
        let window = opening("window at 1 m, 900 mm wide, sill 900 mm, head 2 m, 2 sill plates").unwrap();
        assert!(window.contains(&("sill_plates", "2")) && window.contains(&("sill", "900 mm")), "{window:?}");
        for wrong in
            ["door", "door at 3 in", "door at 3 in, 30 in wide, height 80 in", "door at 3 in, head 80 in"]
        {
            assert!(opening(wrong).unwrap_err().reason().contains(wrong), "{wrong}");
        }
    }
}
