//! Which code a refusal of the layers below has. What the client cannot mend becomes `internal`, with its cause
//! in the log alone.

use storypole_desk::names::NameError;
use storypole_desk::thumbnails::ThumbnailError;
use storypole_desk::{DeskError, MembersError};
use storypole_notebook::compose::{ComposeError, STRUCK};
use storypole_notebook::door::DoorError;
use storypole_store::StoreError;
use storypole_store::attachments::{ArriveError, AttachmentError, ListError};
use storypole_store::error::TakeError;

use super::{ApiError, Code, chain};

impl From<DeskError> for ApiError {
    fn from(error: DeskError) -> Self {
        if error.is_disk_full() {
            return full(&error);
        }
        match error {
            DeskError::Store(error) => error.into(),
            DeskError::Door { source, .. } => source.into(),
            DeskError::Take(error) => error.into(),
            DeskError::Compose(error) => error.into(),
            DeskError::Attachment(error) => error.into(),
            DeskError::Members(error) => error.into(),
            DeskError::Like(error) => Self::new(Code::NoFinding, error.to_string()),
            error => Self::failed(&error),
        }
    }
}

impl From<StoreError> for ApiError {
    fn from(error: StoreError) -> Self {
        match &error {
            _ if error.is_disk_full() => full(&error),
            StoreError::Busy { .. } => {
                Self::new(Code::Busy, "another program is writing to this notebook").cause(chain(&error))
            }
            _ => Self::failed(&error),
        }
    }
}

/// The disk is full; where, is for the log.
fn full(error: &dyn std::error::Error) -> ApiError {
    ApiError::new(Code::Disk, "there is no room left on the server's disk").cause(chain(error))
}

impl From<DoorError> for ApiError {
    fn from(error: DoorError) -> Self {
        let (index, kind, field) = match &error {
            DoorError::UnknownKind { index, kind } => (*index, kind.clone(), String::new()),
            DoorError::UnknownField { index, kind, field }
            | DoorError::Unreadable { index, kind, field, .. }
            | DoorError::Refused { index, kind, field, .. }
            | DoorError::OtherSpelling { index, kind, field }
            | DoorError::MissingReason { index, kind, field } => (*index, kind.clone(), field.clone()),
        };
        let code = match &error {
            DoorError::UnknownKind { .. } => Code::UnknownKind,
            DoorError::UnknownField { .. } => Code::UnknownField,
            DoorError::Unreadable { .. } | DoorError::Refused { .. } => Code::ValueRefused,
            DoorError::OtherSpelling { .. } => Code::OtherSpelling,
            DoorError::MissingReason { .. } => Code::ReasonMissing,
        };
        let refused = Self::because(code, &error).field(Some(index), &kind, &field);
        match code {
            Code::ReasonMissing if field == STRUCK => {
                refused.next("say why the record is struck or brought back; its fields stay readable")
            }
            _ => refused,
        }
    }
}

impl From<TakeError> for ApiError {
    fn from(error: TakeError) -> Self {
        let code = match &error {
            TakeError::Draft(_) => Code::DraftRefused,
            TakeError::NoLaterStamp(_) | TakeError::MayNotWrite => Code::MayNotWrite,
            TakeError::Reused(_) => Code::DraftReused,
            TakeError::SeenUnknown(_) => Code::SyncFirst,
        };
        let refused = Self::because(code, &error);
        match &error {
            TakeError::NoLaterStamp(_) => {
                refused.next("revoke the device whose clock stands at the end of time")
            }
            _ => refused,
        }
    }
}

impl From<ComposeError> for ApiError {
    fn from(error: ComposeError) -> Self {
        let code = match &error {
            ComposeError::UnknownKind(_) => Code::UnknownKind,
            ComposeError::UnknownField { .. } => Code::UnknownField,
            ComposeError::Refused { .. } => Code::ValueRefused,
        };
        let refused = Self::because(code, &error);
        match &error {
            ComposeError::UnknownKind(kind) => refused.field(None, kind, ""),
            ComposeError::UnknownField { kind, field, .. } | ComposeError::Refused { kind, field, .. } => {
                refused.field(None, kind, field)
            }
        }
    }
}

impl From<AttachmentError> for ApiError {
    fn from(error: AttachmentError) -> Self {
        match &error {
            _ if error.is_disk_full() => full(&error),
            AttachmentError::TooLarge { .. } => Self::because(Code::FileTooLarge, &error),
            AttachmentError::CutOff { .. } => {
                Self::new(Code::CutOff, "the file stopped coming").cause(chain(&error))
            }
            AttachmentError::Empty => Self::because(Code::FileEmpty, &error),
            AttachmentError::Missing => Self::because(Code::NoSuchFile, &error),
            AttachmentError::Altered => Self::because(Code::FileAltered, &error),
            AttachmentError::List(list) => (*list).into(),
            AttachmentError::Io { .. } => Self::failed(&error),
        }
    }
}

impl From<ListError> for ApiError {
    fn from(error: ListError) -> Self {
        match error {
            ListError::TooLarge(_) => Self::because(Code::FileTooLarge, &error),
            _ => Self::because(Code::ListRefused, &error),
        }
    }
}

impl From<ArriveError> for ApiError {
    fn from(error: ArriveError) -> Self {
        let code = match &error {
            ArriveError::Attachment(_) => Code::Internal,
            ArriveError::OtherList => Code::OtherList,
            ArriveError::FalsePart { .. } => Code::PartRefused,
            ArriveError::NoList | ArriveError::Gap { .. } => Code::PartTooEarly,
        };
        match error {
            ArriveError::Attachment(error) => error.into(),
            error => Self::because(code, &error),
        }
    }
}

impl From<ThumbnailError> for ApiError {
    fn from(error: ThumbnailError) -> Self {
        match error {
            ThumbnailError::File(error) => error.into(),
            error => Self::because(Code::NoPicture, &error),
        }
    }
}

impl From<MembersError> for ApiError {
    fn from(error: MembersError) -> Self {
        let code = match error {
            MembersError::NotKeeper => Code::RoleTooLow,
            MembersError::NoMember(_) => Code::NoSuchDevice,
            MembersError::AlreadyRevoked { .. } => Code::RevokedAlready,
            MembersError::NotRevoked(_) | MembersError::NoBranch(_) => Code::NotRevoked,
            MembersError::OnlyKeeper => Code::OnlyKeeper,
            MembersError::NoReason => Code::ReasonMissing,
        };
        Self::because(code, &error)
    }
}

impl From<NameError> for ApiError {
    /// In words of its own: those of the error tell the command line's next step.
    fn from(error: NameError) -> Self {
        match error {
            NameError::None { kind, name } => Self::no_such_record(&kind, &name),
            NameError::Several { kind, name, count } => Self::new(
                Code::SeveralRecords,
                format!("{count} records of kind {kind} are called \"{name}\""),
            ),
        }
    }
}
