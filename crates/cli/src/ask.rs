//! Asking a person at a terminal, line by line. Answers are read from stdin, questions go to stderr, so that
//! results on stdout stay clean and a script can answer too.

use std::io::{self, BufRead, IsTerminal, Write};

/// Whether a person sits at both ends.
pub fn is_person() -> bool {
    io::stdin().is_terminal() && io::stderr().is_terminal()
}

/// Asks one question; `None` at the end of input.
pub fn line(question: &str) -> Option<String> {
    eprint!("{question} ");
    // A terminal that cannot be written to cannot be asked either; the answer then is the end of input.
    io::stderr().flush().ok()?;
    let mut answer = String::new();
    match io::stdin().lock().read_line(&mut answer) {
        Ok(0) | Err(_) => None,
        Ok(_) => Some(answer.trim().to_owned()),
    }
}
