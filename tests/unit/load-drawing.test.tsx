import fc from 'fast-check';
import { renderToString } from 'preact-render-to-string';
import { describe, expect, it } from 'vitest';
import type { Load, Piece, Problem } from '../../server/kilns/packing/problem.ts';
import { LevelPlan, PlanKey } from '../../views/kilns/level-plan.tsx';
import { floorsOf, furnitureOf, postsOn, type Stand } from '../../views/kilns/load-geometry.ts';
import { thenWords } from '../../views/kilns/load-loading.tsx';
import { meet, placeLabels, textBox } from '../../views/kilns/plan-labels.ts';
import { floorName, floorWords, furnitureWords } from '../../views/kilns/plan-parts.tsx';
import { SideView } from '../../views/kilns/side-view.tsx';

const round = (id: number, diameterMm: number, heightMm = 80, more: Partial<Piece> = {}): Piece => ({
  id: String(id),
  footprint: { shape: 'circle', diameterMm },
  heightMm,
  ...more,
});
const at = (id: number, xMm: number, yMm: number, zMm = 0, turned = false) => ({
  id: String(id),
  xMm,
  yMm,
  zMm,
  turned,
});

const CHAMBER: Omit<Problem, 'pieces'> = {
  shelf: { shape: 'round', diameterMm: 520 },
  usableHeightMm: 600,
  floorPostMm: 20,
  shelfThicknessMm: 20,
  pieceGapMm: 6,
  clearanceMm: 12,
  topClearanceMm: 40,
  posts: [
    { heightMm: 160, count: 12 },
    { heightMm: 100, count: 12 },
  ],
  stackedPosts: true,
  halves: true,
  postPositions: [
    { xMm: -200, yMm: 0, widthMm: 40, depthMm: 40 },
    { xMm: 100, yMm: 180, widthMm: 40, depthMm: 40 },
    { xMm: 100, yMm: -180, widthMm: 40, depthMm: 40 },
  ],
  keepOuts: [{ shape: 'circle', xMm: 0, yMm: 240, diameterMm: 40, fromMm: 220, toMm: 300 }],
};
const PIECES: Piece[] = [
  round(101, 120, 140),
  round(102, 60, 90, { tray: 10 }),
  { id: '103', footprint: { shape: 'rectangle', widthMm: 120, depthMm: 60 }, heightMm: 70 },
  round(104, 100, 60, { stack: 'nest' }),
  round(105, 100, 60, { stack: 'nest' }),
  round(106, 96, 60, { stack: 'nest' }),
  round(107, 90, 200),
  round(108, 8, 20),
];
const PROBLEM: Problem = { ...CHAMBER, pieces: PIECES };
/** A full shelf that carries a half on each side, and one more half on the left. */
const LOAD: Load = {
  use: { area: 0.5, volume: 0.3 },
  levels: [
    { part: 'right', baseMm: 220, posts: null, pieces: [at(107, 120, 0)] },
    {
      part: 'left',
      baseMm: 220,
      posts: [100],
      pieces: [at(104, -80, 0), at(105, -80, 0, 24), at(106, -80, 0, 48)],
    },
    {
      part: 'full',
      baseMm: 40,
      posts: [160],
      pieces: [at(101, 0, 0), at(102, 120, 60), at(103, -120, 90, 0, true)],
    },
    { part: 'left', baseMm: 340, posts: null, pieces: [at(108, -100, 50)] },
  ],
};
const FLOORS = floorsOf(PROBLEM, LOAD);
const floor = (part: string, level: number) => {
  const found = FLOORS.find((one) => one.part === part && one.level === level);
  if (!found) throw new Error(`no ${part} ${level}`);
  return found;
};
const plan = (floors: typeof FLOORS, more: object = {}) =>
  renderToString(
    <LevelPlan problem={PROBLEM} floors={floors} id="p" controls="front" opens="top" {...more} />,
  );

