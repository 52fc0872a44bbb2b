//! `storypole calc`: requests in, answers out, one JSON object a line, onto the formulas without a notebook.

use std::collections::BTreeMap;
use std::io::{self, BufRead, IsTerminal, Read, Write};

use clap::CommandFactory;
use serde_json::value::RawValue;
use serde_json::{Map, Value, json};
use storypole_calc::{Calc, Field, Refused as NoAnswer};

use crate::context::Context;
use crate::page::{self, Page};
use crate::print::Table;
use crate::refused::{Outcome, Refused};

/// Longest line that is read.
const LONGEST_LINE_BYTES: u64 = 64 << 20;

/// Do single calculations: one JSON object a line in, one out. No notebook is needed.
///
/// Without a name each line is a request, {"calc": NAME, "input": {...}, "id": anything}, and each answer
/// {"id": ..., "output": {...}} or {"id": ..., "refused": {"reason": ..., "message": ..., "field": ...}}. With a name
/// each line is an input and each answer an output. Exit code 1 if any was refused, 2 if a line was not JSON.
#[derive(Debug, clap::Args)]
#[command(
    disable_help_flag = true,
    after_help = "\
Examples:
  storypole calc --list
  storypole calc levels.background --help
  echo '{\"levels\": [60, 66]}' | storypole calc levels.energy_mean
  storypole calc < requests.jsonl > answers.jsonl"
)]
pub struct Args {
    /// The calculation whose inputs come, one a line.
    name: Option<String>,
    /// List every calculation.
    #[arg(long)]
    list: bool,
    /// Describe the calculation, with an example; without a name, this command.
    #[arg(short, long)]
    help: bool,
}

/// Answers.
pub fn run(context: &Context, args: &Args) -> Outcome {
    match (args.list, args.help, args.name.as_deref()) {
        (true, ..) => list(context),
        (_, true, None) => explain(),
        (_, true, Some(name)) => describe(context, known(name)?),
        (.., name) => answer(name),
    }
}

fn known(name: &str) -> Result<&'static Calc, Refused> {
    storypole_calc::find(name).ok_or_else(|| {
        let heading = name.split('.').next().unwrap_or_default();
        let near: Vec<&str> = storypole_calc::all()
            .iter()
            .map(|calc| calc.name)
            .filter(|name| name.starts_with(heading))
            .collect();
        let next = if near.is_empty() || heading.is_empty() {
            "see them all with `storypole calc --list`".to_owned()
        } else {
            format!("there are {}", near.join(", "))
        };
        Refused::new(format!("there is no calculation \"{name}\""), next)
    })
}

fn explain() -> Outcome {
    let mut program = crate::Cli::command();
    program.build();
    let words = program.find_subcommand_mut("calc").map(|calc| calc.render_long_help().to_string());
    page::result(&words.unwrap_or_default())
}

fn list(context: &Context) -> Outcome {
    let calcs = storypole_calc::all();
    if context.json() {
        let rows: Vec<Value> = calcs.iter().map(|calc| described(calc)).collect();
        return page::json(&json!(rows));
    }
    let mut table = Table::new(&["calculation", "what for"]);
    for calc in calcs {
        table.row(vec![calc.name.to_owned(), calc.about.to_owned()]);
    }
    let mut page = Page::default();
    page.table(&table).blank().say("Each is described by `storypole calc NAME --help`.");
    page.print()
}

fn described(calc: &Calc) -> Value {
    let fields = |fields: &[Field]| -> Map<String, Value> {
        fields.iter().map(|field| (field.name.to_owned(), json!(field.about))).collect()
    };
    let example: Value = serde_json::from_str(calc.example).unwrap_or_default();
    json!({
        "calc": calc.name,
        "about": calc.about,
        "input": fields(calc.takes),
        "output": fields(calc.gives),
        "example": example,
    })
}

