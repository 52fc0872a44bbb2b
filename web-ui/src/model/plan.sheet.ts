/** The sheet that goes to the site, from the notebook's text to headings, lines, boxes and tables. Pure; the text is Markdown as one crate writes it. */

/** Something to tick: what it is, what stands behind it by name, and a box to write in where nothing does. */
export interface Box {
  text: string;
  lines: { says: string; value: string; choices: string[] }[];
}

export type Block = { kind: 'text'; text: string } | { kind: 'table'; head: string[]; rows: string[][] } | { kind: 'boxes'; boxes: Box[] };

/** What stands under one heading; the first has the title of the sheet. */
export interface Part {
  title: string;
  blocks: Block[];
}

/** Reads the sheet. What it does not know is a line of text: nothing is lost, and nothing throws. */
export function sheetParts(text: string): Part[] {
  const parts: Part[] = [];
  let part: Part = { title: '', blocks: [] };
  /** Where a line that goes on belongs. */
  let goesOn: ((more: string) => void) | null = null;
  const start = (title: string): void => {
    part = { title, blocks: [] };
    parts.push(part);
  };
  for (const line of text.split('\n')) {
    const said = line.trim();
    const last = part.blocks.at(-1);
    if (said === '') {
      goesOn = null;
    } else if (/^#+ /.test(line)) {
      start(said.replace(/^#+ /, ''));
      const own = part;
      goesOn = line.startsWith('## ') ? (more) => (own.title += ` ${more}`) : null;
    } else if (said.startsWith('|')) {
      const cells = said.split('|').slice(1, -1).map((cell) => cell.trim());
      if (last?.kind !== 'table') add({ kind: 'table', head: cells, rows: [] });
      else if (!cells.every((cell) => /^-+$/.test(cell))) last.rows.push(cells);
      goesOn = null;
    } else if (said.startsWith('[ ] ')) {
      const box: Box = { text: said.slice(4), lines: [] };
      if (last?.kind === 'boxes') last.boxes.push(box);
      else add({ kind: 'boxes', boxes: [box] });
      goesOn = (more) => (box.text += ` ${more}`);
    } else if (/^ {4}\S/.test(line) && last?.kind === 'boxes' && /^[a-z ]{1,20}: /.test(said)) {
      const [, says = '', rest = ''] = /^([a-z ]+): +(.*)$/.exec(said) ?? [];
      const [, choices = ''] = /^_+ +(.+)$/.exec(rest) ?? [];
      const one = { says, value: choices === '' ? rest : '', choices: choices.split(' / ').filter((choice) => choice !== '') };
      last.boxes.at(-1)?.lines.push(one);
      goesOn = (more) => (one.value += ` ${more}`);
    } else if (goesOn) {
      goesOn(said);
    } else {
      const block = { kind: 'text' as const, text: said };
      add(block);
      goesOn = (more) => (block.text += ` ${more}`);
    }
  }
  return parts;

  function add(block: Block): void {
    if (parts.length === 0) start('');
    part.blocks.push(block);
  }
}

/** The names of what stands behind the boxes of a list, in order; empty for a plain list to tick. */
export function columnsOf(boxes: readonly Box[]): string[] {
  return [...new Set(boxes.flatMap((box) => box.lines.map((line) => line.says)))];
}
