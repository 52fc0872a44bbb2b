//! Marks on any record: a field in conflict, a field that is missing.
//!
//! The list below names for each kind the fields a record needs. It repeats what the kinds say of themselves,
//! since a typed record does not know its fields by name; a test compares the two.

use storypole_journal::RecordId;
use storypole_notebook::Book;
use storypole_notebook::book::Meta;
use storypole_notebook::kinds;

use super::{Mark, MarkKind};

/// What is looked at in one record.
struct Seen<'a> {
    kind: &'static str,
    id: RecordId,
    meta: &'a Meta,
    label: Option<&'a str>,
    missing: Vec<&'static str>,
}

macro_rules! label {
    ($record:ident: labelled) => {
        $record.label.as_deref()
    };
    ($record:ident: plain) => {
        None
    };
}

macro_rules! look_at {
    ($book:ident, $look:ident; $( $table:ident $Kind:ident $labelled:ident: $($needs:ident)*; )*) => {
        $( for record in $book.$table.live() {
            let missing = [$( (stringify!($needs), record.$needs.is_none()) ),*];
            $look(Seen {
                kind: kinds::$Kind::KIND,
                id: record.id,
                meta: &record.meta,
                label: label!(record: $labelled),
                missing: missing.into_iter().filter(|(_, is)| *is).map(|(name, _)| name).collect(),
            });
        } )*
    };
}

pub(super) fn marks(book: &Book) -> Vec<Mark> {
    let mut marks = Vec::new();
    let mut look = |seen: Seen<'_>| {
        marks.extend(conflict(&seen));
        marks.extend(incomplete(&seen));
    };
    look_at! { book, look;
        notebooks NotebookSettings plain: name currency;
        people Person labelled: label role;
        devices Device labelled: label device;
        sites Site labelled: label name;
        rooms Room labelled: label site name;
        jobs Job labelled: label site title;
        tasks Task labelled: job title state;
        assemblies Assembly labelled: label;
        openings Opening plain: assembly left width head;
        blockings Blocking plain: assembly height;
        entries Entry labelled: site date entry_kind text;
        hours Hours plain: person job date hours;
        suppliers Supplier labelled: label name;
        materials Material labelled: label name unit;
        receipts Receipt labelled: label date;
        lines Line plain: receipt item quantity unit_price;
        uses Use labelled: material site job quantity date;
        wastes Waste plain: material site job quantity date;
        moves Move labelled: material from_site from_job to_site to_job quantity date;
        counts Count plain: material site job date;
        hazards Hazard plain: job hazard date;
        meters Meter labelled: label meter_kind;
        checks Check plain: meter date;
        signals Signal labelled: label description;
        tests Test labelled: label question;
        sets Set labelled: label test stage assembly date;
        conditions Condition plain: test variable class;
        founds Found plain: condition set value status;
        positions Position labelled: test label;
        readings Reading plain: set role value;
        clips Clip plain: file at_s subject;
        photos Photo plain: about hash bytes;
        acknowledgements Acknowledgement plain: caution about person;
        editions Edition plain: date;
    }
    // A write-up is about records, or answers a question.
    for record in book.writeups.live() {
        let is_about_nothing = record.about.is_none() && record.question.is_none();
        look(Seen {
            kind: kinds::WriteUp::KIND,
            id: record.id,
            meta: &record.meta,
            label: record.label.as_deref(),
            missing: if is_about_nothing { vec!["about"] } else { Vec::new() },
        });
    }
    marks
}

fn conflict(seen: &Seen<'_>) -> Option<Mark> {
    let fields = &seen.meta.conflict;
    (!fields.is_empty()).then(|| Mark {
        kind: MarkKind::Conflict,
        about: seen.id,
        about_kind: seen.kind,
        words: format!("{}: two devices wrote different values for {}", seen.name(), listed(fields)),
        next_step: "pick one of the values, or write what is right".to_owned(),
    })
}

fn incomplete(seen: &Seen<'_>) -> Option<Mark> {
    (!seen.missing.is_empty()).then(|| Mark {
        kind: MarkKind::Incomplete,
        about: seen.id,
        about_kind: seen.kind,
        words: format!("{} lacks {}", seen.name(), listed(&seen.missing)),
        next_step: format!("write {}", listed(&seen.missing)),
    })
}

impl Seen<'_> {
    fn name(&self) -> String {
        match self.label {
            Some(label) => format!("{} {label}", self.kind),
            None => format!("a record of kind {}", self.kind),
        }
    }
}

/// Field names as words.
fn listed(fields: &[&str]) -> String {
    fields.join(", ").replace('_', " ")
}

#[cfg(test)]
mod tests {
    use storypole_notebook::kinds::KINDS;
    use storypole_notebook::{Book, KindSpec, Row};

    use super::*;

    /// An empty record of every kind: conflict in its first field, nothing written.
    fn empty(kind: &'static KindSpec) -> Row {
        let id = RecordId::from_parts(1, [7; 10]);
        let meta = Meta { conflict: vec![kind.fields[0].name], ..Meta::default() };
        Row { id, kind, values: vec![None; kind.fields.len()], meta }
    }

    /// Expected: what each kind says of its own fields.
    #[test]
    fn every_kind_is_looked_at_for_all_it_needs() {
        for kind in KINDS {
            let mut book = Book::default();
            book.insert(empty(kind));
            let marks = marks(&book);
            let mut required: Vec<&str> =
                kind.fields.iter().filter(|field| field.required).map(|field| field.name).collect();
            if kind.name == "writeup" {
                // It needs one of two.
                required.push("about");
            }
            assert_eq!(marks.len(), 2, "{}: {marks:?}", kind.name);
            assert_eq!(marks[0].kind, MarkKind::Conflict, "{}", kind.name);
            assert_eq!(marks[1].next_step, format!("write {}", listed(&required)), "{}", kind.name);
            assert!(marks.iter().all(|mark| mark.about_kind == kind.name));
        }
    }

    #[test]
    fn a_write_up_that_answers_a_question_lacks_nothing() {
        let kind = KindSpec::find("writeup").unwrap();
        let mut row = empty(kind);
        row.meta.conflict.clear();
        let (at, _) = kind.field("question").unwrap();
        row.values[at] = Some(storypole_notebook::Value::Text("cellulose or glass fibre".into()));
        let mut book = Book::default();
        book.insert(row);
        assert_eq!(marks(&book), []);
    }

    #[test]
    fn struck_records_are_left_alone() {
        for kind in KINDS {
            let mut book = Book::default();
            let mut row = empty(kind);
            row.meta.struck = Some("written twice".to_owned());
            book.insert(row);
            assert_eq!(marks(&book), Vec::new(), "{}", kind.name);
        }
    }
}
