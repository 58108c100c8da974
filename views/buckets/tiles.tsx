import type { Reader } from '../../server/buckets/actions/reader.ts';
import type { BucketNow, Tile } from '../../server/buckets/service/index.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import { Empty, Flash, More } from '../ui/panel.tsx';
import { Act, PlainAct } from '../ui/verdict.tsx';
import { SubPage } from './parts.tsx';

interface TilesPageProps {
  bucket: BucketNow;
  tiles: Tile[];
  mayEdit: boolean;
  /** What was done just before. */
  flash: string | null;
  /** Why an act was not done. */
  refused: string | null;
  reader: Reader;
}

/** What the glaze looks like: by clay and firing, newest first in each. */
export function TilesPage({ bucket, tiles, mayEdit, flash, refused, reader }: TilesPageProps) {
  const at = `/buckets/${bucket.code}/tiles`;
  const headings = [...new Set(tiles.map(headingOf))];
  return (
    <SubPage bucket={bucket} title="Fired tiles">
      {flash !== null && <Flash words={flash} />}
      {refused !== null && <Flash words={refused} tone="refused" />}
      {tiles.length === 0 ? (
        <Empty title="No tile yet">
          <p>A photo of a fired tile says more of a glaze than its name.</p>
          {mayEdit && <Act href={`${at}/new`} label="Add the first tile" />}
        </Empty>
      ) : (
        mayEdit && (
          <p>
            <a class="plain" href={`${at}/new`}>
              Add a tile
            </a>
          </p>
        )
      )}
      {headings.map((heading) => (
        <section key={heading}>
          <h3>{heading}</h3>
          <ul class="tiles">
            {tiles
              .filter((tile) => headingOf(tile) === heading)
              .map((tile) => (
                <li key={tile.number}>
                  <TileFigure tile={tile} bucket={bucket} reader={reader} />
                  {mayEdit && <TileActs tile={tile} bucket={bucket} reader={reader} />}
                </li>
              ))}
          </ul>
        </section>
      ))}
    </SubPage>
  );
}

const headingOf = ({ clay, cone }: Tile): string => `${clay}, cone ${cone}`;

/** The newest tiles, on the bucket's own page. */
export function SomeTiles({ bucket, tiles, reader }: { bucket: BucketNow; tiles: Tile[]; reader: Reader }) {
  const at = `/buckets/${bucket.code}/tiles`;
  return (
    <>
      {tiles.length === 0 ? (
        <p class="soft">None yet.</p>
      ) : (
        <ul class="tiles">
          {tiles.map((tile) => (
            <li key={tile.number}>
              <TileFigure tile={tile} bucket={bucket} reader={reader} isHeaded />
            </li>
          ))}
        </ul>
      )}
      <p class="row">
        {tiles.length > 0 && <a href={at}>All fired tiles</a>}
        {reader.technician && <a href={`${at}/new`}>Add a tile</a>}
      </p>
    </>
  );
}

interface TileFigureProps {
  tile: Tile;
  bucket: BucketNow;
  reader: Reader;
  /** Names clay and firing, where no heading does. */
  isHeaded?: boolean;
}

function TileFigure({ tile, bucket, reader, isHeaded = false }: TileFigureProps) {
  const over = tile.overName && `over ${tile.overName}`;
  const words = [`${bucket.name} on ${tile.clay}`, over, `cone ${tile.cone}`].filter(Boolean).join(', ');
  const said = tile.accepted === null ? null : tile.accepted ? 'accepted' : 'not accepted';
  return (
    <figure class="tile">
      {tile.photo === null ? (
        <p class="tile-blank">No photo</p>
      ) : (
        <a href={`/files/${tile.photo}`}>
          <img src={`/files/${tile.photo}`} alt={words} loading="lazy" decoding="async" />
        </a>
      )}
      <figcaption>
        {isHeaded && <b>{headingOf(tile)}</b>}
        {tile.overCode && (
          <span>
            over <a href={`/buckets/${tile.overCode}`}>{tile.overName}</a>
          </span>
        )}
        {tile.note && <span>“{tile.note}”</span>}
        <small class="soft">
          {[said, tile.batch !== null && `batch ${tile.batch}`, `number ${tile.number}`]
            .filter(Boolean)
            .join(' · ')}
          {`, ${tile.madeBy}, ${shownTime(tile.madeAt, reader.now, reader.timeZone)}`}
        </small>
      </figcaption>
    </figure>
  );
}

function TileActs({ tile, bucket, reader }: Omit<TileFigureProps, 'isHeaded'>) {
  const at = `/buckets/${bucket.code}/tiles/${tile.number}`;
  const { service, batch } = bucket.facts;
  const mayAccept = service === 'on-test' && tile.photo !== null && tile.batch === batch;
  return (
    <>
      {mayAccept && (
        <PlainAct
          post={`${at}/accept`}
          idempotencyKey={`${reader.key}-accept-${tile.number}`}
          label={`Accept the glaze by tile ${tile.number}`}
          small="The bucket is in service from then on."
        />
      )}
      <More summary={`Withdraw tile ${tile.number}`}>
        <PlainAct
          post={`${at}/withdraw`}
          idempotencyKey={`${reader.key}-withdraw-${tile.number}`}
          label="Take it off this page"
          small="It is kept, not erased."
        />
      </More>
    </>
  );
}
