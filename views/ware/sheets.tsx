import type { ComponentChildren } from 'preact';
import { PRESETS } from '../../server/ware/presets.ts';
import { Notice, Panel } from '../ui/panel.tsx';
import { PlainAct } from '../ui/verdict.tsx';
import { MarkingAdvice } from './marks.tsx';

/** What is printed about ware, and how ware is marked. */
export function SheetsPage() {
  return (
    <>
      <h1>Sheets to print</h1>
      <div class="dues">
        <Panel title="Grid mat">
          <p>Stand a piece on it and read how wide it is.</p>
          <PlainAct href="/ware/sheets/grid" label="Grid mat" />
        </Panel>
        <Panel title="Height stick">
          <p>Glue it to a stick and read how high a piece is.</p>
          <PlainAct href="/ware/sheets/height" label="Height stick" />
        </Panel>
        <Panel title="Rack tags">
          <p>Number, owner, clay and firing, to lie beside the pieces on the rack.</p>
          <PlainAct href="/ware/tags" label="Rack tags" />
        </Panel>
      </div>
      <MarkingAdvice />
      <p>
        <a href="/ware">Back to my ware</a>
      </p>
    </>
  );
}

/** mm that an A4 sheet takes inside its margins. */
const WIDTH = 198;
const HEIGHT = 278;
/** mm between the paper's edge and the zero of a scale, for its figures. */
const EDGE = 10;

/** A drawing whose units are mm, as it comes out of the printer at 100 %. */
function TrueSize({ label, children }: { label: string; children: ComponentChildren }) {
  return (
    <figure class="true-size">
      <svg
        width={`${WIDTH}mm`}
        height={`${HEIGHT}mm`}
        viewBox={`0 0 ${WIDTH} ${HEIGHT}`}
        role="img"
        aria-label={label}
      >
        {children}
      </svg>
    </figure>
  );
}

function PrintAtFullSize({ title, children }: { title: string; children: ComponentChildren }) {
  return (
    <div class="screen-only">
      <h1>{title}</h1>
      {children}
      <Notice title="Print at 100 %">
        <p>
          Not “fit to page”. Then lay a ruler on the line marked 100 mm: if it is not 100 mm, the sheet
          measures wrong.
        </p>
      </Notice>
      <p class="narrow">
        <button class="do" type="button" data-print>
          Print it
          <small>On A4 paper.</small>
        </button>
      </p>
    </div>
  );
}

/** 100 mm to lay a ruler on, from a place that is given in mm. */
function CheckLine({ x, y }: { x: number; y: number }) {
  return (
    <g class="check-line">
      <path d={`M${x} ${y}h100M${x} ${y - 2}v4M${x + 100} ${y - 2}v4`} />
      <text x={x + 50} y={y - 1.5} text-anchor="middle">
        100 mm: check with a ruler
      </text>
    </g>
  );
}

const MAT_RIGHT = 180;
const MAT_TOP = 260;

