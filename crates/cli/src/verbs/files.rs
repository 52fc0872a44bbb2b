//! `storypole files`: what is pinned to a record, and copies of it; checking every file ([`check`]), fetching
//! what is missing ([`fetch`]), and which ones this device fetches by itself ([`policy`]).

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::path::{Path, PathBuf};

use storypole_desk::attached::FileState;
use storypole_desk::{Desk, view};
use storypole_notebook::kinds::Photo;

use crate::called;
use crate::context::Context;
use crate::page;
use crate::print::{Table, say};
use crate::refused::{Outcome, Refused, plain};

mod check;
mod fetch;
mod policy;

/// List the photos and files pinned to a record, or copy them out.
#[derive(Debug, clap::Args)]
#[command(
    args_conflicts_with_subcommands = true,
    after_help = "\
Examples:
  storypole files A03
  storypole files A03 --out ./for-the-video       copies, checked against what was kept
  storypole files check                           reads every file to its end
  storypole files fetch --all                     what is not here yet
  storypole files policy asked                    fetch a file when it is opened, not before"
)]
pub struct Args {
    #[command(subcommand)]
    verb: Option<Verb>,
    /// The record they are pinned to.
    #[arg(required = true)]
    record: Option<String>,
    /// Folder for copies; it is made when it is not there, and nothing in it is written over.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
}

#[derive(Debug, clap::Subcommand)]
enum Verb {
    /// Read every file to its end: what has changed is moved aside, to be fetched again.
    Check(check::Args),
    /// Fetch what is not on this device now.
    Fetch(fetch::Args),
    /// Show or set which files this device fetches by itself.
    Policy(policy::Args),
}

impl Args {
    /// Whether it writes nothing.
    pub fn only_reads(&self) -> bool {
        match &self.verb {
            None => true,
            Some(Verb::Check(_) | Verb::Fetch(_)) => false,
            Some(Verb::Policy(args)) => args.only_reads(),
        }
    }
}

/// Lists, copies or checks files.
pub fn run(context: &Context, args: &Args) -> Outcome {
    match &args.verb {
        Some(Verb::Check(args)) => check::run(context, args),
        Some(Verb::Fetch(args)) => fetch::run(context, args),
        Some(Verb::Policy(args)) => policy::run(context, args),
        None => of_record(context, args.record.as_deref().unwrap_or_default(), args),
    }
}

fn of_record(context: &Context, record: &str, args: &Args) -> Outcome {
    let desk = context.open()?;
    let (kind, about) = called::find_any(&desk, record)?;
    let book = desk.book()?;
    let photos: Vec<&Photo> = view::files::pinned(&book, about).collect();
    let copies = match &args.out {
        Some(folder) => copy_all(&desk, &photos, folder)?,
        None => Vec::new(),
    };
    if context.json() {
        let mut json = view::files::json(&book, about, &|hash| desk.file_state(hash));
        json["copies"] = copies.iter().map(|path| path.to_string_lossy().into_owned()).collect();
        return page::json(&json);
    }
    if photos.is_empty() {
        say!("Nothing is pinned to {kind} {}.", called::name(&desk, kind, about));
        return Ok(());
    }
    let mut table = Table::new(&["name", ">bytes", "held", "caption"]);
    for photo in &photos {
        let bytes = photo.bytes.map(|bytes| bytes.to_string()).unwrap_or_default();
        let caption = photo.caption.clone().unwrap_or_default();
        table.row([file_name(photo), bytes, held(&desk, photo), caption]);
    }
    page::result(&table.text())?;
    for path in &copies {
        say!("copied to {}", path.display());
    }
    Ok(())
}

/// How the content stands here, in words.
fn held(desk: &Desk, photo: &Photo) -> String {
    match photo.hash.map(|hash| desk.file_state(&hash)) {
        Some(FileState::Here) => "here".to_owned(),
        Some(FileState::Arriving { held_bytes }) => {
            format!("{held_bytes} bytes are here, the rest is to come")
        }
        Some(FileState::Damaged) => "damaged on this device, to be fetched again".to_owned(),
        Some(FileState::Missing) | None => "not on this device".to_owned(),
    }
}

/// The name to copy under: the last part of what it was called, never a path.
fn file_name(photo: &Photo) -> String {
    let named = photo.name.as_deref().unwrap_or_default();
    let last = named.rsplit(['/', '\\']).next().unwrap_or_default();
    let plain: String = last.chars().filter(|letter| !letter.is_control()).collect();
    if matches!(plain.as_str(), "" | "." | "..") {
        format!("file-{}", &photo.id.to_string()[..13])
    } else {
        plain
    }
}

fn copy_all(desk: &Desk, photos: &[&Photo], folder: &Path) -> Result<Vec<PathBuf>, Refused> {
    fs::create_dir_all(folder).map_err(|error| not_written(folder, &error))?;
    let mut taken = BTreeSet::new();
    let mut copies = Vec::new();
    for photo in photos {
        let Some(hash) = photo.hash else { continue };
        let path = free_name(folder, &file_name(photo), &mut taken);
        let part = path.with_extension("part");
        let mut file = File::create(&part).map_err(|error| not_written(&part, &error))?;
        let given = desk.attachments().give(&hash, &mut file);
        let whole = given.map_err(Refused::from).and_then(|_| {
            file.sync_all()
                .and_then(|()| fs::rename(&part, &path))
                .map_err(|error| not_written(&path, &error))
        });
        if whole.is_err() {
            // Half a copy is of no use; that it cannot be removed changes nothing.
            let _ = fs::remove_file(&part);
        }
        whole?;
        copies.push(path);
    }
    Ok(copies)
}

/// A name that stands for nothing yet: `wall.jpg`, `wall-2.jpg`, ...
fn free_name(folder: &Path, name: &str, taken: &mut BTreeSet<PathBuf>) -> PathBuf {
    let (stem, ending) = match name.rsplit_once('.') {
        Some((stem, ending)) if !stem.is_empty() => (stem.to_owned(), format!(".{ending}")),
        _ => (name.to_owned(), String::new()),
    };
    let numbered = (2..).map(|number| format!("{stem}-{number}{ending}"));
    let mut names = std::iter::once(name.to_owned()).chain(numbered).map(|name| folder.join(name));
    let free = names.find(|path| !path.exists() && !taken.contains(path)).expect("numbers do not end");
    taken.insert(free.clone());
    free
}

fn not_written(path: &Path, error: &std::io::Error) -> Refused {
    Refused::new(
        format!("{} cannot be written: {}", path.display(), plain(error)),
        "name another folder with --out, or make room",
    )
}
