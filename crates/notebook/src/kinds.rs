//! Every record kind: once as a table of specifications, once as typed structs, from one list.
//!
//! A kind's name is also its table in SQL, its word in the API and the value of `kind` in JSON Lines. Every
//! field is optional in the struct: a record may be half written, or one of its fields in conflict.

use storypole_journal::RecordId;
use storypole_units::{Decimal, Length, Money};

use crate::assembly::PartKind;
use crate::book::{FromValue, Meta, Row, Table};
use crate::field::{FieldSpec, FieldType};
use crate::quantity::Quantity;

mod choices;

pub use choices::*;

/// One kind of record.
#[derive(Debug, Clone, Copy)]
pub struct KindSpec {
    /// Its name.
    pub name: &'static str,
    /// Its fields, in the order they are shown.
    pub fields: &'static [FieldSpec],
    /// What it is for.
    pub doc: &'static str,
}

/// Kinds are told apart by name.
impl PartialEq for KindSpec {
    fn eq(&self, other: &Self) -> bool {
        self.name == other.name
    }
}

impl KindSpec {
    /// The specification of a kind known here.
    pub fn find(name: &str) -> Option<&'static Self> {
        KINDS.iter().find(|kind| kind.name == name)
    }

    /// A field by name, with its place in the order.
    pub fn field(&self, name: &str) -> Option<(usize, &'static FieldSpec)> {
        self.fields.iter().enumerate().find(|(_, field)| field.name == name)
    }
}

macro_rules! rust_type {
    (text) => {
        String
    };
    (choice) => {
        String
    };
    (part) => {
        String
    };
    (bands) => {
        String
    };
    (integer) => {
        i64
    };
    (decimal) => {
        Decimal
    };
    (length) => {
        Length
    };
    (money) => {
        Money
    };
    (quantity) => {
        Quantity
    };
    (temperature) => {
        Quantity
    };
    (date) => {
        jiff::civil::Date
    };
    (moment) => {
        storypole_journal::WrittenAt
    };
    (flag) => {
        bool
    };
    (reference) => {
        RecordId
    };
    (hash) => {
        [u8; 32]
    };
}

macro_rules! field_type {
    (text($limit:expr)) => {
        FieldType::Text($limit)
    };
    (choice($words:expr)) => {
        FieldType::Choice($words)
    };
    (part($part:expr)) => {
        FieldType::Part($part)
    };
    (bands()) => {
        FieldType::Bands
    };
    (integer($low:expr, $high:expr)) => {
        FieldType::Integer($low, $high)
    };
    (decimal($low:expr, $high:expr)) => {
        FieldType::Decimal($low, $high)
    };
    (length()) => {
        FieldType::Length
    };
    (money()) => {
        FieldType::Money
    };
    (quantity()) => {
        FieldType::Quantity
    };
    (temperature()) => {
        FieldType::Temperature
    };
    (date()) => {
        FieldType::Date
    };
    (moment()) => {
        FieldType::Moment
    };
    (flag()) => {
        FieldType::Flag
    };
    (reference($kind:expr)) => {
        FieldType::Reference($kind)
    };
    (hash()) => {
        FieldType::Hash
    };
}

macro_rules! has_flag {
    ($wanted:ident :) => { false };
    (required : required $($rest:ident)*) => { true };
    (reason : reason $($rest:ident)*) => { true };
    ($wanted:ident : $other:ident $($rest:ident)*) => { has_flag!($wanted : $($rest)*) };
}

