import { describe, expect, test } from 'vitest';

import type { Item } from '../../src/keep/item';
import { asItStands, cautionsPath, unreadWords, waitingKeys } from '../../src/model/caution';
import { acknowledgement, byRule, readBeforeWords, readWords, standing, titleWords } from '../../src/model/caution.list';
import type { Caution } from '../../src/model/caution.shape';

const person = { id: 'p', kind: 'person', label: 'lead', name: 'site lead' };

function caution(name: string, job: string, more: Partial<Caution> = {}): Caution {
  return {
    name,
    subject: name === 'lead' ? 'Old paint' : 'Ladders',
    about: { id: `id-${job}`, kind: 'job', label: job, name: null },
    facts: 'The house was built in 1962.',
    text: 'Have it tested.',
    source: 'a rule of 2008',
    is_read: false,
    came_back: false,
    keep: 'The house was built in 1962.',
    read: [],
    read_before: [],
    ...more,
  };
}

function kept(caution: string, about: string, state: Item['state']): Item {
  const echo = { kind: 'acknowledgement', words: '', day: null, about: {}, records: [], form: { caution, about, keep: 'The house was built in 1962.' }, mend: null };
  return { id: about, order: 1, notebook: null, draft: { id: about, written_at: '', writes: [] }, echo, state, tries: 0, problem: null, saved_at: 0, sent_at: null };
}

describe('cautions in words', () => {
  test('a rule met by two jobs is two cautions, told once among those not read', () => {
    const list = [caution('lead', 'J1'), caution('lead', 'J2'), caution('ladders', 'J1', { is_read: true })];
    expect(unreadWords(list, new Set())).toBe('1 caution not read: Old paint');
    expect(unreadWords(list, new Set([asItStands(list[0]!)]))).toBe('1 caution not read: Old paint');
    expect(unreadWords(list, new Set([asItStands(list[0]!), asItStands(list[1]!)]))).toBe('');
    expect(byRule(list, new Set()).map((group) => [group.name, group.cautions.length])).toEqual([['lead', 2], ['ladders', 1]]);
  });

  test('what was written down here counts as read before the box knows, unless it was set aside', () => {
    const keys = waitingKeys([kept('lead', 'id-J1', 'waiting'), kept('ladders', 'id-J1', 'set-aside')]);
    expect(keys.has(asItStands(caution('ladders', 'J1')))).toBe(false);
    expect(keys.has(asItStands(caution('lead', 'J1', { keep: 'other facts' })))).toBe(false);
    expect(standing(caution('lead', 'J1'), keys, keys)).toBe('read, waits to be sent');
    expect(standing(caution('ladders', 'J1', { came_back: true }), keys, keys)).toBe('new again');
    expect(standing(caution('ladders', 'J1', { is_read: true }), keys, keys)).toBe('read');
  });

  test('what was sent waits no more, whether the view has come anew or not', () => {
    const sent = waitingKeys([kept('lead', 'id-J1', 'sent')]);
    expect(standing(caution('lead', 'J1'), sent, new Set())).toBe('read');
    expect(standing(caution('lead', 'J1', { is_read: true }), sent, sent)).toBe('read');
  });

  test('jobs that go on come first, within a caution and among them', () => {
    const list = [caution('noise', 'J1'), caution('lead', 'J1'), caution('lead', 'J2'), caution('ladders', 'J2', { is_read: true })];
    const groups = byRule(list, new Set(['id-J1']));
    expect(groups.map((group) => group.name)).toEqual(['lead', 'ladders', 'noise']);
    expect(groups[0]?.cautions.map((one) => one.about.label)).toEqual(['J2', 'J1']);
  });

  test('an acknowledgement keeps the facts that bring the caution back', () => {
    const one = caution('lead', 'J1', { keep: 'kept facts' });
    expect(acknowledgement(one, 'p', 'seen')).toEqual({ caution: 'lead', about: 'id-J1', person: 'p', facts: 'kept facts', note: 'seen' });
  });

  test('who read it, and when it said something else', () => {
    const read = { person, written_at: null, note: 'told the owner', facts_then: 'The year is not written down.' };
    expect(readWords(read)).toBe('Read by site lead: told the owner');
    expect(readWords({ ...read, note: null })).toBe('Read by site lead');
    expect(readBeforeWords(read)).toBe('Read by site lead when it said:');
    expect(readBeforeWords({ ...read, facts_then: null, person: null })).toBe('Read by someone; what it said then was not kept');
  });

  test('paths and titles name what is asked about', () => {
    expect(cautionsPath(null)).toBe('/api/cautions');
    expect(cautionsPath('J5')).toBe('/api/cautions?about=J5');
    expect(titleWords([caution('lead', 'J1')], 'J1')).toBe('Cautions for J1');
    expect(titleWords([caution('lead', 'J1')], 'id-J1')).toBe('Cautions for J1');
    expect(titleWords([caution('lead', 'J1')], 'S1')).toBe('Cautions');
  });
});
