// A form over the outbox: what is typed, what is wrong with it, saving it as one draft, and mending that draft where it was
// refused. What is unfinished outlives a reload where the form has a name to be kept under. Leaves out fields and their readers.

import { came, type Coming } from '../api/came.svelte';
import type { Checked } from '../model/form';
import { inPlaceOf, type Made } from '../model/draft';
import { route, setQuery } from '../shell/route.svelte';
import { ofNotebook } from '../shell/session.svelte';
import { picturesMade } from '../photo/making.svelte';
import { t } from './form.words';
import { refusal, type Item } from './item';
import { mend, save, type NewFile } from './outbox';
import { waiting } from './waiting.svelte';

/** A draft with what screens show of it while it waits. */
export interface Built {
  made: Made;
  /** One line for the list of what waits. */
  words: string;
  day: string | null;
  /** Records it belongs to, ids by kind. */
  about: Record<string, string>;
  /** Words that screens draw it with, beside what was typed. */
  shows?: Record<string, string>;
  files?: NewFile[];
}

/** How a form is set up. */
export interface Setup<T> {
  /** Kind of the main record; what was refused is known again by it. */
  kind: string;
  empty: () => T;
  /** Takes up what was kept; what is not of the form is left as `empty` has it. */
  refill: (empty: T, kept: unknown) => T;
  /** Address of the form, to mend a refused draft at. */
  address: () => string;
  /** Name under which unfinished typing is kept while the page is open. */
  kept?: string;
  /** Lists that tell which short names are taken: what is saved before they came waits a moment for them. */
  numberedBy?: () => readonly Coming[];
}

/** Takes up texts of a kept form; anything else stays as `empty` has it. */
export function refillTexts<T extends object>(empty: T, kept: unknown): T {
  if (typeof kept !== 'object' || kept === null) return empty;
  const texts = Object.entries(kept).filter(([field, value]) => Object.hasOwn(empty, field) && typeof value === 'string');
  return { ...empty, ...Object.fromEntries(texts.filter(([field]) => typeof empty[field as keyof T] === 'string')) };
}

/** Made while a component is set up. `form` is what is typed; `why(field)` what is wrong or asked. */
export class OutboxForm<T extends object> {
  form = $state(null as unknown as T);
  errors = $state<Record<string, string>>({});
  asks = $state<Record<string, string>>({});
  trouble = $state<string | null>(null);
  isSaving = $state(false);
  /** The refused draft that the next Save replaces. */
  mending = $state.raw<Item | null>(null);
  /** Questions that a person has said yes to. */
  readonly answered = new Set<string>();
  readonly #setup: Setup<T>;

  constructor(setup: Setup<T>) {
    this.#setup = setup;
    this.form = setup.refill(setup.empty(), route.query['mend'] ? null : unfinished(setup.kept));
    $effect(() => this.#takeUp());
    $effect(() => {
      const typed = JSON.stringify(this.form);
      const isEmpty = typed === JSON.stringify(setup.empty());
      // A form that waits for what it shall mend is empty, and is not what was typed before.
      const isToCome = isEmpty && route.query['mend'] !== undefined;
      if (setup.kept !== undefined && this.mending === null && !isToCome) put(setup.kept, isEmpty ? null : typed);
    });
  }

  /** What is wrong with a field, or asked about it. */
  why(field: string): string | undefined {
    const asked = this.asks[field];
    return this.errors[field] ?? (asked === undefined ? undefined : `${asked} ${t().again}`);
  }

  /** The first field that needs a person. */
  get first(): string | undefined {
    return Object.keys(this.errors)[0] ?? Object.keys(this.asks)[0];
  }

  /** Saves what was found good; the draft's id, or `null` where it was not kept: then `first` or `trouble` says why. */
  async save(check: () => Checked, build: () => Built): Promise<string | null> {
    if (this.isSaving) return null;
    const now = check();
    // What is wrong is told at once.
    if (Object.keys(now.errors).length > 0) return this.#put(now, build);
    this.isSaving = true;
    try {
      const [areMade] = await Promise.all([picturesMade(), came(this.#setup.numberedBy?.() ?? [])]);
      if (areMade) return await this.#put(check(), build);
      // A picture was refused, and says so itself.
      this.errors = {};
      this.asks = {};
      this.trouble = null;
      return null;
    } finally {
      this.isSaving = false;
    }
  }

  async #put(checked: Checked, build: () => Built): Promise<string | null> {
    this.errors = checked.errors;
    this.asks = checked.asks;
    this.trouble = null;
    if (!checked.ok) {
      // Pressing Save again is the yes to what was asked.
      for (const field of Object.keys(checked.asks)) this.answered.add(`${field}=${checked.values[field] ?? ''}`);
      return null;
    }
    const { made, words, day, about, shows = {}, files = [] } = build();
    const old = this.mending;
    const { draft, records } = old === null ? made : inPlaceOf(made, old.draft);
    const form = { ...($state.snapshot(this.form) as Record<string, unknown>), ...shows };
    const echo = { kind: this.#setup.kind, words, day, about, records, form, mend: this.#setup.address() };
    const saved = old === null ? await save(draft, echo, files) : await mend(old.id, draft, echo, files);
    if (saved.kind !== 'saved') {
      this.trouble = saved.kind === 'full' ? t().full : t().failed(saved.why);
      return null;
    }
    this.clear();
    return saved.id;
  }

  /** Empties the form, and forgets what was kept of it. */
  clear(): void {
    this.errors = {};
    this.asks = {};
    this.trouble = null;
    this.answered.clear();
    if (this.mending !== null) {
      // Whoever left meanwhile is at another address, maybe to mend another draft.
      if (route.query['mend'] === this.mending.id) setQuery({ ...route.query, mend: null });
      this.mending = null;
    }
    this.form = this.#setup.empty();
    if (this.#setup.kept !== undefined) put(this.#setup.kept, null);
  }

  #takeUp(): void {
    const asked = route.query['mend'];
    const item = waiting.items.find((one) => one.id === asked && one.echo.kind === this.#setup.kind);
    if (!item || item.id === this.mending?.id || (item.state !== 'needs-a-fix' && item.state !== 'set-aside')) return;
    this.mending = item;
    this.form = this.#setup.refill(this.#setup.empty(), item.echo.form);
    this.trouble = item.problem ? t().refused(refusal(item.problem)) : null;
  }
}

function unfinished(name: string | undefined): unknown {
  try {
    return name === undefined ? null : JSON.parse(sessionStorage.getItem(ofNotebook(name)) ?? 'null');
  } catch {
    return null;
  }
}

function put(name: string, typed: string | null): void {
  try {
    if (typed === null) sessionStorage.removeItem(ofNotebook(name));
    else sessionStorage.setItem(ofNotebook(name), typed);
  } catch {
    // Then what is unfinished lasts as long as the screen.
  }
}
