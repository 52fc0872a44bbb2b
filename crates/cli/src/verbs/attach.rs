//! `storypole attach`: keeps a photo or file and pins it to a record.

use std::path::PathBuf;

use storypole_desk::edge;
use storypole_notebook::Value;

use crate::called;
use crate::context::Context;
use crate::draft::Writing;
use crate::refused::{Outcome, Refused, cause, plain};

/// Keep a photo or file in the notebook and pin it to a record.
///
/// The file is copied, by its content: the same file twice takes its room once. Up to 64 GiB.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  storypole attach boxes.jpg --to A03 --caption \"boxes offset, before the wall was closed\" --cover-up
  storypole attach receipt.pdf --to P12
  storypole attach display.jpg --to T18/R2")]
pub struct Args {
    /// The file.
    file: PathBuf,
    /// The record it is pinned to.
    #[arg(long, value_name = "RECORD")]
    to: String,
    /// What it shows.
    #[arg(long)]
    caption: Option<String>,
    /// It was taken before a wall was closed.
    #[arg(long)]
    cover_up: bool,
    /// Person who writes, if not you.
    #[arg(long = "as", value_name = "LABEL")]
    by: Option<String>,
}

/// Keeps the file.
pub fn run(context: &Context, args: &Args) -> Outcome {
    let desk = context.open()?;
    let (kind, about) = called::find_any(&desk, &args.to)?;
    let mut writing = Writing::start(context, &desk, args.by.as_deref())?;
    let id = edge::record_id();
    writing.set_some(id, "photo", "caption", args.caption.as_deref())?;
    if args.file.is_dir() {
        return Err(Refused::new(
            format!("{} is a folder, not a file", args.file.display()),
            "attach its files one by one, or pack them into one file first",
        ));
    }
    let mut file = std::fs::File::open(&args.file).map_err(|error| {
        Refused::new(
            format!("{} cannot be read: {}", args.file.display(), plain(&error)),
            "check the name and that you may read the file",
        )
    })?;
    let kept = desk.keep_file(&mut file).map_err(|error| {
        let reason = format!("{} could not be kept", args.file.display());
        let why = match cause(&error) {
            Some(io) => plain(io),
            None => Refused::from(error).reason(),
        };
        let next =
            "look whether the disk has room and the notebook's folder may be written; nothing was pinned";
        Refused::new(format!("{reason}: {why}"), next)
    })?;
    writing.set_value(id, "photo", "about", &Value::Record(about))?;
    writing.set_value(id, "photo", "hash", &Value::Hash(kept.hash))?;
    writing.set_value(
        id,
        "photo",
        "bytes",
        &Value::Integer(i64::try_from(kept.bytes).unwrap_or(i64::MAX)),
    )?;
    if let Some(name) = args.file.file_name() {
        writing.set(id, "photo", "name", &name.to_string_lossy())?;
    }
    let ending = args.file.extension().map(|ending| ending.to_string_lossy().to_lowercase());
    writing.set_some(id, "photo", "media_type", ending.as_deref().and_then(media_type))?;
    if args.cover_up {
        writing.set_value(id, "photo", "cover_up", &Value::Flag(true))?;
    }
    let what = if args.cover_up { "cover-up photo" } else { "file" };
    let said = format!("{what} pinned to {kind} {}: {} bytes", called::name(&desk, kind, about), kept.bytes);
    writing.finish("photo", id, &said)
}

/// Media type by the ending of a file name, as registered with IANA.
pub fn media_type(ending: &str) -> Option<&'static str> {
    Some(match ending {
        "jpg" | "jpeg" => "image/jpeg",
        "png" => "image/png",
        "webp" => "image/webp",
        "heic" => "image/heic",
        "gif" => "image/gif",
        "svg" => "image/svg+xml",
        "pdf" => "application/pdf",
        "txt" => "text/plain",
        "md" => "text/markdown",
        "csv" => "text/csv",
        "json" => "application/json",
        "wav" => "audio/vnd.wave",
        "flac" => "audio/flac",
        "mp3" => "audio/mpeg",
        "mp4" => "video/mp4",
        "mov" => "video/quicktime",
        "webm" => "video/webm",
        _ => return None,
    })
}
