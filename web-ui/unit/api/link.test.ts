import { describe, expect, it } from 'vitest';

import { BURST_MS, Link, positionOf, ROUND_MS, type LinkState, type Stream, type StreamWord } from '../../src/api/link';
import type { Word } from '../../src/keep/channel';
import { HandClock } from '../keep/world';

/** A stream that says what the test has it say. */
class HandStream implements Stream {
  state: Stream['state'] = 'connecting';

  constructor(readonly say: (word: StreamWord) => void) {}

  close(): void {
    this.state = 'closed';
  }

  open(position: string | null): void {
    this.state = 'open';
    this.say({ kind: 'open' });
    // A browser that reconnects by itself names its last position, and hears no `here`.
    if (position !== null) this.say({ kind: 'here', data: JSON.stringify({ position }) });
  }

  change(kind: 'changed' | 'reset', position: string): void {
    this.say({ kind, data: JSON.stringify({ position, touched: [] }) });
  }

  fail(state: 'connecting' | 'closed'): void {
    this.state = state;
    this.say({ kind: 'error' });
  }
}

/** A browser with tabs that hear one another; the first leads. */
class Tabs {
  readonly clock = new HandClock();
  readonly streams: HandStream[] = [];
  readonly states: LinkState[] = [];
  readonly asked: number[] = [];
  /** How often each tab heard that the notebook answers again. */
  readonly back: number[] = [];
  readonly links: Link[] = [];

  constructor(count: number) {
    for (let tab = 0; tab < count; tab += 1) {
      this.states.push('checking');
      this.asked.push(0);
      this.back.push(0);
      this.links.push(this.made(tab));
    }
    this.tab(0).lead();
  }

  tab(index: number): Link {
    const link = this.links[index];
    if (!link) throw new Error(`no tab ${index}`);
    return link;
  }

  get stream(): HandStream {
    const last = this.streams.at(-1);
    if (!last) throw new Error('no stream was opened');
    return last;
  }

  /** How often each tab asked again since the last look, bursts over. */
  askedAgain(): number[] {
    this.clock.turn(BURST_MS);
    return this.asked.map((count, tab) => {
      this.asked[tab] = 0;
      return count;
    });
  }

  private made(tab: number): Link {
    return new Link({
      connect: (say) => {
        this.streams.push(new HandStream(say));
        return this.stream;
      },
      announce: (word) => this.all(word, tab),
      askAgain: () => {
        this.asked[tab] = (this.asked[tab] ?? 0) + 1;
      },
      stands: (state) => {
        this.states[tab] = state;
      },
      isBack: () => {
        this.back[tab] = (this.back[tab] ?? 0) + 1;
      },
      clock: this.clock,
    });
  }

  private all(word: Word, from: number): void {
    this.links.forEach((link, tab) => link.told(word, tab === from));
  }
}

