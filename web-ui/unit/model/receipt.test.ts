// Sums of a receipt while it is typed must be the notebook's own. Sources: the demo's receipts (invented, each printed total added
// up by hand), amounts worked out by hand beside each case, and crates/ledger's own cases, which these repeat.
import fc from 'fast-check';
import { expect, test, vi } from 'vitest';

import { habits } from '../../src/habits/habits.svelte';
import { newRecord } from '../../src/model/draft';
import { nextLabel } from '../../src/model/label';
import { cents, centsText, readMoney } from '../../src/model/money';
import { emptyLine, exact, lineCents, nearest, receiptSum, shortName, signed, verdict, type LineForm } from '../../src/model/receipt';
import { checkReceipt, counted, emptyReceipt, firstLine, receiptDraft, refillReceipt, sumOf, verdictWords, type ReceiptForm } from '../../src/model/receipt.form';

const line = (quantity: string, unit_price: string, more: Partial<LineForm> = {}): LineForm => ({ ...emptyLine(), item: 'x', quantity, unit_price, ...more });
const form = (lines: LineForm[], more: Partial<ReceiptForm> = {}): ReceiptForm => ({ ...emptyReceipt('2025-05-10'), label: 'P14', lines, ...more });
let count = 0;
const desk = { newId: () => `id-${(count += 1)}`, writtenAt: '2025-05-10T12:00:00Z' };

test('the demo receipts add up to what they print', () => {
  // Quantity and price of each line, rate; subtotal, tax, total (the demo scenario, P02, P06, P08, P12).
  const cases = [
    { lines: [['2', '62.40'], ['8', '17.85'], ['6', '6.95'], ['3', '9.25'], ['2', '8.60']], back: false, sums: ['354.25', '23.03', '377.28'] },
    { lines: [['6', '9.25'], ['7', '17.85'], ['12', '16.40'], ['1', '8.60']], back: false, sums: ['385.85', '25.08', '410.93'] },
    { lines: [['1', '17.85']], back: true, sums: ['-17.85', '-1.16', '-19.01'] },
    { lines: [['12', '4.36'], ['7', '13.02'], ['2', '58.90'], ['1', '71.25']], back: false, sums: ['332.51', '21.61', '354.12'] },
  ];
  for (const { lines, back, sums } of cases) {
    const sum = receiptSum({
      is_return: back ? 'yes' : '',
      tax_rate: '6.5',
      printed_tax: sums[1] ?? '',
      printed_total: sums[2] ?? '',
      lines: lines.map(([quantity = '', price = '']) => line(quantity, price)),
    });
    expect([sum.subtotal, sum.tax, sum.total].map(centsText)).toEqual(sums);
    expect(sum.adds_up).toBe(true);
  }
});

test('tax follows what is written, as the ledger has it', () => {
  // One taxed line of 10.00, one untaxed of 5.00. Rate, printed tax, printed total; tax that counts, total, adds up.
  const cases: [string, string, string, string, string, boolean | null][] = [
    ['6.5', '0.65', '15.65', '0.65', '15.65', true],
    ['6.5', '', '15.65', '0.65', '15.65', true],
    ['6.5', '0.65', '', '0.65', '15.65', true],
    ['6.5', '', '', '0.65', '15.65', null],
    ['6.5', '0.66', '15.66', '0.66', '15.66', true],
    ['6.5', '0.67', '15.67', '0.65', '15.65', false],
    ['6.5', '0.66', '15.65', '0.66', '15.66', false],
    ['6.5', '', '15.66', '0.65', '15.65', false],
    ['', '0.80', '15.80', '0.80', '15.80', true],
    ['', '', '15.80', '0.00', '15.00', false],
    ['0', '', '15.00', '0.00', '15.00', true],
  ];
  for (const [tax_rate, printed_tax, printed_total, tax, total, adds_up] of cases) {
    const sum = receiptSum({ is_return: '', tax_rate, printed_tax, printed_total, lines: [line('1', '10.00'), line('1', '5.00', { taxed: 'no' })] });
    expect([centsText(sum.tax), centsText(sum.total), sum.adds_up], `${tax_rate} ${printed_tax} ${printed_total}`).toEqual([tax, total, adds_up]);
  }
});

test('a line is rounded half away from zero after its discount', () => {
  // 2.5 x 3.33 = 8.325; less 1.00 is 7.325, so 7.33; a return of it gives -7.33; less 0.99 is 7.335, so 7.34. By hand.
  expect(lineCents(line('2.5', '3.33', { discount: '1.00' }), false)).toBe(733n);
  expect(lineCents(line('2.5', '3.33', { discount: '1.00' }), true)).toBe(-733n);
  expect(lineCents(line('-2.5', '3.33', { discount: '1.00' }), true)).toBe(-733n);
  expect(lineCents(line('2.5', '3.33', { discount: '0.99' }), false)).toBe(734n);
  expect([nearest(5n, 2n), nearest(-5n, 2n), nearest(4n, 3n)]).toEqual([3n, -3n, 1n]);
});

