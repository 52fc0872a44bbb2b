// Sound: the test signal plays offline after its caution, the phone's microphone is told for what it is, and a recording goes from a file to a
// reading that says the same as the command line.
import assert from 'node:assert/strict';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { after, before, test } from 'node:test';

import { chromium } from 'playwright-core';

import { id, record } from './drafts.mjs';
import { Box, DEVICES, OFFLINE, chromiumPath, folder, giveSession, go, settled, until, visitor, watched, withWorker } from './world.mjs';

/** What the browser itself notes when an answer is a refusal. */
const REFUSED = /Failed to load resource: the server responded with a status of 4\d\d/;
const RATE_HZ = 48_000;

let box;
before(async () => (box = await Box.start()));
after(() => box.stop());

/** Mono, 16 bits, as RIFF has it: a sine of `hz` whose peak is told second by second. */
function wav(hz, peaks, rate_hz = RATE_HZ) {
  const count = peaks.length * rate_hz;
  const bytes = Buffer.alloc(44 + 2 * count);
  bytes.write('RIFF', 0);
  bytes.writeUInt32LE(36 + 2 * count, 4);
  bytes.write('WAVEfmt ', 8);
  bytes.writeUInt32LE(16, 16);
  bytes.writeUInt16LE(1, 20);
  bytes.writeUInt16LE(1, 22);
  bytes.writeUInt32LE(rate_hz, 24);
  bytes.writeUInt32LE(2 * rate_hz, 28);
  bytes.writeUInt16LE(2, 32);
  bytes.writeUInt16LE(16, 34);
  bytes.write('data', 36);
  bytes.writeUInt32LE(2 * count, 40);
  for (let n = 0; n < count; n += 1) {
    const sample = peaks[Math.floor(n / rate_hz)] * Math.sin((2 * Math.PI * hz * n) / rate_hz);
    bytes.writeInt16LE(Math.round(32_767 * Math.max(-1, Math.min(1, sample))), 44 + 2 * n);
  }
  return bytes;
}

/** Notes every sound that starts on a page, and until when. */
async function overheard(page) {
  await page.addInitScript(() => {
    globalThis.heard = [];
    const { start, stop } = AudioBufferSourceNode.prototype;
    AudioBufferSourceNode.prototype.start = function (...when) {
      const samples = this.buffer.getChannelData(0);
      let squares = 0;
      for (const sample of samples) squares += sample * sample;
      globalThis.heard.push({ loop: this.loop, rms: Math.sqrt(squares / samples.length), from_s: this.context.currentTime, stops: [] });
      return start.apply(this, when);
    };
    AudioBufferSourceNode.prototype.stop = function (at) {
      globalThis.heard.at(-1)?.stops.push(at);
      return stop.call(this, at);
    };
  });
}

test('the test sound waits for its caution, plays without the box, and is noted for a set', async () => {
  const person = await visitor(box, { device: 'phone' });
  const page = await person.context.newPage();
  await overheard(page);
  await page.goto(`${person.origin}/#/signal?test=Q1&set=T01`);
  await settled(page, 'Test sound');
  await withWorker(page);
  assert.equal(await page.getByRole('button', { name: 'Play' }).count(), 0, 'the caution comes first');
  await page.getByText(/wears hearing down/).first().waitFor();
  await page.getByRole('button', { name: 'I have read it' }).click();
  assert.deepEqual(await page.evaluate(() => globalThis.heard), [], 'nothing plays by itself');

  await person.context.setOffline(true);
  await page.getByText('Step 1 of 6: 30 dB below full level').waitFor();
  await page.getByRole('button', { name: 'Louder' }).click();
  await page.getByText('Step 2 of 6: 24 dB below full level').waitFor();
  await page.getByRole('button', { name: '2 min', exact: true }).click();
  await page.getByRole('button', { name: 'Play' }).click();
  const stop = page.getByRole('button', { name: 'Stop' });
  await stop.waitFor();
  const [sound] = await page.evaluate(() => globalThis.heard);
  assert.equal(sound.loop, true);
  assert.ok(Math.abs(sound.rms - 0.18) < 1e-3, `pink noise is made to an rms of 0.18, not ${sound.rms}`);
  assert.ok(Math.abs(sound.stops[0] - sound.from_s - 120) < 0.5, 'it stops by itself after two minutes');
  // A hidden page goes on: whoever measures walks to the next room.
  await page.evaluate(() => document.dispatchEvent(new Event('visibilitychange')));
  assert.ok(await stop.isVisible());
  await stop.click();
  await page.getByRole('button', { name: 'Play' }).waitFor();

  await person.context.setOffline(false);
  await page.getByRole('heading', { name: 'Sound of set T01' }).waitFor();
  await page.getByRole('button', { name: /Note “Pink noise” for T01/ }).click();
  await page.getByText('Say why: the old one stays in the history').waitFor();
  await page.getByRole('textbox', { name: 'Why it changes' }).fill('the phone played it');
  await page.getByRole('button', { name: /Note “Pink noise” for T01/ }).click();
  await until(async () => {
    const { sets } = await box.get('/api/tests/Q1');
    return sets.find((one) => one.set.label === 'T01').set.fields.signal.shown?.includes('own-pink');
  }, 'the set has the sound');
  person.quiet(OFFLINE);
  await person.close();
});

