/** A page of records in which those that point to one are looked for. */
import * as v from 'valibot';
import { RecordPage } from './day.lists';

export const LinkedPage = v.object({ ...RecordPage.entries, next: v.nullable(v.string()) });
