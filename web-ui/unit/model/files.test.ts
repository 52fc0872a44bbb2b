import { describe, expect, it } from 'vitest';
import * as v from 'valibot';

import { bytesWords, contentPath, fileName, filesPath, notHere, thumbnailPath } from '../../src/model/files';
import { PinnedFiles, type PinnedFile } from '../../src/model/files.shape';

const HASH = 'af1349b9f5f9a1a6a0404dea36dcc9499bcb25c9adc112b7cc9a93cae41f3262';

function file(over: Partial<PinnedFile>): PinnedFile {
  const here = { id: '1', name: 'boxes.jpg', bytes: 2_381_044, caption: null, media_type: null, hash: HASH };
  return { ...here, held: true, state: 'here', held_bytes: 2_381_044, ...over };
}

describe('files pinned to a record', () => {
  it('say that they are not here yet, and how far they have come', () => {
    expect(notHere(file({}))).toBeNull();
    const missing = file({ held: false, state: 'missing', held_bytes: 0 });
    expect(notHere(missing)).toMatch(/^Not here yet \(2\.4 MB\): it comes when the notebook syncs/);
    expect(notHere({ ...missing, bytes: null })).toMatch(/^Not here yet: it comes/);
    const arriving = file({ held: false, state: 'arriving', held_bytes: 1_048_576 });
    expect(notHere(arriving)).toBe('Not here yet: 1.0 MB of 2.4 MB have come.');
    expect(notHere(file({ held: false, state: 'damaged' }))).toMatch(/^Damaged on the notebook’s computer/);
    expect(notHere(file({ held: false, state: 'a word of a later version' }))).toMatch(/^Not here yet/);
  });

  it('are read from a box that does not tell their state', () => {
    const { state: _state, held_bytes: _held, ...old } = file({ held: false });
    const read = v.parse(PinnedFiles, { files: [old] });
    expect(notHere(read.files[0] as PinnedFile)).toMatch(/^Not here yet/);
  });

  it('lead to their content only where it is', () => {
    expect(contentPath(file({}))).toBe(`/api/attachments/${HASH}?name=boxes.jpg`);
    expect(contentPath(file({ name: 'before & after.jpg' }))).toContain('before%20%26%20after.jpg');
    expect(contentPath(file({ held: false }))).toBeNull();
    expect(contentPath(file({ hash: null }))).toBeNull();
    expect(filesPath('entry:a b')).toBe('/api/files?about=entry%3Aa%20b');
  });

  it('have a small copy where they are pictures', () => {
    expect(thumbnailPath(file({}))).toBe(`/api/attachments/${HASH}/thumbnail`);
    expect(thumbnailPath(file({ name: 'B.PNG' }))).not.toBeNull();
    expect(thumbnailPath(file({ media_type: 'video/mp4' }))).toBeNull();
    expect(thumbnailPath(file({ name: 'receipt.pdf' }))).toBeNull();
    expect(thumbnailPath(file({ held: false }))).toBeNull();
  });

  it('have a name and a size in words', () => {
    expect(fileName(file({ caption: 'Two beads before the second board' }))).toBe('Two beads before the second board');
    expect(fileName(file({ name: null }))).toBe('file without a name');
    const words = [0, 999, 1000, 999_499, 999_500, 1_048_576].map(bytesWords);
    expect(words).toEqual(['0 B', '999 B', '1 kB', '999 kB', '1.0 MB', '1.0 MB']);
  });
});
