//! What stands behind the question mark: days, how many, where a page begins, how wide a drawing is.

use jiff::civil::Date;
use serde::Deserialize;
use storypole_drawing::Room;
use storypole_notebook::kinds::TASK_STATES;

use crate::ApiError;
use crate::answer::Asked;
use crate::problem::Code;

/// Most items of a page.
pub const MOST: u32 = 500;

/// A calendar day, like 2025-03-04.
#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(try_from = "String")]
pub struct Day(pub Date);

impl TryFrom<String> for Day {
    type Error = String;

    fn try_from(text: String) -> Result<Self, String> {
        // The library reads more forms of a day than are promised here.
        let is_plain = text.len() == "2025-03-04".len();
        let read = text.parse().ok().filter(|_| is_plain);
        read.map(Self).ok_or_else(|| format!("\"{text}\" is not a day: write it like 2025-03-04"))
    }
}

/// The day it is for whoever asks; by this computer's clock where they do not say.
pub fn today(said: Option<Day>, asked: &Asked) -> Date {
    said.map_or_else(|| asked.day(), |day| day.0)
}

/// Items of a page where nobody says.
pub fn usual() -> u32 {
    100
}

/// A state of a task.
///
/// # Errors
/// There is none of that name, with those that there are.
pub fn task_state(asked: &str) -> Result<&'static str, ApiError> {
    let known = TASK_STATES.iter().find(|state| **state == asked).copied();
    known.ok_or_else(|| {
        let detail = format!("state is \"{asked}\"; it may be one of: {}", TASK_STATES.join(", "));
        ApiError::new(Code::BadQuery, detail)
    })
}

/// How wide something is drawn, 320 to 1600, as high as it has to be.
///
/// # Errors
/// Narrower or wider, with what is allowed; `what` is what is drawn.
pub fn room(what: &str, width: u16) -> Result<Room, ApiError> {
    if !(320..=1600).contains(&width) {
        return Err(
            ApiError::new(Code::BadQuery, format!("{what} is 320 to 1600 wide")).next("say another width")
        );
    }
    Ok(Room { width: f64::from(width), height: None })
}

/// How many items to send, from 1 to `most`.
///
/// # Errors
/// More or fewer than allowed, with what is.
pub fn within(asked: u32, most: u32) -> Result<usize, ApiError> {
    if (1..=most).contains(&asked) {
        return Ok(asked as usize);
    }
    Err(ApiError::new(Code::BadQuery, format!("limit is {asked}; it may be 1 to {most}")))
}

/// Where a page begins, read from the cursor of the page before.
///
/// # Errors
/// It is not one that this server gave.
pub fn after<T: std::str::FromStr>(asked: Option<&str>) -> Result<Option<T>, ApiError> {
    let read = asked.map(|text| {
        text.parse().map_err(|_| {
            let detail = format!("after is \"{text}\", which is not the next of any page");
            ApiError::new(Code::BadQuery, detail)
                .next("send back the next of the page before as it was, or leave it out for the first page")
        })
    });
    read.transpose()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_are_written_in_one_form() {
        for (text, is_read) in [
            ("2025-03-04", true),
            ("2025-02-29", false),
            ("20250304", false),
            ("2025-3-4", false),
            ("2025-03-04T10:00", false),
            ("", false),
        ] {
            assert_eq!(Day::try_from(text.to_owned()).is_ok(), is_read, "{text}");
        }
    }

    #[test]
    fn a_page_has_one_item_at_least() {
        for (asked, expected) in [(0, None), (1, Some(1)), (500, Some(500)), (501, None)] {
            assert_eq!(within(asked, MOST).ok(), expected);
        }
        let refused = within(0, MOST).unwrap_err().to_string();
        assert!(refused.contains("1 to 500"), "{refused}");
    }
}
