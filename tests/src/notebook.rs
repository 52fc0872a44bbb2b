//! A notebook in a folder of its own, the program run on it as a person types, and what it said.

use std::fs;
use std::io::Write;
use std::path::PathBuf;
use std::process::{Command, Output, Stdio};

use serde_json::Value;

use crate::asked::{command, copy_demo, folder, parsed, run};

/// What one command came to.
pub struct Said {
    /// How it ended: 0 done, 1 refused, 2 wrong usage.
    pub code: i32,
    /// What it printed.
    pub out: String,
    /// What it said beside that: notes, questions, refusals.
    pub err: String,
}

impl Said {
    /// What a finished command came to.
    ///
    /// # Panics
    /// It was ended from outside, or wrote what is not UTF-8.
    pub fn of(output: &Output) -> Self {
        let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).expect("the program writes UTF-8");
        Self {
            code: output.status.code().expect("the program ends by itself"),
            out: text(&output.stdout),
            err: text(&output.stderr),
        }
    }

    /// It did what was asked.
    ///
    /// # Panics
    /// It did not.
    #[track_caller]
    pub fn done(self) -> Self {
        assert_eq!(self.code, 0, "{}{}", self.out, self.err);
        self
    }

    /// It refused, said why, and printed nothing.
    ///
    /// # Panics
    /// It did not.
    #[track_caller]
    pub fn refused(self, why: &str) -> Self {
        assert!(self.out.is_empty(), "nothing is done that is not said: {}{}", self.out, self.err);
        self.refused_rows(why)
    }

    /// An import refused and said why; it prints all the same how many rows it took.
    ///
    /// # Panics
    /// It did not.
    #[track_caller]
    pub fn refused_rows(self, why: &str) -> Self {
        assert_eq!(self.code, 1, "{}{}", self.out, self.err);
        self.says(why)
    }

    /// These words are among notes and refusals.
    ///
    /// # Panics
    /// They are not.
    #[track_caller]
    pub fn says(self, words: &str) -> Self {
        assert!(self.err.contains(words), "{words} is not in: {}", self.err);
        self
    }

    /// These words are in what was printed.
    ///
    /// # Panics
    /// They are not.
    #[track_caller]
    pub fn prints(self, words: &str) -> Self {
        assert!(self.out.contains(words), "{words} is not in: {}", self.out);
        self
    }
}

/// A notebook in a folder of its own, with room beside it for files to read.
pub struct Notebook {
    /// Goes away with the notebook.
    pub folder: tempfile::TempDir,
}

impl Notebook {
    /// A folder in which no notebook was started.
    pub fn none() -> Self {
        Self { folder: folder() }
    }

    /// A copy of the demo.
    pub fn demo() -> Self {
        let notebook = Self::none();
        fs::create_dir(notebook.data()).expect("a new folder takes another");
        copy_demo(&notebook.data());
        notebook
    }

    /// Where its data lie.
    pub fn data(&self) -> PathBuf {
        self.folder.path().join("notebook")
    }

    /// The program, about to run on it.
    pub fn command(&self, words: &[&str]) -> Command {
        command(&self.data(), words)
    }

    /// Runs the program with nobody there to answer.
    pub fn run(&self, words: &[&str]) -> Said {
        Said::of(&run(&self.data(), words))
    }

    /// Runs the program and types a line for each answer.
    ///
    /// # Panics
    /// The program does not start, or takes no more lines.
    pub fn answer(&self, words: &[&str], answers: &[&str]) -> Said {
        let mut command = self.command(words);
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().expect("the program starts");
        let mut stdin = child.stdin.take().expect("it was piped");
        stdin.write_all(format!("{}\n", answers.join("\n")).as_bytes()).expect("the answers are read");
        drop(stdin);
        Said::of(&child.wait_with_output().expect("the program ends"))
    }

    /// What it prints for programs, with `--json` before the command.
    #[track_caller]
    pub fn json(&self, words: &[&str]) -> Value {
        parsed(&self.run(&[&["--json"], words].concat()).done().out, words)
    }

    /// How many changes it holds.
    ///
    /// # Panics
    /// The program does not tell.
    #[track_caller]
    pub fn changes(&self) -> u64 {
        self.json(&["digest"])["changes"].as_u64().expect("changes are counted")
    }

    /// Writes a file beside the notebook; its path.
    ///
    /// # Panics
    /// It cannot be written.
    pub fn file(&self, name: &str, text: &str) -> String {
        let path = self.folder.path().join(name);
        fs::write(&path, text).expect("a new folder takes a file");
        path.to_str().expect("folders of tests have plain names").to_owned()
    }
}
