//! A simulated world: a crew's machines with the store and the sessions that ship, on disks, clocks and a network
//! that fail. Everything follows from one seed.
//!
//! Reading order: this file (what happens when), `people` (what is written), `talk` (conversations), `copies` (copied
//! folders, backups), `machine`,
//! [`promises`] (what must hold), [`sabotage`] (to see that it is noticed), [`tally`]. Left out: attachments, the search
//! index, HTTP, processes; for those there are end-to-end tests.

mod copies;
mod machine;
mod people;
pub mod promises;
pub mod sabotage;
mod talk;
pub mod tally;

use std::collections::HashMap;

use storypole_journal::{ChangeHash, DeviceId, DeviceKey, Draft, DraftId, NotebookId, PublicKey};

use storypole_store::read::Position;

use self::copies::Pass;
use self::machine::{Machine, Program, Promised};
pub use self::promises::Broken;
pub use self::sabotage::Sabotage;
use self::talk::Talk;
pub use self::tally::Tally;
use crate::Chance;
use crate::clock::DeviceClock;
use crate::disk::Trouble;
use crate::network::Weather;

/// When worlds begin: 2025-03-04 14:53 UTC.
const START_MS: u64 = 1_741_100_000_000;

/// The most machines of a world.
const MOST_MACHINES: usize = 6;

/// What is going on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Phase {
    /// The notebook is founded; all is well.
    Founding,
    /// Anything may happen.
    Trouble,
    /// All is well again; whatever fails now breaks a promise.
    Healing,
}

/// A simulated world.
pub struct World {
    seed: u64,
    chance: Chance,
    now_ms: u64,
    phase: Phase,
    sabotage: Option<Sabotage>,
    weather: Weather,
    machines: Vec<Machine>,
    talks: Vec<Talk>,
    /// The one conversation that goes on, while one is held alone.
    solo: Option<usize>,
    /// Which machines cannot reach the others, as bits.
    parted: u64,
    drafts_made: u64,
    devices_made: u64,
    pass: Option<Pass>,
    /// Drafts that were handed in and not acknowledged, with where.
    outbox: Vec<(usize, Draft)>,
    /// Drafts that were acknowledged.
    handed: Vec<Draft>,
    draft_of: HashMap<ChangeHash, DraftId>,
    broken: Vec<Broken>,
    tally: Tally,
    story: Option<Vec<String>>,
}

/// What a world came to.
#[derive(Debug, Clone)]
pub struct Outcome {
    /// Broken promises; none if all is well.
    pub broken: Vec<Broken>,
    /// What happened.
    pub tally: Tally,
    /// What happened, line by line, where that was asked for.
    pub story: Vec<String>,
}

/// How a world is run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Plan {
    /// What happens follows from it.
    pub seed: u64,
    /// Things that people do, and troubles.
    pub events: u64,
    /// A promise to break, to see that it is noticed.
    pub sabotage: Option<Sabotage>,
    /// Whether the outcome has a story.
    pub is_told: bool,
}

impl Plan {
    /// The usual world of a seed: some short, some longer.
    pub fn of(seed: u64) -> Self {
        Self { seed, events: 20 + seed % 60, sabotage: None, is_told: false }
    }
}

/// Runs a world: a crew works in the middle of trouble, then all heals, all meet, and all must be as promised.
pub fn run(plan: Plan) -> Outcome {
    let mut world = World::new(plan);
    world.found(2 + plan.seed as usize % 3);
    world.phase = Phase::Trouble;
    world.weather = Weather::ROUGH;
    if plan.sabotage == Some(Sabotage::LyingDisks) {
        world.machines.iter().for_each(|machine| machine.disk.lie());
    }
    for _ in 0..plan.events {
        let pause_ms = if world.chance.below(12) == 0 { 3_600_000 } else { 20_000 };
        let until_ms = world.now_ms + world.chance.below(pause_ms);
        world.pass_time(until_ms);
        world.something_happens();
    }
    world.heal();
    world.check_all();
    world.tally.worlds = 1;
    for machine in 0..world.machines.len() {
        let tally = world.machines[machine].disk.tally();
        world.tally.add_disk(&tally);
    }
    Outcome { broken: world.broken, tally: world.tally, story: world.story.unwrap_or_default() }
}

