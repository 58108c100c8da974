import type { FormState } from '../../server/core/routes.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import type { Reader } from '../../server/ware/actions/reader.ts';
import { FORMS, formWord, PRESETS } from '../../server/ware/presets.ts';
import type { ShelfPiece } from '../../server/ware/service/index.ts';
import { upper } from '../../server/ware/words.ts';
import { Choice, Field, Form, PhotoField, Submit, TextArea } from '../ui/field.tsx';
import { Empty, Flash, Pages } from '../ui/panel.tsx';
import { Act, PlainAct } from '../ui/verdict.tsx';
import { Kept, keptField } from './register.tsx';

const LOOKS = { greenware: 'not fired', bisque: 'bisqued', fired: 'glazed and fired' } as const;

interface FoundProps {
  shelf: ShelfPiece[];
  /** What the page after this one is asked for with. */
  next: number | null;
  isNewest: boolean;
  done: string | null;
  refused: string | null;
  reader: Reader;
}

/** The shelf without names, by photo: anybody says what is theirs, a technician hands it over. */
export function FoundPage({ shelf, next, isNewest, done, refused, reader }: FoundProps) {
  return (
    <>
      {done && <Flash words={done} />}
      {refused && <Flash words={refused} tone="refused" />}
      <h1>Shelf without names</h1>
      {shelf.length === 0 && isNewest ? (
        <Empty title="Every piece has a name">
          <p>A piece that nobody knows whose it is comes here with a photo.</p>
          {reader.technician && <Act href="/ware/found/new" label="Put a piece here" />}
        </Empty>
      ) : (
        <>
          <p class="narrow soft">Is one of these yours? Say so, and a technician hands it over.</p>
          <ul class="tiles">
            {shelf.map((piece) => (
              <li key={piece.number}>
                <FoundPiece piece={piece} reader={reader} />
              </li>
            ))}
          </ul>
          <Pages
            newest={isNewest ? null : '/ware/found'}
            older={next === null ? null : `/ware/found?before=${next}`}
            olderWords="Older pieces"
          />
          {reader.technician && (
            <p>
              <a class="plain" href="/ware/found/new">
                Put a piece here
              </a>
            </p>
          )}
        </>
      )}
      <p>
        <a href="/ware">Back to my ware</a>
      </p>
    </>
  );
}

function FoundPiece({ piece, reader }: { piece: ShelfPiece; reader: Reader }) {
  const { number, form, photo, looks, mark, place, since, isClaimed } = piece;
  const what = `${upper(formWord(form))} ${number}`;
  return (
    <>
      <figure class="tile">
        {photo ? (
          <a href={`/files/${photo}`} hx-boost="false">
            <img src={`/files/${photo}`} alt={what} loading="lazy" />
          </a>
        ) : (
          <p class="tile-blank">No photo</p>
        )}
        <figcaption>
          {reader.technician ? (
            <a href={`/ware/${number}`}>
              <b>{what}</b>
            </a>
          ) : (
            <b>{what}</b>
          )}
          <span class="soft">
            {[looks && LOOKS[looks], mark && `marked ${mark}`, place].filter(Boolean).join(', ')}
          </span>
          <span class="soft">Here since {shownTime(since, reader.now, reader.timeZone)}</span>
        </figcaption>
      </figure>
      {isClaimed ? (
        <p>You said it is yours. A technician hands it over.</p>
      ) : (
        <PlainAct
          post={`/ware/${number}/claim`}
          idempotencyKey={`${reader.key}-${number}`}
          label="It is mine"
        />
      )}
    </>
  );
}

/** A technician puts a piece on the shelf by its photo. */
export function NewFoundPage({ form, reader }: { form: FormState; reader: Reader }) {
  const kept = keptField(form);
  return (
    <>
      <h1>A piece without a name</h1>
      <Form action="/ware/found/new" form={form} idempotencyKey={reader.key} hidden={{ kept }} takesFiles>
        <Kept form={form} />
        <PhotoField
          name="photo"
          label={kept ? 'Another photo' : 'Photo'}
          hint="The whole piece: its owner knows it by that."
          optional={kept !== undefined}
        />
        <Choice
          name="what"
          label="What it is"
          options={FORMS.map((name) => ({
            value: name,
            label: name === 'other' ? 'Something else' : upper(PRESETS[name].word),
          }))}
        />
        <Choice
          name="looks"
          label="How it is"
          options={Object.entries(LOOKS).map(([value, words]) => ({ value, label: upper(words) }))}
        />
        <Field name="mark" label="Mark in the foot" maxlength={30} optional />
        <Field name="place" label="Where it stands now" maxlength={60} optional />
        <TextArea name="note" label="Note" rows={2} maxlength={500} optional />
        <Submit label="Put it on the shelf" />
      </Form>
      <p>
        <a href="/ware/found">Back to the shelf</a>
      </p>
    </>
  );
}
