import { describe, expect, it } from 'vitest';

import type { ListedRecord } from '../../src/model/day.lists';
import { byName, choices } from '../../src/model/desk.lists';

const listed = (label: string | null, name: string | null = null, struck: string | null = null): ListedRecord => ({ id: `${label}-${name}`, kind: 'room', label, name, fields: {}, struck });

describe('lists to choose from', () => {
  it('are in the order people count: R2 before R10, whatever came first', () => {
    expect(byName([listed('R10'), listed('R2'), listed('r1')]).map((one) => one.label)).toEqual(['r1', 'R2', 'R10']);
  });

  it('go by the name where there is no short one, and put what has neither last', () => {
    expect(byName([listed(null), listed(null, 'Zinc'), listed(null, 'alum')]).map((one) => one.name)).toEqual(['alum', 'Zinc', null]);
  });

  it('begin with none, and leave out what is struck', () => {
    expect(choices([listed('R10', 'hall'), listed('R3', null, 'twice'), listed('R2')], 'none').map(([, words]) => words)).toEqual(['none', 'R2', 'R10, hall']);
  });
});
