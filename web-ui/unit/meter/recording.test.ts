// Recordings on their way: what they are by their first bytes (RIFF, FLAC: RFC 9639, MP4: ISO 14496-12, MPEG audio: ISO 11172-3, ID3v2; from
// memory), what is cut out, and the draft of the reading.
import fc from 'fast-check';
import { expect, test } from 'vitest';

import { cutFault, isSound, keptReading, measurePath, pinned, readScale, readSeconds, soundType } from '../../src/meter/recording';

const head = (text: string): Uint8Array => Uint8Array.from(text, (letter) => letter.charCodeAt(0));
const desk = () => {
  let made = 0;
  return { newId: () => `id-${(made += 1)}`, writtenAt: '2025-05-20T10:00:00Z' };
};

test('a recording is told by its first bytes, never by its name', () => {
  for (const [text, type] of [
    ['RIFF\u0024\u0000\u0000\u0000WAVEfmt ', 'audio/vnd.wave'],
    ['RIFF\n\r\u0000\u0000WAVEfmt ', 'audio/vnd.wave'],
    ['RF64\u00ff\u00ff\u00ff\u00ffWAVEds64', 'audio/vnd.wave'],
    ['fLaC\u0000\u0000\u0000\u0022', 'audio/flac'],
    ['\u0000\u0000\u0000\u0020ftypM4A ', 'audio/mp4'],
    ['ID3\u0004\u0000', 'audio/mpeg'],
    ['\u00ff\u00fb\u0090', 'audio/mpeg'],
    ['RIFF\u0024\u0000\u0000\u0000AVI LIST', null],
    ['\u0089PNG\r\n', null],
    ['', null],
  ] as const) {
    expect(soundType(head(text)), text).toBe(type);
  }
  fc.assert(fc.property(fc.uint8Array({ maxLength: 16 }), (bytes) => void soundType(bytes)));
  expect(isSound({ media_type: null, name: 'hall.WAV' })).toBe(true);
  expect(isSound({ media_type: 'image/jpeg', name: 'hall.wav' })).toBe(false);
});

test('times are seconds or minutes and seconds, and a cut needs order and a reason', () => {
  for (const [typed, seconds] of [
    ['12', 12],
    ['75.5', 75.5],
    [' 1:15.5 ', 75.5],
    ['1:75', null],
    ['-3', null],
    ['1e3', null],
    ['', null],
  ] as const) {
    expect(readSeconds(typed), typed).toBe(seconds);
  }
  expect(cutFault({ from: '12', to: '15', why: 'a truck' })).toBeNull();
  expect(cutFault({ from: '15', to: '12', why: 'a truck' })).toBe('order');
  expect(cutFault({ from: '12', to: '15', why: '  ' })).toBe('why');
  expect(cutFault({ from: 'x', to: '15', why: 'a truck' })).toBe('time');
  fc.assert(fc.property(fc.string(), fc.string(), fc.string(), (from, to, why) => void cutFault({ from, to, why })));
});

test('a question to the box holds scale, channel, weighting and cuts', () => {
  const cuts = [
    { from: '12', to: '15', why: 'a truck & its horn' },
    { from: '1:02', to: '1:05', why: 'the dog' },
  ];
  const path = measurePath('ab', { kind: 'calibrator', hash: 'cd', level: '94' }, '2', 'dBC', cuts);
  const query = new URL(path, 'http://box').searchParams;
  expect(Object.fromEntries(query)).toEqual({
    calibration: 'cd',
    calibrator: '94',
    channel: '2',
    unit: 'dBC',
    cut: '12-15 a truck & its horn\n1:02-1:05 the dog',
  });
  expect(measurePath('ab', { kind: 'unknown' }, '1', 'dBA', [])).toBe('/api/recordings/ab?channel=1&unit=dBA');
  expect(readScale('117', 20, 200, 'why')).toEqual({ kind: 'ok', value: '117' });
  expect(readScale('11.7', 20, 200, 'why')).toEqual({ kind: 'bad', why: 'why' });
});

test('a reading is written with the very fields the box gave, and names its recording', () => {
  const reading = {
    subject: 'level',
    value: '61.93 dBA',
    response: 'leq',
    duration_s: '9.0',
    bands: 'third dBZ: 100 45.2',
    calibration: 'full-scale sine = 117 dB, as told',
    cut_out: '5 to 6 s: a truck; with it 63.0 dBA',
    clipped: null,
    lossy: 'yes',
  };
  const made = keptReading(desk(), { set: 'set-1', role: 'receive', position: 'pos-1', replicate: 1 }, reading, 'photo-1');
  const fields = Object.fromEntries(made.draft.writes.map((write) => [write.field, write.value]));
  const there = Object.fromEntries(Object.entries(reading).filter(([, typed]) => typed !== null));
  expect(fields).toEqual({ ...there, set: 'set-1', role: 'receive', position: 'pos-1', replicate: '1', recording: 'photo-1' });
  expect(new Set(made.draft.writes.map((write) => write.record)).size).toBe(1);

  const file = pinned(desk(), 'set-1', { mark: 'file:1', bytes: 9, media_type: 'audio/flac', name: 'hall.flac' }, 'R1');
  expect(file.records.map((one) => one.kind)).toEqual(['photo']);
  expect(Object.fromEntries(file.draft.writes.map((write) => [write.field, write.value]))).toEqual({
    about: 'set-1',
    hash: 'file:1',
    bytes: '9',
    media_type: 'audio/flac',
    name: 'hall.flac',
    caption: 'R1',
  });
});
