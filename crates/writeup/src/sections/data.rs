//! Where the readings are, under which licence, and how to recompute the results from them.

use crate::data::Data;
use crate::document::Block;

/// Names the tables, and says where money is not among them; nothing where there are none.
pub(crate) fn data(data: &Data, licence: &str, has_costs: bool) -> Vec<Block> {
    if data.tables.is_empty() {
        return Vec::new();
    }
    let points = data.tables.iter().map(|table| format!("{}: {}", table.name, table.about)).collect();
    let without = if has_costs {
        ""
    } else {
        " Costs and what is left in stock are not among them: the author left cost out."
    };
    vec![
        Block::Paragraph(format!(
            "The records behind this write-up go with it as tables, under the licence {licence}.{without}"
        )),
        Block::List(points),
        Block::Paragraph(
            "To recompute a result, average the readings of each set by energy, take the receiving side from the source side by the \
             background rule named under Method, and compare the sets on the positions they share."
                .to_owned(),
        ),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::data::DataTable;

    #[test]
    fn tables_are_named_with_their_licence() {
        assert_eq!(data(&Data::default(), "CC-BY-4.0", true), []);
        let readings = DataTable {
            name: "readings",
            about: "one reading",
            columns: vec![],
            key: vec![],
            refers: vec![],
            rows: vec![],
        };
        let blocks = data(&Data { tables: vec![readings] }, "CC0-1.0", false);
        assert!(
            matches!(&blocks[0], Block::Paragraph(text) if text.contains("CC0-1.0") && text.contains("the author left cost out"))
        );
        assert_eq!(blocks[1], Block::List(vec!["readings: one reading".to_owned()]));
    }
}
