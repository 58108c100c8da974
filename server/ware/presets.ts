import type { Footprint } from './size.ts';

/** How bisque of this form may stand on its like. */
export const STACKS = ['nest', 'rim-to-rim', 'pile', 'on-edge', 'none'] as const;
export type StackWay = (typeof STACKS)[number];

/** What a form is usually like just made; mm. All of it common practice, no source: a start that is corrected. */
interface Preset {
  /** As it is called, one and several. */
  word: string;
  words: string;
  footprint: Footprint;
  heightMm: number;
  thickestMm: number;
  stack: StackWay;
}

export const FORMS = ['cup', 'beaker', 'bowl', 'plate', 'vase', 'tile', 'other'] as const;
export type Form = (typeof FORMS)[number];

const round = (diameterMm: number): Footprint => ({ shape: 'circle', diameterMm });
const box = (widthMm: number, depthMm: number): Footprint => ({ shape: 'rectangle', widthMm, depthMm });

export const PRESETS: Record<Form, Preset> = {
  // The handle makes it a rectangle.
  cup: {
    word: 'cup',
    words: 'cups',
    footprint: box(125, 85),
    heightMm: 100,
    thickestMm: 6,
    stack: 'rim-to-rim',
  },
  beaker: {
    word: 'beaker',
    words: 'beakers',
    footprint: round(85),
    heightMm: 110,
    thickestMm: 6,
    stack: 'rim-to-rim',
  },
  bowl: { word: 'bowl', words: 'bowls', footprint: round(150), heightMm: 75, thickestMm: 7, stack: 'nest' },
  plate: {
    word: 'plate',
    words: 'plates',
    footprint: round(260),
    heightMm: 30,
    thickestMm: 8,
    stack: 'pile',
  },
  vase: { word: 'vase', words: 'vases', footprint: round(120), heightMm: 220, thickestMm: 8, stack: 'none' },
  tile: {
    word: 'tile',
    words: 'tiles',
    footprint: box(100, 100),
    heightMm: 10,
    thickestMm: 10,
    stack: 'pile',
  },
  other: {
    word: 'piece',
    words: 'pieces',
    footprint: round(100),
    heightMm: 100,
    thickestMm: 8,
    stack: 'none',
  },
};

export const isForm = (form: string): form is Form => (FORMS as readonly string[]).includes(form);

/** '1 cup', '6 cups', '2 × teapot lid': a form that its owner named keeps its name. */
export function formWords(form: string, count: number): string {
  if (!isForm(form)) return count === 1 ? form : `${count} × ${form}`;
  return `${count} ${count === 1 ? PRESETS[form].word : PRESETS[form].words}`;
}

/** 'cup', or what its owner called it. */
export const formWord = (form: string): string => (isForm(form) ? PRESETS[form].word : form);

/** 'piece 12', 'pieces 12, 14 and 15', 'pieces 12 to 17 and 20', of numbers in any order. */
export function piecesWords(numbers: readonly number[]): string {
  const sorted = [...new Set(numbers)].sort((a, b) => a - b);
  if (sorted.length === 1) return `piece ${sorted[0]}`;
  const runs: [first: number, last: number][] = [];
  for (const number of sorted) {
    const run = runs.at(-1);
    if (run && run[1] === number - 1) run[1] = number;
    else runs.push([number, number]);
  }
  const words = runs.flatMap(([first, last]) =>
    last - first > 1 ? [`${first} to ${last}`] : first === last ? [`${first}`] : [`${first}`, `${last}`],
  );
  return words.length < 2
    ? `pieces ${words.join('')}`
    : `pieces ${words.slice(0, -1).join(', ')} and ${words.at(-1)}`;
}
