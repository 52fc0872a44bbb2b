//! Why a sync did not come to its end, and what to do about it.

use axum::http::Response;
use bytes::Bytes;
use serde_json::Value;
use storypole_desk::DeskError;
use storypole_journal::DeviceId;
use storypole_sync::Reason;

use crate::frame::FrameError;
use crate::remote::RemoteError;

/// Why a sync did not come to its end. What was taken until then stays, and another sync goes on from there.
#[derive(Debug, thiserror::Error)]
pub enum SyncError {
    /// Nothing was answered, or nothing that may be believed.
    #[error(transparent)]
    Remote(#[from] RemoteError),
    /// The other end refuses; `code` is one of the list at its `/api/problems`.
    #[error("{url} refuses: {detail}: {next}")]
    Refused {
        /// Its address.
        url: String,
        /// What it refuses, for programs.
        code: String,
        /// Why.
        detail: String,
        /// What to do.
        next: String,
    },
    /// Something answers that is no server of this program.
    #[error(
        "what answers at {url} (status {status}) is no server of a notebook: check the address and its port"
    )]
    NotAServer {
        /// Its address.
        url: String,
        /// Its status.
        status: u16,
    },
    /// The other end says it is a member, and cannot prove it.
    #[error(
        "{url} says that it is device {device} and cannot prove it: check the address, and do not sync there until it is known why"
    )]
    NotProven {
        /// Its address.
        url: String,
        /// What it says it is.
        device: DeviceId,
    },
    /// The other end was revoked, as this copy knows.
    #[error("{url} is device {device}, which was revoked: sync with another device of the notebook")]
    Revoked {
        /// Its address.
        url: String,
        /// Which it is.
        device: DeviceId,
    },
    /// What it answers cannot be read.
    #[error("what {url} answers cannot be read")]
    Garbage {
        /// Its address.
        url: String,
        /// What is wrong with it.
        source: FrameError,
    },
    /// The answer of another request.
    #[error("{url} answers what it was not asked: update the program there, or check what stands between")]
    OtherAnswer {
        /// Its address.
        url: String,
    },
    /// One end left the conversation.
    #[error("syncing with {url} ended early")]
    Ended {
        /// Its address.
        url: String,
        /// Why.
        #[source]
        reason: Reason,
    },
    /// Both wait for the other.
    #[error(
        "{url} has nothing more to say and is not done: sync again; if it stays so, update the older program"
    )]
    Stuck {
        /// Its address.
        url: String,
    },
    /// The notebook here.
    #[error(transparent)]
    Desk(Box<DeskError>),
    /// A fault of the program.
    #[error("the program hit a fault while syncing: start it again; what was taken stays")]
    Fault,
}

impl SyncError {
    /// Reads what the other end refuses with.
    pub(super) fn of_refusal(url: &str, response: &Response<Bytes>) -> Self {
        let problem: Value = serde_json::from_slice(response.body()).unwrap_or_default();
        let said =
            |member: &str| problem[member].as_str().map(|said| said.chars().take(300).collect::<String>());
        match (said("code"), said("detail"), said("next")) {
            (Some(code), Some(detail), Some(next)) => {
                Self::Refused { url: url.to_owned(), code, detail, next }
            }
            _ => Self::NotAServer { url: url.to_owned(), status: response.status().as_u16() },
        }
    }

    /// The code of a refusal by the other end.
    pub fn code(&self) -> Option<&str> {
        if let Self::Refused { code, .. } = self { Some(code) } else { None }
    }

    /// Whether signing in anew and beginning anew may mend it: the other end forgot the key or the conversation.
    pub(super) fn may_be_tried_again(&self) -> bool {
        matches!(self.code(), Some("no-device-key" | "no-session" | "conversation-over"))
    }
}

/// Whether a connection broke; then nothing is known of what was sent over it.
pub(super) fn is_cut_off(error: &RemoteError) -> bool {
    matches!(error, RemoteError::CutOff { .. })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_refusal_is_told_in_its_own_words_and_anything_else_is_no_server() {
        let answer = |status: u16, body: &'static str| {
            let mut response = Response::new(Bytes::from_static(body.as_bytes()));
            *response.status_mut() = status.try_into().unwrap();
            SyncError::of_refusal("https://box.example", &response)
        };
        let refused =
            answer(403, r#"{"code":"not-a-member","detail":"device 7 is none","next":"ask a keeper"}"#);
        assert_eq!(refused.code(), Some("not-a-member"));
        assert_eq!(refused.to_string(), "https://box.example refuses: device 7 is none: ask a keeper");
        assert!(!refused.may_be_tried_again());
        for body in ["", "<html>", "[]", "{\"code\":7}"] {
            let refused = answer(502, body);
            assert!(matches!(refused, SyncError::NotAServer { status: 502, .. }), "{body}: {refused}");
        }
        let over = answer(409, r#"{"code":"conversation-over","detail":"it ended","next":"again"}"#);
        assert!(over.may_be_tried_again());
    }
}
