// The sheet to print, read from the notebook's text: nothing of its marks is left, and nothing is lost.
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

import { columnsOf, sheetParts } from '../../src/model/plan.sheet';

const TEXT = `# Test sheet Q9
Does the new seal
keep sound out?

## Conditions

Ring one word for each: same, changed.

[ ] doors and windows (critical)
    wanted: closed on both sides, and the key of the hall turned as it was before
            anybody came
    before: closed
    after:  _____________________________  same / changed

[ ] fan (minor)
    before: _____________________________  same / changed

## Readings: before, a very long direction from the living room to the
kitchen

Date ____ by ____

| no | side | place |
|----|------|-------|
|  1 | source | S1 |
|  2 | receive | |

## Photographs

[ ] each room
[ ] a card with room and date in every view, no faces
    or papers
`;

describe('the sheet to print', () => {
  const parts = sheetParts(TEXT);

  it('has its headings, joined where the text broke them', () => {
    expect(parts.map((part) => part.title)).toEqual([
      'Test sheet Q9',
      'Conditions',
      'Readings: before, a very long direction from the living room to the kitchen',
      'Photographs',
    ]);
    expect(parts[0]?.blocks).toEqual([{ kind: 'text', text: 'Does the new seal keep sound out?' }]);
  });

  it('has a box to write in where the text has a line', () => {
    const boxes = parts[1]?.blocks[1];
    if (boxes?.kind !== 'boxes') throw new Error('no boxes');
    expect(columnsOf(boxes.boxes)).toEqual(['wanted', 'before', 'after']);
    expect(boxes.boxes.map((box) => box.lines)).toEqual([
      [
        { says: 'wanted', value: 'closed on both sides, and the key of the hall turned as it was before anybody came', choices: [] },
        { says: 'before', value: 'closed', choices: [] },
        { says: 'after', value: '', choices: ['same', 'changed'] },
      ],
      [{ says: 'before', value: '', choices: ['same', 'changed'] }],
    ]);
  });

  it('has tables without their rules, and lists', () => {
    expect(parts[2]?.blocks[1]).toEqual({ kind: 'table', head: ['no', 'side', 'place'], rows: [['1', 'source', 'S1'], ['2', 'receive', '']] });
    expect(parts[3]?.blocks).toEqual([
      { kind: 'boxes', boxes: [{ text: 'each room', lines: [] }, { text: 'a card with room and date in every view, no faces or papers', lines: [] }] },
    ]);
  });

  it('is read without throwing, whatever it says', () => {
    fc.assert(fc.property(fc.string({ unit: 'grapheme' }), fc.stringMatching(/^[# |\[\]a:_/\n-]{0,40}$/), (any, like) => void [sheetParts(any), sheetParts(like)]), { seed: 3 });
  });
});
