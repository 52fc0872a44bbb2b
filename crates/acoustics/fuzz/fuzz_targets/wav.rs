//! Feeds arbitrary bytes to the WAV reader: it may refuse, and what it reads is finite and no more than there was.
#![no_main]

use libfuzzer_sys::fuzz_target;
use storypole_acoustics::wav::Reader;

fuzz_target!(|bytes: &[u8]| {
    let Ok(mut reader) = Reader::open(bytes) else { return };
    let channels = reader.format().channels();
    let mut block = [0.0; 333];
    let mut channel = 0;
    loop {
        let count = reader.read(channel, &mut block).expect("a slice cannot fail to be read");
        assert!(block[..count].iter().all(|sample| sample.is_finite()));
        if count < block.len() {
            break;
        }
        channel = (channel + 1) % channels;
    }
    assert!(reader.position_frames() <= bytes.len() as u64);
    assert_eq!(reader.read(0, &mut block).expect("a slice cannot fail to be read"), 0);
});
