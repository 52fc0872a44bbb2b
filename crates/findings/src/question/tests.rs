use super::*;
use crate::{Findings, fixture};
#[test]
fn show() {
    let book = fixture::demo();
    let _ = Findings::new(&book).ask(&Question::parse("filled vs empty").unwrap());
}
