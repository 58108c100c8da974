import { z } from 'zod';
import { type Endpoint, pages, read, write } from '../core/api.ts';
import { iso } from '../core/json.ts';
import { DISPOSALS } from './container.ts';
import { recordAtContainer } from './service/container-acts.ts';
import { containerEventBody } from './service/container-forms.ts';
import * as containers from './service/containers.ts';

const num = z.number();
const words = z.string();
const named = z.object({ code: words, name: words });
const line = z.object({
  name: words,
  kilograms: num.meta({ description: 'Dry solids, as far as they are known' }),
  more: z.boolean().meta({ description: 'And an unknown amount besides' }),
});

const containerAnswer = z.object({
  code: words,
  name: words,
  kind: z.enum(['rinse', 'reclaim', 'waste']),
  place: words,
  capacityLitres: num,
  litres: num,
  specificGravity: num
    .nullable()
    .meta({ description: 'Reckoned; null where something in it was not measured' }),
  bucket: named.nullable().meta({ description: 'The glaze whose rinse it holds' }),
  glazes: z.array(words),
  materials: z.array(line),
  unlisted: z.array(line).meta({ description: 'Solids of which the materials are not known' }),
  classes: z
    .array(words)
    .meta({ description: 'Of the glazes in it, undiluted. None does not mean harmless' }),
  signalWord: z.enum(['Danger', 'Warning']).nullable(),
  pictograms: z.array(words),
  classifiedMaterials: z.array(words),
  unknown: z.array(words).meta({ description: 'Of which no classification is known' }),
  drainPermission: z.object({ authority: words, validTo: words, inForce: z.boolean() }).nullable(),
  retired: z.boolean(),
});

const containerJson = ({
  facts,
  parent,
  contents,
  inIt,
  permission,
  ...container
}: containers.ContainerNow): z.input<typeof containerAnswer> => {
  const { code, name, kind, place, capacityLitres, specificGravity, recipes, retired } = container;
  const lines = (list: typeof contents.materials) =>
    list.map(({ name, kg, more }) => ({ name, kilograms: kg, more }));
  return {
    code,
    name,
    kind,
    place,
    capacityLitres,
    litres: facts.litres,
    specificGravity,
    bucket: parent,
    glazes: recipes,
    materials: lines(contents.materials),
    unlisted: lines(contents.unlisted),
    classes: inIt.classes,
    signalWord: inIt.signalWord,
    pictograms: inIt.pictograms,
    classifiedMaterials: inIt.classified,
    unknown: inIt.unknown,
    drainPermission: permission && {
      authority: permission.authority,
      validTo: permission.validTo,
      inForce: permission.inForce,
    },
    retired,
  };
};

const eventAnswer = z.object({
  number: num,
  kind: z.enum(['in', 'moved-in', 'moved-out', 'sieved-back', 'disposal', 'level', 'void']),
  happenedAt: words,
  by: words,
  note: words.nullable(),
  voided: z.boolean(),
  litres: num.nullable(),
  bucket: named.extend({ event: num.nullable() }).nullable(),
  container: named.nullable().meta({ description: 'The other container of a move' }),
  voids: num.nullable(),
  disposal: z
    .object({
      how: z.enum(DISPOSALS),
      byWhom: words,
      manifest: words.nullable(),
      permittedBy: words.nullable(),
      logEntry: num.meta({ description: 'The entry of the safety log' }),
      materials: z.array(line),
      unlisted: z.array(line),
    })
    .nullable(),
});

function eventJson(row: containers.ContainerLedgerRow): z.input<typeof eventAnswer> {
  const { entry } = row;
  const lines = (list: { name: string; kg: number; more: boolean }[]) =>
    list.map(({ name, kg, more }) => ({ name, kilograms: kg, more }));
  return {
    number: row.number,
    kind: entry.kind,
    happenedAt: iso(row.happenedAt),
    by: row.by,
    note: row.note,
    voided: row.voided,
    litres: 'litres' in entry ? entry.litres : null,
    bucket: row.bucket,
    container: row.other,
    voids: entry.kind === 'void' ? entry.voids : null,
    disposal:
      entry.kind === 'disposal'
        ? {
            how: entry.how,
            byWhom: entry.byWhom,
            manifest: entry.manifest,
            permittedBy: entry.permittedBy,
            logEntry: entry.logEntry,
            materials: lines(entry.contents.materials),
            unlisted: lines(entry.contents.unlisted),
          }
        : null,
  };
}

const byCode = z.object({ code: z.string() });

export const containerEndpoints: Endpoint[] = [
  read({
    path: '/containers',
    permission: 'containers.see',
    summary: 'Rinse buckets, mixed reclaim and waste in use, with what is in them',
    whole: 'as many as are in use',
    answer: z.object({ containers: z.array(containerAnswer) }),
    run: async (ask) => ({ containers: (await containers.listContainers(ask)).map(containerJson) }),
  }),
  read({
    path: '/containers/:code',
    permission: 'containers.see',
    summary: 'One container, one out of use too',
    params: byCode,
    answer: containerAnswer,
    run: async (ask, { params }) => containerJson(await containers.findContainer(ask, params.code)),
  }),
  pages({
    path: '/containers/:code/events',
    permission: 'containers.see',
    summary: 'What went into a container and what became of it, the row written last first',
    params: byCode,
    page: { most: 100, usual: 20 },
    answer: z.object({
      events: z.array(eventAnswer),
      next: num.nullable().meta({ description: 'The `before` of the next page' }),
    }),
    run: async (ask, { params, query }) => {
      const { events, next } = await containers.listContainerEvents(ask, params.code, {
        limit: query.limit,
        before: query.before ?? null,
      });
      return { events: events.map(eventJson), next };
    },
  }),
  write({
    path: '/containers/:code/events',
    permission: 'containers.see',
    summary:
      'Record something at a container: rinsed in, sieved back (a top-up of its bucket), moved, level seen, disposed of, or a row struck out',
    params: byCode,
    body: containerEventBody,
    answer: z.object({ number: num, container: containerAnswer }),
    run: async (act, { params, body }) => ({
      number: await recordAtContainer(act, params.code, body),
      container: containerJson(await containers.findContainer(act, params.code)),
    }),
  }),
];
