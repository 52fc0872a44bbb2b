//! Standing: which devices belong to a notebook, and how much of each one's series counts.
//!
//! [`judge`] is a pure function of the set of membership writes, by these rules:
//!
//! 1. **Founding.** The first change of the founding device invites that device itself as keeper. It always
//!    counts: without it there is no notebook.
//! 2. **Invitations.** An invitation is one change that writes both `key` and `role` of a membership record.
//!    It counts if a keeper made it and it is not set aside. The inviter is the device whose change it is;
//!    `invited_by` only says so to people. Starting with the founder, the open invitation at the least
//!    place is taken next; it fixes role and depth (the inviter's plus one), later ones are ignored.
//! 3. **Keys.** The key of a device is the one of the invitation that counts when revocations are left out,
//!    so that whether a signature is good never hangs on a revocation.
//! 4. **Roles.** A keeper's and a crew device's changes count; a viewer's are all set aside.
//! 5. **Revocations.** `revoked` is a register: what a keeper writes replaces what it has seen there.
//!    A count and hash set everything beyond aside; a greater count, or null, lets in again. Of concurrent
//!    values all hold, so the least count is the limit. A crew device may limit itself (leaving), and
//!    replaces nothing by it.
//! 6. **Order.** Writes on `revoked` are taken one by one: of those that may count now (the device is a
//!    member and has a right to it, and the write is not beyond the limit that the ones already taken give)
//!    the one whose device has the least *rank* comes next, then the one at the least place. What was taken
//!    stays taken. Rank is (depth, place of the invitation, device id) with revocations left out. So of two
//!    devices that revoke each other the one nearer the founder prevails, at equal depth the one invited
//!    earlier; and a revocation inside a span that is set aside counts only if its device is nearer.
//! 7. **Members.** In the end the invitations are gone through once more, with all limits. A device whose
//!    invitations are all set aside is no member; its whole series is set aside.
//! 8. **Vouches.** A device may bring its own invitation: the first change of its series writes `key`, `role` and
//!    `vouched` of its own membership record, and a member, the voucher, has signed just that. Such an
//!    invitation counts as the voucher's, whether or not a signature of the series covers it yet (its key is
//!    only known through it), if the voucher's role reaches that far (a keeper for any, crew for crew and viewers,
//!    a viewer for viewers) and no limit at all holds for the voucher: of a signature nobody knows when it was
//!    made, so who is revoked takes along whom it vouched for, until a keeper invites them anew. The founder
//!    cannot be vouched for.

use std::collections::{BTreeMap, BTreeSet};

use crate::change::ChangeHash;
use crate::draft::WriteId;
use crate::ids::{DeviceId, NotebookId};
use crate::membership::{MembershipWrite, Revocation, Role, Statement, parse};
use crate::register::{FieldState, Head, Place};
use crate::sign::PublicKey;

/// How much of a device's series counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Limit {
    /// Nothing: it was never invited, or its invitations are set aside.
    NotMember,
    /// Nothing: it reads only.
    Viewer,
    /// The first changes, up to this count; the hash is that of the last one as the keeper held it.
    Upto(u64, ChangeHash),
    /// Everything.
    Whole,
}

impl Limit {
    /// Returns how many of `held` changes count.
    pub fn effective(self, held: u64) -> u64 {
        match self {
            Self::NotMember | Self::Viewer => 0,
            Self::Upto(count, _) => count.min(held),
            Self::Whole => held,
        }
    }

    /// Says whether the keeper who set this limit held another series than this copy does.
    ///
    /// `hash_at(count)` is the hash of the last of the first `count` changes held here, if so many are; of
    /// none, it is [`first_prev`](crate::first_prev). What lies beyond the count is set aside all the same.
    pub fn mismatches(self, hash_at: impl FnOnce(u64) -> Option<ChangeHash>) -> bool {
        match self {
            Self::Upto(count, hash) => hash_at(count).is_some_and(|held| held != hash),
            _ => false,
        }
    }
}

/// A device that belongs to the notebook.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Member {
    /// The device.
    pub device: DeviceId,
    /// What it may do.
    pub role: Role,
    /// Its public key.
    pub key: PublicKey,
    /// Who invited it; the founder itself.
    pub invited_by: DeviceId,
    /// Steps from the founder in the tree of invitations.
    pub depth: u32,
    /// Where its invitation stands.
    pub place: Place,
}

/// Who belongs to the notebook and how much of each series counts; see the rules above.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Standing {
    members: BTreeMap<DeviceId, Member>,
    limits: BTreeMap<DeviceId, Revocation>,
    met: BTreeMap<DeviceId, Met>,
}

