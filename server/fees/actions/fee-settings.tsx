import { z } from 'zod';
import { FeeSettingsPage } from '../../../views/fees/fee-settings.tsx';
import { type FieldError, Invalid } from '../../core/errors.ts';
import { choice, money, readForm, type Typed, text } from '../../core/forms.ts';
import { plainMoney } from '../../core/money.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { listKilns } from '../../kilns/service/index.ts';
import { gather } from '../../kilns/typed-rows.ts';
import { changeFeeSettings, feeFingerprint, feeSettings } from '../service/settings.ts';
import type { FeeSettings } from '../settings.ts';
import { CODED_ACCOUNTS, feeSettingsBody, MOST_MINOR } from '../settings-form.ts';
import { feeReader, seenIn, sentBack } from './reader.ts';

const { creditLimitMinor, dueDays } = feeSettingsBody.shape;
const flatForm = z.object({
  classes: text(400),
  creditLimitMinor,
  dueDays,
  payWords: text(1000).optional(),
  delimiter: choice([',', ';', 'tab']),
  decimalMark: choice(['.', ',']),
});

const codeField = (account: string) => `code-${account.replace(':', '-')}`;

export async function showFeeSettings(visit: Visit, form?: FormState): Promise<Answer> {
  const [settings, kilns] = await Promise.all([feeSettings(visit.read), listKilns(visit.read)]);
  return page(
    'Fee settings',
    'fees',
    <FeeSettingsPage
      form={form ?? emptyForm(asTyped(settings, visit.studio.currency))}
      seen={seenIn(form, feeFingerprint(settings))}
      accounts={CODED_ACCOUNTS.map((account) => ({ account, field: codeField(account) }))}
      kilns={kilns.map(({ code, name }) => ({ name, field: `wear-${code}` }))}
      saved={visit.query.done === 'saved'}
      reader={feeReader(visit)}
    />,
  );
}

function asTyped(settings: FeeSettings, currency: string): Typed {
  const plain = (minor: number) => plainMoney(BigInt(minor), currency);
  return {
    classes: settings.classes.join('\n'),
    creditLimitMinor: plain(settings.creditLimitMinor),
    dueDays: String(settings.dueDays),
    payWords: settings.payWords,
    delimiter: settings.delimiter === '\t' ? 'tab' : settings.delimiter,
    decimalMark: settings.decimalMark,
    ...Object.fromEntries(
      Object.entries(settings.codes).map(([account, value]) => [codeField(account), value]),
    ),
    ...Object.fromEntries(
      Object.entries(settings.wearMinor).map(([kiln, minor]) => [`wear-${kiln}`, plain(minor)]),
    ),
  };
}

export const saveFeeSettings = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showFeeSettings(visit, form),
    async () => {
      const command = await readSettings(visit);
      await visit.act((act) => changeFeeSettings(act, command, sentBack(visit.typed)));
      return go('/fees/settings?done=saved');
    },
  );

async function readSettings(visit: Visit): Promise<FeeSettings> {
  const errors: FieldError[] = [];
  const { typed, formSetting } = visit;
  const before = await feeSettings(visit.read);
  const flat = gather(errors, () => readForm(flatForm, typed, formSetting), null);
  const optional = <T,>(field: string, schema: z.ZodType<T>): T | undefined =>
    gather(
      errors,
      () =>
        (readForm(z.object({ [field]: schema.optional() }), typed, formSetting) as Record<string, T>)[field],
      undefined,
    );
  const codes: Record<string, string> = {};
  for (const account of CODED_ACCOUNTS) {
    const value = optional(codeField(account), text(20));
    if (value !== undefined) codes[account] = value;
  }
  const wearMinor = { ...before.wearMinor };
  for (const { code } of await listKilns(visit.read)) {
    const value = optional(`wear-${code}`, money(0, MOST_MINOR));
    if (value === undefined) delete wearMinor[code];
    else wearMinor[code] = value;
  }
  if (!flat || errors.length > 0) throw new Invalid(errors);
  const command = {
    creditLimitMinor: flat.creditLimitMinor,
    dueDays: flat.dueDays,
    payWords: flat.payWords ?? '',
    classes: flat.classes
      .split(/[\n,]/)
      .map((name) => name.trim())
      .filter((name) => name !== ''),
    codes,
    wearMinor,
    delimiter: flat.delimiter === 'tab' ? '\t' : flat.delimiter,
    decimalMark: flat.decimalMark,
  };
  const read = feeSettingsBody.safeParse(command);
  if (!read.success)
    throw new Invalid(
      read.error.issues.map(({ path, message }) => ({ path: String(path[0] ?? ''), message })),
    );
  return read.data as FeeSettings;
}
