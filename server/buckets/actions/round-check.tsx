import { RoundCheckPage } from '../../../views/buckets/round-check.tsx';
import { MINUTE } from '../../core/clock.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { KINDS } from '../kinds.ts';
import { chooseAsk, everyAsk, flowAsked, readPlace, roundAddress } from '../round.ts';
import { listEvents, listRoundGear, recordAct } from '../service/index.ts';
import { readerOf } from './reader.ts';
import { theRound } from './round.tsx';

/** After this long what was done at the bucket before is no longer news. */
const NEWS = 15 * MINUTE;

/** One bucket of the round and the one number it wants. */
export async function showRoundCheck(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const [{ stops, place }, gear] = await Promise.all([theRound(visit), listRoundGear(visit.read)]);
  const stop = stops[place.at];
  if (!stop) return go(stops.length > 0 ? roundAddress('/round/done', place) : '/round');
  const before = stops[place.at - 1];
  return page(
    `${place.at + 1} of ${stops.length}: ${stop.bucket.name}`,
    'today',
    <RoundCheckPage
      stop={stop}
      place={place}
      ask={chooseAsk(place.with, stop.last, gear)}
      flow={flowAsked(stop.why)}
      tools={everyAsk(gear)}
      done={before && (await isNews(visit, before.bucket.code)) ? before : null}
      form={form}
      reader={readerOf(visit)}
    />,
  );
}

/** Records what was typed, SG or flow or both, and goes on to the next bucket. */
export const recordRoundCheck = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showRoundCheck(visit, form),
    async () => {
      const place = readPlace(visit.query, visit.now);
      const code = place.of?.[place.at];
      if (code === undefined) return go('/round');
      const { reading, flow } = whatWasTyped(visit);
      const number = await visit.act(async (act) => {
        const read = reading && (await recordAct(act, code, 'readings', reading));
        const seen = flow && (await recordAct(act, code, 'flows', flow));
        return (seen ?? read)?.event.number;
      });
      return go(
        `${roundAddress('/round/check', { ...place, of: place.of ?? [], at: place.at + 1 })}&did=${number}`,
      );
    },
  );

function whatWasTyped(visit: Visit) {
  const { typed } = visit;
  const isFilled = (name: string) => [typed[name] ?? []].flat().some((value) => value.trim() !== '');
  const measured = ['grams', 'value', 'millimetres'].some(isFilled);
  const flow = isFilled('seconds') || typed.method === undefined ? visit.form(KINDS.flows.body) : null;
  const reading = measured || flow === null ? visit.form(KINDS.readings.body) : null;
  return { reading, flow };
}

/** Whether the act that led here is this person's own and still news. */
async function isNews(visit: Visit, code: string): Promise<boolean> {
  const { did } = visit.query;
  if (typeof did !== 'string' || !/^\d{1,9}$/.test(did)) return false;
  const { events } = await listEvents(visit.read, code, { limit: 1, before: Number(did) + 1 });
  const [event] = events;
  return (
    event?.number === Number(did) && event.byId === visit.caller.id && visit.now - event.recordedAt <= NEWS
  );
}
