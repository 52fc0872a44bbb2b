//! Backups that are made by themselves while the server runs, and `/api/backups`, which tells how that goes.
//!
//! Leaves out what is in a backup and which of many are kept: see `storypole_desk::backup`.

use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};
use std::time::Duration;

use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use storypole_desk::backup::rota::{self, Lying};
use storypole_desk::backup::{BackupError, Made, Options};
use storypole_desk::{Desk, edge};
use tokio::sync::Notify;
use tokio::time::sleep;

use crate::problem::{Code, chain};
use crate::wire::backups as wire;
use crate::wire::problem::Anywhere;
use crate::{ApiError, App};

/// How often is looked whether the next one is due.
const LOOK: Duration = Duration::from_secs(60);

/// How long after a failure the next attempt waits, so that a full disk is not filled again and again.
const AFTER_FAILURE_MS: u64 = 10 * 60 * 1000;

/// Names tried when one is taken; each says a second later.
const NAMES: u64 = 5;

/// Where backups go, how often they are made, how many stay.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plan {
    /// The folder. It is not made: one that is not there is a disk that is not plugged in.
    pub folder: PathBuf,
    /// Time between two.
    pub every: Duration,
    /// How many of the newest stay.
    pub keep: usize,
}

/// What the server knows of its backups.
#[derive(Default)]
pub struct Backups {
    plan: OnceLock<Plan>,
    at_work: AtomicBool,
    stopping: AtomicBool,
    stop: Notify,
    failure: Mutex<Option<wire::BackupFailure>>,
}

refusals! {
    /// How making a backup may be refused.
    Refusals: 401 403 409 421 429 500 503 507;
}

/// One is being made, for as long as this lives, however it ends.
struct AtWork<'a>(&'a AtomicBool);

impl Drop for AtWork<'_> {
    fn drop(&mut self) {
        self.0.store(false, Ordering::SeqCst);
    }
}

impl Backups {
    /// Sets the plan, once.
    pub fn follow(&self, plan: Plan) {
        // A second plan would be a fault of the program; the first one stays.
        let _ = self.plan.set(plan);
    }

    /// Ends what is being made, and the making.
    pub(crate) fn stop(&self) {
        self.stopping.store(true, Ordering::SeqCst);
        self.stop.notify_one();
    }

    fn failure(&self) -> MutexGuard<'_, Option<wire::BackupFailure>> {
        self.failure.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Makes one now, unless one is being made, and removes what need not stay.
    ///
    /// # Errors
    /// The reason, which is also kept to be told.
    pub fn make(&self, desk: &Desk, now_ms: u64) -> Result<Made, MakeError> {
        let plan = self.plan.get().ok_or(MakeError::NoPlan)?;
        if self.at_work.swap(true, Ordering::SeqCst) {
            return Err(MakeError::AtWork);
        }
        let at_work = AtWork(&self.at_work);
        let made = self.make_alone(desk, plan, now_ms);
        drop(at_work);
        match &made {
            Ok(made) => {
                *self.failure() = None;
                self.tidy(desk, plan, &made.path, now_ms);
            }
            Err(MakeError::Backup(BackupError::Stopped)) => (),
            Err(error) => {
                let reason = chain(error);
                tracing::warn!(reason, "no backup was made");
                *self.failure() = Some(wire::BackupFailure { at_ms: now_ms, reason });
            }
        }
        made
    }

    fn make_alone(&self, desk: &Desk, plan: &Plan, now_ms: u64) -> Result<Made, MakeError> {
        if !plan.folder.is_dir() {
            return Err(MakeError::NoFolder(plan.folder.clone()));
        }
        let book = desk.book().map_err(BackupError::from)?;
        let name =
            book.notebooks.live().next().and_then(|notebook| notebook.name.clone()).unwrap_or_default();
        let goes_on = &mut |_| !self.stopping.load(Ordering::SeqCst);
        let mut later_ms = 0;
        loop {
            let file = plan.folder.join(rota::file_name(&name, now_ms.saturating_add(later_ms)));
            match desk.back_up(&file, Options::default(), goes_on) {
                Err(BackupError::AlreadyThere(_)) if later_ms < NAMES * 1000 => later_ms += 1000,
                made => return Ok(made?),
            }
        }
    }

