import { RoundDonePage, RoundPage, RoundSheetPage } from '../../../views/buckets/round.tsx';
import { type Answer, page, type Visit } from '../../core/routes.ts';
import { chooseAsk, everyAsk, type Place, readPlace } from '../round.ts';
import { listRoundGear, lookRound, type RoundStop } from '../service/index.ts';
import { readerOf } from './reader.ts';

/** Only what needs a check, each with its reason. */
export async function showRound(visit: Visit): Promise<Answer> {
  const stops = await lookRound(visit.read);
  return page(
    'Morning round',
    'today',
    <RoundPage due={stops.filter(isDue)} outOf={stops.length} reader={readerOf(visit)} />,
  );
}

/** What came of it. */
export async function showRoundDone(visit: Visit): Promise<Answer> {
  const { stops, place } = await theRound(visit);
  return page('Round done', 'today', <RoundDonePage stops={stops} place={place} reader={readerOf(visit)} />);
}

/** The same buckets in the same order on paper. */
export async function showRoundSheet(visit: Visit): Promise<Answer> {
  const [{ stops, place }, gear] = await Promise.all([theRound(visit), listRoundGear(visit.read)]);
  return page(
    'Clipboard sheet',
    'today',
    <RoundSheetPage
      lines={stops.map((stop) => ({ ...stop, ask: chooseAsk(place.with, stop.last, gear) }))}
      place={place}
      tools={everyAsk(gear)}
      studio={visit.studio.name}
      reader={readerOf(visit)}
    />,
  );
}

export const isDue = ({ why }: RoundStop): boolean => why.length > 0;

/** The buckets that the address names, in its order; without any those that need a check now. */
export async function theRound(
  visit: Visit,
): Promise<{ all: RoundStop[]; stops: RoundStop[]; place: Place }> {
  const asked = readPlace(visit.query, visit.now);
  const all = await lookRound(visit.read);
  const stops = asked.of
    ? asked.of.flatMap((code) => all.find(({ bucket }) => bucket.code === code) ?? [])
    : all.filter(isDue);
  return { all, stops, place: { ...asked, of: stops.map(({ bucket }) => bucket.code) } };
}
