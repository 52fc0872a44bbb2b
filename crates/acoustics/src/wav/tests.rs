//! WAV against files that other programs wrote, headers made by hand, and headers damaged at random.

use std::io::{self, Cursor, Read};

use proptest::prelude::*;
use proptest::test_runner::RngSeed;

use super::*;

/// A WAV file put together by hand, field by field.
#[derive(Debug, Clone)]
struct Made {
    tag: u16,
    channels: u16,
    sample_rate_hz: u32,
    block_align: u16,
    bits: u16,
    extension: Vec<u8>,
    told_bytes: u32,
    samples: Vec<u8>,
}

impl Made {
    fn sixteen_bits(samples: &[i16]) -> Self {
        let samples: Vec<u8> = samples.iter().flat_map(|sample| sample.to_le_bytes()).collect();
        Self {
            tag: 1,
            channels: 1,
            sample_rate_hz: 48_000,
            block_align: 2,
            bits: 16,
            extension: Vec::new(),
            told_bytes: samples.len() as u32,
            samples,
        }
    }

    /// The extensible form with a sub-format that is a plain tag.
    fn extensible(bits: u16, valid_bits: u16, tag: u16, samples: &[u8]) -> Self {
        let mut extension = vec![22, 0];
        extension.extend_from_slice(&valid_bits.to_le_bytes());
        extension.extend_from_slice(&4u32.to_le_bytes());
        extension.extend_from_slice(&tag.to_le_bytes());
        extension.extend_from_slice(&[0, 0, 0, 0, 0x10, 0, 0x80, 0, 0, 0xaa, 0, 0x38, 0x9b, 0x71]);
        Self {
            tag: 0xfffe,
            channels: 1,
            sample_rate_hz: 48_000,
            block_align: bits.div_ceil(8),
            bits,
            extension,
            told_bytes: samples.len() as u32,
            samples: samples.to_vec(),
        }
    }

    fn bytes(&self) -> Vec<u8> {
        let mut format = Vec::new();
        format.extend_from_slice(&self.tag.to_le_bytes());
        format.extend_from_slice(&self.channels.to_le_bytes());
        format.extend_from_slice(&self.sample_rate_hz.to_le_bytes());
        format.extend_from_slice(&0u32.to_le_bytes());
        format.extend_from_slice(&self.block_align.to_le_bytes());
        format.extend_from_slice(&self.bits.to_le_bytes());
        format.extend_from_slice(&self.extension);
        let mut data = Vec::from(*b"data");
        data.extend_from_slice(&self.told_bytes.to_le_bytes());
        data.extend_from_slice(&self.samples);
        riff(&[chunk(b"fmt ", &format), data].concat())
    }
}

fn chunk(name: &[u8; 4], content: &[u8]) -> Vec<u8> {
    let mut chunk = Vec::from(*name);
    chunk.extend_from_slice(&(content.len() as u32).to_le_bytes());
    chunk.extend_from_slice(content);
    if content.len() % 2 == 1 {
        chunk.push(0);
    }
    chunk
}

fn riff(chunks: &[u8]) -> Vec<u8> {
    let mut file = Vec::from(*b"RIFF");
    file.extend_from_slice(&(4 + chunks.len() as u32).to_le_bytes());
    file.extend_from_slice(b"WAVE");
    file.extend_from_slice(chunks);
    file
}

fn open(bytes: &[u8]) -> Result<Reader<&[u8]>, WavError> {
    Reader::open(bytes)
}

/// Reads one channel to its end in blocks of an awkward size.
fn read_all<R: Read>(reader: &mut Reader<R>, channel: u16) -> Vec<f64> {
    let mut samples = Vec::new();
    let mut block = [0.0; 7];
    loop {
        let count = reader.read(channel, &mut block).unwrap();
        samples.extend_from_slice(&block[..count]);
        if count < block.len() {
            return samples;
        }
    }
}

fn steps(samples: &[f64]) -> Vec<i64> {
    samples.iter().map(|sample| (sample * 32_768.0) as i64).collect()
}

/// What `testdata/make.py` puts into every file that is no tone.
fn expected(channel: usize, frames: usize) -> Vec<f64> {
    (0..frames).map(|frame| (((37 * frame + 11 * channel) % 101) as f64 - 50.0) / 64.0).collect()
}

