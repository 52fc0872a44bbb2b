// What the event stream of the notebook, its answers and the other tabs mean for the link, and when what is shown is
// asked for again. Pure: stream, clock and tabs are passed in.

import { Retry, type Clock } from '../keep/backoff';
import type { Word } from '../keep/channel';

/** How the link to the notebook stands. `checking` until anything is known. */
export type LinkState = 'checking' | 'linked' | 'away' | 'closing' | 'no-session';

/** What a stream tells. */
export type StreamWord =
  | { kind: 'open' }
  /** Where the notebook stands now (`here`), or that it changed. `data` is JSON with the position. */
  | { kind: 'here' | 'changed' | 'reset'; data: string }
  | { kind: 'closing' }
  | { kind: 'error' };

/** An event stream. While it is `connecting` the browser tries again by itself, and says where it had got to. */
export interface Stream {
  readonly state: 'connecting' | 'open' | 'closed';
  close(): void;
}

/** How a question to the notebook went: whether anything answered, and whether it knows this browser. */
export type Heard = 'answered' | 'silent' | 'no-session';

/** What the link needs from outside. */
export interface LinkParts {
  connect: (heard: (word: StreamWord) => void) => Stream;
  /** Tells this tab and all others. */
  announce: (word: Word) => void;
  /** Asks again for what is shown in this tab. */
  askAgain: () => void;
  /** Told how the link stands now. */
  stands: (state: LinkState) => void;
  /** Told when another run of a notebook answers: it may be another notebook. */
  newInstance?: () => void;
  /** Told when the notebook answers again that did not: what waits to be sent need not wait for its timer. */
  isBack?: () => void;
  clock: Clock;
}

/** Changes that come in one burst ask again once, this long after the first, ms. */
export const BURST_MS = 200;
/** Every question of one round has its answer, or none, by then, ms. */
export const ROUND_MS = 20_000;

/** The link of one tab. One tab of a browser leads: it holds the stream and tells the others. */
export class Link {
  private readonly parts: LinkParts;
  private state: LinkState = 'checking';
  /** Holds the stream again after it was refused or cut for good. */
  private readonly reopen: Retry;
  /** Asks again for what is shown while answers stay out: a stream can look open on a dead network. */
  private readonly again: Retry;
  private leads = false;
  /** Another tab led before this one. */
  private followed = false;
  /** The link was gone since the stream last opened: what is shown may be old. */
  private missed = false;
  private burst = false;
  /** Calls off the end of a round in which all was answered so far. */
  private settles: (() => void) | null = null;
  private stream: Stream | null = null;
  /** The last position heard, over all streams of this tab. */
  private position: string | null = null;
  /** Positions of the views that were read before any stream had said where it begins. */
  private readonly before = new Set<string>();

  constructor(parts: LinkParts) {
    this.parts = parts;
    this.reopen = new Retry(parts.clock, () => this.open());
    this.again = new Retry(parts.clock, parts.askAgain);
  }

  /** This tab holds the stream from here on. */
  lead(): void {
    this.leads = true;
    this.open();
  }

  /** A word between the tabs; `own` if this tab said it. */
  told(word: Word, own: boolean): void {
    if (!own && (word.kind === 'changed' || word.kind === 'link')) this.followed = true;
    if (word.kind === 'changed') this.askSoon();
    if (word.kind === 'ask-link' && this.leads && this.state !== 'checking') this.parts.announce({ kind: 'link', link: this.state });
    if (word.kind !== 'link') return;
    this.stand(word.link);
    if (word.link !== 'linked') return;
    this.again.stop();
    if (this.missed) this.askSoon();
    this.missed = false;
  }

  /** How a question of this tab went, and where the notebook stood when it answered. */
  heard(word: Heard, position?: string | null): void {
    if (position && this.position === null) this.before.add(position);
    switch (word) {
      case 'no-session':
        this.stand('no-session');
        break;
      case 'silent':
        this.settles?.();
        this.settles = null;
        this.stand('away');
        this.again.later();
        break;
      case 'answered':
        this.settle();
        if (this.state === 'linked') break;
        // Not asked again here: one view that answers and one that never does would ask each other for ever.
        this.stand('linked');
        this.nudge();
    }
  }

  /** The page became visible, or the browser thinks it is online: words may have been missed. */
  woke(): void {
    this.askSoon();
    this.nudge();
  }

  /** A page that the browser puts away must not keep the notebook busy. */
  putAway(): void {
    this.reopen.cancel();
    this.stream?.close();
  }

  /** A page that was put away comes back. */
  cameBack(): void {
    if (this.leads) this.open();
  }

  private open(): void {
    this.reopen.cancel();
    this.stream?.close();
    const stream: Stream = this.parts.connect((word) => {
      // What a stream of before still says counts no more.
      if (this.stream === stream) this.streamed(word);
    });
    this.stream = stream;
  }

  private streamed(word: StreamWord): void {
    switch (word.kind) {
      case 'open':
        this.reopen.stop();
        this.parts.announce({ kind: 'link', link: 'linked' });
        break;
      case 'here': {
        const now = positionOf(word.data);
        // A new stream does not say what was missed. Another position does, that of a view too; after another tab led nobody knows.
        const missed = this.position === null ? this.followed || [...this.before].some((one) => one !== now) : now !== this.position;
        if (missed) this.parts.announce({ kind: 'changed' });
        this.before.clear();
        this.stoodAt(now);
        break;
      }
      case 'changed':
      case 'reset':
        this.stoodAt(positionOf(word.data));
        this.parts.announce({ kind: 'changed' });
        break;
      case 'closing':
        this.parts.announce({ kind: 'link', link: 'closing' });
        break;
      case 'error':
        if (this.state !== 'no-session') this.parts.announce({ kind: 'link', link: 'away' });
        if (this.stream?.state === 'closed') this.reopen.later();
    }
  }

  /** One view that answers says nothing of the others: only a round without silence starts the waits short again. */
  private settle(): void {
    if (this.state === 'linked' || this.again.waits) return;
    this.settles ??= this.parts.clock.after(ROUND_MS, () => {
      this.settles = null;
      this.again.stop();
    });
  }

  private stoodAt(now: string | null): void {
    const before = this.position;
    this.position = now;
    if (before !== null && now !== null && instanceOf(before) !== instanceOf(now)) this.parts.newInstance?.();
  }

  /** Opens a stream that is closed, without waiting for the timer. */
  private nudge(): void {
    if (this.leads && this.stream?.state === 'closed') this.open();
  }

  private askSoon(): void {
    if (this.burst) return;
    this.burst = true;
    this.parts.clock.after(BURST_MS, () => {
      this.burst = false;
      this.parts.askAgain();
    });
  }

  private stand(state: LinkState): void {
    const isBack = state === 'linked' && (this.state === 'away' || this.state === 'closing');
    this.state = state;
    if (state !== 'linked') this.missed = true;
    this.parts.stands(state);
    if (isBack) this.parts.isBack?.();
  }
}

/** The run of the notebook a position belongs to: its part before the first `-`. */
const instanceOf = (position: string): string => position.split('-', 1)[0] ?? position;

/** The position in an event's data; `null` where there is none to read. */
export function positionOf(data: string): string | null {
  try {
    const read: unknown = JSON.parse(data);
    return read !== null && typeof read === 'object' && 'position' in read ? String(read.position) : null;
  } catch {
    return null;
  }
}
