//! One measured step: seconds until what was sent is durable and queryable, bytes that were sent, memory it took.

use std::fs::File;
use std::io::Write;
use std::path::Path;
use std::time::Instant;

/// What a step took.
#[derive(Debug, Clone, Copy)]
pub struct Leg {
    pub bytes: usize,
    pub time_s: f64,
    /// Of them, seconds that this thread ran: what else the machine does is not in it. 0 where the system does not say.
    pub cpu_s: f64,
    /// Memory at its peak beyond what was there before, both ends together, MB; 0 where the system does not say.
    pub peak_mb: f64,
}

impl Leg {
    /// The faster of two runs of the same step, by the clock and on a core.
    pub fn faster(self, other: Self) -> Self {
        Self { time_s: self.time_s.min(other.time_s), cpu_s: self.cpu_s.min(other.cpu_s), ..self }
    }

    /// Measures a step that returns how many bytes went over the wire.
    pub fn measure(step: impl FnOnce() -> usize) -> Self {
        let before_mb = memory_mb("VmRSS");
        // 5 resets the peak (proc(5), `clear_refs`); where that cannot be done, the peak is that of all before too.
        let _unsupported = std::fs::write("/proc/self/clear_refs", "5");
        let (begun, cpu_before_s) = (Instant::now(), cpu_s());
        let bytes = step();
        let (time_s, cpu_s) = (begun.elapsed().as_secs_f64(), cpu_s() - cpu_before_s);
        Self { bytes, time_s, cpu_s, peak_mb: (memory_mb("VmHWM") - before_mb).max(0.0) }
    }
}

/// Writes what was received to a file and waits until it is on disk.
pub fn make_durable(folder: &Path, name: &str, bytes: &[u8]) {
    let mut file = File::create(folder.join(name)).expect("a new file");
    file.write_all(bytes).expect("room on the disk");
    file.sync_all().expect("a disk that syncs");
}

/// How the bytes of a library are made smaller still.
#[derive(Debug, Clone, Copy)]
pub enum Pack {
    /// As the library gives them.
    Own,
    /// Compressed once more, as far as zstd goes without its slowest settings.
    Zstd,
}

const LEVEL: i32 = 19;

impl Pack {
    pub fn pack(self, bytes: Vec<u8>) -> Vec<u8> {
        match self {
            Self::Own => bytes,
            Self::Zstd => zstd::bulk::compress(&bytes, LEVEL).expect("memory to compress"),
        }
    }

    pub fn unpack(self, bytes: &[u8]) -> Vec<u8> {
        match self {
            Self::Own => bytes.to_vec(),
            Self::Zstd => zstd::stream::decode_all(bytes).expect("what was packed"),
        }
    }
}

/// Seconds for which the main thread has run on a core (`/proc/self/schedstat`).
pub fn cpu_s() -> f64 {
    let stat = std::fs::read_to_string("/proc/self/schedstat").unwrap_or_default();
    let ns = stat.split_whitespace().next().and_then(|ns| ns.parse::<f64>().ok());
    ns.unwrap_or(0.0) / 1e9
}

/// A line of this process's status, MB.
fn memory_mb(name: &str) -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix(name)?.strip_prefix(':'));
    let kib = line.and_then(|rest| rest.split_whitespace().next()?.parse::<f64>().ok());
    kib.unwrap_or(0.0) * 1024.0 / 1e6
}