/** Squares of 10 mm from a corner; the usual forms are drawn from the same corner. */
export function GridMatPage() {
  const bottom = HEIGHT - EDGE;
  const x = (mm: number) => EDGE + mm;
  const y = (mm: number) => bottom - mm;
  const upTo = (most: number, step: number) =>
    Array.from({ length: Math.floor(most / step) + 1 }, (_, i) => i * step);
  const lines = (step: number) =>
    [
      ...upTo(MAT_RIGHT, step).map((mm) => `M${x(mm)} ${y(0)}V${y(MAT_TOP)}`),
      ...upTo(MAT_TOP, step).map((mm) => `M${x(0)} ${y(mm)}H${x(MAT_RIGHT)}`),
    ].join('');
  return (
    <>
      <PrintAtFullSize title="Grid mat">
        <p class="narrow">
          Push the piece into the corner at 0 so that it touches both edges, handle and all, and read off
          where it ends. A round piece has one figure, anything else two.
        </p>
      </PrintAtFullSize>
      <TrueSize label="A grid of 10 mm squares with figures from 0 to 260 mm and the outlines of usual forms">
        <path class="fine" d={lines(10)} />
        <path class="strong" d={lines(50)} />
        {upTo(MAT_RIGHT, 10).map((mm) => (
          <text key={mm} x={x(mm)} y={y(0) + 5} text-anchor="middle">
            {mm}
          </text>
        ))}
        {upTo(MAT_TOP, 10).map((mm) => (
          <text key={mm} x={x(0) - 1.5} y={y(mm) + 1} text-anchor="end">
            {mm}
          </text>
        ))}
        {OUTLINES.map(({ name, footprint }) =>
          footprint.shape === 'circle' ? (
            <g key={name} class="outline">
              <circle
                cx={x(footprint.diameterMm / 2)}
                cy={y(footprint.diameterMm / 2)}
                r={footprint.diameterMm / 2}
              />
              <text x={x(footprint.diameterMm / 2)} y={y(footprint.diameterMm) + 4} text-anchor="middle">
                {`${name} ${footprint.diameterMm}`}
              </text>
            </g>
          ) : (
            <g key={name} class="outline">
              <rect x={x(0)} y={y(footprint.depthMm)} width={footprint.widthMm} height={footprint.depthMm} />
              <text x={x(footprint.widthMm) - 1} y={y(footprint.depthMm) + 4} text-anchor="end">
                {`${name} ${footprint.widthMm} × ${footprint.depthMm}`}
              </text>
            </g>
          ),
        )}
        <CheckLine x={x(0)} y={6} />
        <text x={x(MAT_RIGHT)} y={4.5} text-anchor="end">
          Greenware shrinks: say whether it was wet or dry.
        </text>
      </TrueSize>
      <Back />
    </>
  );
}

/** The usual forms that a sheet is large enough for. */
const OUTLINES = Object.entries(PRESETS)
  .filter(
    ([form, { footprint }]) =>
      form !== 'other' &&
      (footprint.shape === 'circle' ? footprint.diameterMm : footprint.widthMm) <= MAT_RIGHT,
  )
  .map(([, { word, footprint }]) => ({ name: word, footprint }));

const STRIP = 250;

/** Two strips that make a stick of 500 mm. */
export function HeightStickPage() {
  return (
    <>
      <PrintAtFullSize title="Height stick">
        <p class="narrow">
          Cut both strips out. Glue the first to a straight stick with its zero at the very end, then the
          second above it where the first one ends. Stand it beside the piece and read off the rim, or the
          knob of a lid.
        </p>
      </PrintAtFullSize>
      <TrueSize label="Two strips with millimetre marks: from 0 to 250 mm, and from 250 to 500 mm">
        <Strip left={10} from={0} foot="stands on the table" />
        <Strip left={100} from={STRIP} foot={`goes on at ${STRIP}`} />
        <CheckLine x={10} y={8} />
      </TrueSize>
      <Back />
    </>
  );
}

const STRIP_WIDTH = 55;

function Strip({ left, from, foot }: { left: number; from: number; foot: string }) {
  const bottom = HEIGHT - EDGE;
  const marks = Array.from({ length: STRIP + 1 }, (_, mm) => mm);
  const long = (mm: number) => (mm % 10 === 0 ? 12 : mm % 5 === 0 ? 8 : 5);
  return (
    <g>
      <path class="cut" d={`M${left} ${bottom}h${STRIP_WIDTH}V${bottom - STRIP}h${-STRIP_WIDTH}z`} />
      <path class="fine" d={marks.map((mm) => `M${left} ${bottom - mm}h${long(mm)}`).join('')} />
      {marks
        .filter((mm) => mm % 10 === 0 && mm > 0)
        .map((mm) => (
          <text key={mm} class="figure" x={left + 14} y={bottom - mm + (mm === STRIP ? 5 : 1.7)}>
            {from + mm}
          </text>
        ))}
      <text x={left + 14} y={bottom - 1.5}>{`${from}: ${foot}`}</text>
    </g>
  );
}

const Back = () => (
  <p class="screen-only">
    <a href="/ware/sheets">Sheets to print</a>
  </p>
);
