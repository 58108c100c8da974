import type { Box, Stand } from './load-geometry.ts';

/** A number on the drawing, in its coordinates: mm, y downwards. */
export interface Label {
  id: string;
  text: string;
  x: number;
  /** Of the middle of its height. */
  y: number;
  size: number;
  /** Where its line begins, when it stands beside its piece. */
  from: { x: number; y: number } | null;
}

/** Share of its size that a bold digit is wide, and high. */
const DIGIT = 0.62;
const TALL = 0.76;

/** What a text of this size takes, mm. */
export const textBox = (text: string, size: number): { width: number; height: number } => ({
  width: text.length * DIGIT * size,
  height: TALL * size,
});

/** The largest size at which a text fits inside a footprint. */
function sizeInside({ r, hw, hd }: Stand, text: string): number {
  const { width, height } = textBox(text, 1);
  if (r > 0) return (2 * r * 0.92) / Math.hypot(width, height);
  return Math.min((2 * hw * 0.92) / width, (2 * hd * 0.88) / height);
}

const around = (x: number, y: number, text: string, size: number, air: number): Box => {
  const { width, height } = textBox(text, size);
  return {
    x0: x - width / 2 - air,
    y0: y - height / 2 - air,
    x1: x + width / 2 + air,
    y1: y + height / 2 + air,
  };
};

export const meet = (a: Box, b: Box): boolean => a.x0 < b.x1 && b.x0 < a.x1 && a.y0 < b.y1 && b.y0 < a.y1;

function meetsStand(box: Box, { xMm, yMm, r, hw, hd, trayMm }: Stand): boolean {
  const y = -yMm;
  if (r === 0) {
    const [w, d] = [hw + trayMm, hd + trayMm];
    return meet(box, { x0: xMm - w, y0: y - d, x1: xMm + w, y1: y + d });
  }
  const nearX = Math.min(Math.max(xMm, box.x0), box.x1);
  const nearY = Math.min(Math.max(y, box.y0), box.y1);
  return Math.hypot(nearX - xMm, nearY - y) < r + trayMm;
}

interface Asked {
  stands: Stand[];
  textOf: (stand: Stand) => string;
  /** What else must not be written over: posts. */
  blocked: Box[];
  /** The drawing's outline, y downwards. */
  outline: Box;
  /** Smallest readable size and the size wanted, mm. */
  least: number;
  wanted: number;
}

const DIRECTIONS = 24;
const DISTANCES = [0.4, 1, 1.8, 2.8];

/**
 * A number for every stand: inside its footprint where a readable size fits, else beside it in free room with a line,
 * else in a column beyond the outline. No two labels overlap, and none beside lies on another piece.
 */
export function placeLabels({ stands, textOf, blocked, outline, least, wanted }: Asked): Label[] {
  const labels: Label[] = [];
  const taken: Box[] = [...blocked];
  const tiny: Stand[] = [];
  for (const stand of stands) {
    const text = textOf(stand);
    const size = Math.min(wanted, sizeInside(stand, text));
    if (size < least) {
      tiny.push(stand);
      continue;
    }
    labels.push({ id: stand.ids[0] ?? '', text, x: stand.xMm, y: -stand.yMm, size, from: null });
  }
  const beyond: Stand[] = [];
  for (const stand of tiny) {
    const text = textOf(stand);
    const spot = spotBeside(stand, text, least, stands, taken, outline);
    if (!spot) {
      beyond.push(stand);
      continue;
    }
    taken.push(around(spot.x, spot.y, text, least, 0));
    labels.push({
      id: stand.ids[0] ?? '',
      text,
      ...spot,
      size: least,
      from: { x: stand.xMm, y: -stand.yMm },
    });
  }
  return [...labels, ...inColumns(beyond, textOf, outline, least)];
}

function spotBeside(
  stand: Stand,
  text: string,
  size: number,
  stands: Stand[],
  taken: Box[],
  outline: Box,
): { x: number; y: number } | null {
  const { width, height } = textBox(text, size);
  const reachX = Math.max(stand.r, stand.hw) + stand.trayMm + width / 2;
  const reachY = Math.max(stand.r, stand.hd) + stand.trayMm + height / 2;
  for (const far of DISTANCES)
    for (let i = 0; i < DIRECTIONS; i++) {
      const angle = (2 * Math.PI * i) / DIRECTIONS;
      const x = stand.xMm + (reachX + far * size) * Math.cos(angle);
      const y = -stand.yMm + (reachY + far * size) * Math.sin(angle);
      const box = around(x, y, text, size, size * 0.12);
      const inside =
        box.x0 >= outline.x0 && box.x1 <= outline.x1 && box.y0 >= outline.y0 && box.y1 <= outline.y1;
      if (
        inside &&
        !taken.some((other) => meet(box, other)) &&
        !stands.some((other) => meetsStand(box, other))
      )
        return { x, y };
    }
  return null;
}

/** Left and right of the outline, in the order of the pieces, far enough apart. */
function inColumns(stands: Stand[], textOf: (stand: Stand) => string, outline: Box, size: number): Label[] {
  const middle = (outline.x0 + outline.x1) / 2;
  const pitch = size * 1.15;
  return [-1, 1].flatMap((side) => {
    const column = stands
      .filter(({ xMm }) => xMm < middle === side < 0)
      .sort((a, b) => b.yMm - a.yMm || a.xMm - b.xMm);
    const ys = spread(
      column.map(({ yMm }) => -yMm),
      pitch,
    );
    return column.map((stand, i) => {
      const text = textOf(stand);
      const half = textBox(text, size).width / 2 + size * 0.4;
      const x = side < 0 ? outline.x0 - half : outline.x1 + half;
      const from = { x: stand.xMm, y: -stand.yMm };
      return { id: stand.ids[0] ?? '', text, x, y: ys[i] ?? 0, size, from };
    });
  });
}

/** Ascending places moved apart until each is at least `pitch` from the next, as little as need be. */
function spread(wanted: number[], pitch: number): number[] {
  // Blocks of neighbours that touch, each about the mean of what its members want.
  const blocks: { sum: number; count: number; top: number }[] = [];
  for (const y of wanted) {
    blocks.push({ sum: y, count: 1, top: y });
    for (;;) {
      const last = blocks.at(-1);
      const before = blocks.at(-2);
      if (!last || !before || last.top - (before.top + (before.count - 1) * pitch) >= pitch) break;
      blocks.pop();
      // The members of `last` wanted to stand `before.count` steps further down than its own top.
      before.sum += last.sum - last.count * before.count * pitch;
      before.count += last.count;
      before.top = before.sum / before.count;
    }
  }
  return blocks.flatMap(({ top, count }) => Array.from({ length: count }, (_, i) => top + i * pitch));
}
