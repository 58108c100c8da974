import { TilesPage } from '../../../views/buckets/tiles.tsx';
import type { Act } from '../../core/actor.ts';
import { NotFound } from '../../core/errors.ts';
import { may } from '../../core/policy.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { acceptTile, findBucket, listTiles, withdrawTile } from '../service/index.ts';
import { readerOf } from './reader.ts';

export async function showTiles(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const code = visit.param('code');
  const { added: number, done } = visit.query;
  const [bucket, tiles] = await Promise.all([findBucket(visit.read, code), listTiles(visit.read, code)]);
  const added = tiles.find((tile) => String(tile.number) === number);
  const flash =
    (added && `Tile ${added.number} is on the page.`) ??
    (done === 'withdrawn' ? 'Withdrawn: the tile is kept, but no longer shown.' : null);
  return page(
    `Fired tiles of ${bucket.name}`,
    'wall',
    <TilesPage
      bucket={bucket}
      tiles={tiles}
      mayEdit={may(visit.caller.role, 'tiles.edit')}
      flash={flash}
      refused={form.errors.map(({ message }) => message).join(' ') || null}
      reader={readerOf(visit)}
    />,
  );
}

function numberOf(visit: Visit): number {
  const raw = visit.param('number');
  if (!/^[1-9]\d{0,8}$/.test(raw)) throw new NotFound('This bucket has no such tile.');
  return Number(raw);
}

const onTile =
  <T,>(
    work: (act: Act, code: string, number: number) => Promise<T>,
    leads: (bucket: string, done: T) => string,
  ) =>
  (visit: Visit): Promise<Answer> =>
    visit.submit(
      (form) => showTiles(visit, form),
      async () => {
        const code = visit.param('code');
        const done = await visit.act((act) => work(act, code, numberOf(visit)));
        return go(leads(`/buckets/${encodeURIComponent(code)}`, done));
      },
    );

export const acceptByTile = onTile(acceptTile, (bucket, event) => `${bucket}?did=${event}`);
export const takeTileOff = onTile(withdrawTile, (bucket) => `${bucket}/tiles?done=withdrawn`);

/** The address an act on a tile is sent to, opened by itself, leads to the tiles. */
export const backToTiles = async (visit: Visit): Promise<Answer> =>
  go(`/buckets/${encodeURIComponent(visit.param('code'))}/tiles`);