    /// Removes what need not stay. It can only be after a good one was made, which is never removed.
    fn tidy(&self, desk: &Desk, plan: &Plan, just_made: &Path, now_ms: u64) {
        let lying = match rota::lying(&plan.folder, desk.notebook()) {
            Ok(lying) => lying,
            Err(error) => {
                tracing::warn!(%error, "the folder of the backups could not be looked through");
                return;
            }
        };
        for old in rota::surplus(&lying, just_made, plan.keep, now_ms) {
            if let Err(error) = std::fs::remove_file(&old.path) {
                tracing::warn!(%error, file = %old.path.display(), "an old backup could not be removed");
            }
        }
    }

    /// Whether the next one is due, and no failure is so fresh that it waits.
    fn is_due(&self, desk: &Desk, now_ms: u64) -> bool {
        let Some(plan) = self.plan.get() else { return false };
        let rests = |failure: &wire::BackupFailure| {
            // A clock that was set back says nothing about how fresh it is.
            (failure.at_ms..failure.at_ms.saturating_add(AFTER_FAILURE_MS)).contains(&now_ms)
        };
        if self.failure().as_ref().is_some_and(rests) {
            return false;
        }
        // A folder that cannot be looked through makes the attempt fail, and that is told.
        let lying = rota::lying(&plan.folder, desk.notebook()).unwrap_or_default();
        let every_ms = u64::try_from(plan.every.as_millis()).unwrap_or(u64::MAX);
        rota::is_due(&lying, now_ms, every_ms)
    }

    fn view(&self, desk: &Desk) -> wire::Backups {
        let lying =
            self.plan.get().map(|plan| rota::lying(&plan.folder, desk.notebook()).unwrap_or_default());
        let mut backups: Vec<wire::Backup> = lying.unwrap_or_default().iter().map(backup).collect();
        backups.reverse();
        wire::Backups {
            plan: self.plan.get().map(|plan| wire::BackupPlan {
                folder: plan.folder.display().to_string(),
                every_s: plan.every.as_secs(),
                keep: plan.keep as u64,
            }),
            at_work: self.at_work.load(Ordering::SeqCst),
            last_good: backups.first().cloned(),
            last_failure: self.failure().clone(),
            backups,
        }
    }
}

fn backup(lying: &Lying) -> wire::Backup {
    let file = lying.path.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned());
    wire::Backup { file, made_ms: lying.made_ms, bytes: lying.bytes }
}

/// Why no backup was made.
#[derive(Debug, thiserror::Error)]
pub enum MakeError {
    /// The server was started without a folder for them.
    #[error("the server was started without a folder for backups")]
    NoPlan,
    /// One is being made.
    #[error("a backup is being made already")]
    AtWork,
    /// The folder is not there.
    #[error("the folder for backups, {0}, is not there: plug its disk in, or make the folder")]
    NoFolder(PathBuf),
    /// It failed.
    #[error(transparent)]
    Backup(#[from] BackupError),
}

impl From<MakeError> for ApiError {
    fn from(error: MakeError) -> Self {
        match &error {
            MakeError::NoPlan => Self::because(Code::NoBackupFolder, &error),
            MakeError::AtWork => Self::because(Code::Busy, &error),
            MakeError::Backup(BackupError::Stopped) => Self::closing(),
            MakeError::Backup(failed) if failed.is_disk_full() => Self::because(Code::Disk, &error),
            _ => Self::because(Code::BackupFailed, &error),
        }
    }
}

/// Makes backups when they are due, until it is stopped.
pub(crate) async fn keep_making(app: App) {
    let backups = Arc::clone(app.backups());
    if backups.plan.get().is_none() {
        return;
    }
    while !backups.stopping.load(Ordering::SeqCst) {
        let own = Arc::clone(&backups);
        let looked = app.write(move |desk| {
            let now_ms = edge::now_ms();
            if own.is_due(desk, now_ms) {
                // What failed was logged and is told by the view.
                let _ = own.make(desk, now_ms);
            }
            Ok(())
        });
        if let Err(error) = looked.await {
            tracing::error!(error = error.logged(), "looking after backups failed");
        }
        tokio::select! {
            () = sleep(LOOK) => (),
            () = backups.stop.notified() => (),
        }
    }
}

/// Tells how backups are made, how that went, and which lie there.
#[utoipa::path(
    get, path = "/api/backups", operation_id = "get_backups", tag = "access",
    responses((status = 200, description = "The backups.", body = wire::Backups), Anywhere)
)]
pub async fn list(State(app): State<App>) -> Result<Json<wire::Backups>, ApiError> {
    let backups = Arc::clone(app.backups());
    Ok(Json(app.read(move |desk| Ok(backups.view(desk))).await?))
}

