import type { Instant } from '../../server/core/clock.ts';
import type { FormState } from '../../server/core/routes.ts';
import { firingWords } from '../../server/ware/firing.ts';
import { formWord, formWords } from '../../server/ware/presets.ts';
import type { DryRack, Listed, Overdue, Shelf } from '../../server/ware/service/desk.ts';
import type { PieceNow } from '../../server/ware/service/now.ts';
import { Field, Form, NumberField, Submit } from '../ui/field.tsx';
import { Empty, Flash, Notice } from '../ui/panel.tsx';
import { PlainAct } from '../ui/verdict.tsx';
import { daysAgo, daysSince, openWords, PieceLink } from './desk.tsx';

interface ListProps {
  form: FormState;
  /** How many pieces the last form moved. */
  done: number | null;
  now: Instant;
  newKey: string;
}

/** Why a form was refused, where the form itself is no longer on the page to say so. */
function Refused({ form, isShown }: { form: FormState; isShown: boolean }) {
  if (form.errors.length === 0 || isShown) return null;
  return <Flash words={form.errors.map(({ message }) => message).join(' ')} tone="refused" />;
}

const isFor = (form: FormState, { number }: PieceNow): boolean => form.typed.piece === String(number);

const BackToDesk = () => (
  <p>
    <a href="/ware/desk">Back to the desk</a>
  </p>
);

/** Pieces to feel by hand: all are dry but the ticked ones. */
export function DryPage({ toFeel, drying, form, done, now, newKey }: ListProps & DryRack) {
  const shown = toFeel.first;
  const others = drying.first;
  return (
    <>
      {done !== null && <Flash words={`${formWords('other', done)} bone dry: they wait for the kiln now.`} />}
      <Refused form={form} isShown={(form.typed.also === undefined ? shown : others).length > 0} />
      <h1>Dry rack</h1>
      <p class="narrow">
        Hold the thickest part to your cheek or wrist. Cool is damp, and damp ware bursts. What is not dry
        stays on the rack.
      </p>
      {shown.length + others.length === 0 ? (
        <Empty title="Nothing to feel">
          <p>A piece shows here once it stands on the drying rack.</p>
        </Empty>
      ) : (
        <>
          {shown.length > 0 && (
            <Form
              action="/ware/desk/dry"
              form={form.typed.also === undefined ? form : undefined}
              idempotencyKey={newKey}
            >
              {shown.map(({ number }) => (
                <input key={number} type="hidden" name="shown" value={number} />
              ))}
              <Ticks
                name="not"
                legend="Said to be dry: tick what is not"
                pieces={shown}
                form={form}
                say={(piece) => about(piece, `asked ${daysAgo(piece.waitingSince ?? piece.stageSince, now)}`)}
              />
              <Submit
                label={shown.length === 1 ? 'It is bone dry' : 'All but the ticked ones are bone dry'}
                small="You felt each of them. Their owners are told."
              />
            </Form>
          )}
          {others.length > 0 && (
            <>
              <h2>Nobody asked yet</h2>
              <Form
                action="/ware/desk/dry"
                form={form.typed.also === undefined ? undefined : form}
                idempotencyKey={`${newKey}-also`}
              >
                <Ticks
                  name="also"
                  legend="Drying: tick what is dry"
                  pieces={others}
                  form={form}
                  say={(piece) => about(piece, `drying for ${daysSince(piece.stageSince, now)}`)}
                />
                <Submit label="The ticked ones are bone dry" look="plain" />
              </Form>
            </>
          )}
        </>
      )}
      <MoreToCome list={toFeel} />
      <BackToDesk />
    </>
  );
}

/** How many of a list come once those on the page are dealt with. */
function MoreToCome({ list: { count, first } }: { list: Listed }) {
  return count > first.length ? (
    <p class="soft">{count - first.length} more come once these are done.</p>
  ) : null;
}

