import { shownDay } from '../../server/core/wall-time.ts';
import type { FeeReader } from '../../server/fees/actions/reader.ts';
import { type LitresLeft, litresText } from '../../server/fees/litres.ts';
import type { Standing } from '../../server/fees/service/accounts.ts';
import type { Payer } from '../../server/fees/service/ledger.ts';
import type { TariffNow } from '../../server/fees/service/tariffs.ts';
import type { Entry } from '../../server/fees/words.ts';
import { Links } from '../ui/panel.tsx';
import { AccountSearch, balanceWords, Entries } from './parts.tsx';

export interface OwnAccount {
  account: Payer;
  standing: Standing;
  newest: Entry[];
  litres: LitresLeft;
}

interface Props {
  own: OwnAccount[];
  /** The price list that counts today. */
  list: TariffNow | null;
  reader: FeeReader;
}

export function FeesHub({ own, list, reader }: Props) {
  return (
    <>
      <h1>Fees</h1>
      {own.length === 0 ? (
        <>
          <p class="balance">Nothing to pay</p>
          <p class="soft">
            A piece is charged when its load is unloaded. What it will cost stands on its page from the day
            you register it.
          </p>
        </>
      ) : (
        own.map((one) => <Account key={one.account.id} {...one} alone={own.length === 1} reader={reader} />)
      )}
      <h2>Prices</h2>
      {list === null && <p class="soft">No price list is in force: nothing is charged yet.</p>}
      <Links
        label="Prices"
        links={[
          ['/fees/prices', 'Price list'],
          ['/fees/quote', 'What would a piece cost?'],
        ]}
      />
      {reader.may('fees.see-all') && (
        <>
          <h2>At the counter</h2>
          <AccountSearch />
          <Links
            label="At the counter"
            links={[
              ['/fees/accounts', 'All accounts'],
              ['/fees/requests', 'Requests'],
            ]}
          />
        </>
      )}
      {reader.may('fees.close') && (
        <>
          <h2>Keeping the books</h2>
          <Links
            label="Keeping the books"
            links={[
              ['/fees/months', 'Months and statements'],
              ['/fees/dues', 'Dues and shelf rent'],
              ['/fees/overview', 'Overview'],
              ['/fees/export', 'Export'],
              ['/fees/prices/all', 'Versions of the price list'],
              ['/fees/settings', 'Settings'],
            ]}
          />
        </>
      )}
    </>
  );
}

function Account({
  account,
  standing,
  newest,
  litres,
  alone,
  reader,
}: OwnAccount & { alone: boolean; reader: FeeReader }) {
  const at = `/fees/accounts/${account.number}`;
  return (
    <section class="panel">
      {(!alone || account.groupId !== null) && <h2>{account.name}</h2>}
      <p class="balance">{balanceWords(standing.balanceMinor, reader.currency)}</p>
      {standing.overdueSince !== null && (
        <p>
          <b>Overdue since {shownDay(standing.overdueSince)}.</b> Pay at the counter, or ask if something is
          wrong.
        </p>
      )}
      <LitresLine left={litres} />
      {newest.length > 0 && <Entries entries={newest} reader={reader} />}
      <Links
        label={`Account of ${account.name}`}
        links={[
          [at, 'Everything on this account'],
          [`/fees/statements/${account.number}`, 'Statements'],
        ]}
      />
    </section>
  );
}

/** Firing that is paid for already: what is left of this month, of bags of clay and of cards. */
export function LitresLine({ left: { monthCm3, grants } }: { left: LitresLeft }) {
  const of = (source: 'card' | 'clay') =>
    grants.reduce((sum, grant) => sum + (grant.source === source ? grant.leftCm3 : 0), 0);
  const parts = [
    [monthCm3, 'this month'],
    [of('clay'), 'with clay'],
    [of('card'), 'on cards'],
  ] as const;
  const left = parts.flatMap(([cm3, where]) => (cm3 > 0 ? [`${litresText(cm3)} ${where}`] : []));
  return left.length === 0 ? null : <p class="soft">Firing included, left: {left.join(', ')}.</p>;
}
