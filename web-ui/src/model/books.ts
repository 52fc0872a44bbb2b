/** Where the phrases of each area lie, as files of their own: only who reads Spanish asks for them. */
import { Book, type Phrases } from './book';
import caution from './caution.phrases.json?url';
import compare from './compare.phrases.json?url';
import finding from './finding.phrases.json?url';
import mark from './mark.phrases.json?url';
import plan from './plan.phrases.json?url';
import quantity from './quantity.phrases.json?url';
import refusal from './refusal.phrases.json?url';

const AREAS = {
  cautions: [caution],
  findings: [finding, quantity],
  plans: [finding, plan],
  compared: [finding, compare],
  marks: [mark],
  refusals: [refusal],
};
export type Area = keyof typeof AREAS;

/** Fetches the phrases of an area. */
export async function open(area: Area): Promise<Book> {
  const all = AREAS[area].map(async (place) => {
    const answer = await fetch(place);
    if (!answer.ok) throw new Error(`${place}: ${answer.status}`);
    return (await answer.json()) as Phrases;
  });
  return new Book(...(await Promise.all(all)));
}
