import type { FormState } from '../../server/core/routes.ts';
import type { LoadReader } from '../../server/kilns/actions/load-reader.ts';
import type { FiringPage, PieceOutcome, StoodIn } from '../../server/kilns/service/index.ts';
import { OUTCOME_WORDS, OUTCOMES } from '../../server/ware/outcome.ts';
import { Check, Field, Form, NumberField, PhotoField, Select, Submit, TextArea } from '../ui/field.tsx';
import { Flash, More, Notice } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { PlainAct } from '../ui/verdict.tsx';
import { questioned } from './firing-open.tsx';
import { FiringFoot, FiringHead, type FiringProps, isAsked, noteField, notNow } from './firing-parts.tsx';
import { loadAddress } from './load-parts.tsx';
import { floorName, pieceCount } from './plan-parts.tsx';

const FAULT_OPTIONS = OUTCOMES.filter((outcome) => outcome !== 'good').map((value) => ({
  value,
  label: OUTCOME_WORDS[value],
}));

interface UnloadProps extends FiringProps {
  /** What stands in it, from the top shelf down. */
  pieces: StoodIn[];
  /** Numbers of those that are not good, as far as they were typed. */
  faults: number[];
}

/** A kiln is emptied shelf by shelf from the top: all good but what is named. */
export function UnloadPage({ firing, pieces, faults, form, done, reader }: UnloadProps) {
  const { load, settings, opened, cones } = firing;
  const at = loadAddress(load.number);
  const isOpen = opened.some(({ how }) => how === 'opened');
  const isDoubted = isAsked(form, questioned(form));
  const named = pieces.filter(({ number }) => faults.includes(number));
  const others = pieces.filter(({ number }) => !faults.includes(number));
  const levels = [...new Set(others.map(floorName))];
  return (
    <>
      <FiringHead load={load} title="Unload it" done={done} />
      <Notice title={`By hand below ${settings.handsBelowC} °C, with gloves`} tone="ask-technician">
        <p>The middle is hotter than the probe. Look for sharp drips of glaze before you lift.</p>
      </Notice>
      {load.state !== 'cooling' ? (
        <p>It is {load.state}.</p>
      ) : !isOpen ? (
        <PlainAct href={`${at}/open`} label="Open it first" small="Type what the pyrometer says." />
      ) : (
        <>
          {cones.length === 0 && (
            <PlainAct
              href={`${at}/cones`}
              label="Read the witness cones first"
              small="They fall over as shelves are lifted."
            />
          )}
          <Form action={`${at}/unload`} form={form} idempotencyKey={`${reader.key}-unload`}>
            <NumberField name="celsius" label="The pyrometer says" unit="°C" big />
            <div class="find">
              <Field
                name="faults"
                label="Not good: numbers"
                hint="Such as 44 51. All others are good."
                maxlength={300}
                autocomplete="off"
                optional
              />
              <Submit label="Show these" look="plain" name="show" value="yes" />
            </div>
            {named.map((piece) => (
              <fieldset key={piece.number} class="field">
                <legend>{`${pieceWords(piece)}, ${floorName(piece).toLowerCase()}`}</legend>
                <div class="form">{pieceFields(piece, load.firing.kind)}</div>
              </fieldset>
            ))}
            {named.length > 0 && <p class="hint">A photo is added afterwards.</p>}
            <More
              summary={`${named.length > 0 ? 'The other' : 'All'} ${pieceCount(others.length)}`}
              open={others.some((piece) => isTouched(piece, form))}
            >
              {levels.map((level) => (
                <fieldset key={level} class="field">
                  <legend>{level}</legend>
                  {others
                    .filter((piece) => floorName(piece) === level)
                    .map((piece) => (
                      <More key={piece.number} summary={pieceWords(piece)} open={isTouched(piece, form)}>
                        {pieceFields(piece, load.firing.kind)}
                      </More>
                    ))}
                </fieldset>
              ))}
            </More>
            {notNow(form, reader)}
            {isDoubted ? noteField('Why it was emptied all the same', undefined, false) : noteField()}
            <Submit label="It is empty" small="Owners are told." />
            {isDoubted && (
              <Submit
                label="It was emptied all the same"
                look="plain"
                name="confirm"
                value={questioned(form)}
              />
            )}
          </Form>
        </>
      )}
      <FiringFoot load={load} here="unload" reader={reader} />
    </>
  );
}

