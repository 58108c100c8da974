import { NewTilePage } from '../../../views/buckets/new-tile.tsx';
import { type Picture, pictureIn } from '../../core/files.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { addTile, findBucket, keepForTile, listBuckets, listClays, tileForm } from '../service/index.ts';
import { readerOf } from './reader.ts';

export async function showNewTile(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const [bucket, buckets, clays] = await Promise.all([
    findBucket(visit.read, visit.param('code')),
    listBuckets(visit.read),
    listClays(visit.read),
  ]);
  return page(
    `Tile of ${bucket.name}`,
    'wall',
    <NewTilePage bucket={bucket} buckets={buckets} clays={clays} form={form} reader={readerOf(visit)} />,
  );
}

/** A photo whose form is refused for something else is kept: nobody walks back to the kiln for it. */
export function recordTile(visit: Visit): Promise<Answer> {
  let picture: Picture | null = null;
  return visit.submit(
    async (form) => showNewTile(visit, picture ? await withKept(visit, form, picture) : form),
    async () => {
      const upload = visit.upload('photo');
      picture = upload && (await pictureIn(upload, 'photo'));
      const command = visit.form(tileForm);
      const code = visit.param('code');
      const { tile, event } = await visit.act((act) => addTile(act, code, command, picture));
      const at = `/buckets/${encodeURIComponent(code)}`;
      return go(event === null ? `${at}/tiles?added=${tile}` : `${at}?did=${event}`);
    },
  );
}

async function withKept(visit: Visit, form: FormState, picture: Picture): Promise<FormState> {
  await visit.services.database.transaction((tx) => keepForTile({ ...visit.read, tx }, picture));
  return { ...form, typed: { ...form.typed, kept: picture.sha256 } };
}
