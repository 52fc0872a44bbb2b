import { afterEach, beforeEach, describe, expect, it } from 'vitest';

import { chooseUnits } from '../../src/habits/habits.svelte';
import type { FieldValue } from '../../src/model/field.shape';
import { hintOf, readField, shownOf, titleOf, typedOf, unitOf } from '../../src/model/record';
import type { FieldKind } from '../../src/model/record.shape';

const field = (name: string, takes: string, doc = ''): FieldKind => ({ name, takes, doc, required: false, reason_on_change: false, choices: null, of: null, letters: null });
const value = (text: string): FieldValue => ({ value: text, shown: text, record: null, heads: [], corrected: false, conflict: false });

beforeEach(() => chooseUnits('ft-in'));
afterEach(() => chooseUnits('ft-in'));

describe('a number kept in metres', () => {
  const volume = field('volume_m3', 'decimal', 'Volume, m³, where length, width and height do not tell it.');
  const face = field('face_m2', 'decimal');

  it('is typed and shown in feet by people who count in feet', () => {
    expect(readField(volume, '1000', '2025-05-20', )).toEqual({ kind: 'ok', value: '28.316847' });
    expect(typedOf(volume, value('28.316847'), 'en-GB')).toBe('1000');
    expect(shownOf(volume, value('28.316847'))).toBe('1000\u00a0ft³');
    expect(shownOf(face, value('10'))).toBe('107.64\u00a0ft²');
    expect(unitOf('volume_m3')).toBe('ft³');
    expect(hintOf(volume)).toBe('Volume, ft³, where length, width and height do not tell it.');
  });

  it('stays as it is where metric is chosen', () => {
    chooseUnits('metric');
    expect(readField(volume, '30.5', '2025-05-20')).toEqual({ kind: 'ok', value: '30.5' });
    expect(typedOf(volume, value('30.5'), 'en-GB')).toBe('30.5');
    expect(shownOf(volume, value('30.5'))).toBe('30.5\u00a0m³');
    expect(hintOf(volume)).toBe(volume.doc);
  });
});

describe('a field', () => {
  it('of hours has its unit', () => {
    expect(shownOf(field('hours_lost', 'decimal'), value('4'))).toBe('4\u00a0h');
    expect(shownOf(field('quantity', 'decimal'), value('4'))).toBe('4');
  });

  it.each(['Its site.', 'Its job.', 'Short name to type.', 'Anything else.', 'How many.', 'Day.', 'The person.'])('says nothing with “%s”', (doc) => {
    expect(hintOf(field('site', 'text', doc))).toBe('');
  });

  it.each(['Rain, snow, wind.', 'Hours lost by a delay.', 'How the meter averaged.', 'Volume inside the air barrier, L.'])('keeps “%s”', (doc) => {
    expect(hintOf(field('site', 'text', doc))).toBe(doc);
  });
});

describe('a record without a name', () => {
  it('is told by what was chosen in it and its day', () => {
    const fields = [field('job', 'reference'), field('hazard', 'choice'), field('date', 'date'), field('note', 'text')];
    const record = { id: 'x', kind: 'hazard', label: null, name: null, struck: null, fields: { date: value('2025-03-04'), hazard: value('old-paint'), note: value('flaking') } };
    expect(titleOf(record, fields)).toMatch(/^old paint, Tue/);
    expect(titleOf({ ...record, fields: {} }, fields)).toBe('');
    expect(titleOf({ ...record, label: 'J1', name: 'Hall' }, fields)).toBe('J1, Hall');
  });
});
