//! `storypole writeup NAME`: what a job or test showed, for others to read and check, as Markdown.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use jiff::civil::Date;
use serde_json::json;
use storypole_desk::names::a;
use storypole_desk::view;
use storypole_writeup::{Choices, document, markdown};

use crate::context::Context;
use crate::refused::{Outcome, Refused};
use crate::{called, page};

/// Write up a job or a test as Markdown: method, results, limits, cost, cautions. Roles only, no address, no serial.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole writeup J1                          to the screen
  storypole writeup J1 --out posts              into posts/<title>.md
  storypole writeup Q2 --title \"Party wall: seal first\" --disclosure \"Own money, no gifts.\"")]
pub struct Args {
    /// Label of a job or test.
    name: String,
    /// Folder for the file; made where it is missing. Without it the text goes to the screen.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Write over a file of the same name.
    #[arg(long, requires = "out")]
    force: bool,
    /// Title, in place of the notebook's.
    #[arg(long)]
    title: Option<String>,
    /// Opening words.
    #[arg(long)]
    intro: Option<String>,
    /// What you make of it.
    #[arg(long)]
    conclusion: Option<String>,
    /// Gifts and ties, or that there are none.
    #[arg(long)]
    disclosure: Option<String>,
    /// Day of the write-up, like 2025-05-24. Without it: today.
    #[arg(long, value_name = "DAY")]
    date: Option<String>,
}

/// Prints a write-up or writes its file.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let date = match &args.date {
        Some(text) => text
            .parse::<Date>()
            .map_err(|_| Refused::new(format!("\"{text}\" is not a date"), "write it like 2025-03-04"))?,
        None => context.today(),
    };
    let desk = context.open()?;
    let (kind, id) = called::find_any(&desk, &args.name)?;
    let subject = view::writeup::subject(kind, id).ok_or_else(|| {
        let reason = format!("{} is {}; jobs and tests are written up", args.name, a(kind));
        Refused::new(reason, "see their labels with `storypole jobs --all`")
    })?;
    let book = desk.book()?;
    let choices = Choices {
        title: args.title.clone(),
        intro: args.intro.clone(),
        conclusion: args.conclusion.clone(),
        disclosure: args.disclosure.clone(),
        ..view::writeup::choices(&book, date, env!("CARGO_PKG_VERSION"), |record| {
            desk.read(|reader| reader.history(record))
        })?
    };
    let written = document(&book, subject, &choices)?;
    let text = markdown(&written);
    let file =
        args.out.as_deref().map(|folder| keep(folder, &written.slug, &text, args.force)).transpose()?;
    if context.json() {
        let json = json!({
            "about": view::past::anywhere(&book, subject.record()).json(),
            "title": written.title,
            "slug": written.slug,
            "summary": written.summary,
            "file": file.as_ref().map(|file| file.display().to_string()),
            "markdown": text,
        });
        return page::json(&json);
    }
    match file {
        Some(file) => page::result(&format!("wrote {}\n", file.display())),
        None => page::result(&text),
    }
}

/// Puts the text into a file of a folder: whole or not at all.
fn keep(folder: &Path, slug: &str, text: &str, force: bool) -> Result<PathBuf, Refused> {
    let failed = |error: io::Error| {
        let reason = format!("{} could not be written: {error}", folder.display());
        Refused::new(reason, "check the folder's permissions and the free space")
    };
    fs::create_dir_all(folder).map_err(failed)?;
    let file = folder.join(format!("{slug}.md"));
    if file.exists() && !force {
        return Err(Refused::new(
            format!("{} is there already; it is as it was", file.display()),
            "choose another folder or title, or write over it with --force",
        ));
    }
    let temporary = folder.join(format!(".{slug}.{}.tmp", std::process::id()));
    let result = write_synced(&temporary, text).and_then(|()| fs::rename(&temporary, &file));
    if let Err(error) = result {
        // The half file is of no use to anyone; that it cannot be removed changes nothing about the refusal.
        let _ = fs::remove_file(&temporary);
        return Err(failed(error));
    }
    Ok(file)
}

fn write_synced(path: &Path, text: &str) -> io::Result<()> {
    let mut file = File::create(path)?;
    file.write_all(text.as_bytes())?;
    file.sync_all()
}
