import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { STATE_WORDS } from '../../server/buckets/verdict.ts';

const sheet = readFileSync(new URL('../../views/assets/wareboard.css', import.meta.url), 'utf8');

const tokens = new Map(
  Array.from(
    sheet.matchAll(/--([\w-]+):\s*light-dark\((#[0-9a-f]{6}),\s*(#[0-9a-f]{6})\)/g),
    ([, name, light, dark]) => [name, { light, dark }],
  ),
);

function colour(name: string, theme: 'light' | 'dark'): string {
  const value = tokens.get(name)?.[theme];
  if (!value) throw new Error(`The sheet has no token --${name}.`);
  return value;
}

/** WCAG 2.2, "relative luminance" and "contrast ratio". */
function luminance(hex: string): number {
  const [r = 0, g = 0, b = 0] = [1, 3, 5].map((at) => {
    const channel = Number.parseInt(hex.slice(at, at + 2), 16) / 255;
    return channel <= 0.04045 ? channel / 12.92 : ((channel + 0.055) / 1.055) ** 2.4;
  });
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}
function contrast(a: string, b: string): number {
  const [x, y] = [luminance(a), luminance(b)];
  return (Math.max(x, y) + 0.05) / (Math.min(x, y) + 0.05);
}

const tones = [...tokens.keys()].filter((name) => tokens.has(`${name}-bg`)) as string[];
const surfaces = ['paper', 'card', ...tones.map((tone) => `${tone}-bg`)];

const text: [string, string][] = [
  ...['ink', 'soft', 'link'].flatMap((name) => surfaces.map((surface): [string, string] => [name, surface])),
  ...tones.flatMap((tone): [string, string][] => [
    [tone, `${tone}-bg`],
    [tone, 'card'],
    [tone, 'paper'],
  ]),
  ['paper', 'ink'],
  ['ink-soft', 'ink'],
];
const shapes: [string, string][] = [
  ['edge', 'card'],
  ['edge', 'paper'],
  ...surfaces.map((surface): [string, string] => ['focus', surface]),
  ...tones.map((tone): [string, string] => [tone, 'ready-bg']),
];

test('black on white is 21 to 1, #777777 on white 4.48 to 1', () => {
  expect(contrast('#000000', '#ffffff')).toBeCloseTo(21, 5);
  expect(contrast('#777777', '#ffffff')).toBeCloseTo(4.48, 2);
});

describe.each(['light', 'dark'] as const)('%s theme', (theme) => {
  test.each(text)('--%s on --%s can be read', (front, back) => {
    expect(contrast(colour(front, theme), colour(back, theme))).toBeGreaterThanOrEqual(4.5);
  });
  test.each(shapes)('--%s on --%s can be seen', (front, back) => {
    expect(contrast(colour(front, theme), colour(back, theme))).toBeGreaterThanOrEqual(3);
  });
});

test('every state has a tone of its own', () => {
  const used = Object.keys(STATE_WORDS).map((state) => {
    const rule = new RegExp(
      `\\.is-${state} \\{\\s*--tone: var\\(--(\\w+)\\);\\s*--tone-bg: var\\(--\\1-bg\\);`,
    );
    return rule.exec(sheet)?.[1];
  });
  expect(used).toHaveLength(8);
  expect(new Set(used)).toEqual(new Set(tones));
});