const about = ({ owner, place, thickestMm }: PieceNow, when: string): string =>
  [owner?.name ?? 'no name', place, `${Math.round(thickestMm)} mm thick`, when].filter(Boolean).join(', ');

interface TicksProps {
  name: string;
  legend: string;
  pieces: PieceNow[];
  form: FormState;
  say: (piece: PieceNow) => string;
}

function Ticks({ name, legend, pieces, form, say }: TicksProps) {
  const ticked = new Set([form.typed[name] ?? []].flat());
  return (
    <fieldset class="field">
      <legend>{legend}</legend>
      <ul class="tick-list">
        {pieces.map((piece) => (
          <li key={piece.number}>
            <div class="check">
              <label>
                <input
                  type="checkbox"
                  name={name}
                  value={piece.number}
                  checked={ticked.has(String(piece.number))}
                />
                <span>
                  <b>{piece.number}</b> {formWord(piece.form)}
                  <small>{say(piece)}</small>
                </span>
              </label>
            </div>
            <a href={`/ware/${piece.number}`}>See {piece.number}</a>
          </li>
        ))}
      </ul>
    </fieldset>
  );
}

/** Pieces of clay or with glaze that nobody here knows, or with coats that may run: one yes a piece, with its tray. */
export function YesPage({
  asked,
  form,
  done,
  newKey,
  trayMm,
}: ListProps & { asked: Listed /** The tray that is offered. */; trayMm: number }) {
  const yesAsked = asked.first;
  return (
    <>
      {done !== null && <Flash words="You said yes. It stands on a tray." />}
      <Refused form={form} isShown={yesAsked.some((piece) => isFor(form, piece))} />
      <h1>Needs a technician's yes</h1>
      <p class="narrow">
        Look at the piece and ask its owner. A yes counts for its next firing only, and it stands on a tray
        there. Rather not? Give it back on its own page.
      </p>
      {yesAsked.length === 0 ? (
        <Empty title="Nobody asks for a yes">
          <p>A piece shows here when nobody knows its clay or its glaze, or when its coats may run.</p>
        </Empty>
      ) : (
        <ul class="dues">
          {yesAsked.map((piece) => {
            const { number, next } = piece;
            const own = isFor(form, piece) ? form : undefined;
            return (
              <li key={number}>
                <article class="panel">
                  <h2>
                    <PieceLink piece={piece} />
                  </h2>
                  {next && <p>For {firingWords(next)}.</p>}
                  <p>{openWords(piece)}</p>
                  <Form
                    action="/ware/desk/yes"
                    form={own}
                    idempotencyKey={`${newKey}-${number}`}
                    hidden={{ piece: number }}
                    id={`yes-${number}`}
                  >
                    <NumberField name="trayMm" label="Tray beyond it, all round" value={trayMm} unit="mm" />
                    <Submit label={`Yes to ${number}`} look="plain" />
                  </Form>
                </article>
              </li>
            );
          })}
        </ul>
      )}
      <MoreToCome list={asked} />
      <BackToDesk />
    </>
  );
}

/** Fired ware that nobody fetched in time. */
export function FetchPage({ overdue, uncollectedDays, form, done, now, newKey }: ListProps & Overdue) {
  const shown = overdue.first;
  return (
    <>
      {done !== null && (
        <Flash words={`${formWords('other', done)} put with what was left behind. Their owners are told.`} />
      )}
      <Refused form={form} isShown={shown.length > 0} />
      <h1>Not fetched</h1>
      <p class="narrow">
        Fired more than {uncollectedDays} days ago. What you put away stays its owner's: they can still fetch
        it.
      </p>
      {shown.length === 0 ? (
        <Empty title="Nothing has stood too long">
          <p>
            <a href="/ware/settings">How long fired ware may stand</a> is for the studio to say.
          </p>
        </Empty>
      ) : (
        <Form action="/ware/desk/fetch" form={form} idempotencyKey={newKey}>
          <Ticks
            name="piece"
            legend="Tick what you put away"
            pieces={shown}
            form={form}
            say={({ owner, place, stageSince }) =>
              [owner?.name ?? 'no name', place, `fired ${daysAgo(stageSince, now)}`]
                .filter(Boolean)
                .join(', ')
            }
          />
          <Submit label="Put the ticked ones away" small="As left behind. Their owners are told." />
        </Form>
      )}
      <MoreToCome list={overdue} />
      <BackToDesk />
    </>
  );
}

