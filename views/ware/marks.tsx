import type { FormState } from '../../server/core/routes.ts';
import type { Mark } from '../../server/ware/service/marks.ts';
import { Field, Form, PhotoField, Submit } from '../ui/field.tsx';
import { Empty, Flash, More, Panel } from '../ui/panel.tsx';
import { PlainAct } from '../ui/verdict.tsx';
import { Kept, keptField } from './register.tsx';

/** How ware is marked so that it is found again after the fire. */
export function MarkingAdvice() {
  return (
    <Panel title="What lasts through the fire">
      <ul>
        <li>Leather-hard: press or cut the piece's number, or your own mark, into the foot.</li>
        <li>Bisque: write it under the foot with an underglaze pencil.</li>
        <li>Wax pencil and paper burn off. So does pen.</li>
        <li>The tag stays on the rack: nothing but clay and glaze goes into the kiln.</li>
      </ul>
    </Panel>
  );
}

interface MarksProps {
  marks: Mark[];
  form: FormState;
  maySeeAll: boolean;
  done: string | null;
  newKey: string;
}

export function MarksPage({ marks, form, maySeeAll, done, newKey }: MarksProps) {
  const kept = keptField(form);
  return (
    <>
      {done && <Flash words={done} />}
      <h1>Your marks</h1>
      <p class="soft narrow">
        What you cut or write into the foot, with a photo of it. It is how a pot without a number finds you.
      </p>
      {marks.length === 0 ? (
        <p>None yet.</p>
      ) : (
        <ul class="tiles">
          {marks.map((mark) => (
            <li key={mark.id}>
              <MarkFigure mark={mark} />
              <More summary={`Take off “${mark.text}”`}>
                <PlainAct
                  post={`/ware/marks/${mark.id}/off`}
                  idempotencyKey={`${newKey}-${mark.id}`}
                  label="Not my mark any more"
                />
              </More>
            </li>
          ))}
        </ul>
      )}
      <div class="split">
        <Panel title="Add a mark">
          <Form action="/ware/marks" form={form} idempotencyKey={newKey} hidden={{ kept }} takesFiles>
            <Kept form={form} />
            <PhotoField
              name="photo"
              label={kept ? 'Another photo' : 'Photo'}
              hint="The foot of a pot with your mark, close up."
              optional={kept !== undefined}
            />
            <Field
              name="text"
              label="In words"
              hint="Such as: a wave over two dots."
              maxlength={60}
              autocomplete="off"
            />
            <Submit label="Add this mark" />
          </Form>
        </Panel>
        <MarkingAdvice />
      </div>
      <p class="row">
        {maySeeAll && <a href="/ware/marks/all">Everybody's marks</a>}
        <a href="/ware">Back to my ware</a>
      </p>
    </>
  );
}

/** A wall of marks to hold a foot against. */
export function AllMarksPage({ marks }: { marks: Mark[] }) {
  return (
    <>
      <h1>Whose mark is it</h1>
      {marks.length === 0 ? (
        <Empty title="Nobody has shown a mark yet">
          <p>Everybody adds their own, with a photo.</p>
        </Empty>
      ) : (
        <ul class="tiles">
          {marks.map((mark) => (
            <li key={mark.id}>
              <MarkFigure mark={mark} isNamed />
            </li>
          ))}
        </ul>
      )}
      <p class="row">
        <a href="/ware/desk">Back to the desk</a>
        <a href="/ware/marks">Your own marks</a>
      </p>
    </>
  );
}

function MarkFigure({ mark, isNamed = false }: { mark: Mark; isNamed?: boolean }) {
  const whose = isNamed ? `${mark.owner.name}'s mark: ${mark.text}` : `Your mark: ${mark.text}`;
  return (
    <figure class="tile">
      {mark.photo === null ? (
        <p class="tile-blank">No photo</p>
      ) : (
        <a href={`/files/${mark.photo}`}>
          <img src={`/files/${mark.photo}`} alt={whose} loading="lazy" decoding="async" />
        </a>
      )}
      <figcaption>
        {isNamed && <b>{mark.owner.name}</b>}
        <span>{mark.text}</span>
      </figcaption>
    </figure>
  );
}