/** Not a component of its own: the form finds its labels among its children. */
function pieceFields({ number }: StoodIn, kind: string) {
  return (
    <>
      <Select
        name={`outcome-${number}`}
        label={`How ${number} came out`}
        options={FAULT_OPTIONS}
        none="Good"
        optional
      />
      {kind === 'bisque' && (
        <Check
          name={`beyond-${number}`}
          label="Not to be glazed"
          hint="Beyond use, though it came out whole."
        />
      )}
      <Check
        name={`ours-${number}`}
        label="The studio's doing: credit it"
        hint="A shelf broke, a neighbour's glaze ran on it, it was fired wrongly."
      />
      <TextArea
        name={`note-${number}`}
        label="Note"
        hint="Its owner reads this."
        rows={2}
        maxlength={500}
        optional
      />
    </>
  );
}

const pieceWords = ({ number, form: word, owner }: StoodIn): string =>
  `${number} · ${[word, owner].filter(Boolean).join(', ')}`;

/** Something was typed for it, or is wrong with what was. */
const isTouched = ({ number }: StoodIn, { typed, errors }: FormState): boolean =>
  ['outcome', 'beyond', 'ours', 'note'].some(
    (field) => typed[`${field}-${number}`] || errors.some(({ path }) => path === `${field}-${number}`),
  );

interface OutcomesProps {
  firing: FiringPage;
  outcomes: PieceOutcome[];
  done: string | null;
  reader: LoadReader;
}

/** How everything came out, and a page for each piece to say it better. */
export function OutcomesPage({ firing, outcomes, done, reader }: OutcomesProps) {
  const { load } = firing;
  const faults = outcomes.filter(({ outcome }) => outcome !== 'good');
  return (
    <>
      <FiringHead load={load} title="How it came out" done={done} />
      {load.state !== 'unloaded' ? (
        <p>It is {load.state}: nothing has come out of it yet.</p>
      ) : (
        <>
          <p>
            {pieceCount(outcomes.length)}
            {faults.length === 0 ? ', all of them good.' : `, ${faults.length} of them not good.`}
          </p>
          <Table
            columns={[
              { label: 'Piece', main: true },
              { label: 'How' },
              { label: 'Where' },
              { label: 'Say more' },
            ]}
            rows={[...outcomes]
              .sort(
                (a, b) => Number(a.outcome === 'good') - Number(b.outcome === 'good') || a.number - b.number,
              )
              .map((piece) => ({
                key: piece.number,
                cells: [
                  <a href={`/ware/${piece.number}`}>{piece.number}</a>,
                  piece.outcome === 'good' ? 'good' : <b>{OUTCOME_WORDS[piece.outcome]}</b>,
                  floorName(piece),
                  <a class="plain" href={`${loadAddress(load.number)}/outcomes/${piece.number}`}>
                    Photo, note<span class="hidden-text"> of {piece.number}</span>
                  </a>,
                ],
              }))}
          />
          {faults.length > 0 && <PlainAct href="/kilns/faults" label="What goes with which fault" />}
          <PlainAct href={`/fees/loads/${load.number}`} label="What it cost" />
        </>
      )}
      <FiringFoot load={load} here="outcomes" reader={reader} />
    </>
  );
}

interface OutcomeProps {
  firing: FiringPage;
  piece: PieceOutcome;
  form: FormState;
  reader: LoadReader;
}

/** One piece: what happened to it, better said. */
export function OutcomePage({ firing: { load }, piece, form, reader }: OutcomeProps) {
  return (
    <>
      {form.errors.length > 0 && form.errors.every(({ path }) => path === '') && (
        <Flash tone="refused" words={form.errors.map(({ message }) => message).join(' ')} />
      )}
      <h1>
        Piece {piece.number}{' '}
        <span class="soft">
          load {load.number}, {floorName(piece)}
        </span>
      </h1>
      <Form
        action={`${loadAddress(load.number)}/outcomes/${piece.number}`}
        form={form}
        idempotencyKey={`${reader.key}-outcome-${piece.number}`}
        takesFiles
      >
        <Select
          name="outcome"
          label="How it came out"
          value={piece.outcome}
          options={OUTCOMES.map((value) => ({ value, label: OUTCOME_WORDS[value] }))}
        />
        {load.firing.kind === 'bisque' && (
          <Check name="beyondUse" label="Not to be glazed" hint="Beyond use, though it came out whole." />
        )}
        <Check
          name="studiosFault"
          label="The studio's doing: credit it"
          hint="What its firing cost is given back by the price list."
          checked={piece.isStudiosFault}
        />
        <PhotoField name="photo" label="Photo" hint="Of the fault, in daylight." optional />
        {noteField('Note', 'Its owner reads this.')}
        <Submit label="Write it down" small="What was said before stays in the log; its owner is told." />
      </Form>
      <p class="row">
        <PlainAct href={`/ware/${piece.number}`} label={`Piece ${piece.number}`} />
        <PlainAct href={`${loadAddress(load.number)}/outcomes`} label="All of the load" />
      </p>
    </>
  );
}
