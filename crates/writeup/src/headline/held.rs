//! Conditions of a result in short lines: what did not hold first, then what nobody noted, then what held.

use storypole_findings::print;
use storypole_journal::RecordId;
use storypole_notebook::kinds::Condition;

use crate::scope::Scope;
use crate::sections::{Held, found, held};

/// Conditions of a test as found in these sets.
pub(super) fn conditions(scope: &Scope<'_>, test: Option<RecordId>, sets: &[RecordId]) -> Vec<String> {
    let all: Vec<&Condition> = scope
        .book
        .conditions
        .live()
        .filter(|condition| condition.test.is_some() && condition.test == test)
        .collect();
    if all.is_empty() {
        return vec!["No conditions were written down to be held constant.".to_owned()];
    }
    let (mut changed, mut unknown, mut same) = (Vec::new(), Vec::new(), Vec::new());
    for condition in all {
        let name = condition.variable.as_deref().unwrap_or("one without a name");
        let mut holds = true;
        for set in sets {
            let found = found(scope, condition, *set);
            match held(found) {
                Held::Same => (),
                Held::Otherwise(word) => {
                    holds = false;
                    let value =
                        found.and_then(|found| found.value.as_deref()).filter(|value| !value.is_empty());
                    let said = match value {
                        Some(value) if word == "changed" => value.to_owned(),
                        Some(value) => format!("{value} ({word})"),
                        None => word.to_owned(),
                    };
                    changed.push(format!("Did not hold in {}: {name}, {said}", label(scope, *set)));
                }
                Held::Unknown(_) => {
                    holds = false;
                    if !unknown.contains(&name) {
                        unknown.push(name);
                    }
                }
            }
        }
        if holds {
            same.push(name);
        }
    }
    let line =
        |what: &str, names: &[&str]| (!names.is_empty()).then(|| format!("{what}: {}", print::list(names)));
    changed.into_iter().chain(line("Not known", &unknown)).chain(line("Held", &same)).collect()
}

fn label(scope: &Scope<'_>, set: RecordId) -> String {
    scope.book.sets.get(set).and_then(|set| set.label.clone()).unwrap_or_else(|| "one set".to_owned())
}