describe('a change in the notebook', () => {
  it('makes every tab ask again, once for a burst', () => {
    const tabs = new Tabs(2);
    tabs.stream.open('a-1-0');
    expect(tabs.states).toEqual(['linked', 'linked']);
    expect(tabs.askedAgain()).toEqual([0, 0]);
    tabs.stream.change('changed', 'a-2-0');
    tabs.stream.change('changed', 'a-3-0');
    tabs.stream.change('reset', 'a-4-0');
    tabs.clock.turn(BURST_MS - 1);
    expect(tabs.asked).toEqual([0, 0]);
    expect(tabs.askedAgain()).toEqual([1, 1]);
    tabs.stream.change('changed', 'a-5-0');
    expect(tabs.askedAgain()).toEqual([1, 1]);
    expect(tabs.streams).toHaveLength(1);
  });

  it.each([
    ['a-1-0', 0],
    ['a-2-0', 1],
    ['b-1-0', 1],
  ])('that fell between two streams shows in the position: a-1-0, then %s', (position, asked) => {
    const tabs = new Tabs(1);
    tabs.stream.open('a-1-0');
    tabs.tab(0).putAway();
    tabs.tab(0).cameBack();
    expect(tabs.streams).toHaveLength(2);
    tabs.stream.open(position);
    expect(tabs.askedAgain()).toEqual([asked]);
  });

  it.each([
    [['a-1-0', 'a-1-0'], 0],
    [['a-1-0'], 0],
    [[], 0],
    [[null], 0],
    [['a-0-0'], 1],
    [['a-0-0', 'a-1-0'], 1],
  ])('that fell between a first view and the first stream is asked for: views at %j, the stream at a-1-0', (views, asked) => {
    const tabs = new Tabs(1);
    for (const position of views) tabs.tab(0).heard('answered', position);
    tabs.stream.open('a-1-0');
    expect(tabs.askedAgain()).toEqual([asked]);
    tabs.tab(0).heard('answered', 'a-0-0');
    tabs.tab(0).putAway();
    tabs.tab(0).cameBack();
    tabs.stream.open('a-1-0');
    expect(tabs.askedAgain()).toEqual([0]);
  });

  it('that fell between two leaders is asked for', () => {
    const tabs = new Tabs(2);
    tabs.stream.open('a-1-0');
    tabs.askedAgain();
    tabs.tab(1).lead();
    tabs.stream.open('a-1-0');
    expect(tabs.askedAgain()[1]).toBe(1);
  });
});

describe('the link', () => {
  it('is left to the browser while it reconnects, and what is shown is asked for again after that', () => {
    const tabs = new Tabs(2);
    tabs.stream.open('a-1-0');
    tabs.stream.fail('connecting');
    expect(tabs.states).toEqual(['away', 'away']);
    expect(tabs.clock.waits).toEqual([]);
    tabs.stream.open(null);
    expect(tabs.states).toEqual(['linked', 'linked']);
    expect(tabs.askedAgain()).toEqual([1, 1]);
    expect(tabs.streams).toHaveLength(1);
  });

  it('is tried anew after 1, 2, 4 s where the stream was closed for good, and from 1 s after it opened', () => {
    const tabs = new Tabs(1);
    for (const wait_ms of [1000, 2000, 4000]) {
      tabs.stream.fail('closed');
      expect(tabs.clock.waits).toEqual([wait_ms]);
      tabs.clock.turn(wait_ms);
    }
    expect(tabs.streams).toHaveLength(4);
    tabs.stream.open('a-1-0');
    tabs.askedAgain();
    tabs.stream.fail('closed');
    expect(tabs.clock.waits).toEqual([1000]);
  });

  it('is tried at once when the page wakes or something answers, and only by the tab that leads', () => {
    const tabs = new Tabs(2);
    tabs.stream.fail('closed');
    tabs.tab(1).woke();
    tabs.tab(1).heard('answered');
    expect(tabs.streams).toHaveLength(1);
    tabs.tab(0).woke();
    expect(tabs.streams).toHaveLength(2);
    tabs.stream.fail('closed');
    tabs.tab(0).heard('answered');
    expect(tabs.streams).toHaveLength(3);
    tabs.tab(0).woke();
    expect(tabs.streams, 'one on its way is not replaced').toHaveLength(3);
    tabs.clock.turn(300_000);
    expect(tabs.streams, 'no timer of before is left').toHaveLength(3);
  });

  it('hears nothing more from a stream that was replaced', () => {
    const tabs = new Tabs(1);
    const [old] = tabs.streams;
    tabs.tab(0).putAway();
    tabs.tab(0).cameBack();
    tabs.stream.open('a-1-0');
    old?.fail('closed');
    expect(tabs.states).toEqual(['linked']);
    expect(tabs.clock.waits.filter((wait_ms) => wait_ms !== BURST_MS)).toEqual([]);
  });

  it('says that the notebook closes, then that it is away', () => {
    const tabs = new Tabs(2);
    tabs.stream.open('a-1-0');
    tabs.stream.say({ kind: 'closing' });
    expect(tabs.states).toEqual(['closing', 'closing']);
    tabs.stream.fail('connecting');
    expect(tabs.states).toEqual(['away', 'away']);
  });

  it('stays not joined although the stream is refused too', () => {
    const tabs = new Tabs(1);
    tabs.tab(0).heard('no-session');
    tabs.stream.fail('closed');
    expect(tabs.states).toEqual(['no-session']);
    tabs.tab(0).heard('answered');
    tabs.stream.open('a-1-0');
    expect(tabs.states).toEqual(['linked']);
  });

  it('is told to a new tab by the one that leads, once anything is known', () => {
    const tabs = new Tabs(2);
    tabs.tab(0).told({ kind: 'ask-link' }, false);
    expect(tabs.states).toEqual(['checking', 'checking']);
    tabs.tab(0).heard('answered');
    expect(tabs.states).toEqual(['linked', 'checking']);
    tabs.tab(0).told({ kind: 'ask-link' }, false);
    tabs.tab(1).told({ kind: 'ask-link' }, true);
    expect(tabs.states).toEqual(['linked', 'linked']);
  });
});

