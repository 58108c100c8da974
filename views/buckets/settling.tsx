import type { Reader } from '../../server/buckets/actions/reader.ts';
import { gravityFigure } from '../../server/buckets/sentences.ts';
import type { OpenPair, SeenPair, Settling } from '../../server/buckets/service/index.ts';
import { FEWEST_PAIRS, lossPerMinute, settlingText } from '../../server/buckets/settling.ts';
import { MINUTE } from '../../server/core/clock.ts';
import type { FormState } from '../../server/core/routes.ts';
import { shownTime, toWallTime } from '../../server/core/wall-time.ts';
import { Beside, Form, NumberField, Submit } from '../ui/field.tsx';
import { Flash, More, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { PlainAct } from '../ui/verdict.tsx';
import { SubPage, WhenAndNote } from './parts.tsx';

interface SettlingPageProps extends Settling {
  /** What was recorded just before. */
  saved: OpenPair | SeenPair | null;
  form: FormState;
  reader: Reader;
}

const STANDS_MIN = 10;

export function SettlingPage({ saved, form, reader, ...settling }: SettlingPageProps) {
  const { bucket, open, pairs } = settling;
  const refused = (first: boolean) => ((form.typed.first !== undefined) === first ? form : undefined);
  const other = form.typed.stirInterval === undefined ? [] : form.errors;
  return (
    <SubPage bucket={bucket} title="How fast it settles">
      {saved && <Flash words={savedWords(saved)} />}
      {other.length > 0 && <Flash words={other.map(({ message }) => message).join(' ')} tone="refused" />}
      {open ? (
        <>
          <Second open={open} code={bucket.code} form={refused(true)} reader={reader} />
          <More
            summary="Begin again, or enter a whole pair"
            open={refused(false)?.errors.length ? true : undefined}
          >
            <Whole code={bucket.code} form={refused(false)} reader={reader} />
          </More>
        </>
      ) : (
        <Whole code={bucket.code} form={form} reader={reader} />
      )}
      <Interval {...settling} reader={reader} />
      {pairs.length > 0 && <Pairs pairs={pairs} reader={reader} />}
    </SubPage>
  );
}

const savedWords = (saved: OpenPair | SeenPair): string =>
  'later' in saved
    ? `Pair recorded: ${gravityFigure(saved.fresh)}, then ${gravityFigure(saved.later)} after ${saved.minutes} min.`
    : `First recorded: SG ${gravityFigure(saved.fresh)}. Leave the bucket alone now.`;

interface HalfProps {
  code: string;
  form: FormState | undefined;
  reader: Reader;
}

/** Both gravities, or the first alone. */
function Whole({ code, form, reader }: HalfProps) {
  return (
    <Form action={`/buckets/${code}/settling`} form={form} idempotencyKey={`${reader.key}-whole`}>
      <ol>
        <li>Stir to the bottom. Take the first at once, at the top, as deep as a dip goes.</li>
        <li>Leave the bucket alone for {STANDS_MIN} minutes.</li>
        <li>Take the second at the same depth, without stirring.</li>
      </ol>
      <Beside>
        <NumberField name="fresh" label="First, just stirred" unit="SG" />
        <NumberField
          name="later"
          label="Second, untouched"
          hint="Empty: save the first, come back for it."
          unit="SG"
          optional
        />
        <NumberField name="minutes" label="Minutes between" value={STANDS_MIN} unit="min" optional />
      </Beside>
      <Submit label="Record" />
      {form && <WhenAndNote form={form} />}
    </Form>
  );
}

function Second({ open, code, form, reader }: HalfProps & { open: OpenPair }) {
  const clock = (at: number) => toWallTime(at, reader.timeZone).slice(11);
  return (
    <Panel title="Now the second of the pair">
      <p>
        The first was {gravityFigure(open.fresh)} at {clock(open.at)}, by {open.by}. Leave the bucket alone
        until <b>{clock(open.at + STANDS_MIN * MINUTE)}</b>, then take the second at the same depth, without
        stirring.
      </p>
      <Form
        action={`/buckets/${code}/settling`}
        form={form}
        idempotencyKey={`${reader.key}-second`}
        hidden={{ first: open.number }}
        id="s"
      >
        <NumberField name="later" label="Second, untouched" unit="SG" big autofocus />
        <NumberField
          name="minutes"
          label="Minutes between"
          hint="Empty: those since the first."
          unit="min"
          optional
        />
        <Submit label="Record the second" />
      </Form>
    </Panel>
  );
}

/** What the pairs propose, and for whoever edits the bucket the tap that takes it. */
function Interval({ bucket, found, proposed, sinceChange, reader }: Settling & { reader: Reader }) {
  const now = bucket.stirIntervalMinutes;
  return (
    <Panel title="Stir interval: measured">
      <p>
        It is stirred every {now} min now. {found ? settlingText(found) : 'No pair was taken yet.'}
      </p>
      {found && !sinceChange && (
        <p class="soft">Not all of them were taken since the glaze was last changed.</p>
      )}
      {proposed === null ? (
        <p>{missing(found)}</p>
      ) : proposed === now ? (
        <p>That is what the pairs propose too.</p>
      ) : (
        <>
          <p>
            Proposed: <b>every {proposed} min</b>.
          </p>
          {reader.technician && (
            <PlainAct
              post={`/buckets/${bucket.code}/settling/adopt`}
              idempotencyKey={`${reader.key}-adopt`}
              fields={{ stirInterval: proposed }}
              label={`Stir every ${proposed} min from now on`}
            />
          )}
        </>
      )}
      <p class="soft">
        Measured, not computed from grain sizes: clay holds a glaze up as a weak gel, and no formula for
        sinking grains fits that.
      </p>
    </Panel>
  );
}

function missing(found: Settling['found']): string {
  const pairs = found?.pairs ?? 0;
  if (pairs < FEWEST_PAIRS) return `${FEWEST_PAIRS} pairs make a proposal, on different days if you can.`;
  return 'Nothing to propose: keep stirring as you do.';
}

function Pairs({ pairs, reader }: { pairs: SeenPair[]; reader: Reader }) {
  return (
    <Table
      caption="Pairs so far"
      columns={[
        { label: 'When' },
        { label: 'Top, just stirred', number: true, keepLabel: true },
        { label: 'Top, untouched', number: true, keepLabel: true },
        { label: 'After', number: true, keepLabel: true },
        { label: 'Says', main: true },
        { label: 'Who' },
      ]}
      rows={pairs.map((pair) => ({
        key: pair.number,
        cells: [
          shownTime(pair.at, reader.now, reader.timeZone),
          pair.fresh.toFixed(3),
          pair.later.toFixed(3),
          `${pair.minutes} min`,
          says(pair),
          pair.by,
        ],
      }))}
    />
  );
}

function says(pair: SeenPair): string {
  const rate = lossPerMinute(pair);
  const words = rate > 0 ? `loses ${percent(rate)} % a minute` : 'did not settle';
  return pair.used ? words : `${words}; not counted, older than the last change`;
}

const percent = (rate: number): string => (100 * rate).toFixed(rate < 0.01 ? 2 : 1);