describe('the shelves of a load', () => {
  it('are numbered from the floor on their side and come in the order they are loaded', () => {
    expect(FLOORS.map(floorName)).toEqual([
      'Level 1',
      'Level 2, left half',
      'Level 2, right half',
      'Level 3, left half',
    ]);
  });

  it('know their tallest stack, their air and what their posts carry', () => {
    expect(floor('full', 1)).toMatchObject({ tallestMm: 140, roomMm: 160, above: ['left', 'right'] });
    expect(floor('left', 2)).toMatchObject({
      tallestMm: 108,
      roomMm: 100,
      above: ['left'],
      ids: ['104', '105', '106'],
    });
    expect(floor('right', 2)).toMatchObject({ tallestMm: 200, roomMm: 380, above: [] });
  });

  it('join a stack into one place and turn what is turned', () => {
    expect(floor('left', 2).stands).toHaveLength(1);
    expect(floor('full', 1).stands.find(({ ids }) => ids[0] === '103')).toMatchObject({
      hw: 30,
      hd: 60,
      r: 0,
    });
    expect(floor('full', 1).stands.find(({ ids }) => ids[0] === '102')).toMatchObject({ r: 30, trayMm: 10 });
  });

  it('draw on edge what stands on edge', () => {
    const problem = { ...PROBLEM, pieces: [round(1, 260, 30, { stack: 'on-edge' })] };
    const levels = [{ part: 'full' as const, baseMm: 40, posts: null, pieces: [at(1, 0, 0)] }];
    const [only] = floorsOf(problem, { ...LOAD, levels });
    expect(only?.stands[0]).toMatchObject({ hw: 130, hd: 15, r: 0, heightMm: 260 });
  });

  it('an empty load has none', () => {
    expect(floorsOf(PROBLEM, { ...LOAD, levels: [] })).toEqual([]);
    expect(furnitureWords(furnitureOf(PROBLEM, []))).toEqual([]);
  });
});

describe('what goes on next', () => {
  it('is said in posts and shelves', () => {
    const then = (part: string, level: number) => thenWords(PROBLEM, floor(part, level));
    expect(then('full', 1)).toBe('Then 6 posts of 160 mm and a half shelf on each side.');
    expect(then('left', 2)).toBe('Then 3 posts of 100 mm and the left half shelf.');
    expect(then('right', 2)).toBe('Nothing goes above it.');
    expect(thenWords(PROBLEM, { ...floor('full', 1), posts: [100, 60], above: ['full'], columns: 1 })).toBe(
      'Then 3 posts of 100 mm, on them 3 posts of 60 mm and the next shelf.',
    );
  });
});

describe('what has to be fetched', () => {
  it('counts posts for each shelf they carry, and floor posts under the lowest', () => {
    expect(furnitureOf(PROBLEM, FLOORS)).toEqual({
      full: 1,
      half: 3,
      posts: [
        { heightMm: 160, count: 6 },
        { heightMm: 100, count: 3 },
      ],
      floorPosts: { heightMm: 20, count: 6 },
    });
    expect(furnitureWords(furnitureOf(PROBLEM, FLOORS))).toEqual([
      '1 full shelf and 3 half shelves',
      '6 posts of 160 mm, 3 of 100 mm',
      '6 floor posts of 20 mm',
    ]);
  });

  it('counts the posts of both sides all the way down from half shelves, since each stands on the one below', () => {
    const levels: Load['levels'] = [
      { part: 'full', baseMm: 36, posts: [100], pieces: [] },
      { part: 'full', baseMm: 152, posts: [160], pieces: [] },
      { part: 'left', baseMm: 328, posts: null, pieces: [] },
      { part: 'right', baseMm: 328, posts: null, pieces: [] },
    ];
    expect(furnitureOf(PROBLEM, floorsOf(PROBLEM, { ...LOAD, levels })).posts).toEqual([
      { heightMm: 160, count: 6 },
      { heightMm: 100, count: 6 },
    ]);
  });

  it('counts two of one height where posts stand on one another', () => {
    const levels: Load['levels'] = [
      { part: 'full', baseMm: 40, posts: [100, 100], pieces: [] },
      { part: 'full', baseMm: 260, posts: null, pieces: [] },
    ];
    const problem = { ...PROBLEM, postsPerShelf: 4, floorPostMm: 0 };
    const furniture = furnitureOf(problem, floorsOf(problem, { ...LOAD, levels }));
    expect(furniture.posts).toEqual([{ heightMm: 100, count: 8 }]);
    expect(furniture.floorPosts).toBeNull();
  });
});