impl Standing {
    /// Returns how much of the series of `device` counts.
    pub fn limit(&self, device: DeviceId) -> Limit {
        match (self.members.get(&device), self.limits.get(&device)) {
            (None, _) => Limit::NotMember,
            (Some(Member { role: Role::Viewer, .. }), _) => Limit::Viewer,
            (Some(_), Some(revocation)) => Limit::Upto(revocation.count, revocation.hash),
            (Some(_), None) => Limit::Whole,
        }
    }

    /// Returns the limit that holds for a device, whatever its role and whether or not it is a member.
    pub fn revocation(&self, device: DeviceId) -> Option<Revocation> {
        self.limits.get(&device).copied()
    }

    /// Returns the member that a device is.
    pub fn member(&self, device: DeviceId) -> Option<&Member> {
        self.members.get(&device)
    }

    /// Returns the role of a member.
    pub fn role(&self, device: DeviceId) -> Option<Role> {
        self.members.get(&device).map(|member| member.role)
    }

    /// Returns a member's steps from the founder.
    pub fn depth(&self, device: DeviceId) -> Option<u32> {
        self.members.get(&device).map(|member| member.depth)
    }

    /// Returns the key by which the signatures of a device are verified, member or not any more.
    pub fn key(&self, device: DeviceId) -> Option<PublicKey> {
        self.met.get(&device).map(|met| met.key)
    }

    /// Returns how many changes of a device are covered, as [`judge_signed`] was told.
    pub fn covered(&self, device: DeviceId) -> u64 {
        self.met.get(&device).map_or(0, |met| met.covered)
    }

    /// Returns the members in tree order: each before those it invited, siblings by place of invitation.
    pub fn members(&self) -> Vec<Member> {
        let mut invited: BTreeMap<DeviceId, Vec<Member>> = BTreeMap::new();
        for member in self.members.values() {
            invited.entry(member.invited_by).or_default().push(*member);
        }
        let mut waiting: Vec<Member> =
            self.members.values().filter(|member| member.depth == 0).copied().collect();
        let mut ordered = Vec::with_capacity(self.members.len());
        while let Some(member) = waiting.pop() {
            ordered.push(member);
            let mut next = invited.remove(&member.device).unwrap_or_default();
            next.retain(|next| next.depth > 0);
            next.sort_by_key(|next| std::cmp::Reverse((next.place, next.device)));
            waiting.extend(next);
        }
        ordered
    }
}

/// Judges membership from writes that signatures cover, in any order, with or without repeats.
///
/// Of one (device, seq) only one change may be given. Use [`judge_signed`] where coverage is yet to be found.
pub fn judge(notebook: NotebookId, writes: &[MembershipWrite]) -> Standing {
    judge_signed(notebook, writes, |_, _| u64::MAX)
}

/// Judges membership while finding out what signatures cover.
///
/// `covered(device, key)` returns how many changes of a device are covered by signatures that verify with
/// `key`; it is asked once per device, after the key is known. Writes beyond that do not count.
pub fn judge_signed(
    notebook: NotebookId,
    writes: &[MembershipWrite],
    covered: impl FnMut(DeviceId, PublicKey) -> u64,
) -> Standing {
    let (invitations, vouches) = invitations(notebook.founder(), writes);
    let mut judgement =
        Judgement { notebook, invitations, vouches, covered, limits: BTreeMap::new(), met: BTreeMap::new() };
    // The first round leaves revocations out and fixes keys and ranks.
    judgement.members();
    judgement.take_revocations(limitings(writes));
    let members = judgement.members();
    Standing { members, limits: judgement.limits, met: judgement.met }
}

/// An invitation as one change carries it.
#[derive(Debug, Clone, Copy)]
struct Invitation {
    seq: u64,
    member: Member,
}

/// An invitation that its device brings along, signed by the inviter.
#[derive(Debug, Clone, Copy)]
struct Vouch {
    member: Member,
    signature: [u8; 64],
    /// Whether the signature holds, once that was asked: the voucher's key is settled when it is met.
    holds: Option<bool>,
}

/// A write on `revoked` as one change carries it.
#[derive(Debug, Clone)]
struct Limiting<'a> {
    at: (DeviceId, u64),
    head: Head,
    target: DeviceId,
    value: Option<Revocation>,
    seen: &'a [WriteId],
    /// Whether a keeper made it, known once it is taken: only then it replaces what it has seen.
    by_keeper: bool,
}

/// What was settled when a device was first found to be a member; never changed in later rounds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Met {
    key: PublicKey,
    covered: u64,
    rank: (u32, Place, DeviceId),
}

/// Invitations by inviter.
type By<T> = BTreeMap<DeviceId, Vec<T>>;

/// What one change says of one device.
#[derive(Debug, Clone, Copy, Default)]
struct Said {
    key: Option<PublicKey>,
    role: Option<Role>,
    vouched: Option<(DeviceId, [u8; 64])>,
}

