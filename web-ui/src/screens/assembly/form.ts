// The form of an assembly: its fields as typed, what is checked here, and the query that sketches it. Pure.

import { emptyCavity, emptyFrame, emptyLeaf, PARTS, writeCavity, writeFrame, writeLeaf, type PartName } from '../../model/assembly';
import { readLength } from '../../model/length';
import type { UnitWay } from '../../habits/habits.svelte';
import type { Sketch } from '../../model/assembly.shape';
import type { FieldValue } from '../../model/field.shape';

/** What an assembly is, what it stands between, and its states, as the notebook's choices have them. */
export const ELEMENTS = ['wall', 'ceiling', 'floor', 'door', 'rim', 'panel'] as const;
export const BETWEEN = ['rooms', 'dwellings', 'garage', 'outside', 'shaft'] as const;
export const STATES = ['bare-studs', 'boarded-a', 'boarded-both', 'finished'] as const;

export interface AssemblyForm extends Record<PartName, string> {
  label: string;
  element: string;
  job: string;
  room_a: string;
  room_b: string;
  replaces: string;
  between: string;
  fire_rated: string;
  since: string;
  length: string;
  height: string;
  state: string;
  note: string;
}

/** Fields that one assembly takes over from another: how it is built, not where or when. */
export const COPIED = ['element', ...PARTS, 'state', 'length', 'height', 'between', 'fire_rated'] as const;

export function emptyForm(): AssemblyForm {
  return {
    label: '',
    element: 'wall',
    job: '',
    room_a: '',
    room_b: '',
    replaces: '',
    between: 'rooms',
    fire_rated: '',
    since: '',
    leaf_a: writeLeaf(emptyLeaf()),
    frame: writeFrame(emptyFrame()),
    cavity: writeCavity(emptyCavity()),
    leaf_b: writeLeaf(emptyLeaf()),
    openings: 'none',
    seals: 'unknown',
    state: 'finished',
    length: '',
    height: '',
    note: '',
  };
}

/** A form as it was kept, over a fresh one; what is no text in it is passed over. */
export function refilled(kept: unknown): AssemblyForm {
  const form = emptyForm();
  if (typeof kept !== 'object' || kept === null) return form;
  for (const [name, value] of Object.entries(kept)) if (name in form && typeof value === 'string') Object.assign(form, { [name]: value });
  return form;
}

/** `form` built like a record: parts, size and state; `isRebuild` takes job and rooms too. */
export function builtLike(form: AssemblyForm, fields: Record<string, Pick<FieldValue, 'value' | 'shown'> | undefined>, isRebuild: boolean): AssemblyForm {
  const made = { ...form };
  for (const name of [...COPIED, ...(isRebuild ? (['job', 'room_a', 'room_b'] as const) : [])]) {
    const value = fields[name]?.value;
    if (value !== null && value !== undefined) made[name] = name === 'fire_rated' ? (['true', 'yes'].includes(value) ? 'yes' : '') : value;
  }
  return made;
}

/** The query that sketches it. */
export function sketchQuery(form: AssemblyForm, sides: { a: string; b: string }, look: { ground: string; width: string }): string {
  const query = new URLSearchParams();
  for (const name of ['label', 'element', ...PARTS, 'state', 'length', 'height', 'between'] as const) {
    // A short name that is none yet must not stand in the way of the drawing.
    if (form[name].trim() === '' || (name === 'label' && !isLabel(form.label))) continue;
    query.set(name, name === 'length' || name === 'height' ? lengthSent(form[name]) : form[name].trim());
  }
  if (sides.a) query.set('side_a', sides.a);
  if (sides.b) query.set('side_b', sides.b);
  query.set('ground', look.ground);
  query.set('width', look.width);
  return query.toString();
}

/** Whether a short name can be typed as one word. */
export function isLabel(text: string): boolean {
  return /^[^\s/:]{1,32}$/u.test(text.trim());
}

/** Fields of the form that are lengths. */
export const LENGTHS = ['length', 'height'] as const;

/** What is wrong with a length; empty is right, for it can be measured later. */
export function lengthWrong(typed: string): string | null {
  if (typed.trim() === '') return null;
  const read = readLength(typed);
  return read.kind === 'bad' ? read.why : null;
}

/** A length as the notebook takes it: `10 ft 4 1/2` lacks a mark that only the notebook asks for. What no reader takes stays as typed. */
export function lengthSent(typed: string): string {
  const read = readLength(typed);
  return read.kind === 'bad' ? typed.trim() : read.value;
}

/** What is written of a form that was checked. */
export function written(form: AssemblyForm): AssemblyForm {
  return { ...form, length: lengthSent(form.length), height: lengthSent(form.height) };
}

/** How wide a drawing is asked for, in units of which small text is 12: such that it stands 16 px high where there is room for it. */
export function drawingWidth(room_px: number): string {
  return String(Math.min(800, Math.max(320, Math.round((room_px * 12) / 16 / 20) * 20)));
}

/** Thickness, mass and what a laboratory class is expected to be, in one line. */
export function inBrief(sketch: Sketch, way: UnitWay): string {
  const { thickness, mass, predicted } = sketch;
  const thick = thickness === null ? '' : way === 'metric' ? `${thickness.mm.printed} mm` : `${thickness.inches.printed}"`;
  const heavy = mass === null ? '' : way === 'metric' ? `${mass.kg_m2.printed} kg/m²` : `${mass.lb_ft2.printed} lb/ft²`;
  const klass = predicted === null ? '' : `STC ≈ ${predicted.laboratory_class} ± ${predicted.class_spread}`;
  return [thick, heavy, klass].filter((words) => words !== '').join(' · ');
}

/** Whether the work goes on from one state to another, and not back; from no state every one is on. */
export function isOnward(from: string | null, to: string): boolean {
  const at = (state: string | null): number => STATES.findIndex((one) => one === state);
  return at(to) > at(from);
}

/** Which cautions of the screens belong to it. */
export function cautionsOf(form: Pick<AssemblyForm, 'between' | 'fire_rated'>): ('dwellings' | 'garage' | 'shaft' | 'outside' | 'fire')[] {
  const found: ('dwellings' | 'garage' | 'shaft' | 'outside' | 'fire')[] = [];
  const { between } = form;
  if (between === 'dwellings' || between === 'garage' || between === 'shaft' || between === 'outside') found.push(between);
  if (form.fire_rated === 'yes') found.push('fire');
  return found;
}
