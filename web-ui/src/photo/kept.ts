// Pictures that come back from this device's own database: of a draft that is mended, or of a form that was left unfinished.

import { db } from '../keep/db';
import { fileOf, type Item } from '../keep/outbox';
import type { Chosen } from './photo';
import { t } from './words';

/** What is kept of a picture beside its content. */
export type ChosenFacts = Omit<Chosen, 'blob' | 'small'>;

/** The pictures of a draft, in its order. One that the notebook has by now shows its copy there; one that is lost is left out. */
export async function photosOf(item: Item): Promise<Chosen[]> {
  const photos = new Map<string, Map<string, string>>();
  for (const { kind, record, field, value } of item.draft.writes) {
    if (kind !== 'photo' || value === null) continue;
    photos.set(record, (photos.get(record) ?? new Map<string, string>()).set(field, value));
  }
  const facts = [...photos.values()].map((fields): ChosenFacts => {
    const taken_at = fields.get('taken_at') ?? null;
    return {
      mark: fields.get('hash') ?? '',
      name: fields.get('name') ?? '',
      media_type: fields.get('media_type') ?? '',
      bytes: Number(fields.get('bytes') ?? 0),
      caption: fields.get('caption') ?? '',
      cover_up: fields.get('cover_up') === 'yes',
      taken_at,
      taken_words: taken_at === null ? t().noTime : t().taken(taken_at.replace('T', ' ').slice(0, 16)),
    };
  });
  return withContent(facts);
}

/** Those of `facts` whose content is still here, or at the notebook. */
export async function withContent(facts: readonly ChosenFacts[]): Promise<Chosen[]> {
  const found: Chosen[] = [];
  for (const fact of facts) {
    if (!fact.mark.startsWith('file:')) {
      found.push({ ...fact, blob: new Blob(), small: `/api/attachments/${fact.mark}/thumbnail` });
      continue;
    }
    const blob = await fileOf(await db(), fact.mark);
    const isPicture = fact.media_type === 'image/jpeg' || fact.media_type === 'image/png' || fact.media_type === 'image/webp';
    if (blob) found.push({ ...fact, blob, small: isPicture ? URL.createObjectURL(blob) : null });
  }
  return found;
}
