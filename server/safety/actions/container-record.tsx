import { z } from 'zod';
import { ContainerRecordPage, StrikeOutContainerPage } from '../../../views/safety/container-record.tsx';
import { text } from '../../core/forms.ts';
import { numberIn } from '../../core/param.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { CONTAINER_ACTS } from '../container.ts';
import { recordAtContainer } from '../service/container-acts.ts';
import { containerEventBody } from '../service/container-forms.ts';
import {
  bucketsForContainers,
  findContainer,
  findContainerEvent,
  listContainers,
} from '../service/containers.ts';
import { containerReader } from './container-reader.ts';

const at = (visit: Visit): string => `/containers/${encodeURIComponent(visit.param('code'))}`;

export async function showRecord(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const [container, buckets, containers] = await Promise.all([
    findContainer(visit.read, visit.param('code')),
    bucketsForContainers(visit.read),
    listContainers(visit.read),
  ]);
  const asked = [form.typed.kind ?? visit.query.kind].flat().at(-1);
  return page(
    `Record at ${container.name}`,
    'safety',
    <ContainerRecordPage
      container={container}
      kind={CONTAINER_ACTS.find((kind) => kind === asked) ?? 'in'}
      buckets={buckets}
      others={containers.filter(({ code }) => code !== container.code)}
      form={form}
      reader={containerReader(visit)}
    />,
  );
}

export const record = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showRecord(visit, form),
    async () => {
      const command = visit.form(containerEventBody);
      await visit.act((act) => recordAtContainer(act, visit.param('code'), command));
      return go(`${at(visit)}?done=${command.kind === 'sieve-back' ? 'sieved-back' : 'recorded'}`);
    },
  );

const strikeOutForm = z.object({ reason: text(500) });

const rowNumber = (visit: Visit): number => numberIn(visit, 'number', 'There is no row with this number.');

export async function showStrikeOut(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const code = visit.param('code');
  const number = rowNumber(visit);
  const [container, event] = await Promise.all([
    findContainer(visit.read, code),
    findContainerEvent(visit.read, code, number),
  ]);
  return page(
    'Strike out',
    'safety',
    <StrikeOutContainerPage
      container={container}
      event={event}
      form={form}
      reader={containerReader(visit)}
    />,
  );
}

export const strikeOut = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showStrikeOut(visit, form),
    async () => {
      const { reason } = visit.form(strikeOutForm);
      const command = { kind: 'void', number: rowNumber(visit), reason } as const;
      await visit.act((act) => recordAtContainer(act, visit.param('code'), command));
      return go(`${at(visit)}?done=struck-out`);
    },
  );
