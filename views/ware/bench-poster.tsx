import type { RouteStep } from '../../server/ware/route.ts';
import type { WareSettings } from '../../server/ware/settings.ts';

interface PosterProps {
  steps: RouteStep[];
  /** Of one piece, by its plan; null for any. */
  number: number | null;
  settings: WareSettings;
  studio: string;
}

/** A sheet for the wall above the bench: every step in order, the three that are ticked marked. */
export function BenchPosterPage({ steps, number, settings, studio }: PosterProps) {
  const { heldBackMm, heldBackRunnyMm, dryBackHours, usualCoatLowMm, usualCoatHighMm } = settings;
  return (
    <article class="bench-poster">
      <div class="screen-only">
        <button class="do" type="button" data-print>
          Print it
          <small>On A4 paper, to hang above the bench.</small>
        </button>
      </div>
      <h1>From bisque to the kiln</h1>
      {number !== null && <p>Piece {number}</p>}
      <ol>
        {steps.map(({ words, tick }) => (
          <li key={words} class={tick === null ? undefined : 'ticked'}>
            <span>
              {words}
              {tick !== null && <small>Tick it on the piece's page.</small>}
            </span>
            {tick !== null && (
              <svg class="poster-tick" viewBox="0 0 24 24" aria-hidden="true">
                <rect class="drawn" x="2" y="2" width="20" height="20" rx="3" stroke-width="2" />
                <path class="drawn" d="M6 12.5l4 4L18 7.5" stroke-width="2.6" stroke-linecap="round" />
              </svg>
            )}
          </li>
        ))}
      </ol>
      <div class="poster-notes">
        <p>
          <b>Cold to the cheek is still wet.</b> A lined piece stands about {dryBackHours} hours before it is
          dipped.
        </p>
        <p>
          <b>Count.</b> The piece's page says how far. It says 3 until there are test tiles. A coat is usually{' '}
          {usualCoatLowMm} to {usualCoatHighMm} mm.
        </p>
        <p>
          <b>Keep the foot bare:</b> glaze ends {heldBackMm} mm above it, {heldBackRunnyMm} mm where it runs.
        </p>
        <p>
          <b>Wipe up wet, do not blow.</b> Raw glaze stays off lips and food. Wash your hands.
        </p>
      </div>
      <p class="soft">{studio}</p>
      <p class="screen-only">
        <a href={number === null ? '/bench' : `/ware/${number}/glazing`}>
          {number === null ? 'Dry racks' : `Back to piece ${number} at the bench`}
        </a>
      </p>
    </article>
  );
}