/// Collects invitations by inviter, those that keepers made and those that devices brought along.
fn invitations(founder: DeviceId, writes: &[MembershipWrite]) -> (By<Invitation>, By<Vouch>) {
    // By the draft too: of a series that forked, two first changes may be given for their vouches.
    let mut told: BTreeMap<_, Said> = BTreeMap::new();
    for carried in writes {
        let device = DeviceId::of_membership_record(carried.write.record);
        let said = told.entry((carried.at, carried.place, carried.write_id.draft, device)).or_default();
        match parse(&carried.write) {
            Ok(Statement::Key(key)) => said.key = Some(key),
            Ok(Statement::Role(role)) => said.role = Some(role),
            Ok(Statement::Vouched { voucher, signature }) => said.vouched = Some((voucher, signature)),
            _ => (),
        }
    }
    let (mut invitations, mut vouches) = (By::new(), By::new());
    for (((by, seq), place, _, device), said) in told {
        let (Some(key), Some(role)) = (said.key, said.role) else { continue };
        let member = Member { device, role, key, invited_by: by, depth: 0, place };
        match said.vouched {
            Some((voucher, signature)) if by == device && seq == 0 && device != founder => {
                let member = Member { invited_by: voucher, ..member };
                vouches.entry(voucher).or_insert_with(Vec::new).push(Vouch {
                    member,
                    signature,
                    holds: None,
                });
            }
            _ => invitations.entry(by).or_insert_with(Vec::new).push(Invitation { seq, member }),
        }
    }
    (invitations, vouches)
}

fn limitings(writes: &[MembershipWrite]) -> Vec<Limiting<'_>> {
    let mut found = BTreeMap::new();
    for carried in writes {
        if let Ok(Statement::Revoked(value)) = parse(&carried.write) {
            let limiting = Limiting {
                at: carried.at,
                head: Head { write: carried.write_id, place: carried.place },
                target: DeviceId::of_membership_record(carried.write.record),
                value,
                seen: &carried.write.seen,
                by_keeper: false,
            };
            found.insert((carried.at, carried.write_id), limiting);
        }
    }
    found.into_values().collect()
}

struct Judgement<F> {
    notebook: NotebookId,
    invitations: By<Invitation>,
    vouches: By<Vouch>,
    covered: F,
    limits: BTreeMap<DeviceId, Revocation>,
    met: BTreeMap<DeviceId, Met>,
}

impl<F: FnMut(DeviceId, PublicKey) -> u64> Judgement<F> {
    /// Goes through the invitations from the founder down, under the limits so far (rules 1, 2, 7 and 8).
    fn members(&mut self) -> BTreeMap<DeviceId, Member> {
        let mut members = BTreeMap::new();
        let mut open: BTreeMap<(Place, DeviceId), Member> = BTreeMap::new();
        open.extend(self.founding().map(|founder| ((founder.place, founder.device), founder)));
        while let Some((_, member)) = open.pop_first() {
            if members.contains_key(&member.device) {
                continue;
            }
            let met = self.meet(&member);
            let member = Member { key: met.key, ..member };
            members.insert(member.device, member);
            open.extend(self.vouched_for(&member));
            if member.role == Role::Keeper {
                let count = met.covered.min(self.limit(member.device));
                for invitation in self.invitations.get(&member.device).into_iter().flatten() {
                    if invitation.seq < count {
                        let invited = Member { depth: member.depth + 1, ..invitation.member };
                        open.insert((invited.place, invited.device), invited);
                    }
                }
            }
        }
        members
    }

    /// The devices that a member vouches for (rule 8).
    fn vouched_for(&mut self, by: &Member) -> Vec<((Place, DeviceId), Member)> {
        let mut found = Vec::new();
        if self.limits.contains_key(&by.device) {
            return found;
        }
        for vouch in self.vouches.get_mut(&by.device).into_iter().flatten() {
            let Member { device, key, role, place, .. } = vouch.member;
            let verify = || by.key.vouched(self.notebook, by.device, device, key, role, &vouch.signature);
            // Roles are ordered from the one that may most.
            if role >= by.role && *vouch.holds.get_or_insert_with(verify) {
                found.push(((place, device), Member { depth: by.depth + 1, ..vouch.member }));
            }
        }
        found
    }

    fn founding(&self) -> Option<Member> {
        let founder = self.notebook.founder();
        let own = self.invitations.get(&founder)?;
        let founds = |invitation: &&Invitation| {
            let Member { device, role, .. } = invitation.member;
            invitation.seq == 0 && device == founder && role == Role::Keeper
        };
        own.iter().find(founds).map(|invitation| invitation.member)
    }

    fn meet(&mut self, member: &Member) -> Met {
        if let Some(met) = self.met.get(&member.device) {
            return *met;
        }
        let covered = (self.covered)(member.device, member.key);
        let rank = (member.depth, member.place, member.device);
        let met = Met { key: member.key, covered, rank };
        self.met.insert(member.device, met);
        met
    }

