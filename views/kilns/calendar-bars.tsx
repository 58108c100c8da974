import type { Instant } from '../../server/core/clock.ts';
import { type Booking, type StudioDay, staffedHours } from '../../server/kilns/calendar.ts';
import type { KilnSettings } from '../../server/kilns/settings.ts';
import { em, pc } from '../ui/plot.ts';

interface Props {
  /** One or more whole weeks, each drawn as a strip of its own. */
  weeks: StudioDay[][];
  kilns: { id: number; name: string }[];
  places: Booking[];
  staffed: KilnSettings['staffed'];
  timeZone: string;
  now: Instant;
  /** Marks the days that are not of the month that is shown. */
  month: string | null;
}

const HEAD_EM = 2.2;
const ROW_EM = 3.4;
const NAME_EM = 1.3;
const BAR_EM = 1.5;

const share = (value: number): string => pc(100 * value);

/** Kilns over time: places along the week are per cent and heights are em, so that text keeps its size. */
export function CalendarBars(props: Props) {
  const { weeks, kilns } = props;
  if (kilns.length === 0) return null;
  return (
    <figure class="calendar-bars">
      {weeks.map((days) => (
        <WeekStrip key={days[0]?.date} {...props} days={days} />
      ))}
      <figcaption>
        <ul class="bars-key">
          <li>
            <svg viewBox="0 0 30 16" aria-hidden="true">
              <rect class="heats" x="1" y="2" width="28" height="12" />
            </svg>
            heats
          </li>
          <li>
            <svg viewBox="0 0 30 16" aria-hidden="true">
              <rect class="cools" x="1" y="2" width="28" height="12" />
            </svg>
            cools, by forecast
          </li>
          <li>
            <svg viewBox="0 0 30 16" aria-hidden="true">
              <rect class="closed" x="1" y="0" width="28" height="16" />
            </svg>
            nobody there
          </li>
        </ul>
      </figcaption>
    </figure>
  );
}

function WeekStrip({ days, places, staffed, timeZone, now, month, ...all }: Props & { days: StudioDay[] }) {
  const [first, last] = [days[0], days.at(-1)];
  if (!first || !last) return null;
  const { from } = first;
  const { to } = last;
  const isHere = (place: Booking) => place.startsAt < to && from < place.freeAt;
  // A month is long enough without its empty rows.
  const kilns = all.kilns.filter(
    ({ id }) => month === null || places.some((place) => place.kilnId === id && isHere(place)),
  );
  const x = (at: Instant): number => Math.min(1, Math.max(0, (at - from) / (to - from)));
  const height = HEAD_EM + kilns.length * ROW_EM;
  const rect = (start: Instant, end: Instant) => ({ x: share(x(start)), width: share(x(end) - x(start)) });
  return (
    <svg
      class="week-strip"
      role="img"
      aria-label={`The week from ${dayName(first.date)}, drawn. The list above says the same.`}
      height={em(height)}
    >
      {closedSpans(days, staffed, timeZone).map((span) => (
        <rect
          key={span.from}
          class="closed"
          y={em(HEAD_EM)}
          height={em(height - HEAD_EM)}
          {...rect(span.from, span.to)}
        />
      ))}
      {days.map(({ date, from: start }) => (
        <g key={date} class={month !== null && !date.startsWith(month) ? 'other-month' : undefined}>
          <line class="grid" x1={share(x(start))} x2={share(x(start))} y1="0" y2="100%" />
          <text x={share(x(start))} dx="0.3em" y={em(1.4)}>
            <tspan class="weekday">{weekdayOf(date)} </tspan>
            {Number(date.slice(8))}
          </text>
        </g>
      ))}
      {kilns.map((kiln, row) => {
        const top = HEAD_EM + row * ROW_EM;
        const own = places.filter((place) => place.kilnId === kiln.id && isHere(place));
        return (
          <g key={kiln.id}>
            <line class="grid" x1="0" x2="100%" y1={em(top)} y2={em(top)} />
            <text class="kiln-name" x="0" dx="0.3em" y={em(top + NAME_EM - 0.2)}>
              {kiln.name}
            </text>
            {own.map(({ load, startsAt, offAt, freeAt }) => (
              <g key={load}>
                {offAt < to && freeAt > from && (
                  <rect class="cools" y={em(top + NAME_EM)} height={em(BAR_EM)} {...rect(offAt, freeAt)} />
                )}
                {offAt > from && (
                  <rect class="heats" y={em(top + NAME_EM)} height={em(BAR_EM)} {...rect(startsAt, offAt)} />
                )}
                <text
                  class="bar-name"
                  x={share(Math.min(0.93, x(startsAt)))}
                  dx="0.3em"
                  y={em(top + NAME_EM + 1.1)}
                >
                  {load}
                </text>
              </g>
            ))}
          </g>
        );
      })}
      {from <= now && now < to && (
        <line class="now" x1={share(x(now))} x2={share(x(now))} y1={em(HEAD_EM - 0.4)} y2="100%" />
      )}
    </svg>
  );
}

/** When nobody is there, from the first day to the last. */
function closedSpans(
  days: StudioDay[],
  staffed: KilnSettings['staffed'],
  timeZone: string,
): { from: Instant; to: Instant }[] {
  return days.flatMap((day) => {
    const hours = staffedHours(day, staffed, timeZone);
    if (!hours) return [{ from: day.from, to: day.to }];
    return [
      { from: day.from, to: hours.from },
      { from: hours.to, to: day.to },
    ].filter((span) => span.to > span.from);
  });
}

const weekday = new Intl.DateTimeFormat('en-GB', { weekday: 'short', timeZone: 'UTC' });

const weekdayOf = (date: string): string => weekday.format(Date.parse(`${date}T00:00Z`));

/** 'Mon 3' */
const dayName = (date: string): string => `${weekdayOf(date)} ${Number(date.slice(8))}`;
