//! The messages of a session as bytes: deterministic CBOR, each an array that starts with its number.
//!
//! A sent type is a promise. A greeting starts with the versions its sender speaks, and a farewell can be read
//! by any version, so that two programs that do not understand each other can at least say so. What is inside a
//! batch is left to [`crate::wire`].

use storypole_journal::cbor::{CborError, Reader, Writer};
use storypole_journal::{DecodeError, DeviceId, NotebookId, Vector};

/// The most bytes of a message: the largest change, whole, and what goes around it.
pub const MAX_MESSAGE_BYTES: usize = 17 << 20;

/// The most bytes of the batch in a message.
pub(crate) const MAX_BATCH_BYTES: usize = MAX_MESSAGE_BYTES - 64;

/// The most bytes of any message but a batch: room for the vector of more than ten thousand devices.
const MAX_TALK_BYTES: usize = 1 << 20;
/// The most versions a greeting may name.
const MAX_VERSIONS: usize = 64;
/// The most letters of the note in a farewell; more are cut off.
const MAX_NOTE_LETTERS: usize = 300;

/// One message.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Message {
    /// The first message of either end.
    Hello(Hello),
    /// Changes. At the end of what there is at present, `is_last` is set.
    Batch {
        /// Counts the batches of this end in this session, from 0.
        number: u64,
        /// Whether this end has no more for now.
        is_last: bool,
        /// What [`crate::wire`] makes of a parcel.
        bytes: Vec<u8>,
    },
    /// A batch is on disk.
    Taken {
        /// Which.
        number: u64,
        /// Series that are now held otherwise than both ends could foresee: others sent more, or they forked.
        differs: Vector,
    },
    /// Still here, and nothing to say.
    Nudge,
    /// Nothing follows.
    Bye(Farewell),
}

/// How an end introduces itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hello {
    /// The versions of batches it can read and write, ascending.
    pub versions: Vec<u64>,
    /// The notebook.
    pub notebook: NotebookId,
    /// The device.
    pub device: DeviceId,
    /// The most bytes of encoded changes it likes in a batch; one change may always have more.
    pub batch_bytes: u64,
    /// How much it holds of every series.
    pub held: Vector,
}

/// Why an end leaves.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Farewell {
    /// A number of this project's list: see [`crate::Reason::code`].
    pub code: u64,
    /// In words, for the log of the other end.
    pub note: String,
}

/// Why bytes are no message.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum MessageError {
    /// Not deterministic CBOR, or not of this form.
    #[error("the message is not in the expected encoding")]
    Encoding {
        /// What is wrong and where.
        #[from]
        source: CborError,
    },
    /// The vector in it is none.
    #[error("the vector in the message cannot be read")]
    Vector {
        /// What is wrong with it.
        #[from]
        source: DecodeError,
    },
    /// A message of a later version, or none.
    #[error("there is no message of kind {kind}")]
    Kind {
        /// The kind found.
        kind: u64,
    },
    /// A greeting that shares no version with this program.
    #[error("the other end speaks versions up to {greatest}, none of which is spoken here")]
    Versions {
        /// The greatest version named.
        greatest: u64,
    },
    /// Longer than any message of its kind.
    #[error("the message has {bytes} bytes, too many for its kind")]
    Long {
        /// Its length.
        bytes: usize,
    },
    /// Out of range: a number, an order or a length.
    #[error("a part of the message is out of range")]
    Range,
}

const HELLO: u64 = 0;
const BATCH: u64 = 1;
const TAKEN: u64 = 2;
const NUDGE: u64 = 3;
const BYE: u64 = 4;

impl Message {
    /// Encodes the message.
    pub fn encode(&self) -> Vec<u8> {
        let mut writer = Writer::default();
        match self {
            Self::Hello(hello) => hello.encode_into(&mut writer),
            Self::Batch { number, is_last, bytes } => {
                writer.array(4).uint(BATCH).uint(*number).uint(u64::from(*is_last)).bytes(bytes);
            }
            Self::Taken { number, differs } => {
                writer.array(3).uint(TAKEN).uint(*number).bytes(&differs.encode());
            }
            Self::Nudge => _ = writer.array(1).uint(NUDGE),
            Self::Bye(Farewell { code, note }) => {
                let note: String = note.chars().take(MAX_NOTE_LETTERS).collect();
                writer.array(3).uint(BYE).uint(*code).text(&note);
            }
        }
        writer.into_bytes()
    }

