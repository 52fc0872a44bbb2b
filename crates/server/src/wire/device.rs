//! Devices, browsers that were let in, invitations, and the messages by which a device joins.

use storypole_journal::Role;

use super::called::Called;
use super::word::{Hash, Id, Moment};

words! {
    /// What a device or browser may do: each may all that those after it may.
    enum RoleName {
        /// Invites and revokes.
        Keeper = "keeper",
        /// Writes.
        Crew = "crew",
        /// Reads.
        Viewer = "viewer",
    }
    /// Whom a code lets in.
    enum ForName {
        /// A device, which gets a copy of the notebook.
        Device = "device",
        /// A browser.
        Browser = "browser",
    }
    /// How a code ended.
    enum EndName {
        /// It let someone in.
        Used = "used",
        /// Too many wrong tries came.
        Voided = "voided",
        /// Nobody used it in time.
        RanOut = "ran out",
        /// It was taken back, or another was made in its place.
        TakenBack = "taken back",
    }
}

words! {
    /// Why changes are kept aside.
    enum WhyName {
        /// No signature covers them yet.
        Unsigned = "unsigned",
        /// Their device is no member, a viewer, or was revoked before them.
        Membership = "membership",
        /// Their series forked, and another branch counts.
        Forked = "forked",
    }
}

impl From<Role> for RoleName {
    fn from(role: Role) -> Self {
        match role {
            Role::Keeper => Self::Keeper,
            Role::Crew => Self::Crew,
            Role::Viewer => Self::Viewer,
        }
    }
}

impl From<RoleName> for Role {
    fn from(role: RoleName) -> Self {
        match role {
            RoleName::Keeper => Self::Keeper,
            RoleName::Crew => Self::Crew,
            RoleName::Viewer => Self::Viewer,
        }
    }
}

