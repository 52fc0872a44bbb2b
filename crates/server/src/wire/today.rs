//! One day.

use super::called::Called;
use super::entry::Entry;
use super::mark::Mark;
use super::money::JobMoney;
use super::number::Amount;
use super::task::Task;
use super::word::{Day, Decimal};

answers! {
    /// Hours of one person on one day.
    struct DayHours {
        /// Who; null where nobody is named.
        person: Option<Called>,
        /// Hours.
        hours: Decimal,
    }
    /// A receipt of the day.
    struct Bought {
        /// The receipt.
        receipt: Called,
        /// What it brings to this site's jobs, tax counted.
        sum: Amount,
    }
    /// One site on one day.
    struct SiteDay {
        /// The site.
        site: Called,
        /// Lines of the day log, in the order they were written.
        entries: Vec<Entry>,
        /// Hours by person.
        hours: Vec<DayHours>,
        /// Receipts of the day.
        bought: Vec<Bought>,
        /// Sum of the day's purchases; null where nothing was bought.
        spent: Option<Amount>,
        /// The jobs at work that day, or those that run at the site.
        jobs: Vec<JobMoney>,
        /// Tasks to do or being done.
        open: Vec<Task>,
        /// Tasks that are blocked, or wait for one that is not done.
        blocked: Vec<Task>,
        /// Tasks done that nobody has checked.
        done_not_checked: Vec<Task>,
        /// Sets without a reading.
        sets_without_readings: Vec<Called>,
        /// Jobs without a last day.
        running_jobs: Vec<Called>,
    }
    /// One day: what was done where, hours, purchases, the jobs that run, open tasks, what looks wrong.
    struct Today {
        /// The day shown.
        day: Day,
        /// Whether it was picked because it is the last with an entry.
        is_last_day_with_an_entry: bool,
        /// The sites something was written about, or the one asked for.
        sites: Vec<SiteDay>,
        /// Tasks that are open or blocked at other sites; none where a site is asked for.
        open_elsewhere: Vec<Task>,
        /// What looks wrong, in the whole notebook.
        marks: Vec<Mark>,
    }
}