describe('the plan of a level', () => {
  it('names every piece once, a stack by its lowest with how many there are', () => {
    const full = plan([floor('full', 1)]);
    for (const number of ['101', '102', '103'])
      expect(full.match(new RegExp(`>${number}</text>`, 'g'))).toHaveLength(1);
    expect(plan([floor('left', 2)])).toContain('>104×3</text>');
  });

  it('is a picture with words in place of it, and keeps to the content policy', () => {
    const html = plan(FLOORS.filter(({ level }) => level === 2));
    expect(html).toContain('role="img"');
    expect(html).toContain('Level 2, left half, posts of 100 mm: tallest 108 mm, 3 pieces');
    expect(html).toContain('One stack. One place is kept clear.');
    expect(html).not.toMatch(/ style=|NaN|undefined|Infinity/);
  });

  it('draws posts where a next shelf stands, on a half only its own', () => {
    const posts = (html: string) => html.match(/class="post"/g)?.length ?? 0;
    expect(posts(plan([floor('full', 1)]))).toBe(3);
    expect(posts(plan([floor('left', 2)]))).toBe(1);
    expect(posts(plan([floor('right', 2)]))).toBe(0);
    // Only a right half rests on the full shelf.
    const [first] = floorsOf(PROBLEM, { ...LOAD, levels: LOAD.levels.filter(({ part }) => part !== 'left') });
    expect(first?.above).toEqual(['right']);
    expect(posts(plan(first ? [first] : []))).toBe(2);
  });

  it('draws three posts on places that lie far apart, however many there are and however many carry a shelf', () => {
    const around = (count: number) =>
      Array.from({ length: count }, (_, i) => ({
        xMm: Math.round(200 * Math.cos((2 * Math.PI * i) / count)),
        yMm: Math.round(200 * Math.sin((2 * Math.PI * i) / count)),
        widthMm: 40,
        depthMm: 40,
      }));
    const shelf = { ...floor('full', 1), above: ['full' as const], columns: 1 };
    const six = around(6);
    expect(postsOn({ ...PROBLEM, postPositions: six }, shelf)).toEqual([six[0], six[2], six[4]]);
    const many = postsOn({ ...PROBLEM, postPositions: around(24), postsPerShelf: 12 }, shelf);
    expect(new Set(many).size).toBe(12);
  });

  it('draws what must stay clear only at the heights where it must', () => {
    expect(plan([floor('full', 1)])).not.toContain('keep-out');
    expect(plan([floor('left', 2)])).toContain('keep-out');
  });

  it('draws the split only between halves', () => {
    expect(plan([floor('full', 1)])).not.toContain('split-line');
    expect(plan([floor('left', 2)])).toContain('split-line');
  });

  it('tells mine, chosen and left out by pattern and shape', () => {
    const looks = { '101': 'mine', '102': 'chosen', '103': 'out' } as const;
    const html = plan([floor('full', 1)], { lookOf: (id: keyof typeof looks) => looks[id] });
    expect(html).toMatch(/class="piece is-mine"[^>]*data-piece="101".*?url\(#p-mine\)/);
    expect(html).toMatch(/class="piece is-out"[^>]*data-piece="103".*?class="cross"/);
    const key = renderToString(
      <PlanKey problem={PROBLEM} floors={[floor('full', 1)]} looks={['mine', 'chosen', 'out']} />,
    );
    expect(key).toContain('hatched: yours');
    expect(key).toContain('dashed ring: its tray');
    expect(key).not.toContain('×3');
  });

  it('lets the script drag pieces, a stack by its lowest', () => {
    const movable = plan([floor('left', 2)], { isMovable: true });
    expect(movable).toMatch(/data-plan="2" data-parts="left" data-split="0"/);
    expect(movable.match(/data-piece="\d+"/g)).toEqual(['data-piece="104"']);
    expect(plan([floor('left', 2)])).not.toContain('data-plan');
  });

  it('letters the spots', () => {
    const spot = { letter: 'B', part: 'full', xMm: 0, yMm: 150, hw: 0, hd: 0, r: 40 };
    expect(plan([floor('full', 1)], { spots: [spot] })).toMatch(/class="spot".*>B<\/text>/);
  });

  it('says where the door or the controls are', () => {
    expect(plan([floor('full', 1)])).toContain('>controls</text>');
    expect(plan([floor('full', 1)], { opens: 'front' })).toContain('>door</text>');
    expect(plan([floor('full', 1)], { controls: 'left', opens: 'front' })).toContain('rotate(90)');
  });

  it('writes the number of a tiny piece beside it with a line', () => {
    expect(plan([floor('left', 3)])).toMatch(/class="leader".*>108<\/text>/);
    expect(plan([floor('full', 1)])).not.toContain('leader');
  });

  it('the line goes from the piece to the edge of its number', () => {
    const html = plan([floor('left', 3)]);
    const [x0 = 0, y0 = 0, x1 = 0, y1 = 0] = (
      /class="leader" d="M(\S+) ([^L]+)L(\S+) ([^"]+)"/.exec(html) ?? []
    )
      .slice(1)
      .map(Number);
    const [, x = 0, y = 0, size = 0] = (
      /<text x="(\S+)" y="(\S+)" font-size="(\S+)" text-anchor="middle">108</.exec(html) ?? []
    ).map(Number);
    const { width, height } = textBox('108', size);
    const middle = y - 0.36 * size;
    expect(Math.hypot(x1 - x0, y1 - y0)).toBeGreaterThan(1);
    expect(Math.max(Math.abs(x1 - x) / (width / 2), Math.abs(y1 - middle) / (height / 2))).toBeCloseTo(1, 1);
  });
});

