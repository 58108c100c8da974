import type { Piece, Problem } from '../../../server/kilns/packing/problem.ts';

/** Numbers from 0 to 1 that are the same every time for a seed: a linear step and a mix of its bits. */
export function randomOf(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x9e3779b9) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 16), 0x21f0aaad);
    mixed = Math.imul(mixed ^ (mixed >>> 15), 0x735a2d97);
    return ((mixed ^ (mixed >>> 15)) >>> 0) / 2 ** 32;
  };
}

export interface Boxes {
  side: number;
  boxes: [width: number, depth: number][];
}

/** Side of the bin and longest side of a box, classes 1 to 6 of Berkey and Wang (1987). */
const BERKEY_WANG = [
  [10, 10],
  [30, 10],
  [40, 35],
  [100, 35],
  [100, 100],
  [300, 100],
] as const;

/** One instance of class 1 … 10, sides whole numbers: Berkey and Wang (1987), then Martello and Vigo (1998). */
export function classOf(number: number, n: number, seed: number): Boxes {
  const random = randomOf(1_000_003 * number + 1009 * n + seed);
  const whole = (from: number, to: number) =>
    Math.ceil(from) + Math.floor(random() * (Math.floor(to) - Math.ceil(from) + 1));
  const given = BERKEY_WANG[number - 1];
  if (given) {
    const [side, most] = given;
    return { side, boxes: Array.from({ length: n }, () => [whole(1, most), whole(1, most)]) };
  }
  const W = 100;
  const types: (() => [number, number])[] = [
    () => [whole((2 * W) / 3, W), whole(1, W / 2)],
    () => [whole(1, W / 2), whole((2 * W) / 3, W)],
    () => [whole(W / 2, W), whole(W / 2, W)],
    () => [whole(1, W / 2), whole(1, W / 2)],
  ];
  return {
    side: W,
    boxes: Array.from({ length: n }, () => {
      const draw = random();
      const own = number - 7;
      // 70 % of the class's own type, 10 % of each other one.
      const type =
        draw < 0.7 ? own : [0, 1, 2, 3].filter((each) => each !== own)[Math.floor((draw - 0.7) * 10)];
      return types[Math.min(type ?? own, 3)]?.() ?? [1, 1];
    }),
  };
}

/** A square of 1000 cut into n boxes by cuts from edge to edge: they fill it without waste. */
export function cutSquare(n: number, seed: number): Boxes {
  const random = randomOf(7919 * n + seed);
  const boxes: [number, number][] = [[1000, 1000]];
  while (boxes.length < n) {
    boxes.sort((a, b) => b[0] * b[1] - a[0] * a[1]);
    // One of the larger ones, along its longer side.
    const [box] = boxes.splice(Math.floor(random() * Math.min(4, boxes.length)), 1);
    if (!box) break;
    const [width, depth] = box;
    const share = 0.2 + 0.6 * random();
    if (width >= depth) {
      const at = Math.round(width * share);
      boxes.push([at, depth], [width - at, depth]);
    } else {
      const at = Math.round(depth * share);
      boxes.push([width, at], [width, depth - at]);
    }
  }
  return { side: 1000, boxes };
}

/** A flat problem without gaps: a plain bin packer. */
export function flat({ side, boxes }: Boxes, more: Partial<Problem> = {}): Problem {
  return {
    ...FLAT,
    shelf: { shape: 'rectangle', widthMm: side, depthMm: side },
    pieces: boxes.map(([widthMm, depthMm], i) => ({
      id: String(i + 1),
      footprint: { shape: 'rectangle', widthMm, depthMm },
      heightMm: 10,
    })),
    ...more,
  };
}

const FLAT = {
  usableHeightMm: 10,
  shelfThicknessMm: 0,
  pieceGapMm: 0,
  clearanceMm: 0,
  topClearanceMm: 0,
  posts: [],
  maxLevels: 1,
  seed: 1,
};

/** n circles of 100 mm on a round shelf `ratio` times as wide. */
export const circlesInCircle = (n: number, ratio: number): Problem => ({
  ...FLAT,
  shelf: { shape: 'round', diameterMm: 100 * ratio },
  pieces: Array.from({ length: n }, (_, i) => ({
    id: String(i + 1),
    footprint: { shape: 'circle', diameterMm: 100 },
    heightMm: 10,
  })),
});