impl World {
    fn new(plan: Plan) -> Self {
        Self {
            seed: plan.seed,
            chance: Chance::new(plan.seed),
            now_ms: START_MS,
            phase: Phase::Founding,
            sabotage: plan.sabotage,
            weather: Weather::FAIR,
            machines: Vec::new(),
            talks: Vec::new(),
            solo: None,
            parted: 0,
            drafts_made: 0,
            devices_made: 0,
            pass: None,
            outbox: Vec::new(),
            handed: Vec::new(),
            draft_of: HashMap::new(),
            broken: Vec::new(),
            tally: Tally::default(),
            story: plan.is_told.then(Vec::new),
        }
    }

    fn tell(&mut self, line: impl FnOnce() -> String) {
        let now_ms = self.now_ms - START_MS;
        if let Some(story) = &mut self.story {
            story.push(format!("{now_ms:>10} ms  {}", line()));
        }
    }

    /// A machine with a fresh disk and a copy of the notebook that holds nothing yet.
    fn add_machine(&mut self, device: DeviceId, key: DeviceKey, notebook: (NotebookId, PublicKey)) {
        let identity = self.identity(device, notebook);
        let disk = machine::ready_disk(self.chance.bits(), &key, &identity);
        let program = Program::create(&disk, &key, &identity).expect("a new disk is well");
        let clock = DeviceClock::found(&mut self.chance, self.now_ms);
        self.machines.push(Machine {
            disk,
            clock,
            key,
            next_key: None,
            backup: None,
            program: Some(program),
            boots_at_ms: None,
            promised: Promised::default(),
            is_copied: false,
        });
    }

    fn any_machine(&mut self) -> usize {
        self.chance.below(self.machines.len() as u64) as usize
    }

    fn something_happens(&mut self) {
        let machine = self.any_machine();
        match self.chance.below(100) {
            0..38 => (0..=self.chance.below(3)).for_each(|_| self.write(machine)),
            38..62 => {
                let other = self.any_machine();
                self.connect(machine, other);
            }
            62..68 => self.hand_in_again(machine),
            68..82 => self.trouble(machine),
            82..84 => self.cut_power(machine),
            84 => self.restart(machine),
            85..88 => {
                self.tally.clocks_set += 1;
                self.machines[machine].clock.set(&mut self.chance, self.now_ms);
            }
            88..91 => self.part(),
            91..93 => self.revoke(machine),
            93 | 94 => self.let_in(machine),
            95 => self.leave(),
            96 if self.machines.len() < MOST_MACHINES => self.invite(machine),
            97 => self.copy_folder(machine),
            98 => self.restore_any(),
            _ => self.back_up(machine),
        }
    }

    /// The disk of a machine will fail soon.
    fn trouble(&mut self, machine: usize) {
        let disk = &self.machines[machine].disk;
        let from = disk.steps() + 1 + self.chance.below(120);
        let one = from..from + 1;
        match self.chance.below(6) {
            0..3 => disk.plan(one, Trouble::PowerCut),
            3 => disk.plan(one, Trouble::Error),
            4 => disk.plan(from..from + 1 + self.chance.below(80), Trouble::Error),
            _ => disk.leave_room(self.chance.below(60_000) as usize),
        }
        self.tell(|| format!("trouble waits for the disk of {machine}"));
    }

    fn cut_power(&mut self, machine: usize) {
        self.machines[machine].disk.cut_power();
        self.go_down(machine);
    }

    /// Someone stops the program and starts it again; what was in the WAL goes into the database.
    fn restart(&mut self, machine: usize) {
        if self.machines[machine].program.take().is_none() {
            return;
        }
        self.hang_up(machine);
        self.tell(|| format!("{machine} is stopped"));
        if self.start(machine).is_err() {
            self.does_not_start(machine);
        }
    }

