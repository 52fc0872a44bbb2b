// The form of an assembly: what is copied, what is asked of the notebook, what is refused here.
import { describe, expect, it } from 'vitest';

import vectors from '../vectors/lengths.json';
import { readLength } from '../../src/model/length';
import { readField } from '../../src/model/record';
import type { FieldKind } from '../../src/model/record.shape';
import { builtLike, cautionsOf, emptyForm, inBrief, isLabel, isOnward, LENGTHS, lengthWrong, refilled, sketchQuery, written } from '../../src/screens/assembly/form';

const held = (value: string) => ({ value, shown: value });

describe('the form of an assembly', () => {
  it('takes over how another is built, and where only for a rebuild', () => {
    const old = { frame: held('double wood 38x89@406, gap 25'), length: held("12' 6\""), job: held('j'), since: held('2025-01-01'), fire_rated: held('true') };
    const same = builtLike({ ...emptyForm(), label: 'A20' }, old, false);
    expect([same.frame, same.length, same.job, same.since, same.label, same.fire_rated]).toEqual(['double wood 38x89@406, gap 25', "12' 6\"", '', '', 'A20', 'yes']);
    expect(builtLike(emptyForm(), old, true).job).toBe('j');
  });

  it('asks with the parts as typed, and leaves out what is empty', () => {
    const query = new URLSearchParams(sketchQuery({ ...emptyForm(), label: 'two words', length: '150 in' }, { a: 'hall', b: '' }, { ground: 'dark', width: '400' }));
    expect([query.get('leaf_a'), query.get('length'), query.get('side_a'), query.get('ground')]).toEqual(['gypsum 12.7 x1, direct', `12' 6"`, 'hall', 'dark']);
    expect([query.has('label'), query.has('height'), query.has('side_b')]).toEqual([false, false, false]);
  });

  it('refuses a length without a unit and a name of two words', () => {
    expect(lengthWrong('12')).toContain('of what');
    expect([lengthWrong(''), lengthWrong("12' 6\""), lengthWrong('3810 mm')]).toEqual([null, null, null]);
    expect(['A20', 'A 20', 'A/20', ''].map(isLabel)).toEqual([true, false, false, false]);
  });

  it('reads every length as the generic form does, and writes it as the notebook takes it', () => {
    const field = { name: 'length', takes: 'length' } as FieldKind;
    for (const { typed, sent, nm } of vectors.read) {
      expect(readLength(typed, 'en-GB'), typed).toMatchObject({ value: sent, nm });
      expect(readField(field, typed, '2025-01-01'), typed).toEqual({ kind: 'ok', value: sent });
      for (const name of LENGTHS) {
        expect(lengthWrong(typed), typed).toBeNull();
        expect(written({ ...emptyForm(), [name]: typed })[name], typed).toBe(sent);
        expect(new URLSearchParams(sketchQuery({ ...emptyForm(), [name]: typed }, { a: '', b: '' }, { ground: 'dark', width: '400' })).get(name)).toBe(sent);
      }
    }
    for (const typed of vectors.refused) {
      expect(lengthWrong(typed), typed).not.toBeNull();
      expect(readField(field, typed, '2025-01-01').kind, typed).toBe('bad');
    }
  });

  it('is kept and comes back, odd members passed over', () => {
    expect(refilled({ label: 'A9', colour: 'red', height: 3 })).toEqual({ ...emptyForm(), label: 'A9' });
    expect(refilled('nonsense')).toEqual(emptyForm());
  });

  it('warns where a wall may have to hold back fire', () => {
    expect(cautionsOf({ between: 'dwellings', fire_rated: 'yes' })).toEqual(['dwellings', 'fire']);
    expect(cautionsOf({ between: 'rooms', fire_rated: '' })).toEqual([]);
  });

  it('says thickness and mass either way', () => {
    const number = (value: number, printed: string) => ({ value, printed });
    const sketch = {
      layers: [],
      thickness: { mm: number(114.4, '114.4'), inches: number(4.5, '4.50') },
      mass: { kg_m2: number(16.1, '16.1'), lb_ft2: number(3.3, '3.30') },
      not_weighed: [],
      notes: [],
      predicted: null,
      not_predicted_because: null,
      not_drawn_because: null,
      problems: [],
    };
    expect(inBrief(sketch, 'metric')).toBe('114.4 mm · 16.1 kg/m²');
    expect(inBrief(sketch, 'ft-in')).toBe('4.50" · 3.30 lb/ft²');
    const predicted = { sentence: '', laboratory_class: 34, class_spread: 5, band_spread: 6, house_cap: 60, pink_with_openings: number(28, '28'), bands: [], paths: [], assumptions: [] };
    expect(inBrief({ ...sketch, predicted }, 'metric')).toBe('114.4 mm · 16.1 kg/m² · STC ≈ 34 ± 5');
  });

  it('knows whether work goes on or back', () => {
    expect([isOnward('finished', 'boarded-a'), isOnward('bare-studs', 'boarded-a'), isOnward(null, 'boarded-both'), isOnward('boarded-a', 'boarded-both')]).toEqual([false, true, true, true]);
  });
});