#[test]
fn files_of_other_programs_are_read_exactly() {
    // Written by Python's wave module, scipy 1.17.1, FFmpeg 5.1.9 and SoX 14.4.2; see testdata/README.md.
    macro_rules! file {
        ($name:literal, $rate:expr, $channels:expr, $bits:expr) => {
            ($name, include_bytes!(concat!("../../testdata/", $name)).as_slice(), $rate, $channels, $bits)
        };
    }
    let rows = [
        file!("python-wave-8bit-mono.wav", 48_000, 1, 8),
        file!("python-wave-16bit-mono.wav", 48_000, 1, 16),
        file!("python-wave-24bit-mono.wav", 48_000, 1, 24),
        file!("python-wave-32bit-mono.wav", 48_000, 1, 32),
        file!("python-wave-16bit-3ch.wav", 44_100, 3, 16),
        file!("scipy-int16-stereo.wav", 44_100, 2, 16),
        file!("scipy-int32-mono.wav", 96_000, 1, 32),
        file!("scipy-float32-stereo.wav", 48_000, 2, 32),
        file!("scipy-float64-mono.wav", 8_000, 1, 64),
        file!("ffmpeg-rf64.wav", 44_100, 2, 16),
        file!("ffmpeg-24bit.wav", 44_100, 2, 24),
        file!("ffmpeg-streamed.wav", 44_100, 2, 16),
        file!("sox-24bit-extensible.wav", 44_100, 2, 24),
        file!("sox-float32.wav", 44_100, 2, 32),
        file!("sox-streamed.wav", 44_100, 2, 16),
    ];
    for (name, bytes, sample_rate_hz, channels, bits) in rows {
        for channel in 0..channels {
            let mut reader = open(bytes).unwrap();
            let format = *reader.format();
            assert_eq!((format.sample_rate_hz(), format.channels()), (sample_rate_hz, channels), "{name}");
            assert_eq!(format.bits(), bits, "{name}");
            assert_eq!(read_all(&mut reader, channel), expected(channel.into(), 33), "{name}");
            assert_eq!((reader.position_frames(), reader.damaged_samples()), (33, 0), "{name}");
            // SoX writes a length near 2 GB into a pipe, FFmpeg 0xFFFFFFFF.
            assert_eq!(reader.length_lie().is_some(), name == "sox-streamed.wav", "{name}");
            assert_eq!(reader.frames_told().is_none(), name == "ffmpeg-streamed.wav", "{name}");
        }
    }
}

#[test]
fn coded_files_of_other_programs_are_refused_by_name() {
    let refusal = |bytes: &[u8]| open(bytes).unwrap_err().to_string();
    let a_law = refusal(include_bytes!("../../testdata/sox-a-law.wav"));
    assert!(a_law.contains("A-law"), "{a_law}");
    let gsm = refusal(include_bytes!("../../testdata/sox-gsm.wav"));
    assert!(gsm.contains("GSM 6.10"), "{gsm}");
    let made = Made { tag: 0x11, bits: 4, ..Made::sixteen_bits(&[1]) };
    let adpcm = refusal(&made.bytes());
    assert!(adpcm.contains("ADPCM (IMA)") && adpcm.contains("0x0011"), "{adpcm}");
}

#[test]
fn extremes_and_steps_follow_from_the_width() {
    // Two's complement by definition: the least value is -1, the greatest one step below 1.
    type Row<'a> = (u16, &'a [u8], [f64; 2], f64);
    let rows: [Row; 4] = [
        (8, &[0, 255], [-1.0, 127.0 / 128.0], 1.0 / 128.0),
        (16, &[0, 0x80, 0xff, 0x7f], [-1.0, 1.0 - 0.5f64.powi(15)], 0.5f64.powi(15)),
        (24, &[0, 0, 0x80, 0xff, 0xff, 0x7f], [-1.0, 1.0 - 0.5f64.powi(23)], 0.5f64.powi(23)),
        (32, &[0, 0, 0, 0x80, 0xff, 0xff, 0xff, 0x7f], [-1.0, 1.0 - 0.5f64.powi(31)], 0.5f64.powi(31)),
    ];
    for (bits, samples, expected, step) in rows {
        let made = Made {
            bits,
            block_align: bits / 8,
            told_bytes: samples.len() as u32,
            samples: samples.to_vec(),
            ..Made::sixteen_bits(&[])
        };
        let bytes = made.bytes();
        let mut reader = open(&bytes).unwrap();
        assert_eq!(reader.format().step(), Some(step));
        assert_eq!(read_all(&mut reader, 0), expected, "{bits}");
    }
}

