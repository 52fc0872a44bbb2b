//! What is left of materials, by place.

use serde_json::{Value, json};
use storypole_journal::RecordId;
use storypole_ledger::words::counted;
use storypole_ledger::{StockRow, StockStep, stock, stock_over_time};
use storypole_notebook::Book;

use super::{amount, called};

/// What is left of one material at one place.
pub fn json(book: &Book, row: &StockRow) -> Value {
    json!({
        "site": called::json(book, "site", row.site),
        "job": called::json(book, "job", row.job),
        "material": called::json(book, "material", Some(row.material)),
        "unit": row.unit,
        "bought": row.bought.to_string(),
        "returned": row.returned.to_string(),
        "used": row.used.to_string(),
        "wasted": row.wasted.to_string(),
        "moved_in": row.moved_in.to_string(),
        "moved_out": row.moved_out.to_string(),
        "left": row.left.to_string(),
        "pack_unit": book.materials.get(row.material).and_then(|material| material.pack_unit.clone()),
        "sealed_packs": row.sealed_packs.map(|packs| packs.to_string()),
        "loose": row.loose.to_string(),
        "damaged": row.damaged.to_string(),
        "lies_at": row.lies_at,
        "use_by": row.use_by.map(|day| day.to_string()),
        "counted": row.counted.map(|day| day.to_string()),
        "value": row.value.map(amount),
    })
}

/// Every material that came to a place, used up or not; of one site or job, where these are named.
pub fn rows(book: &Book, site: Option<RecordId>, job: Option<RecordId>) -> Value {
    let of = |row: &StockRow| (site.is_none() || row.site == site) && (job.is_none() || row.job == job);
    let rows = stock(book).into_iter().filter(of).map(|row| json(book, &row));
    json!({ "rows": rows.collect::<Value>() })
}

/// What a job has left over, or is short of.
pub fn left_over(book: &Book, job: RecordId) -> Vec<StockRow> {
    stock(book).into_iter().filter(|row| row.job == Some(job) && !row.left.is_zero()).collect()
}

/// A place in words: `at S1 for J1`.
pub fn words_of_place(book: &Book, site: Option<RecordId>, job: Option<RecordId>) -> String {
    let at = site.map(|site| format!("at {}", super::called(book, "site", site).short()));
    let of = job.map(|job| format!("for {}", super::called(book, "job", job).short()));
    [at, of].into_iter().flatten().collect::<Vec<_>>().join(" ")
}

/// What is left of a material everywhere, in one sentence.
pub fn left_words(book: &Book, material: RecordId) -> String {
    let name = super::called(book, "material", material).short();
    let row = |row: &StockRow| {
        let unit = row.unit.as_deref().unwrap_or("units");
        format!("{} {}", counted(row.left, unit), words_of_place(book, row.site, row.job))
    };
    let left = stock(book).into_iter().filter(|row| row.material == material && !row.left.is_zero());
    let left: Vec<String> = left.map(|one| row(&one)).collect();
    if left.is_empty() {
        format!("No {name} is left.")
    } else {
        format!("Left of {name}: {}.", left.join("; "))
    }
}

/// How much of what is left is sealed, loose or damaged, in words; nothing where all of it is simply there.
pub fn condition_words(book: &Book, row: &StockRow) -> String {
    let material = book.materials.get(row.material);
    let unit = row.unit.as_deref().unwrap_or("units");
    let pack = material.and_then(|material| material.pack_unit.as_deref()).unwrap_or("pack");
    let mut words = Vec::new();
    if let Some(sealed) = row.sealed_packs.filter(|sealed| !sealed.is_zero()) {
        words.push(format!("{} sealed", counted(sealed, pack)));
    }
    if row.sealed_packs.is_some() && !row.loose.is_zero() {
        words.push(format!("{} loose", counted(row.loose, unit)));
    }
    if !row.damaged.is_zero() {
        words.push(format!("{} damaged", counted(row.damaged, unit)));
    }
    words.join(", ")
}

/// Every step of one material, place by place.
pub fn steps(book: &Book, material: RecordId) -> Value {
    let one = |step: &StockStep| {
        let kind = step.way.kind();
        json!({
            "site": called::json(book, "site", step.place.site),
            "job": called::json(book, "job", step.place.job),
            "what": way(step),
            "record": called::json(book, kind, Some(step.record)),
            "day": step.day.map(|day| day.to_string()),
            "change": step.change.to_string(),
            "balance": step.balance.to_string(),
        })
    };
    json!({
        "material": called::json(book, "material", Some(material)),
        "steps": stock_over_time(book, material).iter().map(one).collect::<Value>(),
    })
}

/// What happened in a step, in a word or two.
pub fn way(step: &StockStep) -> &'static str {
    use storypole_ledger::movement::Way;
    match step.way {
        Way::Bought => "bought",
        Way::MovedIn => "moved in",
        Way::Returned => "returned",
        Way::Used => "used",
        Way::Wasted => "thrown away",
        Way::MovedOut => "moved out",
    }
}
