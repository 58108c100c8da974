import { ContainerPage } from '../../../views/safety/container.tsx';
import { ContainerFormPage, PermissionPage } from '../../../views/safety/container-form.tsx';
import { ContainersPage } from '../../../views/safety/containers.tsx';
import { beforeIn } from '../../core/param.ts';
import { may } from '../../core/policy.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { fromLitres } from '../../core/units.ts';
import { mayStrikeOut } from '../service/container-acts.ts';
import {
  bucketsForContainers,
  createContainer,
  editContainer,
  editContainerBody,
  findContainer,
  listContainerEvents,
  listContainers,
  newContainerBody,
  permissionBody,
  permitDrain,
  retireContainer,
  rinseContainerOf,
} from '../service/containers.ts';
import { containerReader } from './container-reader.ts';

const at = (code: string): string => `/containers/${encodeURIComponent(code)}`;

export async function showContainers(visit: Visit): Promise<Answer> {
  const retired = visit.query.retired !== undefined && may(visit.caller.role, 'containers.edit');
  const containers = await listContainers(visit.read, { retired });
  return page(
    'Rinse and waste',
    'safety',
    <ContainersPage containers={containers} retired={retired} reader={containerReader(visit)} />,
  );
}

const DONE: Record<string, string> = {
  made: 'Put up.',
  saved: 'Saved.',
  recorded: 'Recorded.',
  'sieved-back': 'Sieved back. Stir that bucket to the bottom and check its SG.',
  'struck-out': 'Struck out, here and wherever it stood for the same thing.',
  permitted: 'The permission is recorded.',
  retired: 'Out of use.',
  returned: 'In use again.',
};

/** What is refused on this page itself, such as taking it out of use, stands above it. */
export async function showContainer(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const code = visit.param('code');
  const [container, ledger] = await Promise.all([
    findContainer(visit.read, code),
    listContainerEvents(visit.read, code, { before: beforeIn(visit) }),
  ]);
  const events = ledger.events.map((event) => ({
    ...event,
    mayStrikeOut:
      event.entry.kind !== 'void' &&
      !event.voided &&
      mayStrikeOut(visit.read, { kind: event.entry.kind, byId: event.byId, recordedAt: event.recordedAt }),
  }));
  return page(
    container.name,
    'safety',
    <ContainerPage
      container={container}
      events={events}
      next={ledger.next}
      refused={form.errors.map(({ message }) => message).join(' ') || null}
      done={visit.done(DONE)}
      reader={containerReader(visit)}
    />,
  );
}

export async function showNewContainer(visit: Visit, form?: FormState): Promise<Answer> {
  const buckets = await bucketsForContainers(visit.read);
  const bucket = [visit.query.bucket].flat().at(-1);
  return page(
    'New container',
    'safety',
    <ContainerFormPage
      container={null}
      glazes={buckets.glazes}
      form={form ?? emptyForm(bucket === undefined ? {} : { kind: 'rinse', bucket })}
      reader={containerReader(visit)}
    />,
  );
}

export const makeContainer = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showNewContainer(visit, form),
    async () => {
      const { typed } = visit;
      // The glaze is asked of a rinse bucket only; the form has its field for all of them.
      const command = visit.form(
        newContainerBody,
        typed.kind === 'rinse' ? typed : { ...typed, bucket: undefined },
      );
      return go(`${at(await visit.act((act) => createContainer(act, command)))}?done=made`);
    },
  );

export async function showEditContainer(visit: Visit, form?: FormState): Promise<Answer> {
  const [container, { glazes }] = await Promise.all([
    findContainer(visit.read, visit.param('code')),
    bucketsForContainers(visit.read),
  ]);
  const { code, name, place, capacityLitres, parent } = container;
  const capacity = fromLitres(capacityLitres, visit.caller.units);
  return page(
    `Edit ${name}`,
    'safety',
    <ContainerFormPage
      container={container}
      glazes={glazes}
      form={
        form ??
        emptyForm({
          code,
          name,
          place,
          capacityLitres: String(Number(capacity.toFixed(2))),
          bucket: parent?.code,
        })
      }
      reader={containerReader(visit)}
    />,
  );
}

export const saveContainer = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showEditContainer(visit, form),
    async () => {
      const command = visit.form(editContainerBody);
      const code = await visit.act((act) => editContainer(act, visit.param('code'), command));
      return go(`${at(code)}?done=saved`);
    },
  );

export const takeContainerOut = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showContainer(visit, form),
    async () => {
      const code = visit.param('code');
      const retired = visit.typed.to !== 'use';
      await visit.act((act) => retireContainer(act, code, retired));
      return go(`${at(code)}?done=${retired ? 'retired' : 'returned'}`);
    },
  );

export async function showPermission(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const container = await findContainer(visit.read, visit.param('code'));
  return page(
    `Drain permission of ${container.name}`,
    'safety',
    <PermissionPage container={container} form={form} reader={containerReader(visit)} />,
  );
}

export const savePermission = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showPermission(visit, form),
    async () => {
      const command = visit.form(permissionBody);
      await visit.act((act) => permitDrain(act, visit.param('code'), command));
      return go(`${at(visit.param('code'))}?done=permitted`);
    },
  );

/** From a bucket to what its rinse is kept in, or to where one is put up. */
export async function findRinse(visit: Visit): Promise<Answer> {
  const bucket = visit.param('code');
  const code = await rinseContainerOf(visit.read, bucket);
  if (code !== null) return go(at(code));
  return go(
    may(visit.caller.role, 'containers.edit')
      ? `/containers/new?bucket=${encodeURIComponent(bucket)}`
      : '/containers',
  );
}
