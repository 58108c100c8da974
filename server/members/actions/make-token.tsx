import { TokenPage } from '../../../views/members/token.tsx';
import { type Answer, page, type Visit } from '../../core/routes.ts';
import { tokenForm } from '../forms.ts';
import { makeToken } from '../service/tokens.ts';
import { self } from '../visit.ts';
import { showMe } from './me.tsx';

export async function makeOwnToken(visit: Visit): Promise<Answer> {
  return visit.submit(
    (form) => showMe(visit, { which: 'token', form }),
    async () => {
      const { name, expires: days, may: scopes, code } = visit.form(tokenForm);
      const token = await makeToken(visit.services, self(visit), { name, days, scopes, code });
      return page(
        'Your new token',
        'me',
        <TokenPage name={name} token={token} isLimited={scopes !== null} />,
      );
    },
  );
}
