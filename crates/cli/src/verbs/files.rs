//! `storypole files`: what is pinned to a record, and copies of it.

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::path::{Path, PathBuf};

use storypole_desk::{Desk, view};
use storypole_notebook::kinds::Photo;

use crate::called;
use crate::context::Context;
use crate::page;
use crate::print::{Table, say};
use crate::refused::{Outcome, Refused, plain};

/// List the photos and files pinned to a record, or copy them out.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole files A03
  storypole files A03 --out ./for-the-video       copies, checked against what was kept")]
pub struct Args {
    /// The record they are pinned to.
    record: String,
    /// Folder for copies; it is made when it is not there, and nothing in it is written over.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
}

/// Lists or copies the files.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let desk = context.open()?;
    let (kind, about) = called::find_any(&desk, &args.record)?;
    let book = desk.book()?;
    let photos: Vec<&Photo> = view::files::pinned(&book, about).collect();
    let copies = match &args.out {
        Some(folder) => copy_all(&desk, &photos, folder)?,
        None => Vec::new(),
    };
    if context.json() {
        let mut json = view::files::json(&book, about, &|hash| desk.attachments().has(hash));
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
        table.row([file_name(photo), bytes, held(&desk, photo).to_owned(), caption]);
    }
    page::result(&table.text())?;
    for path in &copies {
        say!("copied to {}", path.display());
    }
    Ok(())
}

fn held(desk: &Desk, photo: &Photo) -> &'static str {
    match photo.hash {
        Some(hash) if desk.attachments().has(&hash) => "here",
        _ => "not on this device",
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