/**
 * What stands on the glaze shelf of a shared studio: cups, bowls, plates, tall pots and slabs, to 5 mm. Common practice,
 * no source.
 */
export function queueOf(n: number, seed: number, boxes: boolean): Piece[] {
  const random = randomOf(104_729 * n + seed);
  const five = (from: number, to: number) => Math.round((from + random() * (to - from)) / 5) * 5;
  const sorts: [
    share: number,
    width: [number, number],
    height: [number, number],
    depth?: [number, number],
  ][] = [
    [0.35, [75, 110], [80, 120]],
    [0.25, [120, 180], [50, 100]],
    [0.1, [200, 280], [25, 45]],
    [0.12, [90, 170], [150, 300]],
    [0.18, [80, 230], [40, 160], [60, 180]],
  ];
  return Array.from({ length: n }, (_, i): Piece => {
    let draw = random();
    const sort =
      sorts.find(([share]) => {
        draw -= share;
        return draw < 0;
      }) ?? sorts[0];
    if (!sort) throw new Error('There is no ware.');
    const [, width, height, depth] = sort;
    const widthMm = five(...width);
    const depthMm = depth ? five(...depth) : widthMm;
    return {
      id: String(i + 1),
      footprint:
        depth || boxes ? { shape: 'rectangle', widthMm, depthMm } : { shape: 'circle', diameterMm: widthMm },
      heightMm: five(...height),
    };
  });
}

const POSTS = [40, 60, 80, 100, 130, 160, 200].map((heightMm) => ({ heightMm, count: 12 }));

const square: Problem['shelf'] = { shape: 'rectangle', widthMm: 500, depthMm: 500 };
const octagon: Problem['shelf'] = { shape: 'polygon', sides: 8, acrossFlatsMm: 580 };

interface Kiln {
  name: string;
  shelf: Problem['shelf'];
  boxes: boolean;
  halves: boolean;
  places: [number, number][];
}

export const KILNS: Kiln[] = [
  {
    name: 'square shelf, boxes',
    shelf: square,
    boxes: true,
    halves: false,
    places: [
      [20, 20],
      [480, 20],
      [250, 480],
    ],
  },
  {
    name: 'square shelf, mixed',
    shelf: square,
    boxes: false,
    halves: false,
    places: [
      [20, 20],
      [480, 20],
      [250, 480],
    ],
  },
  {
    name: 'octagon with halves, mixed',
    shelf: octagon,
    boxes: false,
    halves: true,
    places: [
      [0, 265],
      [-235, -110],
      [235, -110],
    ],
  },
];

/** One load of a queue in a kiln; without posts every height is in stock and stands nowhere. */
export function chamber(kiln: Kiln, pieces: Piece[], worth: 'volume' | 'count', posts: boolean): Problem {
  const clearanceMm = 12;
  const floorOf = ({ footprint }: Piece) =>
    footprint.shape === 'circle'
      ? (Math.PI / 4) * footprint.diameterMm ** 2
      : footprint.widthMm * footprint.depthMm;
  const heights = [...new Set(pieces.map(({ heightMm }) => heightMm + clearanceMm))];
  return {
    shelf: kiln.shelf,
    halves: kiln.halves,
    usableHeightMm: 700,
    floorPostMm: 20,
    shelfThicknessMm: 15,
    pieceGapMm: 6,
    clearanceMm,
    topClearanceMm: 40,
    posts: posts ? POSTS : heights.map((heightMm) => ({ heightMm, count: 999 })),
    stackedPosts: posts,
    ...(posts
      ? { postPositions: kiln.places.map(([xMm, yMm]) => ({ xMm, yMm, widthMm: 40, depthMm: 40 })) }
      : {}),
    maxLoads: 1,
    seed: 1,
    pieces: pieces.map((piece) => ({
      ...piece,
      value: worth === 'count' ? 1 : (floorOf(piece) * piece.heightMm) / 1e6,
    })),
  };
}
