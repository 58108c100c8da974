import { TokenPage } from '../../../views/members/token.tsx';
import { type Answer, page, type Visit } from '../../core/routes.ts';
import { tokenForm } from '../forms.ts';
import { makeToken } from '../service/tokens.ts';
import { actInSecret } from '../visit.ts';
import { showMe } from './me.tsx';

export async function makeOwnToken(visit: Visit): Promise<Answer> {
  return visit.submit(
    (form) => showMe(visit, { which: 'token', form }),
    async () => {
      const { name, expires: days, may: scopes } = visit.form(tokenForm);
      const token = await actInSecret(visit, (act) => makeToken(act, { name, days, scopes }));
      return page(
        'Your new token',
        'me',
        <TokenPage name={name} token={token} isLimited={scopes !== null} />,
      );
    },
  );
}