    /// Decodes a message; `spoken` are the versions spoken here. Total on any input.
    ///
    /// A greeting that names none of them is not read further: it may be of any later form.
    ///
    /// # Errors
    /// [`MessageError`].
    pub fn decode(bytes: &[u8], spoken: &[u64]) -> Result<Self, MessageError> {
        let mut reader = Reader::new(bytes);
        let items = reader.array()?;
        let kind = reader.uint()?;
        if bytes.len() > if kind == BATCH { MAX_MESSAGE_BYTES } else { MAX_TALK_BYTES } {
            return Err(MessageError::Long { bytes: bytes.len() });
        }
        if kind == HELLO {
            return Hello::read(reader, items, spoken).map(Self::Hello);
        }
        let message = match (kind, items) {
            (BATCH, 4) => {
                let number = reader.uint()?;
                let is_last = match reader.uint()? {
                    0 => false,
                    1 => true,
                    _ => return Err(MessageError::Range),
                };
                Self::Batch { number, is_last, bytes: reader.bytes()?.to_vec() }
            }
            (TAKEN, 3) => Self::Taken { number: reader.uint()?, differs: Vector::decode(reader.bytes()?)? },
            (NUDGE, 1) => Self::Nudge,
            // A later version may add to a farewell; what comes first stays.
            (BYE, 3..) => {
                let (code, note) = (reader.uint()?, reader.text()?);
                let note = note.chars().take(MAX_NOTE_LETTERS).collect();
                return Ok(Self::Bye(Farewell { code, note }));
            }
            (BATCH..=NUDGE, _) => return Err(MessageError::Range),
            _ => return Err(MessageError::Kind { kind }),
        };
        reader.end()?;
        Ok(message)
    }
}

impl Hello {
    fn encode_into(&self, writer: &mut Writer) {
        writer.array(6).uint(HELLO).array(self.versions.len());
        self.versions.iter().for_each(|version| _ = writer.uint(*version));
        writer.bytes(self.notebook.as_bytes()).bytes(self.device.as_bytes()).uint(self.batch_bytes);
        writer.bytes(&self.held.encode());
    }

    fn read(mut reader: Reader<'_>, items: usize, spoken: &[u64]) -> Result<Self, MessageError> {
        let count = reader.array()?;
        if count == 0 || count > MAX_VERSIONS {
            return Err(MessageError::Range);
        }
        let versions = (0..count).map(|_| reader.uint()).collect::<Result<Vec<u64>, _>>()?;
        if !versions.is_sorted_by(|a, b| a < b) {
            return Err(MessageError::Range);
        }
        if !versions.iter().any(|version| spoken.contains(version)) {
            return Err(MessageError::Versions { greatest: versions[count - 1] });
        }
        // Who shares a version keeps to its form, and puts what is new into a message of its own.
        if items != 6 {
            return Err(MessageError::Range);
        }
        let hello = Self {
            versions,
            notebook: NotebookId::from_bytes(reader.fixed()?),
            device: DeviceId::from_bytes(reader.fixed()?),
            batch_bytes: reader.uint()?,
            held: Vector::decode(reader.bytes()?)?,
        };
        reader.end()?;
        Ok(hello)
    }
}

#[cfg(test)]
mod tests {
    use expect_test::{Expect, expect};
    use proptest::prelude::*;
    use storypole_journal::{ChangeHash, Entry};

    use super::*;

    fn vector() -> Vector {
        let entry = Entry { count: 3, hash: ChangeHash([0xE0; 32]) };
        [(DeviceId::from_bytes([0xD0; 16]), entry)].into_iter().collect()
    }

    fn hello() -> Hello {
        let device = DeviceId::from_bytes([0xD1; 16]);
        Hello {
            versions: vec![1, 4],
            notebook: NotebookId::founded_by(DeviceId::from_bytes([0xD0; 16])),
            device,
            batch_bytes: 1 << 22,
            held: vector(),
        }
    }