#[test]
fn valid_bits_fill_the_container_from_the_top() {
    // Twenty valid bits in 24: full scale is still the container's, and the step is that of 20 bits.
    let made = Made::extensible(24, 20, 1, &[0x10, 0x00, 0x00, 0x00, 0x00, 0x40]);
    let bytes = made.bytes();
    let mut reader = open(&bytes).unwrap();
    assert_eq!((reader.format().bits(), reader.format().step()), (20, Some(0.5f64.powi(19))));
    assert_eq!(read_all(&mut reader, 0), [0.5f64.powi(19), 0.5]);
    // The plain form may name a width between bytes too; its container is the next whole one.
    let plain = Made { bits: 12, ..Made::sixteen_bits(&[0x4000, 0x10]) };
    let bytes = plain.bytes();
    let mut reader = open(&bytes).unwrap();
    assert_eq!(read_all(&mut reader, 0), [0.5, 0.5f64.powi(11)]);
    // An empty field means the whole container.
    let empty = Made::extensible(16, 0, 1, &[0, 0x40]).bytes();
    assert_eq!(open(&empty).unwrap().format().bits(), 16);
}

#[test]
fn padding_and_unknown_chunks_are_skipped() {
    let made = Made::sixteen_bits(&[100, -100]);
    let bytes = made.bytes();
    let rest = &bytes[12..];
    let chunks = [chunk(b"bext", &[7; 603]), chunk(b"cue ", &[]), rest.to_vec(), chunk(b"LIST", b"INFOabc")];
    let file = riff(&chunks.concat());
    let mut reader = open(&file).unwrap();
    assert_eq!(steps(&read_all(&mut reader, 0)), [100, -100]);
    assert_eq!(reader.length_lie(), None);
}

#[test]
fn samples_end_where_a_chunk_begins_with_or_without_padding() {
    // Three frames of one byte: the padding that belongs there is often forgotten.
    let made = Made {
        bits: 8,
        block_align: 1,
        told_bytes: 3,
        samples: vec![128, 192, 64],
        ..Made::sixteen_bits(&[])
    };
    for padding in [&[0u8][..], &[]] {
        let file = [&made.bytes(), padding, &chunk(b"LIST", b"INFO")].concat();
        let mut reader = open(&file).unwrap();
        assert_eq!(read_all(&mut reader, 0), [0.0, 0.5, -0.5]);
        assert_eq!(reader.length_lie(), None);
    }
    // Tags of music programs stand behind everything and are no samples.
    let tagged = [&Made::sixteen_bits(&[5]).bytes(), &b"TAG"[..], &[0; 125]].concat();
    let mut reader = open(&tagged).unwrap();
    assert_eq!(steps(&read_all(&mut reader, 0)), [5]);
}

#[test]
fn streamed_files_are_read_to_their_end() {
    for told_bytes in [0, u32::MAX] {
        let bytes = Made { told_bytes, ..Made::sixteen_bits(&[1, 2, 3]) }.bytes();
        let mut reader = open(&bytes).unwrap();
        assert_eq!(reader.frames_told(), None);
        assert_eq!(steps(&read_all(&mut reader, 0)), [1, 2, 3]);
        assert_eq!((reader.position_frames(), reader.length_lie()), (3, None));
    }
    // A length of 0 before another chunk is true: nothing was recorded.
    let empty = [Made::sixteen_bits(&[]).bytes(), chunk(b"LIST", b"INFO")].concat();
    let mut reader = open(&empty).unwrap();
    assert_eq!((reader.frames_told(), read_all(&mut reader, 0).len()), (Some(0), 0));
}

