import type { z } from 'zod';
import { DAY, type Instant } from '../server/core/clock.ts';
import { recordAtContainer } from '../server/safety/service/container-acts.ts';
import { type ContainerCommand, containerEventBody } from '../server/safety/service/container-forms.ts';
import { createContainer, newContainerBody } from '../server/safety/service/containers.ts';
import type { DemoName } from './people.ts';
import type { By } from './ware.ts';

const CONTAINERS: z.input<typeof newContainerBody>[] = [
  { kind: 'rinse', code: 'R-HG', name: 'Small grey pail', place: 'rack A', capacityLitres: 12, bucket: 'HG' },
  { kind: 'rinse', code: 'R-CF', name: 'Green pail', place: 'rack B', capacityLitres: 10, bucket: 'CF' },
  { kind: 'rinse', code: 'R-OS', name: 'Lidded jar', place: 'rack C', capacityLitres: 8, bucket: 'OS' },
  { kind: 'reclaim', code: 'MIX', name: 'Blue tub', place: 'by the sink', capacityLitres: 40 },
  { kind: 'waste', code: 'DRUM', name: 'Waste drum', place: 'store room', capacityLitres: 60 },
];

type Done = [daysAgo: number, who: DemoName, code: string, what: z.input<typeof containerEventBody>];

/** Rinsed, settled, moved and fetched, the oldest first; the green pail is full again. */
const EVENTS: Done[] = [
  [20, 'Wren', 'DRUM', { kind: 'level', litres: 41, note: 'From before anybody kept books.' }],
  [19, 'Ida', 'R-HG', { kind: 'in', litres: 1.5 }],
  [18, 'Jory', 'MIX', { kind: 'in', litres: 3 }],
  [17, 'Noor', 'R-CF', { kind: 'in', litres: 2 }],
  [16, 'Petra', 'R-OS', { kind: 'in', litres: 1 }],
  [15, 'Tomas', 'R-HG', { kind: 'in', litres: 2 }],
  [14, 'Lowell', 'R-CF', { kind: 'in', litres: 2.5 }],
  [13, 'Wren', 'R-CF', { kind: 'level', litres: 4.5, specificGravity: 1.06 }],
  [12, 'Noor', 'MIX', { kind: 'in', litres: 4, bucket: 'RM' }],
  [11, 'Wren', 'R-CF', { kind: 'move', litres: 1.5, to: 'DRUM', note: 'A sponge had been in it.' }],
  [
    10,
    'Maro',
    'DRUM',
    {
      kind: 'dispose',
      litres: 40,
      how: 'carrier',
      byWhom: 'Weir Lane Carting',
      manifest: 'WL-0417',
      note: 'The drum was swapped for an empty one.',
    },
  ],
  [9, 'Ida', 'R-HG', { kind: 'in', litres: 1.5 }],
  [8, 'Wren', 'R-HG', { kind: 'level', litres: 5, specificGravity: 1.05 }],
  [7, 'Jory', 'R-OS', { kind: 'in', litres: 1.2 }],
  [6, 'Petra', 'R-CF', { kind: 'in', litres: 3.5 }],
  [5, 'Wren', 'MIX', { kind: 'level', litres: 7, specificGravity: 1.08 }],
  [2, 'Tomas', 'R-CF', { kind: 'in', litres: 2.4 }],
];

/**
 * Rinse buckets of three glazes, the mixed reclaim and a drum. Called once the buckets are made and before they are
 * lived with, so that the rinse given back at a bucket leaves its container too.
 */
export async function standContainers(by: By, opened: Instant, now: Instant): Promise<void> {
  for (const container of CONTAINERS)
    await createContainer(by('Wren', opened), newContainerBody.parse(container));
  for (const [daysAgo, who, code, what] of EVENTS) {
    const command: ContainerCommand = containerEventBody.parse(what);
    await recordAtContainer(by(who, now - daysAgo * DAY), code, command);
  }
}
