import { CoatPage, coatAt, StrikeTilePage, tightened } from '../../../views/ware/coat.tsx';
import { NewTilePage } from '../../../views/ware/new-tile.tsx';
import type { Typed } from '../../core/forms.ts';
import { beforeIn, numberIn, numberOf } from '../../core/param.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import { type Clay, listClays } from '../service/clays.ts';
import { type CoatAdvice, coatAdvice, dwellWithout, listCoatPairs } from '../service/coat.ts';
import {
  addTile,
  bucketsForTiles,
  coatTileForm,
  findCoatTile,
  strikeTile,
  strikeTileForm,
} from '../service/coat-tiles.ts';
import { readerOf } from './reader.ts';

const A_PAGE = 25;
const MOST_PAIRS = 40;

const textIn = (typed: string | string[] | undefined): string | null =>
  typeof typed === 'string' && typed !== '' ? typed : null;

/** What to count for one clay in one bucket today. */
export async function showCoat(visit: Visit): Promise<Answer> {
  const { query, read } = visit;
  const chosen = { clayId: numberOf(query.clay), bucket: textIn(query.bucket) };
  const isPair = chosen.clayId !== null && chosen.bucket !== null;
  const [clays, buckets, pairs, advice] = await Promise.all([
    listClays(read),
    bucketsForTiles(read),
    listCoatPairs(read),
    isPair ? coatAdvice(read, { clayId: chosen.clayId ?? 0, bucket: chosen.bucket ?? '' }) : null,
  ]);
  const before = beforeIn(visit);
  const all = (advice?.tiles ?? []).filter(({ id }) => before === null || id < before);
  const tiles = all.slice(0, A_PAGE);
  const at = advice && coatAt(advice.clay.id, advice.bucket.code);
  const isNear = ({ clayId, code }: { clayId: number; code: string }) =>
    clayId === chosen.clayId || code === advice?.bucket.code || code === chosen.bucket;
  const others = pairs.filter(
    ({ clayId, code }) => !(clayId === advice?.clay.id && code === advice.bucket.code),
  );
  return page(
    advice ? `${advice.clay.name} in ${advice.bucket.name}` : 'How long to dip',
    'ware',
    <CoatPage
      clays={withChosen(clays, advice)}
      buckets={buckets}
      chosen={{ ...chosen, bucket: advice?.bucket.code ?? chosen.bucket }}
      advice={advice}
      pairs={[...others.filter(isNear), ...others.filter((pair) => !isNear(pair))].slice(0, MOST_PAIRS)}
      done={advice && (await doneWords(visit, advice))}
      tiles={tiles}
      older={at && all.length > A_PAGE ? `${at}&before=${tiles.at(-1)?.id}` : null}
      newest={before === null ? null : at}
      reader={readerOf(visit)}
    />,
  );
}

/** A retired clay stays chosen where it was asked for. */
const withChosen = (clays: Clay[], advice: CoatAdvice | null): Pick<Clay, 'id' | 'name'>[] =>
  !advice || clays.some(({ id }) => id === advice.clay.id) ? clays : [...clays, advice.clay];

async function doneWords(visit: Visit, advice: CoatAdvice): Promise<string | null> {
  if (visit.query.done === 'struck') return 'Struck out: the tile is kept, but counts no more.';
  const added = numberOf(visit.query.added);
  const words = added === null ? null : await madeOf(visit, advice, added);
  return words === null ? null : `The tile is kept. ${words}`;
}

/** 'Before: count 2 to 5. Now: count 3 to 4.', or null for a tile that does not count here. */
async function madeOf(visit: Visit, advice: CoatAdvice, tile: number): Promise<string | null> {
  const ask = { clayId: advice.clay.id, bucket: advice.bucket.code };
  const before = await dwellWithout(visit.read, ask, tile);
  return before && tightened(before, advice.dwell);
}

/** A new test tile. */
export async function showNewTile(visit: Visit, form?: FormState): Promise<Answer> {
  const { read, query } = visit;
  const [clays, buckets] = await Promise.all([listClays(read), bucketsForTiles(read)]);
  const shown = form ?? emptyForm(typedFrom(query, clays));
  const clay = clays.find(({ name }) => name === shown.typed.clay);
  const bucket = buckets.find(({ code }) => code === shown.typed.bucket);
  const advice = clay && bucket ? await coatAdvice(read, { clayId: clay.id, bucket: bucket.code }) : null;
  const added = form ? null : numberOf(query.added);
  const tile = added === null || !advice ? null : await findCoatTile(read, added);
  const kept =
    tile && advice && tile.clay.id === advice.clay.id && tile.bucket === advice.bucket.code
      ? { tile, words: await madeOf(visit, advice, tile.id) }
      : null;
  return page(
    'A test tile',
    'ware',
    <NewTilePage {...{ clays, buckets, kept, advice }} form={shown} newKey={randomSecret()} />,
  );
}

function typedFrom(query: Typed, clays: Clay[]): Typed {
  const clay = clays.find(({ id }) => id === numberOf(query.clay));
  const area = textIn(query.area);
  return {
    ...(clay && { clay: clay.name }),
    ...(textIn(query.bucket) !== null && { bucket: textIn(query.bucket) ?? '' }),
    ...(area !== null && /^[\d.]{1,8}$/.test(area) && { areaCm2: area }),
  };
}

/** Keeps a tile. */
export const saveTile = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showNewTile(visit, form),
    async () => {
      const command = visit.form(coatTileForm);
      const tile = await visit.act((act) => addTile(act, command));
      const pair = `clay=${tile.clay.id}&bucket=${tile.bucket}&added=${tile.id}`;
      return go(
        visit.typed.next === 'count'
          ? `/bench/coat?${pair}`
          : `/bench/tiles/new?${pair}&area=${tile.areaCm2}`,
      );
    },
  );

const tileId = (visit: Visit): number => numberIn(visit, 'id', 'There is no such tile.');

/** Asks why a tile does not count. */
export async function showStrikeTile(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const tile = await findCoatTile(visit.read, tileId(visit));
  return page(
    'Strike out a tile',
    'ware',
    <StrikeTilePage tile={tile} form={form} newKey={randomSecret()} />,
  );
}

/** Strikes a tile out. */
export const takeTileOut = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showStrikeTile(visit, form),
    async () => {
      const id = tileId(visit);
      const command = visit.form(strikeTileForm);
      await visit.act((act) => strikeTile(act, id, command));
      const { clay, bucket } = await findCoatTile(visit.read, id);
      return go(`${coatAt(clay.id, bucket)}&done=struck`);
    },
  );
