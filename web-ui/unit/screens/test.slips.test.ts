// Slips that forms ask about once: one wall before and after, one recording kept twice. Invented data; how sets are compared is the project's own rule.
import { describe, expect, it } from 'vitest';
import { sameWall, setOfSameWall } from '../../src/model/test.form';
import { keptBefore } from '../../src/screens/sound/kept';
import { reading, set, sheet } from './fixture';

describe('one version of a wall at two stages', () => {
  const before = set('T01', 'before', [], { assembly: 'wall-1' });
  const whole = sheet([before], []);
  const asked = (stage: string, assembly: string, control = false) => setOfSameWall(whole, { id: null, stage, assembly, control })?.set.label ?? null;

  it('is asked about, a repeat, a control and another version are not', () => {
    expect(asked('after', 'wall-1')).toBe('T01');
    expect(asked('after', 'wall-2')).toBeNull();
    expect(asked('before', 'wall-1')).toBeNull();
    expect(asked('repeat', 'wall-1')).toBeNull();
    expect(asked('after', 'wall-1', true)).toBeNull();
    expect(asked('after', '')).toBeNull();
  });

  it('is told at the later set alone', () => {
    const after = set('T02', 'after', [], { assembly: 'wall-1' });
    const both = sheet([before, after], []);
    expect(sameWall(both, before)).toBeNull();
    expect(sameWall(both, after)?.set.label).toBe('T01');
  });
});

it('a recording is found again in whatever set it was kept, under any of its records', () => {
  const sets = [set('T01', 'before', [reading('receive', 'R2', '61.9 dBA', { recording: 'photo-1' })]), set('T02', 'after', [reading('receive', 'R1', '50.0 dBA')])];
  expect(keptBefore(sets, ['photo-2', 'photo-1'])).toEqual([{ set: 'T01', place: 'R2', value: '61.9 dBA' }]);
  expect(keptBefore(sets, ['photo-3'])).toEqual([]);
});