    fn messages() -> [Message; 5] {
        [
            Message::Hello(hello()),
            Message::Batch { number: 300, is_last: true, bytes: vec![1, 2, 3] },
            Message::Taken { number: 300, differs: vector() },
            Message::Nudge,
            Message::Bye(Farewell { code: 9, note: "the disk is full".into() }),
        ]
    }

    /// Golden bytes; they must never change.
    #[test]
    fn messages_keep_their_bytes() {
        let check = |message: &Message, expected: Expect| {
            let hex: String = message.encode().iter().map(|byte| format!("{byte:02x}")).collect();
            expected.assert_eq(&hex);
            assert_eq!(&Message::decode(&message.encode(), &[1]).unwrap(), message);
        };
        let [hello, batch, taken, nudge, bye] = messages();
        check(
            &hello,
            expect![
                "860082010450d0d0d0d0d0d0d0d0d0d0d0d0d0d0d0d050d1d1d1d1d1d1d1d1d1d1d1d1d1d1d1d11a0040000058388201818350d0d0d0d0d0d0d0d0d0d0d0d0d0d0d0d0035820e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0"
            ],
        );
        check(&batch, expect!["840119012c0143010203"]);
        check(
            &taken,
            expect![
                "830219012c58388201818350d0d0d0d0d0d0d0d0d0d0d0d0d0d0d0d0035820e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0e0"
            ],
        );
        check(&nudge, expect!["8103"]);
        check(&bye, expect!["83040970746865206469736b2069732066756c6c"]);
    }

    #[test]
    fn a_greeting_of_a_later_form_tells_its_version() {
        let later = |versions: &[u64], rest: &[u8]| {
            let mut writer = Writer::default();
            writer.array(3).uint(HELLO).array(versions.len());
            versions.iter().for_each(|version| _ = writer.uint(*version));
            writer.raw(rest);
            Message::decode(&writer.into_bytes(), &[1])
        };
        assert_eq!(later(&[2, 7], &[0xA0]), Err(MessageError::Versions { greatest: 7 }));
        assert_eq!(later(&[2, 2], &[0xA0]), Err(MessageError::Range));
        assert_eq!(later(&[], &[0xA0]), Err(MessageError::Range));
        assert_eq!(later(&(0..65).collect::<Vec<_>>(), &[0xA0]), Err(MessageError::Range));
        assert_eq!(later(&[1, 2], &[0xA0]), Err(MessageError::Range), "another form than version 1 has");
    }

    #[test]
    fn a_farewell_of_a_later_form_is_understood() {
        let mut writer = Writer::default();
        writer.array(4).uint(BYE).uint(77).text("gone").uint(1);
        let expected = Message::Bye(Farewell { code: 77, note: "gone".into() });
        assert_eq!(Message::decode(&writer.into_bytes(), &[1]), Ok(expected));
        let long = Message::Bye(Farewell { code: 1, note: "ü".repeat(1_000) });
        let expected = Message::Bye(Farewell { code: 1, note: "ü".repeat(300) });
        assert_eq!(Message::decode(&long.encode(), &[1]), Ok(expected));
    }

    #[test]
    fn what_is_no_message_is_refused() {
        for (bytes, expected) in [
            (vec![0x81, 0x18, 0x20], MessageError::Kind { kind: 32 }),
            (vec![0x82, 0x03, 0x00], MessageError::Range),
            (vec![0x84, 0x01, 0x00, 0x02, 0x40], MessageError::Range),
            (vec![0x81, 0x03, 0x00], CborError::Trailing { at: 2 }.into()),
            (vec![], CborError::Short { at: 0 }.into()),
        ] {
            assert_eq!(Message::decode(&bytes, &[1]), Err(expected), "{bytes:02x?}");
        }
    }

    proptest! {
        #[test]
        fn any_bytes_are_a_message_or_refused(bytes: Vec<u8>) {
            _ = Message::decode(&bytes, &[1]);
        }

        #[test]
        fn damage_is_refused_or_another_message(which in 0..5usize, at: prop::sample::Index, with: u8) {
            let mut bytes = messages()[which].encode();
            let at = at.index(bytes.len());
            bytes[at] = with;
            match Message::decode(&bytes, &[1]) {
                // Anything may follow in a farewell.
                Ok(Message::Bye(_)) | Err(_) => (),
                Ok(message) => prop_assert_eq!(message.encode(), bytes),
            }
        }
    }
}
