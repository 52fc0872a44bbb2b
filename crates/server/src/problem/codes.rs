//! Every code a refusal can have, with its status, its title and what to do next. Codes are a promise: they stay.

/// One row of the table.
#[derive(Debug, Clone, Copy)]
pub struct Problem {
    /// The code, as it is sent.
    pub code: &'static str,
    /// The status of HTTP.
    pub status: u16,
    /// What it means, a plain sentence.
    pub title: &'static str,
    /// What to do next.
    pub next: &'static str,
    /// When to try again, seconds, where time alone mends it.
    pub retry_after_s: Option<u64>,
}

macro_rules! problems {
    ($($name:ident $code:literal $status:literal $title:literal $next:literal $(retry $seconds:literal)?;)*) => {
        /// What was refused, for programs.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum Code {
            $(#[doc = $title] $name,)*
        }

        /// Every problem, in the order of [`Code`].
        pub const PROBLEMS: &[Problem] = &[
            $(Problem {
                code: $code,
                status: $status,
                title: $title,
                next: $next,
                retry_after_s: problems!(@retry $($seconds)?),
            },)*
        ];
    };
    (@retry) => { None };
    (@retry $seconds:literal) => { Some($seconds) };
}

problems! {
    NoSession "no-session" 401 "This browser is not let in."
        "open the address that `storypole serve` printed";
    WrongKey "wrong-key" 401 "The key does not open this notebook, or was used already."
        "open the address that `storypole serve` printed when it started last; a key works once";
    WrongCode "wrong-code" 401 "The code lets nobody in."
        "ask a keeper for a new code: each works once, for ten minutes";
    RoleTooLow "role-too-low" 403 "Whoever was let in with this role may not do that."
        "ask a keeper of the notebook";
    NoSuchSession "no-such-session" 404 "There is no such browser."
        "see those that may come in at /api/sessions";
    NoSuchDevice "no-such-device" 404 "There is no such device."
        "see every device at /api/devices";
    RevokedAlready "revoked-already" 409 "The device is revoked already."
        "let it in first if the limit is wrong";
    NotRevoked "not-revoked" 409 "There is nothing to let in."
        "see which devices are revoked and what is set aside at /api/devices";
    OnlyKeeper "only-keeper" 409 "The last keeper cannot be revoked."
        "invite another keeper first";
    DeviceKnown "device-known" 409 "The device is known already."
        "start again with `storypole join` into an empty folder: it makes a new device";
    NoDeviceKey "no-device-key" 401 "The device is not let in, or its key has ended."
        "sign in again: greet the server and prove which device asks";
    WrongProof "wrong-proof" 403 "The proof does not show which device asks."
        "check with `storypole verify` that the device's key is its own, or join anew with a code";
    NotAMember "not-a-member" 403 "This device is no member of the notebook."
        "ask a keeper for a code (storypole invite), then run storypole join ADDRESS CODE in this folder";
    DeviceRevoked "device-revoked" 403 "This device was revoked."
        "ask a keeper to let it in again, or join anew with a code in a new folder";
    NotForThisKey "not-for-this-key" 403 "What lets you in does not open this address."
        "devices sync, fetch files and follow events; all else is for browsers";
    ConversationOver "conversation-over" 409 "The conversation is not known here, or is over."
        "begin a new one; what was taken stays";
    SlowDown "slow-down" 429 "Too much was asked in a short time."
        "wait a moment and send it again" retry 1;
    WrongHost "wrong-host" 421 "The server does not answer under this name."
        "use the address that `storypole serve` printed";
    WrongOrigin "wrong-origin" 403 "A page of another address may not ask this."
        "open the notebook's own page at the address that `storypole serve` printed";
    NoSuchRoute "no-such-route" 404 "There is nothing at this address."
        "look for the right address in /api/openapi.json";
    MethodNotAllowed "method-not-allowed" 405 "This address cannot be asked in this way."
        "use one of the methods in the answer's Allow header";
    NotJson "not-json" 400 "The body is not JSON."
        "send one whole JSON object";
    WrongMediaType "wrong-media-type" 415 "The body is not said to be JSON."
        "send it with Content-Type: application/json";
    BadBody "bad-body" 400 "The body is JSON of another shape than asked for."
        "correct it; the shape is in /api/openapi.json";
    BadPath "bad-path" 400 "A part of the address cannot be read."
        "correct the address; the form of its parts is in /api/openapi.json";
    BadQuery "bad-query" 400 "What stands behind the question mark cannot be read."
        "correct it; what may stand there is in /api/openapi.json";
    BodyTooLarge "body-too-large" 413 "The body is larger than is taken."
        "send it in smaller pieces; files go to /api/attachments";
    TooSlow "too-slow" 408 "The body stopped arriving."
        "send it again, over a better connection";
    CutOff "cut-off" 400 "The body ended before its end."
        "send it again";
    ValueRefused "value-refused" 422 "A value is refused."
        "correct the value and send the draft again, under a new id if it was changed otherwise";
    UnknownKind "unknown-kind" 422 "There is no such kind of record in this version."
        "update the program, or correct the kind; all are listed at /api/kinds";
    UnknownField "unknown-field" 422 "The kind has no such field in this version."
        "update the program, or correct the field; all are listed at /api/kinds";
    ReasonMissing "reason-missing" 422 "The change needs a reason."
        "say why; the old value stays in the history";
    OtherSpelling "other-spelling" 422 "A value is not in its one stored form."
        "send it as this program shows it";
    DraftRefused "draft-refused" 422 "The draft is not legal."
        "correct it and send it again";
    DraftReused "draft-reused" 409 "The draft's id is held already with other content."
        "send this draft under a new id";
    OtherNotebook "other-notebook" 409 "This is meant for another notebook."
        "open the address of that notebook; the draft waits until then";
    SyncFirst "sync-first" 409 "The draft was based on changes that are not here yet."
        "bring this device up to date, then send the draft again";
    MayNotWrite "may-not-write" 403 "This device may not write to the notebook."
        "ask a keeper of the notebook";
    UnknownAuthor "unknown-author" 422 "The author is not a person of this notebook."
        "name the author by the id of a record of kind person, or leave it out";
    NoSuchRecord "no-such-record" 404 "There is no such record."
        "check the spelling, look for its label in the lists, or name it by its id";
    SeveralRecords "several-records" 409 "More than one record is called that."
        "name it by its id";
    NoSuchFile "no-such-file" 404 "The file is not on this device."
        "check its hash, or fetch it from a device that has it";
    NotHereYet "not-here-yet" 404 "The file is in the notebook, but not on this device yet."
        "sync with the device where it was kept; what is on its way goes on where it stopped";
    FileNotNamed "file-not-named" 409 "No record on this device names the file."
        "sync first, so that the record that pins it is here";
    OtherSize "other-size" 409 "A record says another size of this file."
        "look at the record that pins it: its size or its hash is wrong";
    ListRefused "list-refused" 422 "The list of parts does not lead to the file's hash."
        "make the list anew from the whole file; see that the file has not changed on the disk";
    OtherList "other-list" 409 "The file is arriving under another list of its parts."
        "ask this device for the parts it lacks, and send those";
    PartRefused "part-refused" 422 "The part is not what the file's hash asks for."
        "check the file on the sending device; nothing of this part was kept";
    PartTooEarly "part-too-early" 409 "A part before this one is missing."
        "send the parts in order, from the one that is named";
    NoPicture "no-picture" 404 "There is no small copy of this file."
        "open the file itself";
    NoRecording "no-recording" 422 "The file cannot be measured as it was asked for."
        "choose another recording, or make a new one; nothing was written";
    FileAltered "file-altered" 500 "The file has changed on the disk since it was kept."
        "send the same file again, or put it back from another device or a backup";
    FileEmpty "file-empty" 422 "The file is empty."
        "check that it was copied whole, and send it again";
    FileTooLarge "file-too-large" 413 "The file is larger than is taken."
        "keep it elsewhere and pin a smaller copy";
    BadRange "bad-range" 416 "The file does not have the part that was asked for."
        "ask for a part within the size that Content-Range tells";
    NoFinding "no-finding" 404 "There is nothing to compute a finding from yet."
        "take readings first";
    Busy "busy" 503 "The server has its hands full."
        "wait a moment and send it again" retry 1;
    Closing "closing" 503 "The server is closing."
        "start it again with `storypole serve`, then send it again" retry 5;
    Disk "disk" 507 "The disk is full."
        "free some space and send it again; nothing was written by this attempt";
    NoBackupFolder "no-backup-folder" 409 "The server was started without a folder for backups."
        "start it with `storypole serve --backup-to FOLDER`, or use `storypole backup FILE`";
    BackupFailed "backup-failed" 500 "The backup could not be made."
        "do what the detail says, then make it again; the backups made before are as they were";
    NotebookNotEmpty "notebook-not-empty" 409 "The notebook holds work of its own already."
        "start another notebook for the example: storypole --data FOLDER init --demo";
    Internal "internal" 500 "Something failed in the server."
        "send it again; if it fails again, look into the server's log for the id of this request";
}

