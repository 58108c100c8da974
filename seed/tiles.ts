import { addTile } from '../server/buckets/service/index.ts';
import type { Deed } from './deeds.ts';
import { generator } from './history.ts';
import { photoOf } from './pictures.ts';

const CLAYS = {
  'Buff stoneware': '#c9a679',
  'White stoneware': '#e6dfd2',
  'Iron-rich stoneware': '#8a5a3c',
} as const;

interface DemoTile {
  clay: keyof typeof CLAYS;
  cone: string;
  atmosphere: 'oxidation' | 'reduction';
  /** Of the fired glaze, and of the one it lies over. */
  colour: string;
  over?: { code: string; colour: string };
  note?: string;
}

export const tile =
  ({ colour, over, ...fired }: DemoTile): Deed =>
  async (act, code) => {
    const picture = await photoOf(drawn({ glaze: colour, clay: CLAYS[fired.clay], under: over?.colour }));
    return addTile(act, code, { ...fired, over: over?.code }, picture);
  };

const SIZE = 480;

/** A tile as it might lie on a bench: clay at the foot, glaze that breaks at the edge, another under its lower half. */
function drawn(i: { glaze: string; clay: string; under: string | undefined }): string {
  const random = generator(Object.values(i).join());
  const at = () => 40 + random() * 400;
  const specks = Array.from(
    { length: 160 },
    () =>
      `<circle cx="${at()}" cy="${at() * 0.86}" r="${0.6 + 1.8 * random()}" fill="#3a2a1c" opacity="${0.5 * random()}"/>`,
  );
  const runs = Array.from({ length: 9 }, (_, n) => {
    const length = 12 + 70 * random();
    return `<rect x="${52 + n * 42}" y="225" width="${24 + 10 * random()}" height="${length}" rx="13" fill="${i.glaze}"/>`;
  });
  const under =
    i.under && `<rect x="40" y="200" width="400" height="200" fill="${i.under}"/>${runs.join('')}`;
  return `<svg xmlns="http://www.w3.org/2000/svg" width="${SIZE}" height="${SIZE}">
    <defs>
      <linearGradient id="light" x2="1" y2="1">
        <stop stop-color="#fff" stop-opacity=".35"/><stop offset=".5" stop-color="#fff" stop-opacity="0"/>
        <stop offset="1" stop-opacity=".3"/>
      </linearGradient>
      <clipPath id="tile"><rect x="40" y="40" width="400" height="400" rx="14"/></clipPath>
    </defs>
    <rect width="${SIZE}" height="${SIZE}" fill="#d8d2c6"/>
    <rect x="48" y="52" width="400" height="400" rx="14" opacity=".25"/>
    <g clip-path="url(#tile)">
      <rect x="40" y="40" width="400" height="400" fill="${i.clay}"/>
      <rect x="40" y="40" width="400" height="${i.under ? 190 : 355}" fill="${i.glaze}"/>
      ${under ?? ''}
      <rect x="40" y="395" width="400" height="45" fill="${i.clay}"/>
      ${specks.join('')}
      <rect x="46" y="46" width="388" height="388" rx="10" fill="none" stroke="${i.clay}" stroke-width="7" opacity=".6"/>
      <rect x="40" y="40" width="400" height="400" fill="url(#light)"/>
    </g>
  </svg>`;
}