#[test]
fn long_files_have_their_length_in_ds64() {
    let sized = |data_bytes: u64| {
        let sizes = [0u64, data_bytes, 0].map(u64::to_le_bytes).concat();
        let ds64 = chunk(b"ds64", &[&sizes[..], &[0; 4]].concat());
        let made = Made { told_bytes: u32::MAX, ..Made::sixteen_bits(&[1, 2, 3]) }.bytes();
        let mut file = riff(&[&ds64, &made[12..]].concat());
        file[..4].copy_from_slice(b"BW64");
        file
    };
    let file = sized(4);
    let mut reader = open(&file).unwrap();
    assert_eq!(reader.frames_told(), Some(2));
    assert_eq!(steps(&read_all(&mut reader, 0)), [1, 2, 3]);
    assert_eq!(reader.length_lie(), Some(LengthLie { told_frames: 2, held_frames: 3 }));
    let file = sized(6_000_000_000);
    let mut reader = open(&file).unwrap();
    assert_eq!(reader.frames_told(), Some(3_000_000_000));
    assert_eq!(steps(&read_all(&mut reader, 0)), [1, 2, 3]);
    let file = sized(u64::MAX);
    assert_eq!(open(&file).unwrap().frames_told(), None);
}

#[test]
fn lies_about_the_length_are_told_and_not_refused() {
    for (told_bytes, told_frames) in [(400, 200), (2, 1), (7, 3)] {
        let bytes = Made { told_bytes, ..Made::sixteen_bits(&[10, 20, 30, 40, 50]) }.bytes();
        let mut reader = open(&bytes).unwrap();
        assert_eq!(reader.length_lie(), None, "not known before the end");
        assert_eq!(steps(&read_all(&mut reader, 0)), [10, 20, 30, 40, 50]);
        assert_eq!(reader.length_lie(), Some(LengthLie { told_frames, held_frames: 5 }));
    }
    // Half a frame at the end is no frame.
    let mut cut = Made::sixteen_bits(&[10, 20]).bytes();
    cut.pop();
    let mut reader = open(&cut).unwrap();
    assert_eq!(steps(&read_all(&mut reader, 0)), [10]);
    assert_eq!(reader.length_lie(), Some(LengthLie { told_frames: 2, held_frames: 1 }));
}

#[test]
fn floats_that_are_no_sound_read_as_silence_and_are_counted() {
    let values = [0.25f32, f32::NAN, f32::INFINITY, f32::NEG_INFINITY, 1.5, 1e30];
    let samples: Vec<u8> = values.iter().flat_map(|value| value.to_le_bytes()).collect();
    let bytes = Made {
        tag: 3,
        bits: 32,
        block_align: 4,
        told_bytes: samples.len() as u32,
        samples,
        ..Made::sixteen_bits(&[])
    }
    .bytes();
    let mut reader = open(&bytes).unwrap();
    assert_eq!(reader.format().step(), None);
    assert_eq!(read_all(&mut reader, 0), [0.25, 0.0, 0.0, 0.0, 1.5, 0.0]);
    assert_eq!(reader.damaged_samples(), 4);
}

#[test]
fn impossible_headers_are_refused_in_words() {
    let good = || Made::sixteen_bits(&[1]);
    let short = riff(&chunk(b"fmt ", &[0; 14]));
    let short_extensible = Made { tag: 0xfffe, ..good() }.bytes();
    let mut strange = Made::extensible(16, 16, 1, &[0, 0]);
    *strange.extension.last_mut().unwrap() = 0x72;
    let data_first = riff(&chunk(b"data", &[0, 0]));
    let format_only = &good().bytes()[..36];
    let rows: Vec<(Vec<u8>, &str)> = vec![
        (b"hello, this is no sound".to_vec(), "not a WAV file"),
        (b"RIFF\x04\0\0\0AVI ....".to_vec(), "not a WAV file"),
        (b"RIFX\0\0\0\x04WAVE".to_vec(), "big-endian"),
        (riff(&[]), "no fmt chunk"),
        (data_first, "no fmt chunk"),
        (format_only.to_vec(), "no data chunk"),
        (short, "14 bytes is too short"),
        (short_extensible, "16 bytes is too short"),
        (strange.bytes(), "unknown sub-format"),
        (Made { channels: 0, ..good() }.bytes(), "no channel"),
        (Made { channels: 65, block_align: 130, ..good() }.bytes(), "65 channels"),
        (Made { sample_rate_hz: 0, ..good() }.bytes(), "0 Hz is not"),
        (Made { sample_rate_hz: 999, ..good() }.bytes(), "999 Hz is not"),
        (Made { sample_rate_hz: 768_001, ..good() }.bytes(), "768001 Hz is not"),
        (Made { bits: 0, block_align: 0, ..good() }.bytes(), "0 bits"),
        (Made { bits: 40, block_align: 5, ..good() }.bytes(), "40 bits"),
        (Made { tag: 3, ..good() }.bytes(), "16 bits"),
        (Made::extensible(16, 17, 1, &[0, 0]).bytes(), "17 of them valid"),
        (Made { block_align: 0, ..good() }.bytes(), "make 2"),
        (Made { block_align: 4, ..good() }.bytes(), "counts 4 bytes"),
    ];
    for (bytes, expected) in rows {
        let said = open(&bytes).unwrap_err().to_string();
        assert!(said.contains(expected), "{said:?} does not say {expected:?}");
    }
    let bytes = good().bytes();
    let mut reader = open(&bytes).unwrap();
    let refused = reader.read(1, &mut [0.0]).unwrap_err();
    assert!(matches!(refused, WavError::NoSuchChannel { channel: 1, channels: 1 }));
}

