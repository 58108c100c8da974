import { PairPage, UnpairedPage } from '../../../views/members/devices.tsx';
import { readForm } from '../../core/forms.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { NOBODY_YET, pairForm } from '../forms.ts';
import { pairByCode } from '../service/devices.ts';
import { becomeTablet, sentTablet } from '../visit.ts';

/** Opened on the tablet. Looking at it pairs nothing, so that a preview of the address cannot use the code up. */
export async function showPair(visit: Visit, form?: FormState): Promise<Answer> {
  const { request, query } = visit;
  if (!request.studio) return go('/setup');
  const shown = form ?? emptyForm({ code: [query.code ?? ''].flat()[0] });
  const { device, caller } = request;
  return page('Pair this screen', null, <PairPage form={shown} device={device} person={caller} />);
}

export async function pairByTypedCode(visit: Visit): Promise<Answer> {
  const { services, request, typed, now } = visit;
  return visit.submit(
    (form) => showPair(visit, form),
    async () => {
      const { code } = readForm(pairForm, typed, NOBODY_YET);
      const entry = { code, address: request.ip, before: sentTablet(visit) };
      const secret = await pairByCode(services.database, entry, now);
      return go('/tablet?paired', await becomeTablet(visit, secret));
    },
  );
}

export const showUnpaired = async (): Promise<Answer> =>
  page('This tablet is not paired any more', null, <UnpairedPage />);
