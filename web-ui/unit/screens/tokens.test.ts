// Contrast of every token on every ground it is used on, by the formulas of WCAG 2.2 (relative luminance, contrast ratio).
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';

// Not by `?raw`: vitest empties style sheets that are imported.
const CSS = readFileSync(new URL('../../src/look/tokens.css', import.meta.url), 'utf8');

function luminance(hex: string): number {
  const [red = 0, green = 0, blue = 0] = [1, 3, 5].map((start) => {
    const part = Number.parseInt(hex.slice(start, start + 2), 16) / 255;
    return part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4;
  });
  return 0.2126 * red + 0.7152 * green + 0.0722 * blue;
}

function contrast(one: string, other: string): number {
  const [dark = 0, light = 0] = [luminance(one), luminance(other)].sort((a, b) => a - b);
  return (light + 0.05) / (dark + 0.05);
}

/** Tokens of each light: the first block, and every later one over it. */
function lights(): [string, Record<string, string>][] {
  const blocks = [...CSS.matchAll(/(:root[^{\n]*) \{([^}]*--sheet[^}]*)\}/g)].map(([, name = '', body = '']) => {
    const tokens = [...body.matchAll(/--([\w-]+): (#[0-9a-f]{6});/g)].map(([, token = '', hex = '']) => [token, hex] as const);
    return [name.trim(), Object.fromEntries(tokens)] as [string, Record<string, string>];
  });
  return blocks;
}

describe('lights', () => {
  it('works contrast out as WCAG 2.2 does', () => {
    // Black on white is 21:1 by definition; #767676 on white is the grey that is commonly given as just over 4.5:1.
    expect(contrast('#000000', '#ffffff')).toBeCloseTo(21, 6);
    expect(contrast('#767676', '#ffffff')).toBeCloseTo(4.54, 2);
  });

  it('are paper, night by the system, night and sun', () => {
    expect(lights().map(([name]) => name)).toEqual([
      ':root',
      ':root:not([data-light])',
      ":root[data-light='night']",
      ":root[data-light='sun']",
    ]);
    const [, system, night] = lights();
    expect(system?.[1]).toEqual(night?.[1]);
  });

  it.each(lights())('%s: text 7:1, lines and focus 3:1', (_, tokens) => {
    const of = (token: string): string => tokens[token] ?? 'no such token';
    for (const ground of ['sheet', 'fill']) {
      for (const text of ['ink', 'soft', 'link', 'warn', 'good']) {
        expect(contrast(of(text), of(ground)), `${text} on ${ground}`).toBeGreaterThanOrEqual(7);
      }
      for (const line of ['line', 'focus', 'act']) {
        expect(contrast(of(line), of(ground)), `${line} on ${ground}`).toBeGreaterThanOrEqual(3);
      }
    }
    expect(contrast(of('on-act'), of('act'))).toBeGreaterThanOrEqual(7);
    expect(contrast(of('ink'), of('found'))).toBeGreaterThanOrEqual(7);
    expect(contrast(of('sheet'), of('ink'))).toBeGreaterThanOrEqual(7);
  });
});
