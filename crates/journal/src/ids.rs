//! The ids of records, drafts, devices and notebooks, all UUIDs (RFC 9562).
//!
//! Nothing here reads a clock or draws a random number: whoever makes an id brings both.

use std::fmt;
use std::str::FromStr;

use uuid::Uuid;

macro_rules! id {
    ($(#[$meta:meta])* $name:ident) => {
        $(#[$meta])*
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(Uuid);

        impl $name {
            /// Wraps a UUID of any version.
            pub const fn from_uuid(uuid: Uuid) -> Self {
                Self(uuid)
            }

            /// Wraps sixteen bytes in network order.
            pub const fn from_bytes(bytes: [u8; 16]) -> Self {
                Self(Uuid::from_bytes(bytes))
            }

            /// Builds a UUIDv7 (RFC 9562 section 5.7) from the low 48 bits of `unix_ms` and 74 of the
            /// 80 bits of `random`; version and variant overwrite the other six.
            pub const fn from_parts(unix_ms: u64, random: [u8; 10]) -> Self {
                Self(uuid::Builder::from_unix_timestamp_millis(unix_ms, &random).into_uuid())
            }

            /// Returns the UUID.
            pub const fn uuid(&self) -> Uuid {
                self.0
            }

            /// Returns the sixteen bytes in network order.
            pub const fn as_bytes(&self) -> &[u8; 16] {
                self.0.as_bytes()
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "{}", self.0.as_hyphenated())
            }
        }

        impl fmt::Debug for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, concat!(stringify!($name), "({})"), self.0.as_hyphenated())
            }
        }

        impl FromStr for $name {
            type Err = IdError;

            /// Reads the hyphenated form, in either case, and no other.
            fn from_str(text: &str) -> Result<Self, IdError> {
                if text.len() != uuid::fmt::Hyphenated::LENGTH {
                    return Err(IdError);
                }
                Uuid::try_parse(text).map(Self).map_err(|_| IdError)
            }
        }
    };
}

id! {
    /// Names a record of any kind.
    RecordId
}
id! {
    /// Names a draft; made by whoever writes it, so that handing it in twice is harmless.
    DraftId
}
id! {
    /// Names a device, that is one series of changes.
    DeviceId
}
id! {
    /// Names a notebook by the device that founded it.
    NotebookId
}

impl DeviceId {
    /// Returns the id of the membership record of this device: the same bytes.
    pub const fn membership_record(&self) -> RecordId {
        RecordId(self.0)
    }

    /// Returns the device whose membership record this is.
    pub const fn of_membership_record(record: RecordId) -> Self {
        Self(record.0)
    }
}

impl NotebookId {
    /// Names the notebook that `device` founds.
    pub const fn founded_by(device: DeviceId) -> Self {
        Self(device.0)
    }

    /// Returns the device that founded the notebook.
    pub const fn founder(&self) -> DeviceId {
        DeviceId(self.0)
    }
}

/// The text is not a hyphenated UUID.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("not an id of the form xxxxxxxx-xxxx-xxxx-xxxx-xxxxxxxxxxxx")]
pub struct IdError;

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 9562 appendix A.6: 2022-02-22T19:22:22Z, rand_a 0xCC3, rand_b 0x18C4DC0C0C07398F.
    #[test]
    fn builds_the_uuid_v7_of_rfc_9562() {
        let random = [0x0C, 0xC3, 0x18, 0xC4, 0xDC, 0x0C, 0x0C, 0x07, 0x39, 0x8F];
        let id = RecordId::from_parts(0x017F_22E2_79B0, random);
        assert_eq!(id.to_string(), "017f22e2-79b0-7cc3-98c4-dc0c0c07398f");
        assert_eq!(id.uuid().get_version_num(), 7);
    }

    #[test]
    fn text_round_trips_and_other_forms_are_refused() {
        let text = "017f22e2-79b0-7cc3-98c4-dc0c0c07398f";
        let id: DraftId = text.parse().unwrap();
        assert_eq!(id.to_string(), text);
        assert_eq!(text.to_uppercase().parse::<DraftId>(), Ok(id));
        for bad in ["", "017f22e279b07cc398c4dc0c0c07398f", "{017f22e2-79b0-7cc3-98c4-dc0c0c07398f}", "x"] {
            assert_eq!(bad.parse::<DraftId>(), Err(IdError), "{bad}");
        }
    }

    #[test]
    fn a_notebook_names_its_founder_and_a_device_its_record() {
        let device = DeviceId::from_bytes([7; 16]);
        assert_eq!(NotebookId::founded_by(device).founder(), device);
        assert_eq!(device.membership_record().as_bytes(), device.as_bytes());
        assert_eq!(DeviceId::of_membership_record(device.membership_record()), device);
    }
}
