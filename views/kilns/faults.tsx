import { shownTime } from '../../server/core/wall-time.ts';
import type { LoadReader } from '../../server/kilns/actions/load-reader.ts';
import { FEWEST_TO_SAY, type Share } from '../../server/kilns/fault-shares.ts';
import type { FaultLine, FaultsAsked, FaultTables } from '../../server/kilns/service/index.ts';
import { FIRING_KINDS } from '../../server/ware/firing.ts';
import { OUTCOME_WORDS, OUTCOMES, type Outcome } from '../../server/ware/outcome.ts';
import type { CoatFace } from '../../server/ware/route.ts';
import { Empty, Filter, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { coatMmWords } from '../ware/bench-parts.tsx';
import { loadAddress } from './load-parts.tsx';
import { listed, percent } from './load-words.ts';

interface Props {
  tables: FaultTables;
  asked: FaultsAsked;
  reader: LoadReader;
}

const SPANS: { days?: number; label: string }[] = [
  { days: 30, label: '30 days' },
  { days: 90, label: '90 days' },
  { days: 365, label: 'a year' },
  { label: 'ever' },
];

/** Which bucket, batch, reading, level, kiln, clay, coat, count and gravity goes with which fault. */
export function FaultsPage({ tables, asked, reader }: Props) {
  const { overall, outcomes, pieces } = tables;
  const address = (change: Partial<FaultsAsked>) => {
    const query = new URLSearchParams();
    for (const [name, value] of Object.entries({ ...asked, ...change }))
      if (value !== undefined) query.set(name, String(value));
    return `/kilns/faults${query.size > 0 ? `?${query}` : ''}`;
  };
  const fault = asked.outcome ? OUTCOME_WORDS[asked.outcome].toLowerCase() : 'not good';
  return (
    <>
      <h1>Faults</h1>
      <Filter
        label="Fault"
        options={[
          { href: address({ outcome: undefined }), label: 'any', current: asked.outcome === undefined },
          ...OUTCOMES.filter((one) => one !== 'good').map((one) => ({
            href: address({ outcome: one }),
            label: OUTCOME_WORDS[one].toLowerCase(),
            current: asked.outcome === one,
          })),
        ]}
      />
      <Filter
        label="Firing"
        options={[
          { href: address({ kind: undefined }), label: 'all', current: asked.kind === undefined },
          ...FIRING_KINDS.map((kind) => ({
            href: address({ kind }),
            label: kind,
            current: asked.kind === kind,
          })),
        ]}
      />
      <Filter
        label="Unloaded in"
        options={SPANS.map(({ days, label }) => ({
          href: address({ days }),
          label,
          current: asked.days === days,
        }))}
      />
      {overall.all === 0 ? (
        <Empty title="Nothing was unloaded in this time">
          <p>How pieces came out is asked as a kiln is emptied.</p>
        </Empty>
      ) : (
        <>
          <p>
            <b>
              {shareWords(overall)} {fault}
            </b>
            {outcomes.length > 0 && ` (${outcomesWords(outcomes)})`}. A share below {FEWEST_TO_SAY} pieces
            says next to nothing; “stands out” is more than chance explains. What goes with a fault need not
            be its cause.
          </p>
          <div class="plans">
            <Lines title="Glaze" lines={tables.buckets} />
            <Lines title="Batch" lines={tables.batches} />
            <Lines title="Reading it was glazed at" lines={tables.readings} />
            <Lines title="Level" lines={tables.levels} />
            <Lines title="Kiln" lines={tables.kilns} />
            <Lines title="Clay" lines={tables.clays} />
            <Lines
              title="Coat outside"
              note="All coats there together: as scratched, else as weighed or by test tiles when it was glazed."
              lines={tables.coats}
            />
            <Lines
              title="Count it was dipped for"
              note="The last dip of its outside, where somebody counted."
              lines={tables.counts}
            />
            <Lines
              title="Gravity it was glazed at"
              note="The last coat outside, against the band that its bucket has now."
              lines={tables.gravities}
            />
          </div>
          {pieces.length > 0 && (
            <Panel title="The pots themselves">
              <Table
                columns={[
                  { label: 'Piece', main: true },
                  { label: 'Glazed from', wraps: true },
                  { label: 'Load', wraps: true },
                  { label: 'Clay', wraps: true },
                  { label: 'When' },
                ]}
                rows={pieces.map((piece) => ({
                  key: `${piece.load} ${piece.number}`,
                  cells: [
                    <>
                      <a href={`/ware/${piece.number}`}>
                        <b>{piece.number}</b>
                      </a>{' '}
                      {OUTCOME_WORDS[piece.outcome].toLowerCase()}
                    </>,
                    piece.glazes.map(({ position, code, name, batch, gravity, face, seconds, coatMm }, i) => (
                      <span key={position}>
                        {i > 0 && ', '}
                        {ON[face]}
                        <a href={`/buckets/${code}`}>
                          {name} {code}
                        </a>
                        {gravity !== null && ` at ${gravity.toFixed(2)}`}
                        {seconds !== null && `, count ${Number(seconds.toFixed(1))}`}
                        {coatMm !== null && `, ${coatMmWords(coatMm)}`}
                        {batch !== null && (
                          <>
                            {', '}
                            <a href={`/batches/${batch}`}>batch {batch}</a>
                          </>
                        )}
                      </span>
                    )),
                    <>
                      <a href={`${loadAddress(piece.load)}/curve`}>load {piece.load}</a>
                      {piece.level !== null && `, level ${piece.level}`} in {piece.kiln.name}
                    </>,
                    piece.clay ?? '',
                    piece.unloadedAt === null ? '' : shownTime(piece.unloadedAt, reader.now, reader.timeZone),
                  ],
                }))}
              />
            </Panel>
          )}
        </>
      )}
    </>
  );
}

/** Of what was only said afterwards nobody knows where it is. */
const ON: Record<CoatFace, string> = { inside: 'inside ', outside: 'outside ', over: 'over it ', all: '' };

const MOST_LINES = 12;

function Lines({ title, note, lines }: { title: string; note?: string; lines: FaultLine[] }) {
  if (lines.length === 0) return null;
  return (
    <Panel title={title}>
      {note && <p class="soft">{note}</p>}
      <Table
        columns={[{ label: title, main: true }, { label: 'Share' }, { label: 'Which' }]}
        rows={lines.slice(0, MOST_LINES).map(({ words, href, more, share, outcomes, standsOut }) => ({
          key: words,
          cells: [
            <>
              {href ? <a href={href}>{words}</a> : words}
              {more && (
                <>
                  {' '}
                  · <a href={more.href}>{more.words}</a>
                </>
              )}
            </>,
            <>
              {shareWords(share)}
              {standsOut && <b> · stands out</b>}
            </>,
            outcomesWords(outcomes),
          ],
        }))}
      />
      {lines.length > MOST_LINES && (
        <p class="soft">And {lines.length - MOST_LINES} more with a smaller share.</p>
      )}
    </Panel>
  );
}

/** '3 of 41, 7 %'; without the share where so few say nothing. */
const shareWords = ({ faulty, all, share }: Share): string =>
  `${faulty} of ${all}${all >= FEWEST_TO_SAY ? `, ${percent(share)}` : ''}`;

const outcomesWords = (outcomes: readonly { outcome: Outcome; count: number }[]): string =>
  listed(outcomes.map(({ outcome, count }) => `${count} ${OUTCOME_WORDS[outcome].toLowerCase()}`));