#[test]
fn a_header_cut_anywhere_is_refused() {
    let bytes = Made::extensible(16, 16, 1, &[0, 0]).bytes();
    for length in 0..68 {
        let refused = open(&bytes[..length]).unwrap_err();
        match length {
            12 => assert!(matches!(refused, WavError::NoFormat), "{length}: {refused}"),
            60 => assert!(matches!(refused, WavError::NoData), "{length}: {refused}"),
            _ => assert!(matches!(refused, WavError::CutHeader), "{length}: {refused}"),
        }
    }
    assert!(open(&bytes[..68]).is_ok());
}

/// Gives one byte at a time, with interruptions, and fails at the end if told to.
struct Trickle<'a> {
    bytes: &'a [u8],
    interrupt: bool,
    fails: bool,
}

impl Read for Trickle<'_> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        self.interrupt = !self.interrupt;
        if self.interrupt {
            return Err(io::ErrorKind::Interrupted.into());
        }
        let Some((first, rest)) = self.bytes.split_first() else {
            return if self.fails { Err(io::ErrorKind::TimedOut.into()) } else { Ok(0) };
        };
        out[0] = *first;
        self.bytes = rest;
        Ok(1)
    }
}

#[test]
fn slow_and_failing_readers_are_told_apart() {
    let bytes = Made::sixteen_bits(&[1, 2, 3]).bytes();
    let trickle = |fails| Trickle { bytes: &bytes, interrupt: false, fails };
    let mut reader = Reader::open(trickle(false)).unwrap();
    assert_eq!(steps(&read_all(&mut reader, 0)), [1, 2, 3]);
    let mut reader = Reader::open(trickle(true)).unwrap();
    assert!(matches!(reader.read(0, &mut [0.0; 4]), Err(WavError::Read { .. })));
}

#[test]
fn what_is_written_is_read_back() {
    for (coding, step) in [
        (WriteCoding::Signed16, 0.5f64.powi(15)),
        (WriteCoding::Signed24, 0.5f64.powi(23)),
        (WriteCoding::Float32, 0.5f64.powi(25)),
    ] {
        // Three frames of three bytes need padding.
        let samples = [-1.0, 1.0 / 3.0, 0.7];
        let format = WriteFormat { sample_rate_hz: 44_100, coding, frames: 3 };
        let mut writer = Writer::new(Vec::new(), format).unwrap();
        writer.write(&samples[..1]).unwrap();
        writer.write(&samples[1..]).unwrap();
        let bytes = writer.finish().unwrap();
        assert_eq!(bytes.len() % 2, 0);
        let told = u32::from_le_bytes(*bytes[4..].first_chunk().unwrap());
        assert_eq!(told as usize, bytes.len() - 8);
        let mut reader = open(&bytes).unwrap();
        assert_eq!((reader.format().sample_rate_hz(), reader.frames_told()), (44_100, Some(3)));
        for (got, expected) in read_all(&mut reader, 0).into_iter().zip(samples) {
            assert!((got - expected).abs() <= step / 2.0, "{got} for {expected}");
        }
        assert_eq!(reader.length_lie(), None);
    }
}

#[test]
fn golden_bytes_of_a_written_file() {
    // Field by field after the RIFF specification; 0.5 of 24 bits is 0x400000.
    let format = WriteFormat { sample_rate_hz: 48_000, coding: WriteCoding::Signed24, frames: 1 };
    let mut writer = Writer::new(Vec::new(), format).unwrap();
    writer.write(&[0.5]).unwrap();
    let expected = b"RIFF\x28\0\0\0WAVEfmt \x10\0\0\0\x01\0\x01\0\x80\xbb\0\0\x80\x32\x02\0\x03\0\x18\0data\x03\0\0\0\0\0\x40\0";
    assert_eq!(writer.finish().unwrap(), expected);
}

