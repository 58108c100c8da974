import { RequestPage, RequestsPage } from '../../../views/fees/requests.tsx';
import { numberIn } from '../../core/param.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { decideRequest, decisionForm, findRequest, listRequests } from '../service/requests.ts';
import { feeReader } from './reader.ts';

const requestNumber = (visit: Visit): number => numberIn(visit, 'number', 'There is no such request.');

export async function showRequests(visit: Visit): Promise<Answer> {
  const lists = await listRequests(visit.read);
  return page('Requests', 'fees', <RequestsPage {...lists} reader={feeReader(visit)} />);
}

export async function showRequest(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const request = await findRequest(visit.read, requestNumber(visit));
  return page(
    `Request ${request.number}`,
    'fees',
    <RequestPage
      request={request}
      form={form}
      done={visit.done({ answered: 'Answered. Whoever asked was told.' })}
      reader={feeReader(visit)}
    />,
  );
}

export const answerRequest = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showRequest(visit, form),
    async () => {
      const number = requestNumber(visit);
      const typed = visit.form(decisionForm);
      await visit.act((act) => decideRequest(act, number, typed));
      return go(`/fees/requests/${number}?done=answered`);
    },
  );
