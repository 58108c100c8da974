import type { Reader } from '../../server/ware/actions/reader.ts';
import { benchStep, FACE_WORDS, stepWords } from '../../server/ware/bench-step.ts';
import { formWords, piecesWords } from '../../server/ware/presets.ts';
import type { Route, Wetness } from '../../server/ware/route.ts';
import type { PieceNow } from '../../server/ware/service/now.ts';
import type { WareSettings } from '../../server/ware/settings.ts';
import { Empty, Filter, Links } from '../ui/panel.tsx';
import { PlainAct } from '../ui/verdict.tsx';
import { StepShape, stepTone, WAIT_LABEL, wallWords } from './bench-parts.tsx';
import { FormOutline } from './shapes.tsx';

interface Rack {
  pieces: PieceNow[];
  route: Route;
  wetness: Wetness;
}

interface RacksProps {
  racks: Rack[];
  /** Everybody's, not only those of whoever asks. */
  everybody: boolean;
  /** However many there are. */
  all: boolean;
  settings: WareSettings;
  reader: Reader;
}

/** Of a full studio the first of each part are shown: those that are ready, or will be, soonest. */
const MOST_SHOWN = 30;

/** Ware on its way through the glazing bench: what can be dipped now, what has to wait, what is through. */
export function RacksPage({ racks, everybody, all, settings, reader }: RacksProps) {
  const steps = racks.flatMap((rack) => {
    const [piece] = rack.pieces;
    return piece
      ? [{ ...rack, piece, step: benchStep(rack.route, rack.wetness, { isWiped: piece.footAt !== null }) }]
      : [];
  });
  const sections = [
    { title: 'Now', shown: steps.filter(({ step }) => ['plan', 'wax', 'coat'].includes(step.do)) },
    { title: 'Still wet', shown: steps.filter(({ step }) => step.do === 'wait') },
    { title: 'All coats on', shown: steps.filter(({ step }) => ['foot', 'hand-in'].includes(step.do)) },
  ].filter(({ shown }) => shown.length > 0);
  return (
    <>
      <h1>Dry racks</h1>
      <p class="narrow">Bisque on its way through the glazing bench, and when it takes its next coat.</p>
      {reader.technician && (
        <Filter
          label="Whose"
          options={[
            { href: '/bench', label: 'Mine', current: !everybody },
            { href: '/bench?whose=everybody', label: "Everybody's", current: everybody },
          ]}
        />
      )}
      {sections.length === 0 && (
        <Empty title="Nothing at the bench now">
          <p>
            Open a bisqued piece and choose “Glaze it”. While it dries between two coats, it stands here with
            the time when it is ready.
          </p>
          <p>
            <a href="/ware">My ware</a>
          </p>
        </Empty>
      )}
      {sections.map(({ title, shown }) => (
        <section key={title}>
          <h2>{title}</h2>
          <ul class="dues">
            {(all ? shown : shown.slice(0, MOST_SHOWN)).map(({ piece, pieces, route, wetness, step }) => {
              const wall = wallWords(route, wetness, settings, reader);
              const next = step.do === 'coat' || step.do === 'wait' ? step : null;
              return (
                <li key={piece.number}>
                  <article class={`ware-card ${stepTone(step)}`}>
                    <p class="lid-state">
                      <StepShape step={step} />
                      {stepWords(step, wetness.state)}
                    </p>
                    <h3 class="ware-name">
                      <FormOutline form={piece.form} />
                      <span>
                        {formWords(piece.form, pieces.length)}
                        <small>
                          {[
                            everybody ? (piece.owner?.name ?? 'nobody knows whose') : '',
                            piecesWords(pieces.map(({ number }) => number)),
                          ]
                            .filter(Boolean)
                            .join(' · ')}
                        </small>
                      </span>
                    </h3>
                    {wall !== '' && <p>{wall}</p>}
                    {next?.glaze && (
                      <p>
                        Next: <span class="code">{next.glaze}</span> {FACE_WORDS[next.face]}.
                      </p>
                    )}
                    {(piece.mark || piece.place) && (
                      <p class="soft">
                        {[piece.mark && `Mark: ${piece.mark}`, piece.place && `Stands: ${piece.place}`]
                          .filter(Boolean)
                          .join(' · ')}
                      </p>
                    )}
                    <PlainAct
                      href={`/ware/${piece.number}/glazing`}
                      label={step.do === 'wait' ? WAIT_LABEL : 'To the bench'}
                    />
                  </article>
                </li>
              );
            })}
          </ul>
          {!all && shown.length > MOST_SHOWN && (
            <p>
              <a href={`/bench?${everybody ? 'whose=everybody&' : ''}all=yes`}>
                {`Show all ${shown.length} of these`}
              </a>
            </p>
          )}
        </section>
      ))}
      <Links
        label="Around the bench"
        links={[
          ['/bench/coat', 'How long to count'],
          ['/bench/poster', 'The whole way, as a poster'],
          ['/ware', 'My ware'],
        ]}
      />
    </>
  );
}