test('leaving the screen stops the sound', async () => {
  const person = await visitor(box, { device: 'laptop' });
  const page = await person.context.newPage();
  await overheard(page);
  await page.goto(`${person.origin}/#/signal`);
  await settled(page, 'Test sound');
  await page.getByRole('button', { name: 'I have read it' }).click();
  await page.getByRole('radio', { name: /Tone of 1 kHz/ }).check();
  await page.getByRole('button', { name: 'Play' }).click();
  await page.getByRole('button', { name: 'Stop' }).waitFor();
  await go(page, '/tests');
  await settled(page, /^Tests/);
  const [sound] = await page.evaluate(() => globalThis.heard);
  assert.equal(sound.stops.length, 2, 'its end by time, and its end now');
  await go(page, '/signal');
  await settled(page, 'Test sound');
  assert.equal(await page.getByRole('button', { name: 'Play' }).count(), 0, 'the caution is shown anew');
  person.quiet();
  await person.close();
});

/** A browser whose microphone hears a file. */
async function listener(file, settings) {
  const opened = await chromium.launch({
    executablePath: chromiumPath(),
    headless: true,
    args: [
      '--no-sandbox',
      '--disable-gpu',
      '--disable-quic',
      '--no-first-run',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
      '--use-fake-device-for-media-stream',
      '--use-fake-ui-for-media-stream',
      `--use-file-for-fake-audio-capture=${file}`,
    ],
  });
  const context = await opened.newContext({ ...DEVICES.phone, locale: 'en-US', timezoneId: 'UTC' });
  const person = watched(context, box.origin);
  await giveSession(context, box);
  const page = await context.newPage();
  if (settings) {
    await page.addInitScript((told) => {
      const real = MediaStreamTrack.prototype.getSettings;
      MediaStreamTrack.prototype.getSettings = function () {
        return { ...real.call(this), ...told };
      };
    }, settings);
  }
  await page.goto(`${box.origin}/#/microphone`);
  await settled(page, 'Microphone');
  return { opened, person, page };
}

/** The number beside a word. */
const number = (page, word) => page.locator('dt', { hasText: word }).locator('xpath=following-sibling::dd[1]');

test('the microphone reads a known tone in dB below full scale, and says what it is not', async () => {
  const file = join(folder(), 'tone.wav');
  // A sine of peak 0.1 has a root mean square of 0.0707: 20 lg 0.0707 = -23.01 dB.
  writeFileSync(file, wav(1000, Array(20).fill(0.1)));
  const { opened, person, page } = await listener(file);
  await page.getByText('This is no sound level meter.').waitFor();
  assert.equal(await page.locator('dd').count(), 0, 'no number before it is asked for');
  await page.getByRole('button', { name: 'Listen' }).click();
  await until(async () => /^−23\.[01]$|^−22\.9$/.test((await number(page, 'Last second').textContent({ timeout: 1000 }).catch(() => '')).trim()), 'it reads -23.0 ± 0.1', 120_000);
  const main = await page.locator('main').innerText();
  assert.match(main, /dB below full scale · phone mic, uncalibrated/);
  assert.doesNotMatch(main, /\d dBA/, 'never dBA');
  // A hidden page listens no more.
  await page.evaluate(() => {
    Object.defineProperty(document, 'visibilityState', { value: 'hidden' });
    document.dispatchEvent(new Event('visibilitychange'));
  });
  await page.getByText('Stopped, because the screen was hidden').waitFor();
  person.quiet();
  await opened.close();
});

test('the microphone tells clipping, and shows no number where the phone alters the sound', async () => {
  const file = join(folder(), 'loud.wav');
  writeFileSync(file, wav(1000, Array(5).fill(2)));
  const loud = await listener(file);
  await loud.page.getByRole('button', { name: 'Listen' }).click();
  await loud.page.getByText('the tops are cut off').waitFor();
  await loud.opened.close();

  for (const [told, words] of [
    [{ autoGainControl: true }, /automatic gain/],
    [{ noiseSuppression: null }, /noise taken out/],
  ]) {
    const altered = await listener(file, told);
    await altered.page.getByRole('button', { name: 'Listen' }).click();
    await altered.page.getByText(words).waitFor();
    assert.equal(await altered.page.locator('dd').count(), 0, 'no number');
    altered.person.quiet();
    await altered.opened.close();
  }
});

/** Adds a set of test Q1 after it was measured, with the meter that has no full scale noted. */
async function newSet(label, series) {
  const { sets } = await box.get('/api/tests/Q1');
  const old = sets.at(-1).set.fields;
  const field = (name) => old[name]?.value;
  const fields = { label, stage: 'after', date: '2025-05-20', test: field('test'), assembly: field('assembly') };
  for (const name of ['from_room', 'to_room', 'meter']) if (field(name)) fields[name] = field(name);
  await box.put(id(series, 1), record('set', id(series, 2), fields));
}

