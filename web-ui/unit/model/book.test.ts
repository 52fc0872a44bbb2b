// The phrase book by itself: how it splits, fits and fills, and that no text makes it fail.
import fc from 'fast-check';
import { afterEach, describe, expect, it } from 'vitest';
import { chooseLanguage } from '../../src/habits/habits.svelte';
import { Book, sentences } from '../../src/model/book';

const book = new Book({
  says: [
    ['About {n} dB better, measured at {k} spots.', 'Unos {n} dB mejor, medido en {k} puntos.'],
    ['{parts:part*} changed together.', 'Cambiaron juntos: {parts}.'],
    ['No comparison of {a:label} and {b:label}: {why:why;}.', 'Sin comparación de {a} y {b}: {why}.'],
    ['{from:text} to {to:text}: {said:says}', 'De {from} a {to}: {said}'],
    ['Better{more:more?}.', 'Mejor{more}.'],
  ],
  part: [
    ['leaf A', 'hoja A'],
    ['cavity', 'cavidad'],
    ['seals', 'sellos'],
  ],
  why: [
    ['under {n} dB', 'menos de {n} dB'],
    ['no readings', 'sin lecturas'],
  ],
  more: [[' by {n} dB', ' por {n} dB']],
});

afterEach(() => chooseLanguage('en'));

describe('a text is split into sentences', () => {
  it.each([
    ['One. Two.', ['One.', 'Two.']],
    ['With 1.5 dB more. 4 spots were read.', ['With 1.5 dB more.', '4 spots were read.']],
    ['Is it? Yes! ±1 dB.', ['Is it?', 'Yes!', '±1 dB.']],
    ['Some rooms, e.g. Kitchens. Others.', ['Some rooms, e.g. Kitchens.', 'Others.']],
    ['He wrote "Stop. Go on." and left. Then not.', ['He wrote "Stop. Go on." and left.', 'Then not.']],
    ['in 29 CFR 1910.95 it stands', ['in 29 CFR 1910.95 it stands']],
    ['', []],
  ])('%s', (text, expected) => expect(sentences(text)).toEqual(expected));

  it('and loses nothing', () => {
    fc.assert(fc.property(fc.string(), (text) => sentences(`${text}x`).join(' ') === `${text}x`));
  });
});

describe('a sentence is put by its phrase', () => {
  it.each([
    ['About 11 dB better, measured at 4 spots.', 'Unos 11 dB mejor, medido en 4 puntos.'],
    ['Leaf A, cavity and seals changed together.', 'Cambiaron juntos: hoja A, cavidad y sellos.'],
    ['No comparison of T1 and T2: under 2 dB; no readings.', 'Sin comparación de T1 y T2: menos de 2 dB; sin lecturas.'],
    ['The way to bed to hall: About 1 dB better, measured at 2 spots.', 'De The way a bed to hall: Unos 1 dB mejor, medido en 2 puntos.'],
    ['Better. Better by 3 dB.', 'Mejor. Mejor por 3 dB.'],
  ])('%s', (english, spanish) => expect(book.put(english)).toBe(spanish));

  it.each(['About 11 dB better.', 'About eleven dB better, measured at 4 spots.', 'Leaf A and door changed together.', 'Better. Unknown words.', '', ' '])('not %j', (english) =>
    expect(book.put(english)).toBeNull(),
  );

  it('of another kind is one phrase, not sentences', () => {
    expect(book.put('under 2 dB', 'why')).toBe('menos de 2 dB');
    expect(book.put('under 2 dB')).toBeNull();
    expect(book.put('under 2 dB', 'nothing')).toBeNull();
  });
});

describe('what is told', () => {
  it('is English as it came on English screens', () => {
    expect(book.told('Better. Unknown words.')).toEqual({ words: 'Better. Unknown words.', lang: undefined });
  });

  it('is Spanish where every sentence has a phrase, else the whole English, said to be so', () => {
    chooseLanguage('es');
    expect(book.told('Better by 1.5 dB.').lang).toBeUndefined();
    expect(book.told('Better by 1.5 dB.').words).toMatch(/^Mejor por 1[.,]5 dB\.$/);
    expect(book.told('Better. Unknown words.')).toEqual({ words: 'Better. Unknown words.', lang: 'en' });
  });

  it('is something for any text, at once', () => {
    chooseLanguage('es');
    const scraps = fc.array(fc.oneof(fc.constantFrom('Better', ' to ', ': ', '. ', 'leaf A', ' and ', ', ', '; ', ' changed together', '12', '1.5', '"', '{n}', '(', ' '), fc.string()), { maxLength: 60 });
    fc.assert(
      fc.property(fc.oneof(fc.string({ unit: 'binary', maxLength: 6000 }), scraps.map((all) => all.join(''))), (text) => {
        const { words, lang } = book.told(text);
        if (lang === 'en') expect(words).toBe(text);
      }),
    );
    const started = performance.now();
    book.told('a to '.repeat(700));
    expect(performance.now() - started).toBeLessThan(1000);
  });
});
