import { QuotePage } from '../../../views/fees/quote.tsx';
import { Invalid } from '../../core/errors.ts';
import { flag } from '../../core/forms.ts';
import { type Answer, page, type Visit } from '../../core/routes.ts';
import { listToday, pieceToQuote, type Quote, quote } from '../service/quote.ts';
import { feeReader } from './reader.ts';

const form = pieceToQuote.extend({ soon: flag().optional() });

/** Everything is in the address, so that it works without a script and can be kept or sent. */
export async function showQuote(visit: Visit): Promise<Answer> {
  const { query } = visit;
  const list = await listToday(visit.read);
  const { found, errors } = list && query.widthMm !== undefined ? await quoted(visit) : NOTHING;
  return page(
    'What would it cost?',
    'fees',
    <QuotePage list={list} found={found} form={{ typed: query, errors }} reader={feeReader(visit)} />,
    errors.length > 0 ? 422 : 200,
  );
}

interface Quoted {
  found: Quote | null;
  errors: Invalid['errors'];
}

const NOTHING: Quoted = { found: null, errors: [] };

async function quoted(visit: Visit): Promise<Quoted> {
  try {
    const { soon, ...piece } = visit.form(form, visit.query);
    return { found: await quote(visit.read, { pieces: [piece] }, soon), errors: [] };
  } catch (error) {
    if (!(error instanceof Invalid)) throw error;
    return {
      found: null,
      errors: error.errors.map((one) => (one.path === 'pieces' ? { ...one, path: '' } : one)),
    };
  }
}