/// Makes a backup now, in the folder the server was started with.
#[utoipa::path(
    post, path = "/api/backups", operation_id = "post_backup", tag = "access",
    responses((status = 201, description = "It is made and was read back whole.", body = wire::Backup), Refusals)
)]
pub async fn make(State(app): State<App>) -> Result<Response, ApiError> {
    let backups = Arc::clone(app.backups());
    let made = app.write(move |desk| Ok(backups.make(desk, edge::now_ms())?)).await?;
    let lying = Lying { path: made.path, made_ms: made.manifest.made_ms, bytes: made.bytes };
    Ok((StatusCode::CREATED, Json(backup(&lying))).into_response())
}

#[cfg(test)]
mod tests {
    use storypole_desk::Founding;
    use storypole_journal::WrittenAt;
    use storypole_units::Currency;

    use super::*;

    const DAY_MS: u64 = 24 * 60 * 60 * 1000;

    fn founded(folder: &Path) -> Desk {
        let founding = Founding {
            name: "Mill house".to_owned(),
            currency: Currency::parse("USD").unwrap(),
            role: "site lead".to_owned(),
            label: "lead".to_owned(),
            device_label: "box".to_owned(),
            written_at: WrittenAt { unix_ms: 1_741_100_000_000, offset_min: -300 },
        };
        Desk::found(folder, &founding).unwrap()
    }

    fn planned(folder: &Path, keep: usize) -> Backups {
        let backups = Backups::default();
        backups.follow(Plan { folder: folder.to_owned(), every: Duration::from_millis(DAY_MS), keep });
        backups
    }

    #[test]
    fn what_lies_there_stays_within_the_plan_and_strangers_stay_at_all() {
        let folder = tempfile::tempdir().unwrap();
        let (own, other) = (folder.path().join("own"), folder.path().join("other"));
        let kept = folder.path().join("kept");
        std::fs::create_dir(&kept).unwrap();
        let (desk, stranger) = (founded(&own), founded(&other));
        let theirs = kept.join("mill-house-20200101-000000.storypole.tar");
        stranger.back_up(&theirs, Options::default(), &mut |_| true).unwrap();
        std::fs::write(kept.join("mill-house-20200102-000000.storypole.tar"), b"a note").unwrap();
        let backups = planned(&kept, 2);
        let now_ms = edge::now_ms();
        assert!(backups.is_due(&desk, now_ms));
        for _ in 0..4 {
            backups.make(&desk, edge::now_ms()).unwrap();
        }
        assert!(!backups.is_due(&desk, edge::now_ms()));
        let view = backups.view(&desk);
        // The two newest, and the first of the month.
        assert_eq!(view.backups.len(), 3, "{view:?}");
        assert_eq!((view.last_good.is_some(), view.last_failure), (true, None));
        assert!(theirs.exists() && kept.join("mill-house-20200102-000000.storypole.tar").exists());
    }

    #[test]
    fn a_failure_is_told_and_the_next_good_one_ends_it() {
        let folder = tempfile::tempdir().unwrap();
        let desk = founded(&folder.path().join("own"));
        let kept = folder.path().join("kept");
        let backups = planned(&kept, 2);
        let now_ms = edge::now_ms();
        assert!(matches!(backups.make(&desk, now_ms), Err(MakeError::NoFolder(_))));
        let told = backups.view(&desk).last_failure.unwrap();
        assert!(told.reason.contains("plug its disk in"), "{}", told.reason);
        assert!(!backups.is_due(&desk, now_ms + 1000), "it is not tried at once again");
        assert!(backups.is_due(&desk, now_ms + AFTER_FAILURE_MS));
        assert!(backups.is_due(&desk, now_ms - 365 * DAY_MS), "a clock that was set back does not stop it");
        std::fs::create_dir(&kept).unwrap();
        backups.make(&desk, now_ms).unwrap();
        assert_eq!(backups.view(&desk).last_failure, None);
        assert!(matches!(Backups::default().make(&desk, now_ms), Err(MakeError::NoPlan)));
    }
}