fn describe(context: &Context, calc: &Calc) -> Outcome {
    if context.json() {
        return page::json(&described(calc));
    }
    let mut page = Page::default();
    page.line(calc.name).say(calc.about);
    for (head, fields) in [("It takes", calc.takes), ("It gives", calc.gives)] {
        page.heading(head);
        for field in fields {
            page.item(&format!("{}: {}", field.name, field.about));
        }
    }
    let input: Value = serde_json::from_str(calc.example).unwrap_or_default();
    page.heading("Example").line(&format!("  echo '{input}' | storypole calc {}", calc.name));
    if let Ok(given) = storypole_calc::answer(calc.name, &input) {
        page.line(&format!("  {}", Value::Object(given)));
    }
    page.print()
}

/// How a run ended.
#[derive(Debug, Default, PartialEq, Eq)]
struct Count {
    asked: u64,
    refused: u64,
    not_json: u64,
}

fn answer(calc: Option<&str>) -> Outcome {
    let input = io::stdin().lock();
    if input.is_terminal() {
        eprintln!("reading requests, one JSON object a line; end with Ctrl-D");
    }
    let count = match answer_all(calc, input, io::stdout().lock()) {
        // Whoever reads the answers has had enough.
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => return Ok(()),
        other => other.map_err(|error| {
            Refused::new(
                format!("the requests could not be answered: {error}"),
                "look at where they come from and where the answers go",
            )
        })?,
    };
    let next = "the answers say why, one for each line";
    if count.not_json > 0 {
        let reason = format!("not JSON: {} of {} lines", count.not_json, count.asked);
        return Err(Refused::new(reason, next).wrong_usage());
    }
    if count.refused > 0 {
        let reason = format!("no answer: {} of {} requests", count.refused, count.asked);
        return Err(Refused::new(reason, next));
    }
    Ok(())
}

/// A request as it is read: what identifies it is handed back as it came, to the last digit.
type Request = BTreeMap<String, Box<RawValue>>;

/// Answers each line in order; an empty line is none.
fn answer_all(calc: Option<&str>, mut input: impl BufRead, mut out: impl Write) -> io::Result<Count> {
    let mut count = Count::default();
    let mut line = Vec::new();
    loop {
        line.clear();
        if input.by_ref().take(LONGEST_LINE_BYTES).read_until(b'\n', &mut line)? == 0 {
            return Ok(count);
        }
        // Some systems mark the start of a text.
        let text = line.strip_prefix(b"\xef\xbb\xbf").filter(|_| count.asked == 0).unwrap_or(&line);
        if text.iter().all(u8::is_ascii_whitespace) {
            continue;
        }
        count.asked += 1;
        let reply = match calc {
            Some(name) => bare(name, text, &mut count),
            None => reply(text, &mut count),
        };
        writeln!(out, "{reply}")?;
        out.flush()?;
    }
}

/// A bare output for a bare input.
fn bare(name: &str, text: &[u8], count: &mut Count) -> String {
    match serde_json::from_slice::<Value>(text) {
        Ok(input) => match storypole_calc::answer(name, &input) {
            Ok(output) => Value::Object(output).to_string(),
            Err(refused) => {
                count.refused += 1;
                json!({ "refused": told(&refused) }).to_string()
            }
        },
        Err(error) => {
            count.not_json += 1;
            json!({ "refused": told(&not_json(&error)) }).to_string()
        }
    }
}

fn reply(text: &[u8], count: &mut Count) -> String {
    let with_id = |id: &str, key: &str, value: &Value| format!("{{\"id\":{id},\"{key}\":{value}}}");
    let asked: Request = match serde_json::from_slice(text) {
        Ok(asked) => asked,
        // Legal JSON of another shape is a request that names nothing.
        Err(_) if serde_json::from_slice::<Value>(text).is_ok() => Request::new(),
        Err(error) => {
            count.not_json += 1;
            return with_id("null", "refused", &told(&not_json(&error)));
        }
    };
    let read = |field: &str| asked.get(field).and_then(|raw| serde_json::from_str::<Value>(raw.get()).ok());
    let id = asked.get("id").map_or("null", |raw| raw.get());
    let answered = match read("calc").as_ref().and_then(Value::as_str) {
        Some(name) => storypole_calc::answer(name, &read("input").unwrap_or_default()),
        None => Err(NoAnswer::of("missing", "calc", "the request names no calculation: give it in \"calc\"")),
    };
    match answered {
        Ok(output) => with_id(id, "output", &Value::Object(output)),
        Err(refused) => {
            count.refused += 1;
            with_id(id, "refused", &told(&refused))
        }
    }
}

