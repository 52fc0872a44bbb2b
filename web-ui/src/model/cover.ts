// Whether a line of the log says that a wall is closed, so that what gets covered is photographed first. Pure.

/** States of a wall from open to closed, as the notebook has them. */
export const WALL_STATES = ['bare-studs', 'boarded-a', 'boarded-both', 'finished'] as const;

/**
 * Words for boards that go up, without accents: English and Spanish trade words, common practice, no source. Boards alone tell nothing:
 * they are cut, carried and taken off too.
 */
const BOARDS = String.raw`\b(?:boards?|drywall|plasterboard|gypsum|layers?|placas?|yeso|paneles|panel|capas?)\b`;
const GO_UP = String.raw`\b(?:up|on|hang|hangs|hung|hanging|screwed|fixed|installed|coloc\w+|pus\w+|puest\w+|atornill\w+|fij\w+|mont\w+)\b`;
const CLOSING = [
  new RegExp(`${BOARDS}.{0,40}${GO_UP}|${GO_UP}.{0,40}${BOARDS}`),
  /\b(?:boarded|boarding|clos(?:e|es|ed|ing)(?: \w+){0,3} up|cerr(?:ar|e|o|amos|ado|ada|aron)|forr(?:ar|e|o|amos|ado|ada)|tap(?:ar|e|amos|ado|ada))\b/,
];
const HUNG = /\b(?:hang|hangs|hung|hanging|colg\w+)\b/;
/** These are hung or closed too, and cover nothing. */
const NOT_A_WALL = /\b(?:door|doors|window|windows|shelf|shelves|picture|pictures|puertas?|ventanas?|repisas?|cuadros?)\b/;

/** Whether a wall in this state still shows something that boards would cover; one without a state may. */
export function isOpenWall(state: string | null): boolean {
  return state === null || state === 'bare-studs' || state === 'boarded-a';
}

/** Whether a text names boards that go up, in either language. */
export function namesBoards(text: string): boolean {
  const bare = text.normalize('NFD').replace(/\p{M}/gu, '').toLowerCase();
  return !NOT_A_WALL.test(bare) && (HUNG.test(bare) || CLOSING.some((words) => words.test(bare)));
}

/** States that a wall in `state` may have next: those further on. */
export function statesAfter(state: string | null): string[] {
  return WALL_STATES.slice(WALL_STATES.findIndex((one) => one === state) + 1);
}

/** What the question needs to know of a line. */
export interface Covering {
  entry_kind: string;
  text: string;
  /** State of the chosen wall as it stands; `null` where no wall is chosen or its state is not written. */
  state: string | null;
  /** State that the line gives it, or nothing. */
  next: string;
}

/** Whether photos of what gets covered are asked for. */
export function asksForCover({ entry_kind, text, state, next }: Covering): boolean {
  if (next !== '' && isOpenWall(state)) return true;
  return entry_kind === 'work' && isOpenWall(state) && namesBoards(text);
}
