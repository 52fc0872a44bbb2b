//! `storypole import` of the file that a browser saves of work it could not send.
//!
//! A line is a draft as it would have been sent, with its `id`, or a file (`file`, `name`, `media_type`, `base64`) that a
//! later draft names by its mark in place of a hash. Ids stay, so what the browser sends later all the same adds
//! nothing. Leaves out the rules of drafts: they are the server's.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::{BufRead, BufReader, Read};
use std::path::Path;

use data_encoding::BASE64;
use serde_json::Value;
use storypole_desk::Desk;
use storypole_desk::attached::hex;
use storypole_journal::{DraftId, NotebookId, RecordId};
use storypole_notebook::KindSpec;
use storypole_server::ApiError;
use storypole_server::drafts::body::DraftBody;
use storypole_store::Taken as Outcome;

use super::Taken;
use crate::refused::{Refused, of_server, plain};

/// Most bytes of a line: the largest picture a browser keeps, in base 64, and more.
const LINE_LIMIT: u64 = 512 << 20;
/// How much of a file is looked at to know it.
const LOOKED_AT: u64 = 64 << 10;

/// Whether a file is of this sort: its first line that is no blank one begins as a browser writes it.
pub fn is_one(path: &Path) -> Result<bool, Refused> {
    if !path.is_file() {
        return Ok(false);
    }
    let mut start = Vec::new();
    let opened = File::open(path).map_err(|error| unreadable(path, &error))?;
    opened.take(LOOKED_AT).read_to_end(&mut start).map_err(|error| unreadable(path, &error))?;
    let text = String::from_utf8_lossy(&start);
    let first = text.lines().map(str::trim).find(|line| !line.is_empty()).unwrap_or_default();
    Ok(first.starts_with("{\"file\":\"file:")
        || (first.starts_with("{\"id\":\"") && first.contains("\"writes\":[")))
}

/// Takes the file, line by line; what is not taken is said by line.
pub fn take(desk: &Desk, path: &Path, author: RecordId, dry_run: bool) -> Result<Taken, Refused> {
    let mut lines = BufReader::new(File::open(path).map_err(|error| unreadable(path, &error))?);
    let mut reader = Waiting { desk, author, dry_run, hashes: BTreeMap::new(), taken: Taken::default() };
    for number in 1_u64.. {
        let mut line = Vec::new();
        let read = (&mut lines).take(LINE_LIMIT).read_until(b'\n', &mut line);
        if read.map_err(|error| unreadable(path, &error))? == 0 {
            break;
        }
        if line.trim_ascii().is_empty() {
            continue;
        }
        if let Err(refused) = reader.line(&line) {
            reader.taken.refused.push(format!("line {number}: {refused}"));
        }
    }
    Ok(reader.taken)
}

fn unreadable(path: &Path, error: &std::io::Error) -> Refused {
    let reason = format!("{} cannot be read: {}", path.display(), plain(error));
    Refused::new(reason, "check the name and that you may read the file; nothing of it was taken")
}

/// What was read so far.
struct Waiting<'a> {
    desk: &'a Desk,
    author: RecordId,
    dry_run: bool,
    /// Hashes of the files that came along, by the mark that stands for each.
    hashes: BTreeMap<String, String>,
    taken: Taken,
}

impl Waiting<'_> {
    fn line(&mut self, line: &[u8]) -> Result<(), String> {
        let value: Value = serde_json::from_slice(line).map_err(|error| {
            format!("this is no whole JSON object ({error}): save the waiting work to a file again")
        })?;
        let Value::Object(mut members) = value else {
            return Err("this is no JSON object: save the waiting work to a file again".to_owned());
        };
        if members.contains_key("base64") {
            return self.file(&members);
        }
        let said = |name: &str, value: Option<Value>| match value {
            Some(Value::String(text)) => Ok(Some(text)),
            None => Ok(None),
            Some(_) => Err(format!("\"{name}\" is no text: save the waiting work to a file again")),
        };
        let id = said("id", members.remove("id"))?.ok_or("\"id\" is missing: a draft has one")?;
        let id: DraftId = id.parse().map_err(|error| format!("id: {error}"))?;
        if let Some(notebook) = said("notebook", members.remove("notebook"))? {
            self.check_notebook(&notebook)?;
        }
        let body = serde_json::from_value(Value::Object(members))
            .map_err(|error| format!("this is no draft: {error}"))?;
        self.draft(id, body)
    }

    fn check_notebook(&self, notebook: &str) -> Result<(), String> {
        let own = self.desk.notebook();
        match notebook.parse::<NotebookId>() {
            Ok(meant) if meant == own => Ok(()),
            Ok(meant) => Err(format!(
                "this was written for another notebook, {meant}, and this one is {own}: name its folder with --data"
            )),
            Err(error) => Err(format!("notebook: {error}")),
        }
    }

    fn file(&mut self, members: &serde_json::Map<String, Value>) -> Result<(), String> {
        let said = |name: &str| members.get(name).and_then(Value::as_str);
        let (Some(mark), Some(base64)) = (said("file"), said("base64")) else {
            return Err(
                "this file has no mark or no content: save the waiting work to a file again".to_owned()
            );
        };
        let named = said("name").unwrap_or("a file without a name");
        let bytes = BASE64.decode(base64.as_bytes()).map_err(|error| {
            format!("{named} was not written whole ({error}): save the waiting work to a file again")
        })?;
        let hash = if self.dry_run {
            // Nothing is kept; any hash will do for seeing whether the draft is legal.
            "0".repeat(64)
        } else {
            let kept = self.desk.keep_file(&mut bytes.as_slice());
            hex(&kept.map_err(|error| format!("{named}: {}", Refused::from(error).reason()))?.hash)
        };
        self.hashes.insert(mark.to_owned(), hash);
        self.taken.files += 1;
        Ok(())
    }

    fn draft(&mut self, id: DraftId, mut body: DraftBody) -> Result<(), String> {
        for write in &mut body.writes {
            let Some(value) = write.value.as_ref().filter(|value| value.starts_with("file:")) else {
                continue;
            };
            match self.hashes.get(value) {
                Some(hash) => write.value = Some(hash.clone()),
                None if write.field == "hash" => {
                    return Err("a file it names is not in this file: it stays with the browser".to_owned());
                }
                None => (),
            }
        }
        let refused = |error: ApiError| of_server(error).reason();
        let book = self.desk.book().map_err(|error| Refused::from(error).reason())?;
        let draft = body.to_draft(id, self.author, book.currency()).map_err(refused)?;
        self.check_author(draft.author)?;
        if self.dry_run {
            let is_held =
                self.desk.read(|reader| reader.holds(id)).map_err(|error| Refused::from(error).reason())?;
            storypole_notebook::door::check(&draft).map_err(|error| Refused::from(error).reason())?;
            if is_held {
                self.taken.already_held += 1
            } else {
                self.taken.new += 1
            }
            return Ok(());
        }
        match self.desk.take(draft) {
            Ok(Outcome::New { .. }) => self.taken.new += 1,
            Ok(Outcome::AlreadyHeld) => self.taken.already_held += 1,
            Err(error) => return Err(Refused::from(error).reason()),
        }
        Ok(())
    }

    fn check_author(&self, author: RecordId) -> Result<(), String> {
        let person = KindSpec::find("person").expect("people are of a kind known here");
        let found = self.desk.read(|reader| reader.row(person, author));
        match found.map_err(|error| Refused::from(error).reason())? {
            Some(_) => Ok(()),
            None => Err(format!("its author, {author}, is no person of this notebook")),
        }
    }
}
