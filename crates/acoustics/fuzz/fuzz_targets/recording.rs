//! Feeds arbitrary bytes to whichever reader their first bytes call for: they may be refused, and what is read is finite.
#![no_main]

use std::io::Cursor;

use libfuzzer_sys::fuzz_target;
use storypole_acoustics::recording;

fuzz_target!(|bytes: &[u8]| {
    let Ok(mut recording) = recording::open(Cursor::new(bytes.to_vec()), None) else { return };
    let channels = recording.channels();
    let mut block = [0.0; 1000];
    let mut channel = 0;
    loop {
        let count = recording.read(channel, &mut block).expect("memory cannot fail to be read");
        assert!(block[..count].iter().all(|sample| sample.is_finite()));
        if count < block.len() {
            break;
        }
        channel = (channel + 1) % channels;
    }
});