for (const device of Object.keys(DEVICES)) {
  test(`a recording becomes a reading that says what the command line says, on a ${device}`, async () => {
    const set = device === 'phone' ? 'T80' : 'T81';
    await newSet(set, device === 'phone' ? 80 : 81);
    const peaks = Array(8).fill(0.05);
    peaks[4] = 0.5;
    const file = join(folder(), 'hall.wav');
    writeFileSync(file, wav(1000, peaks));

    const person = await visitor(box, { device });
    const page = await person.open(`/tests/Q1/${set}/recording`);
    await settled(page, `Recordings of ${set}`);
    const choose = page.getByLabel(/^File: WAV/);
    // What is no recording is told here already; nothing is sent.
    await choose.setInputFiles({ name: 'hall.wav', mimeType: 'audio/wav', buffer: Buffer.from('this is no sound') });
    await page.getByRole('button', { name: 'Save the recording' }).click();
    await page.getByText('This is no WAV, FLAC, MP3 or M4A recording').waitFor();

    // Without the box it waits here.
    await withWorker(page);
    await person.context.setOffline(true);
    await choose.setInputFiles(file);
    await page.getByLabel('Where it was taken').selectOption('R1');
    await page.getByRole('button', { name: 'Save the recording' }).click();
    await page.getByText('waits to be sent').waitFor();
    await person.context.setOffline(false);
    await page.getByRole('button', { name: 'Measure: hall.wav' }).waitFor({ timeout: 60_000 });
    await page.getByRole('button', { name: 'Measure: hall.wav' }).click();

    const go = page.locator('form').getByRole('button', { name: 'Measure', exact: true });
    await go.click();
    await page.getByText('One number from 20 to 200').waitFor();
    await page.getByLabel('Level of a full-scale sine, dB').last().fill('117');
    await page.getByRole('button', { name: 'Cut something out' }).click();
    await page.getByLabel('From', { exact: true }).fill('4');
    await page.getByLabel('To', { exact: true }).fill('5');
    await go.click();
    await page.getByText('without a reason nothing is cut out').waitFor();
    await page.getByLabel('Why', { exact: true }).fill('a truck passed');
    await go.click();
    // 117 + 20 lg 0.05 = 90.98 dB; the filters ring a little into the next second.
    const average = page.getByRole('row', { name: /Average, LAeq/ });
    await average.waitFor({ timeout: 180_000 });
    assert.match(await average.innerText(), /9[01]\.\d dB/);
    await page.getByRole('heading', { name: 'Keep as a reading' }).waitFor();
    await page.getByRole('button', { name: /^Keep 9[01]\.\d+ dBA at R1$/ }).click();
    await until(async () => {
      const { sets } = await box.get('/api/tests/Q1');
      return sets.find((one) => one.set.label === set).readings.length === 1;
    }, 'the box has the reading', 60_000);

    // The same file through the command line: the same number, bands and words.
    const said = JSON.parse(box.cli('measure', file, '--full-scale', '117', '--cut', '4-5 a truck passed', '--json'));
    const { sets } = await box.get('/api/tests/Q1');
    const { fields } = sets.find((one) => one.set.label === set).readings[0];
    assert.equal(fields.value.value, `${said.levels.LAeq.toFixed(2)} dBA`);
    assert.equal(fields.calibration.value, said.calibration);
    assert.equal(fields.duration_s.value, '7.0');
    assert.match(fields.cut_out.value, new RegExp(`^${said.cut_out[0]}; with it \\d+\\.\\d dBA$`));
    assert.match(fields.bands.value, /^third dBZ: /);
    assert.equal(fields.recording.record.kind, 'photo');
    assert.equal(fields.role.value, 'receive');
    // The place is taken now.
    await page.getByText(/R1 has a reading already/).waitFor();
    person.quiet(OFFLINE);
    await person.close();
  });
}

test('what the box cannot measure is told with what to do', async () => {
  await newSet('T82', 82);
  const person = await visitor(box, { device: 'phone' });
  const page = await person.open('/tests/Q1/T82/recording');
  await settled(page, 'Recordings of T82');
  const cut = wav(1000, [0.1]).subarray(0, 40);
  await page.getByLabel(/^File: WAV/).setInputFiles({ name: 'cut.wav', mimeType: 'audio/wav', buffer: cut });
  await page.getByRole('button', { name: 'Save the recording' }).click();
  await page.getByRole('button', { name: 'Measure: cut.wav' }).click({ timeout: 60_000 });
  await page.getByRole('radio', { name: /Not known/ }).check();
  await page.locator('form').getByRole('button', { name: 'Measure', exact: true }).click();
  await page.getByText('The file cannot be measured as it was asked for').waitFor();
  await page.getByText('choose another recording').waitFor();
  person.quiet(REFUSED);
  await person.close();
});
