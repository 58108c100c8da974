import type { z } from 'zod';
import { DAY, HOUR, type Instant, MINUTE } from '../server/core/clock.ts';
import { studioDay } from '../server/core/session.ts';
import { addDuty, addUsualDuties, dutyBody, listDuties } from '../server/safety/service/duties.ts';
import { amend, close, followUp, logEntry } from '../server/safety/service/log.ts';
import { entryBody } from '../server/safety/service/log-forms.ts';
import { DEMO_PEOPLE, type DemoName } from './people.ts';
import type { By } from './ware.ts';

/** What happened in the studio, and what is looked after there; `opened` is when it began. */
export async function keepSafetyLog(by: By, opened: Instant, now: Instant): Promise<void> {
  const write = (who: DemoName, at: Instant, entry: z.input<typeof entryBody>) =>
    logEntry(by(who, at), entryBody.parse(entry));

  const filters = await addDuty(
    by('Wren', opened),
    dutyBody.parse({
      name: 'Check filters and extraction',
      everyDays: 14,
      kind: 'ventilation',
      forRole: 'technician',
    }),
  );
  await addUsualDuties(by('Wren', now - 12 * DAY));
  const duties = await listDuties(by('Wren', now - 12 * DAY));
  const dutyOf = (words: string) => duties.find(({ name }) => name.includes(words))?.number;

  await write('Wren', now - 20 * DAY, {
    kind: 'ventilation',
    place: 'Spray booth',
    outcome: 'in-order',
    value: 0.62,
    unit: 'm/s',
    method: 'vane anemometer at the face',
    what: 'Pre-filter changed, face speed measured afterwards.',
    duty: filters,
  });
  await write('Wren', now - 17 * DAY, {
    kind: 'wipe',
    place: 'Mixing bench, where people lean',
    what: '100 cm² beside the scale, before the weekly clean.',
    substance: 'manganese',
    value: 14,
    unit: 'µg/100 cm²',
    method: 'wet wipe, sent to a laboratory',
  });
  await write('Wren', now - 11 * DAY, {
    kind: 'wet-cleaning',
    place: 'Glaze sink',
    what: 'Trap emptied wet into the reclaim, seal changed.',
    duty: dutyOf('sink trap'),
  });
  await write('Maro', now - 10 * DAY, {
    kind: 'inspection',
    place: 'Office',
    outcome: 'in-order',
    what: 'Looked through the folder of safety data sheets with Wren, sheet by sheet.',
    duty: dutyOf('safety data sheets'),
  });
  const spill = await write('Tomas', now - 9 * DAY, {
    kind: 'spill',
    place: 'Glaze sink',
    bucket: 'HG',
    what: 'The ladle slipped: about two litres over the edge, across the floor to the drain.',
    action: 'Stopped the drain with the mat, wiped up wet into the rinse bucket.',
    topic: 'slip',
  });
  await amend(by('Tomas', now - 9 * DAY + HOUR), spill, {
    what: 'It was nearer one litre than two, by the dip stick.',
  });
  await followUp(by('Wren', now - 8 * DAY), spill, {
    what: 'A rim guard for the big buckets, and a mat that stays at the drain.',
    owner: emailOf('Wren'),
    dueOn: await studioDay(by('Wren', now - 4 * DAY)),
  });
  await write('Wren', now - 6 * DAY, {
    kind: 'inspection',
    place: 'Eyewash, glaze room',
    outcome: 'in-order',
    what: 'Ran three minutes, clear.',
    duty: dutyOf('eyewash'),
  });
  await close(by('Wren', now - 5 * DAY), spill, {
    what: 'Mat hangs beside the drain, two rim guards bought. Tried both with water.',
  });
  const glare = await write('Noor', now - 3 * DAY, {
    kind: 'near-miss',
    place: 'Kiln room',
    kiln: 'G',
    what: 'Looked into the spy hole without the dark glasses because they were not on their hook.',
    action: 'Found them in the glaze room and hung them back.',
    topic: 'heat-glare',
  });
  await followUp(by('Wren', now - 2 * DAY), glare, {
    what: 'A second pair, on a chain at the kiln.',
    owner: emailOf('Maro'),
    dueOn: await studioDay(by('Wren', now)),
  });
  await write('Petra', now - DAY, {
    kind: 'wet-cleaning',
    place: 'Wheels and benches',
    what: 'After the evening class.',
    duty: dutyOf('Wet clean'),
  });
  await write('Ida', now - 4 * HOUR - 20 * MINUTE, {
    kind: 'first-aid',
    place: 'Glazing table',
    what: 'Ida: thumb cut on a drip of a fired foot. Small, cleaned, plaster.',
    action: 'Plaster from the box; the foot is ground now.',
    topic: 'sharp',
  });
}

const emailOf = (who: DemoName): string => DEMO_PEOPLE.find(({ name }) => name === who)?.email ?? '';