describe('numbers on a plan', () => {
  const stand = fc.record({
    x: fc.integer({ min: -240, max: 240 }),
    y: fc.integer({ min: -240, max: 240 }),
    half: fc.integer({ min: 2, max: 70 }),
    other: fc.integer({ min: 2, max: 70 }),
    isRound: fc.boolean(),
  });
  const outline = { x0: -270, y0: -270, x1: 270, y1: 270 };

  it('stand once each, readable, never on one another and never on another piece', () => {
    fc.assert(
      fc.property(fc.array(stand, { maxLength: 60 }), (asked) => {
        const stands: Stand[] = [];
        for (const { x, y, half, other, isRound } of asked) {
          const one = {
            ids: [String(100 + stands.length)],
            xMm: x,
            yMm: y,
            hw: isRound ? 0 : half,
            hd: isRound ? 0 : other,
            r: isRound ? half : 0,
            trayMm: 0,
            turned: false,
            heightMm: 50,
          };
          if (stands.every((s) => !meet(boxOf(s), boxOf(one)))) stands.push(one);
        }
        const least = 16;
        const labels = placeLabels({
          stands,
          textOf: ({ ids }) => ids[0] ?? '',
          blocked: [],
          outline,
          least,
          wanted: 26,
        });
        expect(labels.map(({ id }) => id).sort()).toEqual(stands.map(({ ids }) => ids[0]).sort());
        const boxes = labels.map(({ text, x, y, size }) => {
          expect(size).toBeGreaterThanOrEqual(least);
          const { width, height } = textBox(text, size);
          return { x0: x - width / 2, x1: x + width / 2, y0: y - height / 2, y1: y + height / 2 };
        });
        boxes.forEach((box, i) => {
          boxes.forEach((other, j) => {
            if (i < j) expect(meet(box, other), `${labels[i]?.text} on ${labels[j]?.text}`).toBe(false);
          });
          const label = labels[i];
          for (const other of stands) {
            const isOwn = other.ids[0] === label?.id;
            if (isOwn && label?.from === null) expect(holds(boxOf(other), box)).toBe(true);
            else if (other.r === 0) expect(meet(box, boxOf(other))).toBe(false);
          }
        });
      }),
      { numRuns: 60 },
    );
  });

  it('of hundreds of crumbs still do not overlap', () => {
    const stands: Stand[] = Array.from({ length: 300 }, (_, i) => ({
      ids: [String(1000 + i)],
      xMm: -240 + (i % 20) * 25,
      yMm: -180 + Math.floor(i / 20) * 25,
      hw: 0,
      hd: 0,
      r: 10,
      trayMm: 0,
      turned: false,
      heightMm: 20,
    }));
    const labels = placeLabels({
      stands,
      textOf: (s) => s.ids[0] ?? '',
      blocked: [],
      outline,
      least: 17,
      wanted: 26,
    });
    expect(labels).toHaveLength(300);
    const ys = labels.filter(({ x }) => x < outline.x0).map(({ y }) => y);
    ys.slice(1).forEach((y, i) => {
      expect(y - (ys[i] ?? 0)).toBeGreaterThanOrEqual(17);
    });
  });

  const boxOf = ({ xMm, yMm, hw, hd, r }: Stand) => ({
    x0: xMm - (r || hw),
    x1: xMm + (r || hw),
    y0: -yMm - (r || hd),
    y1: -yMm + (r || hd),
  });
  type Box = ReturnType<typeof boxOf>;
  const holds = (outer: Box, inner: Box) =>
    outer.x0 <= inner.x0 && outer.x1 >= inner.x1 && outer.y0 <= inner.y0 && outer.y1 >= inner.y1;
});

describe('the side view', () => {
  const html = renderToString(<SideView problem={PROBLEM} floors={FLOORS} />);

  it('draws every shelf at its height and every stack, halves side by side', () => {
    expect(html.match(/class="side-shelf"/g)).toHaveLength(4);
    expect(html.match(/class="side-piece/g)).toHaveLength(6);
    expect(html).toMatch(/class="side-shelf" x="-260" y="-220" width="260" height="20"/);
    expect(html).toMatch(/class="side-shelf" x="0" y="-220" width="260" height="20"/);
    // 200 mm on a shelf at 220 mm reaches 420 mm.
    expect(html).toMatch(/x="75" y="-420" width="90" height="200"/);
  });

  it('says in words what it shows', () => {
    expect(html).toContain('Level 2, right half, nothing above: tallest 200 mm, 1 piece, 180 mm free above.');
    expect(floorWords(floor('full', 1))).toBe('Level 1, posts of 160 mm: tallest 140 mm, 3 pieces');
    expect(html).not.toMatch(/ style=|NaN|undefined/);
  });
});