macro_rules! kinds {
    ($(
        $doc:literal
        $kind:literal $Struct:ident $table:ident {
            $( $field_doc:literal $field:ident: $takes:ident ($($arg:expr),*) $([$($flag:ident)+])?; )*
        }
    )*) => {
        /// Every kind known to this version, in the order they are shown.
        pub static KINDS: &[KindSpec] = &[$(
            KindSpec {
                name: $kind,
                doc: $doc,
                fields: &[$(
                    FieldSpec {
                        name: stringify!($field),
                        takes: field_type!($takes($($arg),*)),
                        required: has_flag!(required : $($($flag)+)?),
                        reason_on_change: has_flag!(reason : $($($flag)+)?),
                        doc: $field_doc,
                    }
                ),*],
            }
        ),*];

        $(
            #[doc = $doc]
            #[derive(Debug, Clone, PartialEq)]
            pub struct $Struct {
                /// Its id.
                pub id: RecordId,
                /// Who wrote it when, what was struck, corrected or is in conflict.
                pub meta: Meta,
                $( #[doc = $field_doc] pub $field: Option<rust_type!($takes)>, )*
            }

            impl crate::book::Recorded for $Struct {
                fn meta(&self) -> &Meta {
                    &self.meta
                }
            }

            impl $Struct {
                /// The name of this kind.
                pub const KIND: &'static str = $kind;

                #[allow(unused_assignments, unused_mut)]
                fn from_row(row: Row) -> Self {
                    let mut values = row.values.into_iter();
                    Self {
                        id: row.id,
                        meta: row.meta,
                        $( $field: values
                            .next()
                            .flatten()
                            .and_then(<rust_type!($takes) as FromValue>::from_value), )*
                    }
                }
            }
        )*

        /// Records read together: one table for each kind.
        #[derive(Debug, Clone, Default, PartialEq)]
        pub struct Tables {
            $( #[doc = $doc] pub $table: Table<$Struct>, )*
        }

        impl Tables {
            /// Takes in one row; a row of a kind unknown here is left out.
            pub fn insert(&mut self, row: Row) {
                match row.kind.name {
                    $( $kind => self.$table.insert(row.id, $Struct::from_row(row)), )*
                    _ => (),
                }
            }

            /// Takes a record out, whatever its kind.
            pub fn remove(&mut self, kind: &str, id: RecordId) {
                match kind {
                    $( $kind => self.$table.remove(id), )*
                    _ => (),
                }
            }
        }
    };
}

kinds! {
    "What one crew keeps together: its name and its rules."
    "notebook" NotebookSettings notebooks {
        "Its name." name: text(120) [required];
        "Currency of all prices, ISO 4217." currency: text(3) [required];
        "Background rule for level readings, with the edition." background_rule: choice(BACKGROUND_RULES);
        "Whether the crew's own hours count in job cost." own_labour_counted: flag();
        "What one decibel less is worth on a job, for weighing walls that cost differently." worth_of_db: money();
    }
    "A member of the crew or an outside role. Write-ups show the role only."
    "person" Person people {
        "Short name to type." label: text(32) [required];
        "Role, as shown in write-ups." role: text(80) [required];
        "Cost of an hour." rate: money();
        "Whether the person belongs to the crew." crew: flag();
    }
    "One copy of the notebook that can write."
    "device" Device devices {
        "Short name to type." label: text(32) [required];
        "The device's id." device: text(36) [required];
        "Who carries it." person: reference("person");
    }
    "A place where work happens."
    "site" Site sites {
        "Short name to type." label: text(32) [required];
        "Its name." name: text(120) [required];
        "What it is." description: text(2000);
        "Where it is. Never leaves the notebook." address: text(200);
        "Year the house was built." built_year: integer(1500, 2199);
        "Volume inside the air barrier, m³." volume_m3: decimal(0, 1_000_000);
        "Area of the envelope round that volume, m²." envelope_m2: decimal(0, 1_000_000);
        "Climate zone of the local energy code." climate_zone: text(8);
    }
    "A room of a site."
    "room" Room rooms {
        "Short name to type." label: text(32) [required];
        "Its site." site: reference("site") [required];
        "Its name." name: text(120) [required];
        "Clear length." length: length();
        "Clear width." width: length();
        "Clear height." height: length();
        "Volume, m³, where length, width and height do not tell it." volume_m3: decimal(0, 100_000);
        "What burns fuel in it, like a gas water heater." fuel_appliance: text(120);
    }
    "A project at a site."
    "job" Job jobs {
        "Short name to type." label: text(32) [required];
        "Its site." site: reference("site") [required];
        "Its title." title: text(200) [required];
        "First day." started: date();
        "Last day." finished: date();
        "What it was expected to cost." estimate: money();
        "What the job asks or promises." goal: text(2000);
        "Anything else." note: text(4000);
        "Whether someone is paid for the work." paid: flag();
    }
    "One piece of work."
    "task" Task tasks {
        "Short name to type." label: text(32);
        "Its job." job: reference("job") [required];
        "Its room." room: reference("room");
        "What is to be done." title: text(200) [required];
        "How far it is." state: choice(TASK_STATES) [required];
        "What blocks it." blocked_by: text(500);
        "Task that must be done before." waits_for: reference("task");
        "Who does it." owner: reference("person");
        "Hours expected." hours: decimal(0, 10_000);
        "Day it is due." due: date();
        "Photo, reading or entry that shows it is done." evidence: reference("");
    }
    "A wall, ceiling, floor or door as built, in seven parts. A rebuild is a new version that replaces the old."
    "assembly" Assembly assemblies {
        "Short name to type." label: text(32) [required];
        "What it is." element: choice(ELEMENTS);
        "The job that built or found it." job: reference("job");
        "Room on the side of leaf A." room_a: reference("room");
        "Room on the side of leaf B." room_b: reference("room");
        "The version it replaces." replaces: reference("assembly");
        "Versions that count as one design when jobs are counted." design: text(64);
        "Day it was built or found." since: date();
        "Length." length: length() [reason];
        "Height." height: length() [reason];
        "Face that the sound meets, m², openings counted, where length and height do not tell it."
            face_m2: decimal(0, 100_000) [reason];
        "Leaf A, from its room inward." leaf_a: part(PartKind::Leaf) [reason];
        "Frame." frame: part(PartKind::Frame) [reason];
        "Cavity and fill." cavity: part(PartKind::Cavity) [reason];
        "Leaf B, from its room inward." leaf_b: part(PartKind::Leaf) [reason];
        "Doors, windows, boxes." openings: part(PartKind::Openings) [reason];
        "Perimeter seals." seals: part(PartKind::Seals) [reason];
        "State of the work." state: choice(WALL_STATES) [reason];
        "Anything else." note: text(4000);
        "What it stands between." between: choice(BETWEEN);
        "Whether it has to hold back fire, as far as known." fire_rated: flag();
        "Face of studs, joists and plates, as measured." stud_face: length();
        "Spacing of studs or joists, centre to centre, as measured." stud_spacing: length();
        "Centre of the first stud of the layout, from the end where it begins; the spacing where not said."
            first_stud: length();
        "The end where the layout begins, seen from the side of leaf A." layout_from: choice(&["left", "right"]);
        "Centres of the studs as measured from the left end, where no even spacing tells them."
            studs_at: part(PartKind::Places);
        "Plates within the height: all of them." plate_count: integer(0, 9);
        "Walls it is made of, as lengths, where it is more than one." runs: part(PartKind::Places);
    }
    "A rough opening in the framing of an assembly, seen from the side of leaf A."
    "opening" Opening openings {
        "Short name to type." label: text(32);
        "Its assembly." assembly: reference("assembly") [required];
        "What it is." opening_kind: choice(OPENING_KINDS);
        "Its left edge, from the left end." left: length() [required];
        "Its width, between the jacks." width: length() [required];
        "Its upper edge, from the floor." head: length() [required];
        "Height of the header above it." header_depth: length();
        "Its lower edge, from the floor; none for a door." sill: length();
        "Plates under that edge." sill_plates: integer(0, 4);
    }
    "A row of blocking between the studs of an assembly."
    "blocking" Blocking blockings {
        "Short name to type." label: text(32);
        "Its assembly." assembly: reference("assembly") [required];
        "Its centre, from the floor." height: length() [required];
        "Its own height on the face." depth: length();
        "Where the row begins, from the left end; the end of the wall where not said." left: length();
        "Where the row ends, from the left end; the other end where not said." right: length();
    }
    "One line of the day log."
    "entry" Entry entries {
        "Short name to type." label: text(32);
        "Its site." site: reference("site") [required];
        "Its job." job: reference("job");
        "Its room." room: reference("room");
        "Its assembly." assembly: reference("assembly");
        "Day." date: date() [required];
        "What kind of line." entry_kind: choice(ENTRY_KINDS) [required];
        "What happened." text: text(2000) [required];
        "Lowest temperature of the day." low: temperature();
        "Highest temperature of the day." high: temperature();
        "Rain, snow, wind." weather: text(200);
        "Hours lost by a delay." hours_lost: decimal(0, 1_000);
        "Outcome of an inspection." outcome: choice(&["passed", "failed", "partly", "not-done"]);
        "What a decision costs or saves." cost_effect: money();
    }
    "Hours of one person on one day."
    "hours" Hours hours {
        "The person." person: reference("person") [required];
        "The job." job: reference("job") [required];
        "The entry it belongs to." entry: reference("entry");
        "Day." date: date() [required];
        "Hours." hours: decimal(0, 24) [required];
        "What was done." note: text(500);
    }
    "Who sold it."
    "supplier" Supplier suppliers {
        "Short name to type." label: text(32) [required];
        "Its name." name: text(120) [required];
    }
    "What can be bought: its unit and pack."
    "material" Material materials {
        "Short name to type." label: text(32) [required];
        "Its name." name: text(200) [required];
        "Unit it is counted in." unit: text(32) [required];
        "Name of the pack." pack_unit: text(32);
        "Units in a pack." pack_size: decimal(0, 1_000_000);
        "Width of a piece." width: length();
        "Length of a piece." length: length();
        "Thickness of a piece." thickness: length();
        "Division number." division: text(2);
        "Whether what is left is valued." valued: flag();
        "In which shape it is sold." form: choice(MATERIAL_FORMS);
        "What it is made of." made_of: choice(MADE_OF);
        "R-value on the label, h·ft²·°F/Btu." label_r: decimal(0, 200);
        "Content of a tube, ml." content_ml: decimal(0, 100_000);
    }
    "A purchase. A return is a receipt with negative lines."
    "receipt" Receipt receipts {
        "Short name to type." label: text(32) [required];
        "Who sold it." supplier: reference("supplier");
        "Day." date: date() [required];
        "Job its lines are booked to unless they say otherwise." job: reference("job");
        "Number printed on it." number: text(64);
        "Tax rate, percent." tax_rate: decimal(0, 100);
        "Tax as printed." printed_tax: money();
        "Total as printed." printed_total: money();
        "The receipt a return belongs to." returns: reference("receipt");
        "Anything else." memo: text(2000);
        "What one unit of the receipt's currency cost in the notebook's, where they differ."
            exchange_rate: decimal(0, 1_000_000);
    }
    "One item of a receipt, booked to a job."
    "line" Line lines {
        "Its receipt." receipt: reference("receipt") [required];
        "Its place on the receipt." place: integer(1, 10_000);
        "Its job, where it differs from the receipt's." job: reference("job");
        "What it is." material: reference("material");
        "What is printed." item: text(200) [required];
        "How many." quantity: decimal(-1_000_000, 1_000_000) [required];
        "Of what." unit: text(32);
        "Price of one." unit_price: money() [required];
        "Discount on the line." discount: money();
        "Whether it is taxed." taxed: flag();
        "What kind of cost." cost_group: choice(COST_GROUPS);
        "Division number." division: text(2);
        "Tax rate of this line where it is not the receipt's, percent." tax_rate: decimal(0, 100);
    }
    "Material used on a job and assembly."
    "use" Use uses {
        "Short name to type." label: text(32);
        "The material." material: reference("material") [required];
        "Where." site: reference("site") [required];
        "The job." job: reference("job") [required];
        "The assembly." assembly: reference("assembly");
        "How many." quantity: decimal(0, 1_000_000) [required];
        "Of what." unit: text(32);
        "Day." date: date() [required];
        "Anything else." note: text(500);
    }
    "Material thrown away."
    "waste" Waste wastes {
        "Short name to type." label: text(32);
        "The material." material: reference("material") [required];
        "Where." site: reference("site") [required];
        "The job." job: reference("job") [required];
        "How many." quantity: decimal(0, 1_000_000) [required];
        "Of what." unit: text(32);
        "Day." date: date() [required];
        "Why." note: text(500);
    }
    "Material carried from one site or job to another."
    "move" Move moves {
        "Short name to type." label: text(32);
        "The material." material: reference("material") [required];
        "From which site." from_site: reference("site") [required];
        "From which job." from_job: reference("job") [required];
        "To which site." to_site: reference("site") [required];
        "To which job." to_job: reference("job") [required];
        "How many." quantity: decimal(0, 1_000_000) [required];
        "Of what." unit: text(32);
        "Day." date: date() [required];
        "Anything else." note: text(500);
    }
    "What was counted of a material at a place: how much of it is whole, and where it lies."
    "count" Count counts {
        "Short name to type." label: text(32);
        "The material." material: reference("material") [required];
        "Where." site: reference("site") [required];
        "Of which job." job: reference("job") [required];
        "Day." date: date() [required];
        "Unopened packs." sealed_packs: decimal(0, 1_000_000);
        "Units that are whole and in no unopened pack." loose: decimal(0, 1_000_000);
        "Units that are damaged." damaged: decimal(0, 1_000_000);
        "Where it lies." lies_at: text(200);
        "Last day it can be used." use_by: date();
        "The line of a receipt it came from." line: reference("line");
        "Anything else." note: text(500);
    }
    "Something met or done on a job that can hurt someone."
    "hazard" Hazard hazards {
        "Short name to type." label: text(32);
        "The job." job: reference("job") [required];
        "What it is." hazard: choice(HAZARDS) [required];
        "Day it was met or is planned." date: date() [required];
        "Its room." room: reference("room");
        "Its assembly." assembly: reference("assembly");
        "What was seen." note: text(500);
    }
    "An instrument."
    "meter" Meter meters {
        "Short name to type." label: text(32) [required];
        "What it is." meter_kind: text(120) [required];
        "Class." class: choice(&["1", "2", "none"]);
        "Serial number. Never leaves the notebook." serial: text(64);
        "Level of a full-scale sine on its recordings, dB re 20 µPa." full_scale: decimal(-200, 300);
    }
    "A calibration check of a meter with its drift."
    "check" Check checks {
        "The meter." meter: reference("meter") [required];
        "The set it frames." set: reference("set");
        "Day." date: date() [required];
        "What the calibrator should give." nominal: quantity();
        "Reading before." before: quantity();
        "Reading after." after: quantity();
        "Anything else." note: text(500);
    }
    "The test sound."
    "signal" Signal signals {
        "Short name to type." label: text(32) [required];
        "What it is." description: text(500) [required];
        "Its file." hash: hash();
        "How long it plays, s." duration_s: decimal(0, 86_400);
    }
    "A question asked of assemblies with conditions held constant."
    "test" Test tests {
        "Short name to type." label: text(32) [required];
        "The question in one line." question: text(300) [required];
        "What is measured." measures: choice(TEST_QUANTITIES);
        "The job that planned it." job: reference("job");
        "Whether it is a bench rig with a small panel: runs in place of positions, never pooled with walls."
            bench_rig: flag();
        "Day it was planned." planned: date();
        "How it was done." method: text(4000);
        "Seed of the drawn order in which positions are taken." order_seed: integer(0, 9_007_199_254_740_991);
        "Anything else." note: text(4000);
    }
    "One round of readings."
    "set" Set sets {
        "Short name to type." label: text(32) [required];
        "Its test." test: reference("test") [required];
        "The job it was taken in." job: reference("job");
        "What stage." stage: choice(STAGES) [required reason];
        "The assembly version under test." assembly: reference("assembly") [required reason];
        "Room of the source." from_room: reference("room") [reason];
        "Room of the receiver." to_room: reference("room") [reason];
        "The meter." meter: reference("meter") [reason];
        "The test sound." signal: reference("signal") [reason];
        "Who took it." operator: reference("person");
        "Day." date: date() [required];
        "When it began." started_at: moment();
        "How the meter averages in this round, for readings to come." response: choice(RESPONSES);
        "Averaging time in this round, s, for readings to come." duration_s: decimal(0, 86_400);
        "A person includes it in results in spite of its flags; the reason stands in the history."
            included: flag() [reason];
        "A person leaves it out of results; the reason stands in the history." left_out: flag() [reason];
        "Of an untouched wall beside the rebuilt one, to see what else changed." control: flag() [reason];
        "Anything else." note: text(2000);
    }
    "A variable to hold constant."
    "condition" Condition conditions {
        "Its test." test: reference("test") [required];
        "What is held." variable: text(80) [required];
        "How much it weighs." class: choice(CONDITION_CLASSES) [required reason];
        "What is wanted." wanted: text(500) [reason];
    }
    "A condition as found in one set."
    "found" Found founds {
        "The condition." condition: reference("condition") [required];
        "The set." set: reference("set") [required];
        "As found." value: text(500) [required reason];
        "Whether it held." status: choice(FOUND_STATES) [required reason];
    }
    "Where source or meter stand."
    "position" Position positions {
        "Its test." test: reference("test") [required];
        "Its room." room: reference("room");
        "Short name to type." label: text(32) [required];
        "Whether the source or the meter stands there." side: choice(&["source", "receive"]);
        "From the left wall." x: length();
        "From the tested wall." y: length();
        "Above the floor." z: length();
        "Anything else." note: text(500);
    }
    "One number with its unit."
    "reading" Reading readings {
        "Its set." set: reference("set") [required];
        "Its position." position: reference("position") [reason];
        "What it is of." role: choice(ROLES) [required reason];
        "What the number is." subject: choice(SUBJECTS) [reason];
        "The number with its unit." value: quantity() [required reason];
        "How the meter averaged." response: choice(RESPONSES) [reason];
        "Averaging time, s." duration_s: decimal(0, 86_400) [reason];
        "Which repeat." replicate: integer(1, 1_000) [reason];
        "When." taken_at: moment();
        "Photo of the display." photo: reference("photo");
        "Unweighted levels by band, or reverberation times by band." bands: bands() [reason];
        "The recording it was taken from." recording: reference("photo");
        "How levels follow from the recording." calibration: text(300);
        "What was cut out of the recording: from, to, why." cut_out: text(2000) [reason];
        "How many times the recording is clipped." clipped: integer(0, 1_000_000_000);
        "Whether the recording's format loses sound." lossy: flag();
        "Anything else." note: text(500);
    }
    "File, time and subject noted while filming."
    "clip" Clip clips {
        "The file." file: text(200) [required];
        "Time in the file, s." at_s: decimal(0, 1_000_000) [required];
        "What is shown." subject: text(200) [required];
        "The record it shows." about: reference("");
        "The job." job: reference("job");
        "Day." date: date();
    }
    "A picture or file pinned to a record."
    "photo" Photo photos {
        "The record it is pinned to." about: reference("") [required];
        "Its content." hash: hash() [required];
        "Its size in bytes." bytes: integer(0, 1_099_511_627_776) [required];
        "Its media type." media_type: text(100);
        "Its file name." name: text(200);
        "What it shows." caption: text(500);
        "Whether it was taken before a wall was closed." cover_up: flag();
        "When it was taken, as the file says." taken_at: moment();
    }
    "A person has read a caution."
    "acknowledgement" Acknowledgement acknowledgements {
        "Which caution." caution: text(64) [required];
        "What it was shown for." about: reference("") [required];
        "Who." person: reference("person") [required];
        "Facts it was shown for, so that it comes back when they change." facts: text(2000);
        "A note." note: text(500);
    }
    "A published summary, and what its author chose for it."
    "writeup" WriteUp writeups {
        "Short name to type." label: text(32);
        "Job or test it is about." about: reference("");
        "Title." title: text(200);
        "Opening." intro: text(4000);
        "What the author concludes." conclusion: text(4000);
        "Disclosure of gifts and ties." disclosure: text(1000);
        "A question in plain words, for a comparison." question: text(500);
        "More jobs and tests it is about: `job:J3 test:Q5`, in their order." also: text(2000);
        "Sections in the author's order, by name." order: text(300);
        "Sections, sets or figures left out, by name: `cost`, `set:T08`." left_out: text(2000);
        "Names of suppliers may be told." suppliers: flag();
        "Photographs that go along, by id, in their order." photos: text(4000);
        "Where it stands on the web." link: text(300);
        "Licence of its data, SPDX." licence: text(40);
        "The figure that stands for it." figure: text(100);
    }
    "What one published edition of a write-up printed."
    "edition" Edition editions {
        "The write-up." writeup: reference("writeup");
        "What it was about." about: reference("");
        "Day it was published." date: date() [required];
        "The numbers it printed, each a line `name = value`." numbers: text(20_000);
        "SHA-256 of the list of its files." hash: text(64);
    }
}

impl Line {
    /// What lines of a receipt are put in order by: their place on it; those without one come last, oldest first.
    pub fn order(&self) -> (i64, RecordId) {
        (self.place.unwrap_or(i64::MAX), self.id)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn kinds_and_fields_are_named_once_and_refer_to_kinds() {
        for (index, kind) in KINDS.iter().enumerate() {
            assert!(KINDS[..index].iter().all(|other| other.name != kind.name), "{} twice", kind.name);
            for (place, field) in kind.fields.iter().enumerate() {
                assert!(kind.fields[..place].iter().all(|other| other.name != field.name));
                if let FieldType::Reference(to) = field.takes {
                    assert!(to.is_empty() || KindSpec::find(to).is_some(), "{}.{}", kind.name, field.name);
                }
            }
        }
    }
}
