//! Backups that the server makes by itself.

answers! {
    /// How backups are made, and how that went.
    struct Backups {
        /// The plan; none where the server makes none.
        plan: Option<BackupPlan>,
        /// Whether one is being made now.
        at_work: bool,
        /// The last good one that is there, by the clock of the device that made it.
        last_good: Option<Backup>,
        /// Why the last attempt since the server started failed, where no good one came after it.
        last_failure: Option<BackupFailure>,
        /// Those that lie in the folder, newest first.
        backups: Vec<Backup>,
    }
    /// Where backups go, and how often.
    struct BackupPlan {
        /// The folder on the server's computer.
        folder: String,
        /// Seconds between two.
        every_s: u64,
        /// How many of the newest are kept.
        keep: u64,
    }
    /// A backup.
    struct Backup {
        /// Its file name.
        file: String,
        /// When it was made, ms since 1970.
        made_ms: u64,
        /// Its size, bytes.
        bytes: u64,
    }
    /// An attempt that failed.
    struct BackupFailure {
        /// When, ms since 1970.
        at_ms: u64,
        /// Why, and what to do.
        reason: String,
    }
}
