import { z } from 'zod';
import { type FieldError, Invalid } from '../core/errors.ts';
import { choice, email, type FormSetting, flag, quantity, readForm, type Typed } from '../core/forms.ts';
import type { KeepOut, PostPosition, PostStock } from './packing/problem.ts';
import {
  type KilnCommand,
  type KilnToEdit,
  keepOutRow,
  kilnFaults,
  kilnFields,
  MOST_ROWS,
  positionRow,
  postRow,
  shelfBody,
} from './service/index.ts';
import { figureText, gather, movedPaths, rowCount, rowsIn } from './typed-rows.ts';

// A kiln's furniture is typed into numbered rows: postHeight1, postCount1, postHeight2 and so on.

/** The lists of a kiln's form: under which field each figure of a row is typed. */
const LISTS = {
  posts: { heightMm: 'postHeight', count: 'postCount' },
  postPositions: { xMm: 'spotX', yMm: 'spotY', widthMm: 'spotWidth', depthMm: 'spotDepth' },
  keepOuts: {
    xMm: 'keepX',
    yMm: 'keepY',
    acrossMm: 'keepAcross',
    depthMm: 'keepDepth',
    fromMm: 'keepFrom',
    toMm: 'keepTo',
  },
} as const;
type ListName = keyof typeof LISTS;

const { atmospheres: _atmospheres, duty: _duty, ...plainFields } = kilnFields;

const flatForm = z.object({
  ...plainFields,
  oxidation: flag(),
  reduction: flag(),
  dutyPercent: quantity(5, 100).optional(),
  firers: z.array(email()).default([]),
});
const shapeForm = z.object({ shape: choice(['round', 'polygon', 'rectangle']) });
/** A keep-out is round unless it has a depth of its own. */
const keepRow = z.object({
  ...keepOutRow,
  acrossMm: quantity(5, 3000, 'mm'),
  depthMm: quantity(5, 3000, 'mm').optional(),
});
const emptySpots = z.object({ spotsAnew: flag() });

/** How a shelf of each shape is typed. */
const SHAPES = {
  round: { diameterMm: 'diameterMm' },
  polygon: { sides: 'sides', acrossFlatsMm: 'acrossFlatsMm' },
  rectangle: { widthMm: 'shelfWidthMm', depthMm: 'shelfDepthMm' },
} as const;

/** How many rows of each list to show: those that are filled in, or were shown before, and some to spare. */
export const kilnRows = (typed: Typed): Record<ListName, number> => ({
  posts: rowCount(typed, Object.values(LISTS.posts), { least: 4, spare: 2, most: MOST_ROWS.posts }),
  postPositions: rowCount(typed, Object.values(LISTS.postPositions), {
    least: 3,
    spare: 1,
    most: MOST_ROWS.postPositions,
  }),
  keepOuts: rowCount(typed, Object.values(LISTS.keepOuts), { least: 2, spare: 1, most: MOST_ROWS.keepOuts }),
});

/** What a new kiln's form begins with: common practice, no source. */
export const newKiln = (makersEmail: string): Typed => ({
  opens: 'top',
  controls: 'front',
  shape: 'round',
  halfShelves: '0',
  floorPostMm: '20',
  edgeGapMm: '6',
  splitGapMm: '6',
  clearanceMm: '12',
  topClearanceMm: '40',
  postsPerShelf: '3',
  tallLevel: 'any',
  power: 'electric',
  oxidation: 'yes',
  firers: [makersEmail],
});

/**
 * The form as a command. @throws Invalid with every fault at once, each beside its field
 */
export function readKiln(typed: Typed, setting: FormSetting): KilnCommand {
  const errors: FieldError[] = [];
  const flat = gather(errors, () => readForm(flatForm, typed, setting), null);
  const shelf = gather(errors, () => readShelf(typed, setting), null);
  const rows = <N extends ListName, R extends z.ZodType>(list: N, row: R) =>
    rowsIn(typed, LISTS[list]).flatMap(({ number, typed: one }) => {
      const rename = (path: string) => fieldOf(list, path, number);
      return gather(errors, () => [{ number, value: readForm(row, one, setting) }], [], rename);
    });
  const posts = rows('posts', postRow);
  const anew = readForm(emptySpots, typed, setting).spotsAnew;
  const postPositions = anew ? [] : rows('postPositions', positionRow);
  const keepOuts = rows('keepOuts', keepRow);
  if (flat && !flat.oxidation && !flat.reduction)
    errors.push({ path: 'oxidation', message: 'Choose at least one.' });
  if (!flat || !shelf || errors.length > 0) throw new Invalid(errors);
  const { oxidation, reduction, dutyPercent, ...fields } = flat;
  const command: KilnCommand = {
    ...fields,
    ...(dutyPercent !== undefined && { duty: dutyPercent / 100 }),
    atmospheres: [...(oxidation ? ['oxidation' as const] : []), ...(reduction ? ['reduction' as const] : [])],
    shelf,
    posts: posts.map(({ value }) => value),
    postPositions: postPositions.map(({ value }) => value),
    keepOuts: keepOuts.map(({ value: { acrossMm, depthMm, ...place } }) =>
      depthMm === undefined
        ? { shape: 'circle', diameterMm: acrossMm, ...place }
        : { shape: 'rectangle', widthMm: acrossMm, depthMm, ...place },
    ),
  };
  const numbers: Record<string, number[]> = {
    posts: posts.map(({ number }) => number),
    postPositions: postPositions.map(({ number }) => number),
    keepOuts: keepOuts.map(({ number }) => number),
  };
  const faults = movedPaths(kilnFaults(command), (list, at, key) => {
    const number = numbers[list]?.[at];
    return number === undefined ? null : fieldOf(list as ListName, key, number);
  });
  if (faults.length > 0) throw new Invalid(faults);
  return command;
}