#[test]
fn writing_refuses_and_counts() {
    let format = WriteFormat { sample_rate_hz: 48_000, coding: WriteCoding::Signed16, frames: 2 };
    let new = |format| Writer::new(Vec::new(), format);
    assert!(matches!(
        new(WriteFormat { frames: u64::from(u32::MAX), ..format }),
        Err(WriteError::TooLong { .. })
    ));
    assert!(matches!(new(WriteFormat { frames: 1 << 31, ..format }), Err(WriteError::TooLong { .. })));
    assert!(matches!(
        new(WriteFormat { sample_rate_hz: 0, ..format }),
        Err(WriteError::SampleRate { sample_rate_hz: 0 })
    ));
    let mut writer = new(format).unwrap();
    assert!(matches!(writer.write(&[0.0, f64::NAN]), Err(WriteError::NotFinite { frame: 1, .. })));
    assert!(matches!(writer.write(&[0.0; 3]), Err(WriteError::WrongLength { told: 2, written: 3 })));
    writer.write(&[1.0]).unwrap();
    assert_eq!(writer.clipped_samples(), 1);
    assert!(matches!(writer.finish(), Err(WriteError::WrongLength { told: 2, written: 1 })));
}

/// Reads a file as far as it goes; whatever it holds, what comes out is finite and no more than the file can hold.
fn survives(bytes: &[u8]) {
    let Ok(mut reader) = Reader::open(Cursor::new(bytes)) else { return };
    let mut block = [0.0; 64];
    loop {
        let count = reader.read(0, &mut block).unwrap();
        assert!(block[..count].iter().all(|sample| sample.is_finite()));
        if count < block.len() {
            break;
        }
    }
    assert!(reader.position_frames() <= bytes.len() as u64);
    if let Some(lie) = reader.length_lie() {
        assert_ne!(lie.told_frames, lie.held_frames);
    }
}

proptest! {
    // The same cases in every run, so that a failure is of the change and not of the day; chance is for fuzzing.
    #![proptest_config(ProptestConfig { cases: 2000, rng_seed: RngSeed::Fixed(20), ..ProptestConfig::default() })]

    /// Goal: no header leads to a panic, a hang or a number that is none. Method: true headers of several kinds with
    /// bytes overwritten, most of them in the header, and the file cut or lengthened.
    #[test]
    fn damaged_headers_are_read_or_refused(
        kind in 0..4usize,
        damage in prop::collection::vec((0..100usize, any::<u8>()), 0..6),
        length in 0..400usize,
    ) {
        let mut bytes = match kind {
            0 => Made::sixteen_bits(&[3; 50]).bytes(),
            1 => Made::extensible(24, 20, 1, &[9; 150]).bytes(),
            2 => Made::extensible(32, 32, 3, &[9; 160]).bytes(),
            _ => include_bytes!("../../testdata/ffmpeg-rf64.wav").to_vec(),
        };
        for (place, byte) in damage {
            if let Some(there) = bytes.get_mut(place) {
                *there = byte;
            }
        }
        // Often the whole file, sometimes a part, sometimes with a tail.
        if length < 300 {
            bytes.truncate(length.max(200));
        } else {
            bytes.extend_from_slice(&vec![0x41; length - 300]);
        }
        survives(&bytes);
    }

    #[test]
    fn noise_behind_a_magic_number_is_read_or_refused(noise in prop::collection::vec(any::<u8>(), 0..200)) {
        survives(&[&b"RIFF\0\0\0\0WAVEfmt \x10\0\0\0"[..], &noise].concat());
    }

}

proptest! {
    #[test]
    fn block_sizes_do_not_matter(samples in prop::collection::vec(any::<i16>(), 0..300), block in 1..50usize) {
        let bytes = Made::sixteen_bits(&samples).bytes();
        let mut reader = open(&bytes).unwrap();
        let mut got = Vec::new();
        let mut out = vec![0.0; block];
        loop {
            let count = reader.read(0, &mut out).unwrap();
            got.extend_from_slice(&out[..count]);
            if count < block {
                break;
            }
        }
        let expected: Vec<i64> = samples.iter().map(|sample| i64::from(*sample)).collect();
        prop_assert_eq!(steps(&got), expected);
    }
}
