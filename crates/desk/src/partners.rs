//! Addresses this copy syncs with, and proving to them which device this is. Leaves out reaching them.

use storypole_journal::membership::{self, Statement};
use storypole_journal::sign::proof::{Meeting, Side};
use storypole_journal::{DeviceId, Name, Role, Write};
use storypole_store::Reader;
use storypole_store::partners::Partner;
use storypole_store::read::HistoryItem;

use crate::{Desk, DeskError, edge};

/// Another device's word that this one belongs to the notebook.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Vouch {
    /// Whose word.
    pub voucher: DeviceId,
    /// What this device may do.
    pub role: Role,
    /// The voucher's signature.
    pub signature: [u8; 64],
}

impl Desk {
    /// Adds an address. Of one that is there already only the pin is replaced, where another is given.
    ///
    /// # Errors
    /// This desk only reads, or the database failed; the same holds for every method here that writes.
    pub fn partner_add(&self, url: &str, pin: Option<[u8; 32]>) -> Result<(), DeskError> {
        let url = url.to_owned();
        Ok(self.writer()?.aside(move |store| store.partner_add(&url, pin, edge::now_ms()))?)
    }

    /// Forgets an address; false when it was not there.
    pub fn partner_forget(&self, url: &str) -> Result<bool, DeskError> {
        let url = url.to_owned();
        Ok(self.writer()?.aside(move |store| store.partner_forget(&url))?)
    }

    /// Notes that syncing with an address went well, and the device that answered.
    pub fn partner_synced(&self, url: &str, device: DeviceId) -> Result<(), DeskError> {
        let url = url.to_owned();
        Ok(self.writer()?.aside(move |store| store.partner_synced(&url, device, edge::now_ms()))?)
    }

    /// Notes that syncing with an address failed, and why.
    pub fn partner_failed(&self, url: &str, why: &str) -> Result<(), DeskError> {
        let (url, why) = (url.to_owned(), why.to_owned());
        Ok(self.writer()?.aside(move |store| store.partner_failed(&url, &why, edge::now_ms()))?)
    }

    /// Every address, in the order in which they were added.
    pub fn partners(&self) -> Result<Vec<Partner>, DeskError> {
        self.read(Reader::partners)
    }

    /// Proves to be this device.
    ///
    /// # Errors
    /// The key file cannot be read.
    pub fn prove(&self, meeting: &Meeting<'_>, side: Side) -> Result<[u8; 64], DeskError> {
        Ok(meeting.prove(side, &self.key()?))
    }

    /// The word by which this device entered the notebook, if it did so on a word: who has not met this device yet
    /// must hear it first.
    ///
    /// # Errors
    /// The database failed.
    pub fn own_vouch(&self) -> Result<Option<Vouch>, DeskError> {
        let device = self.device();
        let history = self.read(|reader| reader.history(device.membership_record()))?;
        let of_own = || history.iter().filter(|item| item.device == device).filter_map(statement);
        let role = of_own().find_map(|said| if let Statement::Role(role) = said { Some(role) } else { None });
        let word = of_own().find_map(|said| match said {
            Statement::Vouched { voucher, signature } => Some((voucher, signature)),
            _ => None,
        });
        Ok(word.zip(role).map(|((voucher, signature), role)| Vouch { voucher, role, signature }))
    }
}

fn statement(item: &HistoryItem) -> Option<Statement> {
    let write = Write {
        record: item.device.membership_record(),
        kind: Name::new(&item.kind).ok()?,
        field: Name::new(&item.field).ok()?,
        value: item.payload.clone(),
        seen: Vec::new(),
        reason: None,
    };
    membership::parse(&write).ok()
}