fn not_json(error: &serde_json::Error) -> NoAnswer {
    NoAnswer {
        reason: "not_json",
        message: format!(
            "the line is not JSON, from column {} on: give one JSON object a line",
            error.column()
        ),
        field: None,
    }
}

/// Longest message; what came in is quoted and may be of any length.
const LONGEST_MESSAGE_LETTERS: usize = 400;

fn told(refused: &NoAnswer) -> Value {
    let mut message: String = refused.message.chars().take(LONGEST_MESSAGE_LETTERS).collect();
    if message.len() < refused.message.len() {
        message.push_str(" ...");
    }
    let mut words = json!({ "reason": refused.reason, "message": message });
    if let (Some(words), Some(field)) = (words.as_object_mut(), &refused.field) {
        words.insert("field".to_owned(), json!(field));
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asked(calc: Option<&str>, lines: &str) -> (Vec<Value>, Count, String) {
        let mut out = Vec::new();
        let count = answer_all(calc, lines.as_bytes(), &mut out).unwrap();
        let text = String::from_utf8(out).unwrap();
        (text.lines().map(|line| serde_json::from_str(line).unwrap()).collect(), count, text)
    }

    #[test]
    fn every_request_has_its_answer_in_order() {
        let lines = r#"{"calc": "levels.energy_sum", "input": {"levels": [80, 80]}, "id": 7}

{"calc": "levels.loudest", "input": {}, "id": ["a", 12345678901234567890123]}
no JSON
{"input": {}}
{"calc": "levels.energy_sum", "input": {"levels": [50]}}"#;
        let (answers, count, text) = asked(None, lines);
        assert_eq!(count, Count { asked: 5, refused: 2, not_json: 1 });
        assert_eq!(answers.len(), 5);
        // Two equal sources add 10 lg 2.
        let sum = answers[0]["output"]["energy_sum"].as_f64().unwrap();
        assert!((sum - 83.010_299_956_639_8).abs() < 1e-9 && answers[0]["id"] == json!(7));
        assert!(text.contains("12345678901234567890123"), "an id comes back to the last digit");
        assert_eq!(answers[1]["refused"]["reason"], "unknown_calc");
        assert_eq!(answers[2]["refused"]["reason"], "not_json");
        assert_eq!(answers[3]["refused"]["field"], "calc");
        assert_eq!(answers[4]["output"]["energy_sum"], json!(50.0));
    }

    #[test]
    fn named_inputs_get_bare_outputs() {
        let (answers, count, _) = asked(Some("levels.energy_sum"), "{\"levels\": [50]}\n{\"levels\": []}\n");
        assert_eq!(count, Count { asked: 2, refused: 1, not_json: 0 });
        assert_eq!(answers[0], json!({"energy_sum": 50.0}));
        assert_eq!(answers[1]["refused"]["field"], "levels");
        assert!(answers[1].get("id").is_none());
    }

    #[test]
    fn what_names_nothing_known_is_refused_line_by_line() {
        let (answers, count, _) = asked(Some("levels.loudest"), "\u{feff}{}\n{}\n");
        assert_eq!(count, Count { asked: 2, refused: 2, not_json: 0 });
        assert!(answers.iter().all(|answer| answer["refused"]["reason"] == "unknown_calc"));
        let (answers, count, _) = asked(None, "[1, 2]\n\"words\"\n");
        assert_eq!(count, Count { asked: 2, refused: 2, not_json: 0 });
        assert!(answers.iter().all(|answer| answer["refused"]["field"] == "calc"));
        let long = format!("{{\"levels\": \"{}\"}}", "x".repeat(10_000));
        let (answers, ..) = asked(Some("levels.energy_sum"), &long);
        assert!(answers[0]["refused"]["message"].as_str().unwrap().len() < 500);
    }
}
