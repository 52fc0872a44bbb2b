//! Assemblies that are not written yet.

use serde_json::{Value, json};
use storypole_desk::view::sketch::Sketch;
use storypole_drawing::{Look, Room};

const WALL: [(&str, &str); 10] = [
    ("element", "wall"),
    ("leaf_a", "gypsum 12.7 x1"),
    ("frame", "single wood 38x89@406"),
    ("cavity", "102 clear, glass fibre 89, 10 kg/m3, 100%"),
    ("leaf_b", "gypsum type x 15.9 x2, channel 13@610"),
    ("openings", "none"),
    ("seals", "A 1, B 2"),
    ("state", "finished"),
    ("length", "150 in"),
    ("height", "97.125 in"),
];

fn amended(fields: &[(&'static str, &'static str)]) -> Sketch {
    let mut wall = WALL.to_vec();
    for (name, text) in fields {
        match wall.iter_mut().find(|(field, _)| field == name) {
            Some(row) => row.1 = text,
            None => wall.push((name, text)),
        }
    }
    Sketch::read(&wall, [Some("hall"), Some("music room")])
}

fn value(json: &Value, path: &str) -> f64 {
    json.pointer(path).and_then(Value::as_f64).unwrap_or_else(|| panic!("{path} of {json}"))
}

#[test]
fn layers_weigh_what_tables_say() {
    let json = amended(&[]).json(Room::SHEET);
    let layers = json["layers"].as_array().unwrap();
    let names: Vec<&str> = layers.iter().map(|layer| layer["name"].as_str().unwrap()).collect();
    assert_eq!(
        names,
        ["gypsum", "cavity", "wood studs", "glass fibre", "resilient channel", "gypsum type x"]
    );
    // Published board tables: 1/2 in regular weighs 7.8 to 8.3 kg/m², 5/8 in type X 10.7 to 11.2 kg/m² (1.6 to 1.7 and 2.2 to
    // 2.3 lb/ft²).
    let (thin, thick) = (&layers[0]["mass"], &layers[5]["mass"]);
    assert!(
        (7.8..=8.3).contains(&value(thin, "/kg_m2/value"))
            && (1.6..=1.7).contains(&value(thin, "/lb_ft2/value"))
    );
    assert!(
        (21.4..=22.4).contains(&value(thick, "/kg_m2/value"))
            && (4.4..=4.6).contains(&value(thick, "/lb_ft2/value"))
    );
    // By hand: 89 mm of 10 kg/m³ in every bay.
    assert!((value(&layers[3]["mass"], "/kg_m2/value") - 0.89).abs() < 1e-9);
    // By hand: 12.7 and 102 and twice 15.9 mm; an inch is 25.4 mm.
    assert!((value(&json, "/thickness/mm/value") - 146.5).abs() < 1e-9);
    assert_eq!(json["thickness"]["inches"]["printed"], "5.77");
    let sum: f64 = layers
        .iter()
        .filter(|one| !one["mass"].is_null())
        .map(|one| value(&one["mass"], "/kg_m2/value"))
        .sum();
    assert!((value(&json, "/mass/kg_m2/value") - sum).abs() < 1e-9);
    assert_eq!(json["not_weighed"], json!(["studs and plates", "channel"]));
    assert_eq!((&json["problems"], &json["not_drawn_because"]), (&json!([]), &Value::Null));
}

#[test]
fn a_written_mass_wins_over_tables() {
    let json = amended(&[("leaf_b", "gypsum 15.9 x1 + gypsum 12.7 x1, 22 kg/m2")]).json(Room::SHEET);
    let of_b: Vec<&Value> =
        json["layers"].as_array().unwrap().iter().filter(|one| one["part"] == "leaf_b").collect();
    assert_eq!(of_b.len(), 2);
    let masses: Vec<f64> = of_b.iter().map(|one| value(&one["mass"], "/kg_m2/value")).collect();
    assert!((masses.iter().sum::<f64>() - 22.0).abs() < 1e-9 && masses[1] > masses[0], "{masses:?}");
    assert!(of_b.iter().all(|one| one["mass_from"] == "written"));
    let plaster = amended(&[("leaf_b", "plaster 20 x1 + tile 8 x1, 40 kg/m2")]).json(Room::SHEET);
    // By hand: 8.05 of gypsum board, 0.89 of glass fibre, 40 as written.
    assert!((value(&plaster, "/mass/kg_m2/value") - 48.94).abs() < 1e-9, "{plaster}");
    assert!(
        plaster["notes"].to_string().contains("how that divides over its boards is not known"),
        "{}",
        plaster["notes"]
    );
    let unknown = amended(&[("leaf_b", "plaster 20 x1")]).json(Room::SHEET);
    assert_eq!(unknown["not_weighed"], json!(["studs and plates", "plaster"]));
    assert!(unknown["not_predicted_because"].as_str().unwrap().contains("plaster"));
}

#[test]
fn half_a_wall_answers_and_names_what_it_cannot_read() {
    let sketch = amended(&[("leaf_b", "gypsum 12.7 x1, glued"), ("length", "150"), ("state", "painted")]);
    let json = sketch.json(Room::SHEET);
    let fields: Vec<&str> = sketch.problems().iter().map(|one| one.field).collect();
    assert_eq!(fields, ["leaf_b", "state", "length"]);
    let leaf = &json["problems"][0];
    assert!(
        leaf["why"].as_str().unwrap().contains("glued")
            && leaf["next"].as_str().unwrap().contains("write it like")
    );
    assert!(
        json["problems"][2]["next"].as_str().unwrap().contains("write 150 in"),
        "{}",
        json["problems"][2]
    );
    assert_eq!(json["not_predicted_because"], "leaf b cannot be read");
    assert_eq!(json["parts"]["leaf_b"], Value::Null);
    let svg = sketch.section(Room::PHONE, Look::DARK).unwrap();
    assert!(svg.contains("no boards on side B") && svg.contains("hall"), "{svg}");
    let nothing = Sketch::read(&[("leaf_a", " "), ("colour", "red")], [None, None]);
    let json = nothing.json(Room::SHEET);
    assert_eq!(
        (&json["layers"], &json["mass"], &json["thickness"]),
        (&json!([]), &Value::Null, &Value::Null)
    );
    assert!(json["not_drawn_because"].as_str().unwrap().contains("nothing to draw"));
    assert!(nothing.section(Room::SHEET, Look::LIGHT).is_err());
}

#[test]
fn a_cavity_that_its_studs_do_not_make_is_told() {
    let json = amended(&[("cavity", "89 clear, empty")]).json(Room::SHEET);
    let note = json["notes"][0].as_str().unwrap();
    assert!(note.contains("89 mm deep") && note.contains("102 mm"), "{note}");
}
