//! What search engines read of the page: an article, and the data behind it.
//!
//! Leaves out who wrote it: a notebook holds roles, and names stay in it.
//!
//! # Source
//! JSON-LD 1.1, W3C; the vocabulary schema.org (Article, Dataset, PropertyValue, DataDownload).

use std::collections::BTreeSet;

use jiff::civil::Date;
use serde_json::{Map, Value, json};

use crate::data::{ColumnKind, Data, DataTable};
use crate::document::{Block, Document, Topic};
use crate::files::package::LICENCES;
use crate::markdown::escape::plain_line;

/// Longest headline, in letters. From memory, of what search engines show.
const HEADLINE_LIMIT: usize = 110;
/// Longest description of a way of measuring, in letters. Convention of this project.
const TECHNIQUE_LIMIT: usize = 500;

/// Writes the graph so that no text in it can end the element it stands in.
pub(super) fn write(document: &Document) -> String {
    let has_data = !document.data.tables.is_empty();
    let mut graph = vec![article(document, has_data)];
    graph.extend(has_data.then(|| dataset(document)));
    let all = json!({ "@context": "https://schema.org", "@graph": graph });
    all.to_string().replace('<', "\\u003c").replace('>', "\\u003e").replace('&', "\\u0026")
}

fn article(document: &Document, has_data: bool) -> Value {
    let mut article = Map::new();
    let mut put = |key: &str, value: Value| article.insert(key.to_owned(), value);
    put("@type", json!("Article"));
    put("@id", json!("#article"));
    put("headline", json!(cut(super::heading(document), HEADLINE_LIMIT)));
    put("datePublished", json!(document.date.to_string()));
    if let Some(day) = document.updated {
        put("dateModified", json!(day.to_string()));
    }
    put("inLanguage", json!(super::language(document)));
    let summary = plain_line(&document.summary);
    if !summary.is_empty() {
        put("abstract", json!(summary));
    }
    if !document.tags.is_empty() {
        put("keywords", json!(document.tags));
    }
    if let Some(link) = super::link(document) {
        put("url", json!(link));
    }
    if has_data {
        put("license", licence(&document.licence));
        put("isBasedOn", json!({ "@id": "#data" }));
    }
    Value::Object(article)
}

fn dataset(document: &Document) -> Value {
    let mut dataset = Map::new();
    let mut put = |key: &str, value: Value| dataset.insert(key.to_owned(), value);
    let title = plain_line(super::heading(document));
    put("@type", json!("Dataset"));
    put("@id", json!("#data"));
    put("name", json!(format!("Data of: {title}")));
    let what = if document.data.table("costs").is_some() {
        "Readings, conditions and costs"
    } else {
        "Readings and conditions"
    };
    let about = format!(
        "{what} behind the write-up \"{title}\", with all that is needed to compute its results again. {}",
        plain_line(&document.summary)
    );
    put("description", json!(about.trim_end()));
    put("license", licence(&document.licence));
    let variables: Vec<Value> = variables(&document.data);
    if !variables.is_empty() {
        put("variableMeasured", Value::Array(variables));
    }
    if let Some(technique) = technique(document) {
        put("measurementTechnique", json!(technique));
    }
    if let Some(days) = days(&document.data) {
        put("temporalCoverage", json!(days));
    }
    let description = "data/datapackage.json";
    let distribution =
        json!([{ "@type": "DataDownload", "name": description, "encodingFormat": "application/json" }]);
    put("distribution", distribution);
    Value::Object(dataset)
}

/// The address of a licence, or its name where this list has none.
fn licence(spdx: &str) -> Value {
    let known = LICENCES.iter().find(|(name, ..)| *name == spdx);
    json!(known.map_or(spdx, |(_, page, _)| *page))
}

/// Columns of numbers with a unit, each once.
fn variables(data: &Data) -> Vec<Value> {
    let mut seen = BTreeSet::new();
    let mut found = Vec::new();
    for column in data.tables.iter().flat_map(|table| &table.columns) {
        let is_number = matches!(column.kind, ColumnKind::Number | ColumnKind::Integer);
        if let Some(unit) = column.unit.filter(|unit| is_number && seen.insert((column.name, *unit))) {
            let value = json!({
                "@type": "PropertyValue", "name": column.name, "description": column.about, "unitText": unit,
            });
            found.push(value);
        }
    }
    found
}

/// The first words of the section on method.
fn technique(document: &Document) -> Option<String> {
    let words = document.section(Topic::Method)?.blocks.iter().find_map(|block| match block {
        Block::Paragraph(text) => Some(text.clone()),
        Block::List(points) => Some(points.join(" ")),
        _ => None,
    })?;
    Some(cut(&words, TECHNIQUE_LIMIT)).filter(|words| !words.is_empty())
}

/// First and last day in the data, as an ISO 8601 interval.
fn days(data: &Data) -> Option<String> {
    let of_table = |table: &DataTable| -> Vec<Date> {
        let is_day: Vec<bool> = table.columns.iter().map(|column| column.kind == ColumnKind::Day).collect();
        let cells = table.rows.iter().flat_map(|row| row.iter().zip(&is_day));
        cells.filter_map(|(cell, is_day)| cell.as_ref().filter(|_| *is_day)?.parse().ok()).collect()
    };
    let days: BTreeSet<Date> = data.tables.iter().flat_map(of_table).collect();
    let (first, last) = (days.first()?, days.last()?);
    Some(if first == last { first.to_string() } else { format!("{first}/{last}") })
}

/// One line of at most so many letters.
fn cut(text: &str, most: usize) -> String {
    let line = plain_line(text);
    if line.chars().count() <= most {
        return line;
    }
    let kept: String = line.chars().take(most - 1).collect();
    format!("{}…", kept.trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::html::tests::full;

    fn read(document: &Document) -> Value {
        serde_json::from_str(&write(document)).unwrap()
    }

    /// Source: schema.org, properties of Article, Dataset and PropertyValue; ISO 8601 intervals.
    #[test]
    fn an_article_and_its_data() {
        let all = read(&full());
        assert_eq!(all["@context"], "https://schema.org");
        let (article, data) = (&all["@graph"][0], &all["@graph"][1]);
        assert_eq!((&article["@type"], &data["@type"]), (&json!("Article"), &json!("Dataset")));
        assert_eq!(article["datePublished"], "2025-05-24");
        assert_eq!(article["dateModified"], "2025-06-01");
        assert_eq!(article["isBasedOn"]["@id"], data["@id"]);
        assert_eq!(data["license"], "https://creativecommons.org/licenses/by/4.0/");
        assert_eq!(data["temporalCoverage"], "2025-03-04/2025-03-19");
        assert_eq!(data["variableMeasured"][0]["unitText"], "dB");
        assert!(data["description"].as_str().unwrap().chars().count() >= 50);
        assert!(article.get("author").is_none() && data.get("creator").is_none());
    }

    #[test]
    fn without_data_there_is_none_to_describe() {
        let bare = Document { data: Data::default(), title: "x".repeat(300), ..full() };
        let all = read(&bare);
        assert_eq!(all["@graph"].as_array().unwrap().len(), 1);
        assert_eq!(all["@graph"][0]["headline"].as_str().unwrap().chars().count(), HEADLINE_LIMIT);
    }

    #[test]
    fn another_licence_keeps_its_name() {
        assert_eq!(licence("LicenseRef-own"), json!("LicenseRef-own"));
    }
}
