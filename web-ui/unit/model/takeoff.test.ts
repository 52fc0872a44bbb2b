// The take-off in words: lengths both ways, cuts gathered. 1 in is 25.4 mm exactly (NIST SP 811); pieces are invented.
import { expect, test } from 'vitest';

import { areaText, battCuts, drawingPath, lacking, long, pieceText, priceOf, sheetCuts, takeoffPath } from '../../src/model/takeoff';
import type { Need, Piece } from '../../src/model/takeoff.shape';

const length = (value: number) => ({ mm: { value } });
const piece = (width: number, high: number): Piece => ({ width: length(width), length: length(high) });

test('what was chosen is in the address, and nothing else', () => {
  const none = { with: [], waste: '', whole: false, by_plan: false };
  expect(takeoffPath('A 1', none)).toBe('/api/takeoff/A%201');
  expect(takeoffPath('A1', { with: ['batt', 'wool'], waste: '0.1', whole: true, by_plan: true })).toBe('/api/takeoff/A1?with=batt&with=wool&waste=0.1&whole=true&by_plan=true');
  expect(drawingPath('A1', 2)).toBe('/api/takeoff/A1/drawing?wall=2');
});

test('lengths and areas are shown both ways', () => {
  // 14 1/2 in = 368.3 mm; 92 5/8 in = 2352.675 mm.
  expect(pieceText(piece(368.3, 2352.675), 'ft-in')).toBe('1\' 2 1/2" × 7\' 8 5/8"');
  expect(long(length(368.3), 'metric')).toBe('368.3 mm');
  const area = { ft2: { value: 75.2578125, printed: '75.26' }, m2: { value: 6.991679565, printed: '6.992' } };
  expect([areaText(area, 'ft-in'), areaText(area, 'metric')]).toEqual(['75.26 ft²', '6.992 m²']);
});

test('batts and sheets that are cut alike are gathered, and none is lost', () => {
  const layout = (cell: number | null, width: number, from_hand = false) => ({ from_hand, placed: [{ ...piece(width, 1000), cell }], left_over: [] });
  const cuts = battCuts([layout(1, 300), layout(2, 300), layout(3, 200), layout(4, 300, true), layout(null, 300)]);
  expect(cuts.map(({ count, cells, from_hand }) => [count, cells, from_hand])).toEqual([[3, [1, 2], false], [1, [3], false], [1, [4], true]]);
  const sheets = sheetCuts([{ cut: [piece(1, 2)], left_over: [] }, { cut: [piece(1, 2)], left_over: [piece(1, 1)] }, { cut: [piece(1, 2)], left_over: [] }]);
  expect(sheets.map(({ count }) => count)).toEqual([2, 1]);
});

test('prices are added exactly, those that are not known left out', () => {
  const need = (amount: string | null): Need => ({
    part: 'boards', material: null, name: '', unit: '', how: '', exact: { value: 1, printed: '1' }, wanted: '1', at_hand: '0', to_buy: '1', pack: null, packs: null,
    price: amount === null ? null : { amount, currency: 'USD' }, elsewhere: null,
  });
  // 0.10 + 0.20 is 0.30, which no float gives.
  expect(priceOf([need('0.10'), need(null), need('0.20')])?.amount).toBe('0.30');
  expect(priceOf([need(null)])).toBeNull();
});

test('what is missing for a take-off is named field by field', () => {
  const wall = { length: { value: "10'" }, height: { value: null }, stud_face: { value: '1 1/2"' } };
  expect(lacking(wall)).toEqual(['height', 'stud_spacing']);
  expect(lacking({ ...wall, height: { value: "8'" }, studs_at: { value: '1 in; 15 in' } })).toEqual([]);
});