impl Code {
    /// Its row of the table.
    pub fn problem(self) -> &'static Problem {
        &PROBLEMS[self as usize]
    }

    /// Whether the rest of the request is not read, so that nothing more can be said on its connection.
    pub(crate) fn ends_connection(self) -> bool {
        matches!(self, Self::TooSlow | Self::CutOff | Self::BodyTooLarge | Self::FileTooLarge | Self::Closing)
    }
}

impl Problem {
    /// The problem of a code, as it is sent.
    pub fn find(code: &str) -> Option<&'static Self> {
        PROBLEMS.iter().find(|problem| problem.code == code)
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use axum::http::StatusCode;

    use super::*;

    #[test]
    fn each_code_is_once_there_and_says_what_to_do() {
        let codes: BTreeSet<&str> = PROBLEMS.iter().map(|problem| problem.code).collect();
        assert_eq!(codes.len(), PROBLEMS.len());
        for problem in PROBLEMS {
            let status = StatusCode::from_u16(problem.status).unwrap();
            assert!(status.is_client_error() || status.is_server_error(), "{problem:?}");
            assert!(problem.title.ends_with('.') && !problem.next.ends_with('.'), "{problem:?}");
            assert!(problem.code.chars().all(|letter| letter.is_ascii_lowercase() || letter == '-'));
            assert!(Problem::find(problem.code).is_some());
        }
        assert!(Problem::find("no-such-code").is_none());
    }

    #[test]
    fn a_code_leads_to_its_own_row() {
        for (code, sent) in [
            (Code::NoSession, "no-session"),
            (Code::OtherNotebook, "other-notebook"),
            (Code::SyncFirst, "sync-first"),
            (Code::Disk, "disk"),
            (Code::Internal, "internal"),
        ] {
            assert_eq!(code.problem().code, sent);
        }
    }
}