function readShelf(typed: Typed, setting: FormSetting): KilnCommand['shelf'] {
  const { shape } = readForm(shapeForm, typed, setting);
  const names: Record<string, string> = SHAPES[shape];
  const own = Object.fromEntries(Object.entries(names).map(([key, field]) => [key, typed[field]]));
  const errors: FieldError[] = [];
  const shelf = gather(
    errors,
    () => readForm(shelfBody, { ...own, shape }, setting),
    null,
    (path) => names[path] ?? path,
  );
  if (!shelf) throw new Invalid(errors);
  return shelf;
}

const fieldOf = (list: ListName, key: string, number: number): string => {
  const fields: Record<string, string> = { ...LISTS[list] };
  return `${fields[key] ?? Object.values(fields)[0]}${number}`;
};

/** A kiln as its form shows it. */
export function typedFrom({ kiln, firers }: Pick<KilnToEdit, 'kiln' | 'firers'>): Typed {
  const { shelf } = kiln;
  const typed: Typed = {
    code: kiln.code,
    name: kiln.name,
    opens: kiln.opens,
    controls: kiln.controls,
    shape: shelf.shape,
    fullShelves: String(kiln.fullShelves),
    halfShelves: String(kiln.halfShelves),
    shelfThicknessMm: figureText(kiln.shelfThicknessMm),
    usableHeightMm: figureText(kiln.usableHeightMm),
    floorPostMm: figureText(kiln.floorPostMm),
    edgeGapMm: figureText(kiln.edgeGapMm),
    splitGapMm: figureText(kiln.splitGapMm),
    clearanceMm: figureText(kiln.clearanceMm),
    topClearanceMm: figureText(kiln.topClearanceMm),
    postsPerShelf: String(kiln.postsPerShelf),
    stackedPosts: kiln.stackedPosts ? 'yes' : '',
    tallLevel: kiln.tallLevel,
    maxCone: kiln.maxCone,
    oxidation: kiln.atmospheres.includes('oxidation') ? 'yes' : '',
    reduction: kiln.atmospheres.includes('reduction') ? 'yes' : '',
    power: kiln.power,
    kilowatts: figureText(kiln.kilowatts),
    volts: figureText(kiln.volts),
    dutyPercent: figureText(kiln.duty === null ? null : kiln.duty * 100),
    emergency: kiln.emergency,
    firers,
  };
  if (shelf.shape === 'round') typed.diameterMm = figureText(shelf.diameterMm);
  if (shelf.shape === 'polygon') {
    typed.sides = String(shelf.sides);
    typed.acrossFlatsMm = figureText(shelf.acrossFlatsMm);
  }
  if (shelf.shape === 'rectangle') {
    typed.shelfWidthMm = figureText(shelf.widthMm);
    typed.shelfDepthMm = figureText(shelf.depthMm);
  }
  kiln.posts.forEach((post: PostStock, i) => {
    typed[`postHeight${i + 1}`] = figureText(post.heightMm);
    typed[`postCount${i + 1}`] = String(post.count);
  });
  kiln.postPositions.forEach((spot: PostPosition, i) => {
    typed[`spotX${i + 1}`] = figureText(spot.xMm);
    typed[`spotY${i + 1}`] = figureText(spot.yMm);
    typed[`spotWidth${i + 1}`] = figureText(spot.widthMm);
    typed[`spotDepth${i + 1}`] = figureText(spot.depthMm);
  });
  kiln.keepOuts.forEach((zone: KeepOut, i) => {
    typed[`keepX${i + 1}`] = figureText(zone.xMm);
    typed[`keepY${i + 1}`] = figureText(zone.yMm);
    typed[`keepAcross${i + 1}`] = figureText(zone.shape === 'circle' ? zone.diameterMm : zone.widthMm);
    typed[`keepDepth${i + 1}`] = zone.shape === 'circle' ? '' : figureText(zone.depthMm);
    typed[`keepFrom${i + 1}`] = figureText(zone.fromMm);
    typed[`keepTo${i + 1}`] = figureText(zone.toMm);
  });
  return typed;
}

/** Whether anything is typed into the rows of a list, so that a form shows them opened. */
export const isFilled = (typed: Typed, list: ListName): boolean => rowsIn(typed, LISTS[list]).length > 0;
