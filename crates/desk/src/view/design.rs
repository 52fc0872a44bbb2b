//! How many positions and repeats would show a wanted change, in which order, and the sheet to take along.

use serde_json::{Value, json};
use storypole_findings::plan::numbers::Numbers;
use storypole_findings::plan::order::{Block, Order, Round};
use storypole_findings::plan::sheet::{self, SheetCondition};
use storypole_findings::plan::{LARGEST_SEED, Plan};
use storypole_journal::RecordId;
use storypole_notebook::Book;

use super::{called, change, number};

/// The seed of a test's drawn order: the one kept with it, or else one every device draws alike from the test's own id.
pub fn seed(book: &Book, test: RecordId) -> u64 {
    let kept = book.tests.get(test).and_then(|test| test.order_seed);
    kept.and_then(|seed| u64::try_from(seed).ok()).unwrap_or_else(|| {
        let id = test.to_string();
        id.bytes().fold(0_u64, |seed, byte| seed.wrapping_mul(31).wrapping_add(u64::from(byte)))
            & LARGEST_SEED
    })
}

/// A planned test as JSON.
pub fn json(book: &Book, plan: &Plan) -> Value {
    json!({
        "test": called::json(book, "test", Some(plan.test)),
        "wanted": number(plan.ask.wanted, 1),
        "wanted_chance": plan.ask.chance.value(),
        "seed": plan.ask.seed,
        "sentences": plan.sentences,
        "numbers": plan.numbers.as_ref().ok().map(numbers),
        "missing": plan.numbers.as_ref().err().map(ToString::to_string),
        "order": order(&plan.order),
        "readings": plan.readings,
        "minutes": number(plan.minutes, 0),
        "reachable_grade": change::grade(&plan.reachable),
        "would_lift": plan.lifts,
        "conditions": plan.sheet.conditions.iter().map(condition).collect::<Value>(),
        "photos": plan.sheet.photos,
        "cautions": plan.sheet.cautions,
        "sheet": sheet::text(&plan.sheet),
    })
}

fn numbers(numbers: &Numbers) -> Value {
    let row = |row: &storypole_findings::plan::numbers::DesignRow| {
        json!({
            "positions": row.positions,
            "repeats": row.repeats,
            "readings": row.readings,
            "half_width": number(row.half_width, 1),
            "chance": row.chance,
        })
    };
    json!({
        "unit": numbers.spread.unit,
        "scatter": number(numbers.spread.scatter, 2),
        "own_scatter": numbers.spread.own_scatter(),
        "positions": numbers.positions,
        "repeats": numbers.repeats,
        "half_width": number(numbers.half_width, 1),
        "chance": numbers.chance,
        "least_change": number(numbers.least_change, 1),
        "positions_for_chance": numbers.for_power.0,
        "table": numbers.table.iter().map(row).collect::<Value>(),
    })
}

fn order(order: &Order) -> Value {
    let round = |round: &Round| json!({ "stage": round.stage, "direction": round.direction, "source": round.source, "receive": round.receive });
    let block = |block: &Block| json!({ "direction": block.direction, "position": block.position, "states": block.states });
    match order {
        Order::ByState(rounds) => {
            json!({ "rounds": rounds.iter().map(round).collect::<Value>(), "blocks": [] })
        }
        Order::ByPosition { blocks, .. } => {
            json!({ "rounds": [], "blocks": blocks.iter().map(block).collect::<Value>() })
        }
    }
}

fn condition(row: &SheetCondition) -> Value {
    json!({
        "class": row.class,
        "variable": row.variable,
        "wanted": row.wanted,
        "before": row.before,
        "suggested": row.suggested,
    })
}