test('tax is rounded once, and a rate on a line takes the place of the receipt’s', () => {
  // Three lines of 0.10 at 5 % owe 0.015, so 0.02. 29.97 at 20 % and 8.90 at 10 % owe 5.994 + 0.89, so 6.88; a permit owes none.
  const tenths = [line('1', '0.10'), line('1', '0.10'), line('1', '0.10')];
  expect(receiptSum(form(tenths, { tax_rate: '5' })).tax).toBe(2n);
  const two = [line('3', '9.99'), line('2', '4.45', { tax_rate: '10' }), line('1', '12.00', { cost_group: 'permit' })];
  const sum = receiptSum(form(two, { tax_rate: '20', printed_tax: '6.88', printed_total: '57.75' }));
  expect([centsText(sum.subtotal), centsText(sum.tax), sum.adds_up]).toEqual(['50.87', '6.88', true]);
});

test('what does not add up is told by how much', () => {
  const said = (printed_total: string, printed_tax = ''): string => {
    const one = form([line('1', '10.00'), line('1', '5.00', { taxed: 'no' })], { tax_rate: '6.5', printed_total, printed_tax });
    return verdictWords(verdict(receiptSum(one), one));
  };
  expect(said('11.65')).toBe('4.00 more than printed');
  expect(said('19.65')).toBe('4.00 less than printed');
  expect(said('15.65')).toBe('Adds up');
  expect(said('15.65', '0.90')).toBe('Tax printed is 0.90, the rate gives 0.65');
  expect(said('')).toBe('Nothing printed to compare with yet');
});

test('showing and reading an amount gives it back, and no text throws', () => {
  fc.assert(
    fc.property(fc.bigInt({ min: -99_999_999_999n, max: 99_999_999_999n }), (amount) => {
      const text = centsText(amount);
      expect(readMoney(text, true).kind).toBe('ok');
      expect(cents(text)).toBe(amount);
    }),
  );
  fc.assert(
    fc.property(fc.string(), fc.string(), fc.string(), (quantity, price, rate) => {
      const sum = receiptSum(form([line(quantity, price)], { tax_rate: rate, printed_total: price }));
      expect(typeof sum.total).toBe('bigint');
      exact(quantity);
    }),
  );
});

test('the order of lines changes no sum', () => {
  const amount = fc.bigInt({ min: 0n, max: 9_999_999n }).map(centsText);
  const quantity = fc.tuple(fc.integer({ min: -9999, max: 9999 }), fc.integer({ min: 0, max: 999 })).map(([whole, part]) => `${whole}.${part}`);
  const anyLine = fc.record({ quantity, price: amount, taxed: fc.constantFrom('', 'yes', 'no'), rate: fc.constantFrom('', '0', '6.5', '19.25') });
  const lists = fc.array(anyLine, { maxLength: 8 }).chain((lines) => fc.tuple(fc.constant(lines), fc.shuffledSubarray(lines, { minLength: lines.length })));
  fc.assert(
    fc.property(lists, fc.constantFrom('', '6.5', '8.875'), ([lines, mixed], tax_rate) => {
      const sums = [lines, mixed].map((some) => {
        const { subtotal, tax, total } = receiptSum(form(some.map((one) => line(one.quantity, one.price, { taxed: one.taxed, tax_rate: one.rate })), { tax_rate }));
        return [subtotal, tax, total];
      });
      expect(sums[0]).toEqual(sums[1]);
    }),
  );
});

test('bad money, numbers and days are refused with why, and nothing is sent', () => {
  const check = (more: Partial<ReceiptForm>, lines = [line('1', '10.00')]) => checkReceipt(form(lines, more), '2025-05-20', [], new Set());
  expect(check({}).ok).toBe(true);
  for (const price of ['48.2', '48,20', '$48.20', '-48.20', '', '1e3', '48.205']) {
    expect(check({}, [line('1', price)]).errors, price).toHaveProperty('unit_price 0');
  }
  for (const quantity of ['', '0', 'two', '1/2', '1.23456', '1,5']) expect(check({}, [line(quantity, '1.00')]).errors, quantity).toHaveProperty('quantity 0');
  for (const rate of ['-1', '101', '6,5', '6.5 %']) expect(check({ tax_rate: rate }).errors, rate).toHaveProperty('tax_rate');
  expect(check({ date: '2025-02-30' }).errors).toHaveProperty('date');
  expect(check({ date: '2025-05-21' }).asks).toHaveProperty('date');
  expect(check({}, [firstLine()]).errors).toHaveProperty('item 0');
  expect(check({ printed_total: '48.2' }).errors).toHaveProperty('printed_total');
});