describe('silence', () => {
  it('is asked into again, later and later, though the stream looks open', () => {
    const tabs = new Tabs(1);
    tabs.stream.open('a-1-0');
    for (const wait_ms of [1000, 2000, 4000]) {
      tabs.tab(0).heard('silent');
      tabs.tab(0).heard('silent');
      expect(tabs.states).toEqual(['away']);
      expect(tabs.clock.waits).toEqual([wait_ms]);
      tabs.clock.turn(wait_ms);
      expect(tabs.asked).toEqual([1]);
      tabs.asked[0] = 0;
    }
    tabs.tab(0).heard('answered');
    expect(tabs.states).toEqual(['linked']);
    expect(tabs.clock.waits).toEqual([ROUND_MS]);
    // A whole round was answered: the next silence is asked into soon again.
    tabs.clock.turn(ROUND_MS);
    tabs.tab(0).heard('silent');
    expect(tabs.clock.waits).toEqual([1000]);
  });

  it('of one view beside another that answers does not make them ask each other for ever', () => {
    const tabs = new Tabs(1);
    tabs.stream.open('a-1-0');
    let asked = 0;
    for (let minute = 0; minute < 60; minute += 1) {
      tabs.tab(0).heard('answered');
      tabs.tab(0).heard('silent');
      tabs.clock.turn(60_000);
      asked += tabs.asked[0] ?? 0;
      tabs.asked[0] = 0;
    }
    expect(asked).toBeGreaterThan(5);
    expect(asked).toBeLessThan(25);
  });
});

it.each([
  ['{"position":"a-1-0"}', 'a-1-0'],
  ['{"position":7}', '7'],
  ['{}', null],
  ['null', null],
  ['', null],
  ['<html>', null],
])('the position in %s is %s', (data, position) => {
  expect(positionOf(data)).toBe(position);
});

describe('a notebook that answers again', () => {
  it('is told to every tab, once each time it was away', () => {
    const tabs = new Tabs(2);
    tabs.stream.open('a-1-0');
    expect(tabs.back).toEqual([0, 0]);
    tabs.stream.fail('connecting');
    tabs.stream.open(null);
    expect(tabs.back).toEqual([1, 1]);
    tabs.tab(1).heard('answered', 'a-1-0');
    expect(tabs.back).toEqual([1, 1]);
    tabs.tab(1).heard('silent');
    tabs.tab(1).heard('answered', 'a-1-0');
    expect(tabs.back).toEqual([1, 2]);
  });

  it('is not told where it does not know this browser', () => {
    const tabs = new Tabs(1);
    tabs.tab(0).heard('no-session');
    expect(tabs.back).toEqual([0]);
  });
});
