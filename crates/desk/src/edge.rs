//! Where time and chance enter: ids, keys and the wall clock. Everything below takes them as arguments.

use std::time::{SystemTime, UNIX_EPOCH};

use storypole_journal::{DeviceId, DeviceKey, DraftId, RecordId, WrittenAt};

/// Milliseconds since 1970 by this device's clock; 0 when the clock stands before that.
pub fn now_ms() -> u64 {
    let since = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
    u64::try_from(since.as_millis()).unwrap_or(u64::MAX)
}

/// Fills an array from the operating system's random numbers.
pub fn random<const N: usize>() -> [u8; N] {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes)
        .expect("the operating system gives random numbers; without them no key is safe");
    bytes
}

/// A new draft id.
pub fn draft_id() -> DraftId {
    DraftId::from_parts(now_ms(), random())
}

/// A new record id.
pub fn record_id() -> RecordId {
    RecordId::from_parts(now_ms(), random())
}

/// A new device id.
pub fn device_id() -> DeviceId {
    DeviceId::from_parts(now_ms(), random())
}

/// A new device key.
pub fn device_key() -> DeviceKey {
    DeviceKey::from_bytes(&random())
}

/// This moment, with the offset of the writer's clock in minutes.
pub fn written_now(offset_min: i16) -> WrittenAt {
    WrittenAt { unix_ms: i64::try_from(now_ms()).unwrap_or(i64::MAX), offset_min }
}