    fn limit(&self, device: DeviceId) -> u64 {
        self.limits.get(&device).map_or(u64::MAX, |revocation| revocation.count)
    }

    /// Takes writes on `revoked` one by one, the least rank first (rule 6).
    fn take_revocations(&mut self, mut waiting: Vec<Limiting<'_>>) {
        let mut taken: Vec<Limiting<'_>> = Vec::new();
        let mut members = self.members();
        loop {
            let allowed = (0..waiting.len()).filter(|index| self.allows(&members, &waiting[*index]));
            let order = |index: &usize| {
                let limiting = &waiting[*index];
                (self.met.get(&limiting.at.0).map(|met| met.rank), limiting.head.place, limiting.head.write)
            };
            let Some(next) = allowed.min_by_key(order) else {
                return;
            };
            let mut limiting = waiting.swap_remove(next);
            let target = limiting.target;
            let by = members.get(&limiting.at.0);
            limiting.by_keeper = by.is_some_and(|member| member.role == Role::Keeper);
            taken.push(limiting);
            let before = self.limits.remove(&target);
            let now = limit_of(taken.iter().filter(|limiting| limiting.target == target));
            now.and_then(|revocation| self.limits.insert(target, revocation));
            if now != before {
                members = self.members();
            }
        }
    }

    fn allows(&self, members: &BTreeMap<DeviceId, Member>, limiting: &Limiting<'_>) -> bool {
        let (device, seq) = limiting.at;
        let Some(member) = members.get(&device) else {
            return false;
        };
        let has_right = match member.role {
            Role::Keeper => true,
            Role::Crew => limiting.leaves(),
            Role::Viewer => false,
        };
        let covered = self.met.get(&device).map_or(0, |met| met.covered);
        has_right && seq < covered.min(self.limit(device))
    }
}

impl Limiting<'_> {
    fn leaves(&self) -> bool {
        self.at.0 == self.target && self.value.is_some()
    }
}

