import { AllStatementsPage, StatementsPage, StatementView } from '../../../views/fees/statements.tsx';
import { numberIn } from '../../core/param.ts';
import { type Answer, page, type Visit } from '../../core/routes.ts';
import { monthWords } from '../month-words.ts';
import { lastReminder } from '../service/reminders.ts';
import { listStatements, statementOf, statementsOfMonth } from '../service/statements.ts';
import { periodIn } from './months.tsx';
import { feeReader } from './reader.ts';

const accountIn = (visit: Visit): number => numberIn(visit, 'account', 'There is no such account.');

export async function showStatements(visit: Visit): Promise<Answer> {
  const reader = feeReader(visit);
  const { account, months } = await listStatements(visit.read, accountIn(visit));
  const reminded = reader.may('fees.see-all') ? await lastReminder(visit.read, account.number) : null;
  return page(
    `Statements of ${account.name}`,
    'fees',
    <StatementsPage account={account} months={months} reminded={reminded} reader={reader} />,
  );
}

export async function showStatement(visit: Visit): Promise<Answer> {
  const period = periodIn(visit);
  const statement = await statementOf(visit.read, accountIn(visit), period);
  return page(
    `Statement of ${statement.account.name}, ${monthWords(period)}`,
    'fees',
    <StatementView sheet={statement} studio={visit.studio.name} reader={feeReader(visit)} />,
  );
}

export async function printStatements(visit: Visit): Promise<Answer> {
  const period = periodIn(visit);
  const at = /^[1-9]\d{0,3}$/.test(String(visit.query.page)) ? Number(visit.query.page) : 1;
  const { statements, count, pages } = await statementsOfMonth(visit.read, period, at);
  return page(
    `All statements, ${monthWords(period)}`,
    'fees',
    <AllStatementsPage
      period={period}
      sheets={statements}
      count={count}
      page={at}
      pages={pages}
      studio={visit.studio.name}
      reader={feeReader(visit)}
    />,
  );
}