    /// A program that does not start: someone looks after the machine, and switches it off and on.
    fn does_not_start(&mut self, machine: usize) {
        self.tell(|| format!("{machine} does not start"));
        self.machines[machine].disk.cut_power();
        self.machines[machine].boots_at_ms = Some(self.now_ms + 60_000);
    }

    /// A machine stops: the power is off.
    fn go_down(&mut self, machine: usize) {
        if self.machines[machine].program.take().is_none() {
            return;
        }
        self.tell(|| format!("{machine} goes down"));
        self.machines[machine].boots_at_ms = Some(self.now_ms + 1_000 + self.chance.below(120_000));
        self.hang_up(machine);
    }

    /// A machine starts again; what it gave its word for must be there.
    fn boot(&mut self, machine: usize) {
        self.machines[machine].disk.boot();
        self.machines[machine].boots_at_ms = None;
        self.tally.boots += 1;
        self.tell(|| format!("{machine} boots"));
        match self.start(machine) {
            Ok(()) => self.check_word(machine),
            // The disk is well, as after every boot.
            Err(error) => self.broken.push(Broken::Failed { machine, why: error.to_string() }),
        }
    }

    /// The network falls into two parts, or grows together.
    fn part(&mut self) {
        self.parted = if self.parted == 0 { self.chance.bits() } else { 0 };
        self.tally.partitions += u64::from(self.parted != 0);
        self.part_talks();
    }

    fn is_parted(&self, a: usize, b: usize) -> bool {
        (self.parted >> a) & 1 != (self.parted >> b) & 1
    }

    /// Someone ends a conversation.
    fn leave(&mut self) {
        if !self.talks.is_empty() {
            let at = self.chance.below(self.talks.len() as u64) as usize;
            self.hear(at, 0, storypole_sync::Event::Leave);
        }
    }

    /// Lets happen what is due until then, in the order in which it is due.
    fn pass_time(&mut self, until_ms: u64) {
        loop {
            let of_talks = self.talks.iter().filter_map(Talk::next_ms).min();
            let of_boots = self.machines.iter().filter_map(|machine| machine.boots_at_ms).min();
            let next_ms = of_talks.into_iter().chain(of_boots).min();
            let Some(next_ms) = next_ms.filter(|next_ms| *next_ms <= until_ms) else { break };
            self.now_ms = self.now_ms.max(next_ms);
            let is_due = |machine: &usize| {
                self.machines[*machine].boots_at_ms.is_some_and(|boots_at_ms| boots_at_ms <= self.now_ms)
            };
            let due: Vec<usize> = (0..self.machines.len()).filter(is_due).collect();
            due.into_iter().for_each(|machine| self.boot(machine));
            self.talk_on();
        }
        self.now_ms = self.now_ms.max(until_ms);
    }

    /// All that is broken is mended, and all meet until nothing is new.
    fn heal(&mut self) {
        self.weather = Weather::FAIR;
        self.parted = 0;
        self.talks.clear();
        for machine in 0..self.machines.len() {
            self.machines[machine].disk.be_well();
            if self.machines[machine].program.is_none() {
                self.boot(machine);
            }
            self.check_word(machine);
        }
        self.phase = Phase::Healing;
        self.empty_outbox();
        // Where both stand as they stood when they had last talked, they have nothing to say.
        let mut talked: HashMap<(usize, usize), [Option<Position>; 2]> = HashMap::new();
        for _ in 0..8 {
            let mut is_quiet = true;
            for (a, b) in (0..self.machines.len()).flat_map(|a| (0..a).map(move |b| (a, b))) {
                let before = [self.position(a), self.position(b)];
                if talked.get(&(a, b)) == Some(&before) {
                    continue;
                }
                self.talk_through(a, b);
                let after = [self.position(a), self.position(b)];
                is_quiet &= before == after;
                talked.insert((a, b), after);
            }
            if is_quiet {
                return;
            }
        }
        self.broken.push(Broken::NeverQuiet);
    }

    /// Where the log of a machine stands.
    fn position(&self, machine: usize) -> Option<Position> {
        self.machines[machine].program.as_ref()?.reader.position().ok()
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]
mod tests;
