//! `storypole writeup NAME`: what a job, a test or several showed, for others to read and check, in every form it is published in.

mod edition;
mod page;
mod wishes;

use std::path::{Path, PathBuf};

use jiff::civil::Date;
use serde_json::json;
use storypole_desk::Desk;
use storypole_desk::handout::{self, HandoutError};
use storypole_desk::publish::wishes::plain;
use storypole_desk::publish::{Photos, PublishError, Published, Request};
use storypole_desk::view;
use storypole_writeup::files::archive;
use storypole_writeup::{Choices, File, files, markdown};

use crate::called;
use crate::context::Context;
use crate::page as printed;
use crate::refused::{Outcome, Refused};

/// Write up a job, a test, several of them, or an answer: for a blog, a film, and whoever wants to recompute it.
///
/// Roles only, no address, no serial number. Without --out or --zip the text goes to the screen as Markdown. `--preview` shows what
/// would leave the notebook.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole writeup J1                              the text, to the screen
  storypole writeup J1 --preview                    what would leave the notebook
  storypole writeup J1 --out blog                   everything, into blog/<title>/
  storypole writeup J1 J3 J4 --zip walls.zip --formats page,cards --shapes wide
  storypole writeup --question \"cellulose or glass fibre\" --out blog
  storypole writeup Q2 --title \"Party wall: seal first\" --disclosure \"Own money, no gifts.\" --keep W3
  storypole writeup W3 --leave-out cost --order question,results,limits")]
pub struct Args {
    /// Labels of jobs and tests, or of one stored write-up.
    #[arg(value_name = "NAME")]
    names: Vec<String>,
    /// A question in plain words, in place of names: what all jobs say to it.
    #[arg(long, value_name = "WORDS")]
    question: Option<String>,
    /// Folder for the write-up's own folder; made where it is missing.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// One zip file instead.
    #[arg(long, value_name = "FILE", conflicts_with = "out")]
    zip: Option<PathBuf>,
    /// Replace the write-up or file that is there.
    #[arg(long)]
    force: bool,
    /// Show what would leave the notebook, and write nothing.
    #[arg(long, conflicts_with_all = ["out", "zip", "keep"])]
    preview: bool,
    /// Which files: markdown, page, chapters, post, data, cards. Without it: all.
    #[arg(long, value_name = "LIST", value_delimiter = ',')]
    formats: Vec<String>,
    /// Shapes of cards: wide (1920x1080), tall (1080x1920), small (1280x720). Without it: all.
    #[arg(long, value_name = "LIST", value_delimiter = ',')]
    shapes: Vec<String>,
    /// How cards are painted: light, dark, light-clear, dark-clear; clear ones let the film show through. Without it: dark,dark-clear.
    #[arg(long, value_name = "LIST", value_delimiter = ',')]
    looks: Vec<String>,
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
    /// Sections in your order, like question,results,cost; the others follow.
    #[arg(long, value_name = "LIST", value_delimiter = ',')]
    order: Vec<String>,
    /// Sections, results or figures to leave out, like cost, set:T08, figure:forest. A result left out is named as left out.
    #[arg(long, value_name = "LIST", value_delimiter = ',')]
    leave_out: Vec<String>,
    /// Photographs that go along: all, none, or ids.
    #[arg(long, value_name = "LIST", value_delimiter = ',')]
    photos: Vec<String>,
    /// Name the suppliers.
    #[arg(long)]
    suppliers: bool,
    /// Where it stands on the web.
    #[arg(long, value_name = "ADDRESS")]
    link: Option<String>,
    /// Licence of the data, like CC-BY-4.0 or CC0-1.0.
    #[arg(long, value_name = "SPDX")]
    licence: Option<String>,
    /// The figure that stands for it.
    #[arg(long, value_name = "NAME")]
    figure: Option<String>,
    /// Day of the write-up, like 2025-05-24. Without it: today.
    #[arg(long, value_name = "DAY")]
    date: Option<String>,
    /// Keep these words and choices in the notebook as a write-up of this label.
    #[arg(long, value_name = "LABEL")]
    keep: Option<String>,
    /// Do not write down that this edition was made; a number that changes later is then not marked.
    #[arg(long)]
    unrecorded: bool,
    /// Person who writes, if not you.
    #[arg(long = "as", value_name = "LABEL")]
    by: Option<String>,
}

/// Prints a write-up, previews it, or writes its files.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let wanted = wishes::wanted(&args.formats, &args.shapes, &args.looks)?;
    let goes_out = args.out.is_some() || args.zip.is_some();
    wishes::check_address(args.link.as_deref())?;
    let says_which = !args.formats.is_empty() || !args.shapes.is_empty() || !args.looks.is_empty();
    if says_which && !goes_out && !args.preview && args.keep.is_none() {
        return Err(Refused::new(
            "it was said which files, but not where",
            "add --out DIR, --zip FILE or --preview",
        ));
    }
    let writes = args.keep.is_some() || (goes_out && !args.unrecorded);
    let (desk, may_write) = open(context, writes, args.keep.is_some())?;
    let request = request(context, &desk, args)?;
    let mut published = desk.write_up(&request).map_err(refused)?;
    if !published.words_from.is_empty() {
        eprintln!(
            "note: title, words and disclosure that you did not give here are those of write-up {}",
            published.words_from.join(" and ")
        );
    }
    if let Some(label) = &args.keep {
        published.writeup = Some(edition::keep(context, &desk, args, &published, label)?);
    }
    for warning in &published.warnings {
        eprintln!("note: {warning}");
    }
    if args.preview {
        let made = files(&published.document, &wanted)?;
        return page::preview(context, &desk, &published, &made);
    }
    if !goes_out {
        return to_screen(context, &desk, &published);
    }
    let made = files(&published.document, &wanted)?;
    let place = hand_out(args, &published, &made)?;
    if may_write && !args.unrecorded {
        edition::record(context, &desk, args, &published, &made)?;
    }
    told(context, &desk, &published, &made, &place)
}