answers! {
    /// Two clocks that are more than a day apart. Nothing is refused for that; the wrong one should be set.
    struct ClockDiffers {
        /// Now, by the server's clock.
        server: Moment,
        /// Now, by the clock of whoever asks.
        asking: Moment,
    }
    /// One device of the notebook.
    struct Device {
        /// Its id.
        id: Id,
        /// What people call it, where that is written.
        label: Option<String>,
        /// Who carries it.
        person: Option<Called>,
        /// What it may do.
        role: RoleName,
        /// Who invited it or vouched for it; the founding device itself.
        invited_by: Id,
        /// Steps from the founding device in the tree of invitations.
        depth: u64,
        /// Whether it is the device that answers.
        is_this: bool,
        /// Whether it is no device, but a pass that lets a restored backup in.
        is_pass: bool,
        /// How many of its changes are held here.
        held: u64,
        /// How many of them count.
        counted: u64,
        /// How many may count, where it was revoked.
        revoked_at: Option<u64>,
        /// When its last change held here was written, by its own clock.
        last_written: Option<Moment>,
        /// When it asked this server last, since the server started.
        last_seen: Option<Moment>,
    }
    /// Changes of one device that follow one another and do not count.
    struct SetAside {
        /// Whose.
        device: Id,
        /// What people call it.
        label: Option<String>,
        /// Number of the first change.
        from: u64,
        /// Number of the one after the last.
        to: u64,
        /// Why they do not count.
        why: WhyName,
        /// When the first was written, by its writer's clock.
        first_written: Moment,
        /// When the last was.
        last_written: Moment,
    }
    /// The devices of the notebook.
    struct Devices {
        /// Each before those it invited; revoked ones stay listed.
        devices: Vec<Device>,
        /// What is kept and does not count.
        set_aside: Vec<SetAside>,
        /// Whether the device that answers may invite and revoke.
        may_invite: bool,
    }
    /// What became of a branch that was let in.
    struct BranchTaken {
        /// Drafts that count now.
        taken: u64,
        /// Drafts that counted already.
        held_elsewhere: u64,
        /// Drafts that say who belongs to the notebook, which are not taken over.
        left_out: u64,
    }
    /// An invitation with its code, which is shown this once.
    struct Invited {
        /// Tells this invitation from another.
        id: Id,
        /// What lets one in, once.
        #[schema(pattern = "^[0-9A-Z]{4}-[0-9A-Z]{4}$", examples("7KQ2-M9XD"))]
        code: String,
        /// Whom it lets in.
        r#for: ForName,
        /// What they may do.
        role: RoleName,
        /// Until when it is good.
        ends_at: Moment,
        /// The address to go to; a browser's carries the code behind the `#`, which no server logs.
        #[schema(examples("https://box.local:8417/#code=7KQ2-M9XD"))]
        url: String,
        /// The address of a browser as a picture for its camera, SVG; null for a device.
        qr: Option<String>,
        /// What to type on the device that joins; null for a browser.
        command: Option<String>,
        /// What stands in the way, in words; null where nothing is known to.
        warning: Option<String>,
    }
    /// An invitation that is out, without its code.
    struct Outstanding {
        /// Tells this invitation from another.
        id: Id,
        /// Whom it lets in.
        r#for: ForName,
        /// What they may do.
        role: RoleName,
        /// The person who works there.
        person: Called,
        /// What it will be called, where the one who invited said so.
        label: Option<String>,
        /// Until when it is good.
        ends_at: Moment,
        /// Wrong tries so far.
        wrong_tries: u64,
        /// Wrong tries that void it.
        most_wrong_tries: u64,
    }
    /// An invitation that is over.
    struct EndedInvitation {
        /// Tells this invitation from another.
        id: Id,
        /// Whom it was meant for.
        r#for: ForName,
        /// What they may do.
        role: RoleName,
        /// How it ended.
        end: EndName,
        /// When it ended.
        at: Moment,
        /// The device that joined, by its id.
        device: Option<Id>,
    }
    /// What is out: one invitation at a time.
    struct Invitations {
        /// The one that is out.
        out: Option<Outstanding>,
        /// What became of the last one since the server started.
        last: Option<EndedInvitation>,
    }
    /// A browser that was let in.
    struct Browser {
        /// Names it in an address; says nothing about what the browser holds.
        #[schema(pattern = "^[0-9a-f]{16}$", examples("5f0c9a1e22d4b871"))]
        id: String,
        /// What people call it.
        label: Option<String>,
        /// The person who works there.
        person: Called,
        /// What it may do.
        role: RoleName,
        /// When it was let in.
        made_at: Moment,
        /// When it was last noted as seen, to the hour.
        seen_at: Moment,
        /// When it has lasted as long as a session may.
        ends_at: Moment,
        /// Whether it is the one that asks.
        is_this: bool,
    }
    /// Browsers that may come in.
    struct Browsers {
        /// Browser by browser, oldest first.
        sessions: Vec<Browser>,
    }
    /// How many were shut out.
    struct ShutOut {
        /// How many.
        count: u64,
    }
    /// The first answer to a device that wants to join.
    struct JoinStarted {
        /// Names this exchange.
        #[schema(pattern = "^[0-9a-f]{32}$", examples("8f1c0a6be2d94f6ab51cf3d27a90e4c8"))]
        exchange: String,
        /// The server's half of the proof, hexadecimal.
        #[schema(pattern = "^[0-9a-f]{66}$")]
        message: String,
    }
    /// What a device needs to make its copy.
    struct JoinedDevice {
        /// The notebook.
        notebook: Id,
        /// Its name.
        name: String,
        /// Public key of its founding device, hexadecimal.
        founder_key: Hash,
        /// The person who works at the new device.
        person: Id,
        /// What the new device may do.
        role: RoleName,
        /// What the new device is called.
        label: String,
        /// The device that answers.
        device: Id,
        /// Certificate of the server's own authority, PEM; null where it has none.
        ca: Option<String>,
        /// Where the clocks are far apart: both.
        clock: Option<ClockDiffers>,
        /// Proves that the answer comes from one who knows the code, hexadecimal.
        proof: Hash,
    }
}