/** The shelf of pieces nobody knows: photos, who says that one is theirs, and whose it is. */
export function NoNamePage({ shelf, form, done, now, newKey }: ListProps & { shelf: Shelf }) {
  const noName = shelf.first;
  return (
    <>
      {done !== null && <Flash words="It has an owner again, who was told." />}
      <Refused form={form} isShown={noName.some(({ piece }) => isFor(form, piece))} />
      <h1>Shelf without names</h1>
      <p class="narrow">
        Members see these photos and say “it is mine”. Hold the foot against{' '}
        <a href="/ware/marks/all">everybody's marks</a>.
      </p>
      {shelf.count === 0 ? (
        <Empty title="The shelf is empty">
          <p>Every piece has an owner.</p>
        </Empty>
      ) : (
        <ul class="tiles">
          {noName.map(({ piece, claims }) => {
            const { number } = piece;
            const own = isFor(form, piece) ? form : undefined;
            return (
              <li key={number}>
                <figure class="tile">
                  {piece.photo === null ? (
                    <p class="tile-blank">No photo</p>
                  ) : (
                    <a href={`/files/${piece.photo}`}>
                      <img
                        src={`/files/${piece.photo}`}
                        alt={`Piece ${number}: ${formWord(piece.form)}`}
                        loading="lazy"
                        decoding="async"
                      />
                    </a>
                  )}
                  <figcaption>
                    <a href={`/ware/${number}`}>
                      <b>{number}</b> {formWord(piece.form)}
                    </a>
                    <span class="soft">
                      {[
                        piece.mark && `mark: ${piece.mark}`,
                        piece.place,
                        `found ${daysAgo(piece.stageSince, now)}`,
                      ]
                        .filter(Boolean)
                        .join(', ')}
                    </span>
                  </figcaption>
                </figure>
                {claims.length > 1 && (
                  <Notice title={`${claims.length} people say it is theirs`}>
                    <p>Ask them about it before you hand it over.</p>
                  </Notice>
                )}
                {claims.map((claim) => (
                  <div key={claim.id}>
                    {claim.note && <p>“{claim.note}”</p>}
                    <PlainAct
                      post="/ware/desk/no-name"
                      idempotencyKey={`${newKey}-${number}-${claim.id}`}
                      fields={{ piece: number, claim: claim.id }}
                      label={`It is ${claim.name}'s`}
                      small={`said so ${daysAgo(claim.at, now)}`}
                    />
                  </div>
                ))}
                <details class="more" open={own !== undefined}>
                  <summary>{claims.length === 0 ? 'I know whose it is' : 'Somebody else’s'}</summary>
                  <Form
                    action="/ware/desk/no-name"
                    form={own}
                    idempotencyKey={`${newKey}-${number}`}
                    hidden={{ piece: number }}
                    id={`own-${number}`}
                  >
                    <Field
                      name="who"
                      label="Whose"
                      hint="The whole name, or the e-mail address."
                      maxlength={254}
                      autocomplete="off"
                      spellcheck={false}
                    />
                    <Submit label="Give it to them" look="plain" />
                  </Form>
                </details>
              </li>
            );
          })}
        </ul>
      )}
      {shelf.next !== null && (
        <p>
          <a class="plain" href={`/ware/desk/no-name?after=${shelf.next}`}>
            Those found later
          </a>
        </p>
      )}
      <p>
        <a class="plain" href="/ware/found/new">
          Put a piece on the shelf
        </a>
      </p>
      <BackToDesk />
    </>
  );
}