test('a receipt that does not add up is asked about once', () => {
  const one = form([line('1', '10.00')], { printed_total: '6.00' });
  const asked = checkReceipt(one, '2025-05-20', [], new Set());
  expect(asked.asks['printed_total']).toMatch(/^4\.00 more than printed/);
  expect(checkReceipt(one, '2025-05-20', [], new Set(['printed_total=6.00'])).ok).toBe(true);
});

test('one draft holds supplier, receipt, lines and photos', () => {
  const one = form([line('2', '9.25', { job: 'J2' }), firstLine(), line('1', '4.00', { job: 'J1' })], { supplier: 'new', supplier_name: 'Amber Vole Tools', job: 'J1' });
  const photo = { hash: 'file:1', bytes: 10, media_type: 'image/jpeg', name: 'p.jpg' };
  const { draft, records } = receiptDraft(desk, one, [photo], []);
  expect(records.map((record) => record.kind).sort()).toEqual(['line', 'line', 'photo', 'receipt', 'supplier']);
  expect(records[0]?.kind).toBe('receipt');
  const value = (kind: string, field: string): (string | null)[] => draft.writes.filter((write) => write.kind === kind && write.field === field).map((write) => write.value);
  expect(value('supplier', 'label')).toEqual(['amber-vole-tools']);
  expect(value('receipt', 'supplier')).toEqual([records.find((record) => record.kind === 'supplier')?.id]);
  expect(value('line', 'receipt')).toEqual([records[0]?.id, records[0]?.id]);
  expect(value('line', 'place')).toEqual(['1', '2']);
  expect(value('line', 'job'), 'only where it is another').toEqual(['J2']);
  expect(value('photo', 'about')).toEqual([records[0]?.id]);
});

test('a return sends numbers below nothing and leaves out what does not go back', () => {
  const one = form([line('', '17.85'), line('1', '17.85')], { is_return: 'yes', returns: 'P06', printed_total: '17.85' });
  expect(counted(one)).toEqual([1]);
  expect(centsText(sumOf(one).sum.total)).toBe('-17.85');
  expect(sumOf(one).says.kind).toBe('adds-up');
  const { draft } = receiptDraft(desk, one, [], []);
  const sent = Object.fromEntries(draft.writes.map((write) => [write.field, write.value]));
  expect(sent).toMatchObject({ quantity: '-1', unit_price: '17.85', printed_total: '-17.85', returns: 'P06' });
  expect([signed('1', true), signed('-1', true), signed('0', true), signed('', true), signed('-1', false)]).toEqual(['-1', '-1', '0', '', '-1']);
});

test('an unfinished receipt comes back as it was typed, whatever else was kept', () => {
  const one = form([line('2', '9.25'), line('1', 'bad')], { memo: 'm' });
  expect(refillReceipt(emptyReceipt('2025-01-01'), JSON.parse(JSON.stringify(one)))).toEqual(one);
  fc.assert(fc.property(fc.jsonValue(), (kept) => refillReceipt(emptyReceipt('2025-01-01'), kept).lines.length > 0));
});

test('labels follow those in use', () => {
  // The command line's own cases.
  expect(nextLabel('P', ['P09'])).toBe('P10');
  expect(nextLabel('J', [])).toBe('J1');
  expect(nextLabel('J', ['J1', 'J8', 'J2', null])).toBe('J9');
  expect(nextLabel('P', ['P99', 'trial', 'P12-back'])).toBe('P100');
  expect(shortName('Tin Heron Supply, Ñandú')).toBe('tin-heron-supply-nandu');
  expect(newRecord(desk, 'supplier', { label: shortName('***') }).draft.writes[0]?.value).toBe('supplier');
});

test('where decimals have a comma, amounts are read and told with it and sent with a point', () => {
  const spoken = vi.spyOn(habits, 'locale', 'get').mockReturnValue('de-DE');
  const one = form([line('2,5', '3,33')], { tax_rate: '6,5', printed_total: '9,87' });
  // 8.33 and 0.54 of tax are 8.87: one less than printed.
  expect(centsText(sumOf(one).sum.total)).toBe('8.87');
  expect(verdictWords(sumOf(one).says)).toBe('1,00 less than printed');
  const sent = receiptDraft(desk, one, [], []).draft.writes.map((write) => [write.field, write.value]);
  expect(Object.fromEntries(sent)).toMatchObject({ quantity: '2.5', unit_price: '3.33', tax_rate: '6.5', printed_total: '9.87' });
  expect(checkReceipt(form([line('1.250', '1,00')]), '2025-05-20', [], new Set()).errors, 'thousands or decimals?').toHaveProperty('quantity 0');
  spoken.mockRestore();
});