/// The notebook, and whether it can be written to; where it only has to be read, another process may have it.
fn open(context: &Context, writes: bool, must_write: bool) -> Result<(Desk, bool), Refused> {
    if !writes {
        return Ok((context.look()?, false));
    }
    match context.open() {
        Ok(desk) => {
            let may_write = !desk.only_reads();
            Ok((desk, may_write))
        }
        Err(refused) if must_write => Err(refused),
        Err(_) => {
            let desk = context.look()?;
            eprintln!(
                "note: this edition is not written down, since the notebook is in use or may not be written; a number that changes later is then not marked"
            );
            Ok((desk, false))
        }
    }
}

fn request(context: &Context, desk: &Desk, args: &Args) -> Result<Request, Refused> {
    let date = match &args.date {
        Some(text) => text
            .parse::<Date>()
            .map_err(|_| Refused::new(format!("\"{text}\" is not a date"), "write it like 2025-03-04"))?,
        None => context.today(),
    };
    if args.names.is_empty() && args.question.is_none() {
        return Err(Refused::new(
            "there is nothing to write about",
            "name jobs, tests or a stored write-up, or ask with --question; `storypole jobs --all` lists labels",
        ));
    }
    let about = args.names.iter().map(|name| called::find_any(desk, name)).collect::<Result<_, _>>()?;
    let choices = Choices {
        title: args.title.clone(),
        intro: args.intro.clone(),
        conclusion: args.conclusion.clone(),
        disclosure: args.disclosure.clone(),
        order: wishes::order(&args.order)?,
        left_out: (!args.leave_out.is_empty()).then(|| plain(&args.leave_out)),
        suppliers: args.suppliers.then_some(true),
        link: args.link.clone(),
        licence: args.licence.clone(),
        figure: args.figure.clone(),
        ..Choices::new(date, env!("CARGO_PKG_VERSION"))
    };
    Ok(Request { about, question: args.question.clone(), photos: photos(desk, &args.photos)?, choices })
}

fn photos(desk: &Desk, typed: &[String]) -> Result<Photos, Refused> {
    let typed = plain(typed);
    match typed.iter().map(String::as_str).collect::<Vec<_>>().as_slice() {
        [] => Ok(Photos::Stored),
        ["all"] => Ok(Photos::All),
        ["none"] => Ok(Photos::None),
        ids => {
            ids.iter().map(|id| called::find(desk, "photo", id)).collect::<Result<_, _>>().map(Photos::These)
        }
    }
}

fn refused(error: PublishError) -> Refused {
    match &error {
        PublishError::OtherKind { .. } => {
            Refused::from(error).next("see their labels with `storypole jobs --all`")
        }
        _ => Refused::from(error),
    }
}

/// Where the files went.
enum Place {
    Folder(PathBuf),
    Archive(PathBuf),
}

impl Place {
    fn path(&self) -> &Path {
        match self {
            Self::Folder(path) | Self::Archive(path) => path,
        }
    }
}

fn hand_out(args: &Args, published: &Published, made: &[File]) -> Result<Place, Refused> {
    let slug = &published.document.slug;
    let failed = |error: HandoutError| {
        let next = error.next_step();
        Refused::new(error.to_string(), next)
    };
    if let Some(file) = &args.zip {
        handout::into_file(file, &archive::archive(made, slug), args.force).map_err(failed)?;
        return Ok(Place::Archive(file.clone()));
    }
    let folder = args.out.as_deref().unwrap_or(Path::new("."));
    let all = made.iter().map(|file| (file.path.as_str(), file.bytes.as_slice()));
    handout::into_folder(folder, slug, all, args.force).map(Place::Folder).map_err(failed)
}

fn to_screen(context: &Context, desk: &Desk, published: &Published) -> Outcome {
    let text = markdown(&published.document);
    if context.json() {
        let mut json = view::writeup::preview(&*desk.book()?, published, &[]);
        json["markdown"] = json!(text);
        return printed::json(&json);
    }
    printed::result(&text)
}

fn told(context: &Context, desk: &Desk, published: &Published, made: &[File], place: &Place) -> Outcome {
    if context.json() {
        let mut json = view::writeup::preview(&*desk.book()?, published, made);
        json["place"] = json!(place.path().display().to_string());
        return printed::json(&json);
    }
    printed::result(&page::made(published, made, place.path()))
}