/// Returns the least limit among the heads of the writes that were taken on one device (rule 5).
fn limit_of<'a>(taken: impl Iterator<Item = &'a Limiting<'a>>) -> Option<Revocation> {
    // A draft id that was used twice counts as the one at the least place.
    let mut by_write: BTreeMap<WriteId, &Limiting<'_>> = BTreeMap::new();
    for limiting in taken {
        let kept = by_write.entry(limiting.head.write).or_insert(limiting);
        if limiting.head.place < kept.head.place {
            *kept = limiting;
        }
    }
    let mut field = FieldState::default();
    for limiting in by_write.values() {
        field.apply(limiting.head, if limiting.by_keeper { limiting.seen } else { &[] }, false);
    }
    let heads = field.heads.iter().filter_map(|head| by_write[&head.write].value);
    heads.collect::<BTreeSet<_>>().pop_first()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::draft::Write;
    use crate::ids::DraftId;
    use crate::membership::{invite, let_in, revoke, vouch};
    use crate::sign::DeviceKey;
    use crate::stamp::Stamp;

    /// Devices are numbered; 1 is the founder.
    fn device(number: u8) -> DeviceId {
        DeviceId::from_bytes([number; 16])
    }

    fn notebook() -> NotebookId {
        NotebookId::founded_by(device(1))
    }

    fn secret(number: u8) -> DeviceKey {
        DeviceKey::from_bytes(&[number; 32])
    }

    fn key(number: u8) -> PublicKey {
        secret(number).public()
    }

    fn at_count(count: u64) -> Revocation {
        Revocation { count, hash: ChangeHash([count as u8; 32]) }
    }

    /// Builds a set of membership writes; stamps count up, so what is written later stands later.
    #[derive(Default, Clone)]
    struct Book {
        writes: Vec<MembershipWrite>,
        stamp: u64,
    }

    impl Book {
        fn founded() -> Self {
            Self::default().invited(1, 0, 1, Role::Keeper)
        }

        fn invited(mut self, by: u8, seq: u64, whom: u8, role: Role) -> Self {
            self.add(by, seq, invite(device(whom), key(whom), role, device(by)));
            self
        }

        /// `whom` enters with its own change `seq`, on the word of `by`.
        fn vouched(mut self, by: u8, whom: u8, seq: u64, role: Role) -> Self {
            let signature = secret(by).vouch(notebook(), device(by), device(whom), key(whom), role);
            self.add(whom, seq, vouch(device(whom), key(whom), role, device(by), signature));
            self
        }

        fn revoked(self, by: u8, seq: u64, whom: u8, count: u64) -> Self {
            self.replaced(by, seq, whom, Some(count), &[])
        }

        /// `seen` are the numbers of earlier writes on the register, counted over all writes of the book.
        fn replaced(mut self, by: u8, seq: u64, whom: u8, count: Option<u64>, seen: &[usize]) -> Self {
            let mut seen: Vec<WriteId> = seen.iter().map(|index| self.writes[*index].write_id).collect();
            seen.sort_unstable();
            let reason = "said on site".to_owned();
            let writes = match count {
                Some(count) => revoke(device(whom), at_count(count), seen, reason),
                None => let_in(device(whom), seen, reason),
            };
            self.add(by, seq, writes);
            self
        }

        fn add(&mut self, by: u8, seq: u64, writes: Vec<Write>) {
            self.stamp += 10;
            let place = Place { stamp: Stamp(self.stamp), device: device(by) };
            let mut draft = [0; 16];
            draft[..8].copy_from_slice(&self.stamp.to_be_bytes());
            let draft = DraftId::from_bytes(draft);
            for (index, write) in (0..).zip(writes) {
                let write_id = WriteId { draft, index };
                self.writes.push(MembershipWrite { at: (device(by), seq), place, write_id, write });
            }
        }

        fn last(&self) -> usize {
            self.writes.len() - 1
        }

        /// Limits of devices 1 to 9, `-` for no member, `v` for a viewer, `*` for the whole.
        fn limits(&self) -> String {
            let standing = judge(notebook(), &self.writes);
            let shown = |number| match standing.limit(device(number)) {
                Limit::NotMember => "-".to_owned(),
                Limit::Viewer => "v".to_owned(),
                Limit::Upto(count, hash) => {
                    assert_eq!(hash, at_count(count).hash);
                    count.to_string()
                }
                Limit::Whole => "*".to_owned(),
            };
            (1..=6).map(shown).collect::<Vec<_>>().join(" ")
        }
    }

    fn check(book: &Book, expected: &str) {
        assert_eq!(book.limits(), expected);
    }

    #[test]
    fn only_its_first_change_founds_a_notebook() {
        check(&Book::founded(), "* - - - - -");
        check(&Book::default().invited(1, 1, 1, Role::Keeper), "- - - - - -");
        check(&Book::default().invited(1, 0, 1, Role::Crew), "- - - - - -");
        check(&Book::default().invited(2, 0, 1, Role::Keeper), "- - - - - -");
    }

    #[test]
    fn keepers_invite_and_no_one_else() {
        let book = Book::founded()
            .invited(1, 1, 2, Role::Keeper)
            .invited(1, 2, 3, Role::Crew)
            .invited(1, 3, 4, Role::Viewer)
            .invited(2, 0, 5, Role::Crew)
            .invited(3, 0, 6, Role::Crew);
        check(&book, "* * * v * -");
        check(&book.clone().invited(4, 0, 6, Role::Crew), "* * * v * -");
        check(&book.invited(6, 0, 6, Role::Keeper), "* * * v * -");
    }

    #[test]
    fn members_are_listed_as_a_tree() {
        let book = Book::founded()
            .invited(1, 1, 4, Role::Keeper)
            .invited(1, 2, 2, Role::Keeper)
            .invited(4, 0, 3, Role::Keeper)
            .invited(3, 0, 6, Role::Viewer)
            .invited(2, 0, 5, Role::Crew);
        let standing = judge(notebook(), &book.writes);
        let listed: Vec<_> =
            standing.members().iter().map(|member| (member.device.as_bytes()[0], member.depth)).collect();
        assert_eq!(listed, [(1, 0), (4, 1), (3, 2), (6, 3), (2, 1), (5, 2)]);
        assert_eq!(standing.member(device(6)).unwrap().invited_by, device(3));
        assert_eq!((standing.role(device(6)), standing.depth(device(6))), (Some(Role::Viewer), Some(3)));
    }

    #[test]
    fn the_first_invitation_fixes_role_and_key() {
        let mut book = Book::founded().invited(1, 1, 2, Role::Keeper).invited(1, 2, 3, Role::Crew);
        book.add(2, 0, invite(device(3), key(99), Role::Keeper, device(2)));
        let standing = judge(notebook(), &book.writes);
        assert_eq!(standing.role(device(3)), Some(Role::Crew));
        assert_eq!(standing.key(device(3)), Some(key(3)));
    }

    #[test]
    fn half_an_invitation_is_none() {
        let mut book = Book::founded();
        book.add(1, 1, invite(device(2), key(2), Role::Crew, device(1)).split_off(1));
        check(&book, "* - - - - -");
    }

    #[test]
    fn a_revocation_limits_and_later_ones_replace_it() {
        let book = Book::founded().invited(1, 1, 2, Role::Crew).revoked(1, 2, 2, 5);
        check(&book, "* 5 - - - -");
        let first = book.last();
        check(&book.clone().replaced(1, 3, 2, Some(8), &[first]), "* 8 - - - -");
        check(&book.clone().replaced(1, 3, 2, None, &[first]), "* * - - - -");
        // Not having seen it, neither replaces it: both hold, the least count is the limit.
        check(&book.clone().revoked(1, 3, 2, 8), "* 5 - - - -");
        check(&book.clone().replaced(1, 3, 2, None, &[]), "* 5 - - - -");
        check(&book.revoked(1, 3, 2, 3), "* 3 - - - -");
    }

    #[test]
    fn crew_and_viewers_revoke_no_one() {
        let book = Book::founded().invited(1, 1, 2, Role::Crew).invited(1, 2, 3, Role::Viewer);
        check(&book.clone().revoked(2, 0, 3, 0).revoked(2, 1, 1, 1), "* * v - - -");
        check(&book.revoked(3, 0, 2, 0), "* * v - - -");
    }

    #[test]
    fn a_device_may_leave_but_crew_cannot_come_back_alone() {
        let book = Book::founded().invited(1, 1, 2, Role::Crew).revoked(2, 7, 2, 7);
        check(&book, "* 7 - - - -");
        let left = book.last();
        check(&book.clone().replaced(1, 2, 2, None, &[left]), "* * - - - -");
        check(&book.clone().replaced(2, 3, 2, None, &[left]), "* 7 - - - -");
        // Within the limit, pretending to have seen it: replaces nothing.
        check(&book.clone().replaced(2, 3, 2, Some(99), &[left]), "* 7 - - - -");
        let revoked = book.revoked(1, 2, 2, 5);
        let by_keeper = revoked.last();
        check(&revoked.replaced(2, 4, 2, Some(99), &[left, by_keeper]), "* 5 - - - -");
    }

    #[test]
    fn a_revoked_keeper_does_not_let_itself_in() {
        let book = Book::founded().invited(1, 1, 2, Role::Keeper).revoked(1, 2, 2, 5);
        let revoked = book.last();
        check(&book.clone().replaced(2, 5, 2, None, &[revoked]), "* 5 - - - -");
        check(&book.replaced(2, 6, 2, Some(100), &[revoked]), "* 5 - - - -");
    }

    #[test]
    fn of_two_that_revoke_each_other_the_nearer_prevails() {
        // 2 stands at depth 1; 3, invited by 4, at depth 2. Neither had seen the other's change.
        let book = Book::founded().invited(1, 1, 4, Role::Keeper).invited(4, 0, 3, Role::Keeper).invited(
            1,
            2,
            2,
            Role::Keeper,
        );
        check(&book.clone().revoked(3, 5, 2, 4).revoked(2, 4, 3, 5), "* * 5 * - -");
        check(&book.revoked(2, 4, 3, 5).revoked(3, 5, 2, 4), "* * 5 * - -");
    }

    #[test]
    fn at_equal_depth_the_one_invited_earlier_prevails() {
        let book = Book::founded().invited(1, 1, 3, Role::Keeper).invited(1, 2, 2, Role::Keeper);
        check(&book.clone().revoked(2, 5, 3, 4).revoked(3, 4, 2, 5), "* 5 * - - -");
        check(&book.revoked(3, 4, 2, 5).revoked(2, 5, 3, 4), "* 5 * - - -");
    }

    #[test]
    fn a_revocation_that_its_target_has_seen_is_inside_no_span() {
        // 3 revokes 2 at a count that includes the revocation by 2: both hold.
        let book = Book::founded().invited(1, 1, 3, Role::Keeper).invited(1, 2, 2, Role::Keeper);
        check(&book.revoked(2, 5, 3, 9).revoked(3, 8, 2, 6), "* 6 9 - - -");
    }

    #[test]
    fn a_revocation_set_aside_by_a_nearer_device_does_not_count() {
        let book = Book::founded().invited(1, 1, 2, Role::Keeper).invited(1, 2, 3, Role::Crew);
        check(&book.clone().revoked(2, 5, 3, 1), "* * 1 - - -");
        check(&book.revoked(2, 5, 3, 1).revoked(1, 3, 2, 5), "* 5 * - - -");
    }

    #[test]
    fn a_revocation_set_aside_by_a_farther_device_counts() {
        // 4 (depth 2) sets the tail of 2 (depth 1) aside; the revocation of 3 lies in it and is nearer.
        let book = Book::founded().invited(1, 1, 2, Role::Keeper).invited(2, 0, 4, Role::Keeper).invited(
            1,
            2,
            3,
            Role::Crew,
        );
        check(&book.revoked(4, 3, 2, 5).revoked(2, 6, 3, 1), "* 5 1 * - -");
    }

    #[test]
    fn invitations_in_a_span_set_aside_do_not_count() {
        let book = Book::founded()
            .invited(1, 1, 2, Role::Keeper)
            .invited(2, 6, 3, Role::Keeper)
            .invited(3, 2, 4, Role::Crew)
            .revoked(1, 2, 2, 5);
        check(&book, "* 5 - - - -");
        // The key stays known, so that its signatures can be verified and its changes passed on.
        assert_eq!(judge(notebook(), &book.writes).key(device(4)), Some(key(4)));
        // Invited again by a keeper, the branch is back, with what it had invited meanwhile.
        check(&book.clone().invited(1, 3, 3, Role::Keeper), "* 5 * * - -");
        check(&book.invited(1, 3, 3, Role::Viewer), "* 5 v - - -");
    }

    #[test]
    fn a_device_that_is_let_in_may_revoke_again() {
        // 1 revokes 2, 3 lets it in, then 2 revokes 4: 2 ranks before 3, whose word it hangs on.
        let book = Book::founded()
            .invited(1, 1, 2, Role::Keeper)
            .invited(1, 2, 3, Role::Keeper)
            .invited(1, 3, 4, Role::Crew)
            .revoked(1, 4, 2, 5);
        let revoked = book.last();
        check(&book.clone().revoked(2, 6, 4, 1), "* 5 * * - -");
        check(&book.replaced(3, 0, 2, None, &[revoked]).revoked(2, 6, 4, 1), "* * * 1 - -");
    }

    #[test]
    fn the_founder_is_bound_by_the_general_rule() {
        let book = Book::founded().invited(1, 1, 2, Role::Keeper).invited(1, 8, 3, Role::Crew);
        check(&book.clone().revoked(2, 0, 1, 5), "5 * - - - -");
        // But its founding counts always, and it prevails in a dispute.
        check(&book.clone().revoked(2, 0, 1, 0), "0 - - - - -");
        check(&book.revoked(2, 3, 1, 5).revoked(1, 9, 2, 3), "* 3 * - - -");
    }

    #[test]
    fn a_limit_shows_when_another_series_is_held() {
        let limit = Limit::Upto(5, ChangeHash([5; 32]));
        assert!(!limit.mismatches(|_| Some(ChangeHash([5; 32]))));
        assert!(limit.mismatches(|_| Some(ChangeHash([6; 32]))));
        assert!(!limit.mismatches(|_| None));
        assert!(!Limit::Whole.mismatches(|_| Some(ChangeHash([6; 32]))));
        for (limit, held, expected) in [
            (limit, 9, 5),
            (limit, 3, 3),
            (Limit::Whole, 9, 9),
            (Limit::Viewer, 9, 0),
            (Limit::NotMember, 9, 0),
        ] {
            assert_eq!(limit.effective(held), expected);
        }
    }

    #[test]
    fn a_member_vouches_for_no_more_than_it_is() {
        let book = Book::founded().invited(1, 1, 2, Role::Crew).invited(1, 2, 3, Role::Viewer);
        check(&book.clone().vouched(2, 4, 0, Role::Crew), "* * v * - -");
        check(&book.clone().vouched(2, 4, 0, Role::Viewer), "* * v v - -");
        check(&book.clone().vouched(2, 4, 0, Role::Keeper), "* * v - - -");
        check(&book.clone().vouched(3, 4, 0, Role::Viewer), "* * v v - -");
        check(&book.clone().vouched(3, 4, 0, Role::Crew), "* * v - - -");
        check(&book.clone().vouched(1, 4, 0, Role::Keeper), "* * v * - -");
        // Who is vouched for vouches and, as a keeper, invites.
        let book = book.vouched(1, 4, 0, Role::Keeper).vouched(4, 5, 0, Role::Crew);
        check(&book.clone().invited(4, 1, 6, Role::Crew), "* * v * * *");
        let standing = judge(notebook(), &book.writes);
        let listed: Vec<_> = [4, 5].map(|number| standing.member(device(number)).unwrap()).to_vec();
        assert_eq!(listed.iter().map(|of| of.depth).collect::<Vec<_>>(), [1, 2]);
        assert_eq!(listed.iter().map(|of| of.invited_by).collect::<Vec<_>>(), [device(1), device(4)]);
    }

    #[test]
    fn a_vouch_counts_in_the_first_change_of_its_own_device_only() {
        let book = Book::founded().invited(1, 1, 2, Role::Crew);
        check(&book.clone().vouched(2, 4, 1, Role::Crew), "* * - - - -");
        // A stranger's word, and one that says another role than was signed.
        check(&book.clone().vouched(3, 4, 0, Role::Crew), "* * - - - -");
        let signature = secret(1).vouch(notebook(), device(1), device(4), key(4), Role::Viewer);
        let mut forged = book.clone();
        forged.add(4, 0, vouch(device(4), key(4), Role::Keeper, device(1), signature));
        check(&forged, "* * - - - -");
        let mut by_another = book;
        by_another.add(2, 0, vouch(device(4), key(4), Role::Viewer, device(1), signature));
        check(&by_another, "* * - - - -");
    }

    #[test]
    fn a_revoked_device_takes_along_whom_it_vouched_for() {
        let book = Book::founded().invited(1, 1, 2, Role::Crew).vouched(2, 3, 0, Role::Crew).vouched(
            3,
            4,
            0,
            Role::Crew,
        );
        let revoked = book.clone().revoked(1, 2, 2, 9);
        check(&revoked, "* 9 - - - -");
        // A thief that makes up a device afterwards gets nowhere.
        check(&revoked.clone().vouched(2, 5, 0, Role::Crew), "* 9 - - - -");
        // A keeper invites one of them anew, and whom that one vouched for is back.
        check(&revoked.clone().invited(1, 3, 3, Role::Crew), "* 9 * * - -");
        let limit = revoked.last();
        check(&revoked.replaced(1, 3, 2, None, &[limit]), "* * * * - -");
        check(&book.revoked(2, 7, 2, 7), "* 7 - - - -");
    }

    #[test]
    fn a_vouch_counts_before_the_series_is_covered_and_nothing_else_of_it_does() {
        let mut book = Book::founded().vouched(1, 2, 0, Role::Keeper);
        book = book.invited(2, 0, 3, Role::Crew).revoked(2, 0, 1, 0);
        let standing = judge_signed(notebook(), &book.writes, |of, _| u64::from(of == device(1)));
        assert_eq!(standing.role(device(2)), Some(Role::Keeper));
        assert_eq!((standing.member(device(3)), standing.limit(device(1))), (None, Limit::Whole));
        assert_eq!(standing.key(device(2)), Some(key(2)));
    }

    #[test]
    fn what_no_signature_covers_says_nothing() {
        let book = Book::founded()
            .invited(1, 1, 2, Role::Keeper)
            .invited(2, 0, 3, Role::Crew)
            .invited(2, 5, 4, Role::Crew)
            .revoked(2, 6, 3, 1);
        let mut asked = Vec::new();
        let standing = judge_signed(notebook(), &book.writes, |of, by| {
            asked.push((of, by));
            if of == device(2) { 5 } else { u64::MAX }
        });
        assert_eq!(standing.limit(device(3)), Limit::Whole);
        assert_eq!(standing.limit(device(4)), Limit::NotMember);
        assert_eq!((standing.covered(device(2)), standing.covered(device(4))), (5, 0));
        let once: Vec<_> = (1..=3).map(|number| (device(number), key(number))).collect();
        assert_eq!(asked, once);
    }

    /// One membership write: by whom, of whom, as what.
    fn act() -> impl Strategy<Value = (u8, u8, u8, u64, u8)> {
        (1..6u8, 1..6u8, 0..10u8, 0..12u64, any::<u8>())
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1_000))]

        /// Order and repeats do not matter, and nobody gets lost in the tree.
        #[test]
        fn a_function_of_the_set(acts in proptest::collection::vec(act(), 0..25), keys: [u64; 8]) {
            let mut book = Book::founded();
            for (index, (by, whom, what, count, seen)) in (1..).zip(acts) {
                let known = book.writes.len();
                let seen: Vec<usize> = (0..known).rev().filter(|at| seen >> (at % 8) & 1 == 1).take(3).collect();
                book = match what {
                    0 | 1 => book.invited(by, index, whom, Role::Keeper),
                    2 => book.invited(by, index, whom, Role::Crew),
                    3 => book.invited(by, index, whom, Role::Viewer),
                    4 | 5 => book.replaced(by, index, whom, Some(count), &seen),
                    6 => book.replaced(by, index, whom, None, &seen),
                    7 => book.vouched(by, whom, 0, Role::Crew),
                    8 => book.vouched(by, whom, 0, Role::Keeper),
                    _ => book.revoked(by, index, whom, count),
                };
            }
            let standing = judge(notebook(), &book.writes);
            let mut shuffled = [book.writes.clone(), book.writes].concat();
            shuffled.sort_by_key(|carried| {
                let mixed = carried.place.stamp.0 * 8 + u64::from(carried.write_id.index);
                keys[mixed as usize % 8].wrapping_mul(mixed | 1)
            });
            prop_assert_eq!(&judge(notebook(), &shuffled), &standing);
            prop_assert_eq!(standing.members().len(), standing.members.len());
            for member in standing.members() {
                prop_assert_ne!(standing.limit(member.device), Limit::NotMember);
                if member.depth > 0 {
                    let inviter = standing.member(member.invited_by).unwrap();
                    prop_assert_eq!(inviter.depth + 1, member.depth);
                    prop_assert!(inviter.role == Role::Keeper || inviter.role <= member.role);
                }
            }
        }
    }
}
