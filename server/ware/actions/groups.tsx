import { GroupEditPage, GroupPage, GroupsPage, NewGroupPage } from '../../../views/ware/groups.tsx';
import { numberIn } from '../../core/param.ts';
import { may } from '../../core/policy.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import {
  addToGroup,
  changeGroup,
  classForm,
  findGroup,
  type Group,
  groupForm,
  householdForm,
  listGroups,
  makeClass,
  makeHousehold,
  namesToChoose,
  personForm,
  removeFromGroup,
  retireGroup,
  whoForm,
} from '../service/groups.ts';

export async function showGroups(visit: Visit): Promise<Answer> {
  const groups = await listGroups(visit.read);
  return page(
    'Households and classes',
    'ware',
    <GroupsPage groups={groups} mayMakeClass={may(visit.caller.role, 'ware.edit')} done={visit.done(DONE)} />,
  );
}

const DONE: Record<string, string> = {
  ended: 'Ended. Pieces that belong to it keep it.',
  left: 'You are out of it.',
};

const newGroup = (kind: Group['kind']) => {
  const show = async (visit: Visit, form: FormState = emptyForm()): Promise<Answer> =>
    page(
      kind === 'class' ? 'New class' : 'New household',
      'ware',
      <NewGroupPage
        kind={kind}
        form={form}
        names={kind === 'class' ? await namesToChoose(visit.read) : []}
        newKey={randomSecret()}
      />,
    );
  const make = (visit: Visit): Promise<Answer> =>
    visit.submit(
      (form) => show(visit, form),
      async () => {
        const id = await visit.act((act) =>
          kind === 'class'
            ? makeClass(act, visit.form(classForm))
            : makeHousehold(act, visit.form(householdForm)),
        );
        return go(`/ware/groups/${id}`);
      },
    );
  return { show, make };
};

export const household = newGroup('household');
export const classes = newGroup('class');

export async function showGroup(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const [group, names] = await Promise.all([
    findGroup(visit.read, groupId(visit)),
    namesToChoose(visit.read),
  ]);
  const added = group.people.find(({ id }) => String(id) === visit.query.added);
  return page(
    group.name,
    'ware',
    <GroupPage
      group={group}
      me={visit.caller.id}
      names={names}
      form={form}
      done={added ? `${added.name} is in it, and was told.` : visit.query.done === 'saved' ? 'Saved.' : null}
      newKey={randomSecret()}
    />,
  );
}

export const addPerson = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showGroup(visit, form),
    async () => {
      const id = groupId(visit);
      const who = visit.form(whoForm);
      const person = await visit.act((act) => addToGroup(act, id, who));
      return go(`/ware/groups/${id}?added=${person}`);
    },
  );

export const removePerson = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showGroup(visit, form),
    async () => {
      const id = groupId(visit);
      const { person } = visit.form(personForm);
      await visit.act((act) => removeFromGroup(act, id, { person }));
      return go(person === visit.caller.id ? '/ware/groups?done=left' : `/ware/groups/${id}?done=saved`);
    },
  );

export async function showGroupEdit(visit: Visit, form?: FormState): Promise<Answer> {
  const [group, names] = await Promise.all([
    findGroup(visit.read, groupId(visit)),
    namesToChoose(visit.read),
  ]);
  return page(
    group.name,
    'ware',
    <GroupEditPage
      group={group}
      form={form ?? emptyForm({ name: group.name })}
      names={names}
      mayHandOver={may(visit.caller.role, 'ware.edit')}
      newKey={randomSecret()}
    />,
  );
}

export const saveGroup = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showGroupEdit(visit, form),
    async () => {
      const id = groupId(visit);
      const command = visit.form(groupForm);
      await visit.act((act) => changeGroup(act, id, command));
      return go(`/ware/groups/${id}?done=saved`);
    },
  );

export const endGroup = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showGroup(visit, form),
    async () => {
      await visit.act((act) => retireGroup(act, groupId(visit)));
      return go('/ware/groups?done=ended');
    },
  );

/** The address of an act on a group, opened by itself, leads to the group. */
export const backToGroup = async (visit: Visit): Promise<Answer> => go(`/ware/groups/${groupId(visit)}`);

const groupId = (visit: Visit): number => numberIn(visit, 'id', 'There is no such group.');
