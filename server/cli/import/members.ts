import type { z } from 'zod';
import { parse, text } from '../../core/forms.ts';
import { shownTime } from '../../core/wall-time.ts';
import { inviteForm } from '../../members/forms.ts';
import { invite, listInvited } from '../../members/service/links.ts';
import { listPeople } from '../../members/service/people.ts';
import { eachLine } from './each-line.ts';
import { type Invited, importKind } from './kind.ts';

const memberLine = inviteForm.extend({
  role: inviteForm.shape.role.default('member'),
  name: text(80).optional(),
});

type MemberLine = z.output<typeof memberLine>;

/** People who are not here yet: each gets an invitation, and chooses name and password with it. */
export const members = importKind<MemberLine>({
  name: 'members',
  nouns: ['invitation', 'invitations'],
  sameAs: 'The same address',
  columns: [
    { key: 'email', header: 'email', also: ['email address', 'mail'], reads: 'text', isRequired: true },
    { key: 'name', header: 'name', also: ['full name', 'member'], reads: 'text' },
    { key: 'role', header: 'role', reads: 'word' },
  ],
  read: (values) => parse(memberLine, values),
  identity: ({ email }) => email,
  async bring(setting, lines) {
    const { act, studio } = setting;
    const [people, invited] = [await listPeople(act), await listInvited(act)];
    const invitations: Invited[] = [];
    const here = new Map(people.map((person) => [person.email, person.active]));
    const brought = await eachLine(setting, lines, async (each, { email, name = '', role }) => {
      const isActive = here.get(email);
      if (isActive !== undefined)
        return isActive ? `${email} is here.` : `${email} was here before. A manager can let them back in.`;
      const until = invited.get(email);
      if (until !== undefined)
        return `${email} was invited; that works until ${shownTime(until, act.now, studio.timeZone)}.`;
      invitations.push({ ...(await invite(each, { email, role })), email, name, role });
      return null;
    });
    return { ...brought, invitations };
  },
});
