// Saving changes of an assembly's own records: one draft, with what screens show of it until the notebook has it.

import { moment, newId } from '../../keep/ids';
import { save, type NewFile } from '../../keep/outbox';
import { change, newRecord, pin, type Desk, type Made, type Values } from '../../model/draft';
import type { RecordView } from '../../model/field.shape';
import { asFile, asPinned, type Chosen } from '../../photo/photo';
import { href } from '../../shell/route.svelte';
import { t } from './words';

const desk = (): Desk => ({ newId, writtenAt: moment(new Date()) });

/** Changes fields of the assembly, with photos pinned to it; gives what went wrong in words, or null. */
export async function changeAssembly(
  of: RecordView,
  values: Record<string, string | null>,
  reason: string | null,
  photos: readonly Chosen[],
  words: string,
): Promise<string | null> {
  const at = desk();
  const made = change(at, { kind: 'assembly', id: of.id }, values, of.fields, reason);
  for (const photo of photos) pin(at, made, { kind: 'assembly', id: of.id }, asPinned(photo));
  return keep(made, of, words, photos.map(asFile));
}

/** Adds a record that belongs to the assembly: a rough opening, blocking. */
export async function addTo(of: RecordView, kind: 'opening' | 'blocking', values: Values, words: string): Promise<string | null> {
  return keep(newRecord(desk(), kind, { assembly: of.id, ...values }), of, words, []);
}

async function keep(made: Made, of: RecordView, words: string, files: NewFile[]): Promise<string | null> {
  const [first] = made.records;
  const saved = await save(
    made.draft,
    {
      kind: first?.kind ?? 'assembly',
      words: `${of.label ?? ''}: ${words}`,
      day: null,
      about: { assembly: of.id },
      records: made.records,
      form: {},
      mend: first?.id === of.id ? href('record', { kind: 'assembly', record: of.id }) : href('record-new', { kind: first?.kind ?? 'assembly' }),
    },
    files,
  );
  return saved.kind === 'saved' ? null : saved.kind === 'full' ? t().full : t().failed(saved.why);
}
