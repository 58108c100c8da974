import { moneyText } from '../../server/core/money.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import type { FeeReader } from '../../server/fees/actions/reader.ts';
import { litresText } from '../../server/fees/litres.ts';
import type { LoadFees, PieceCost } from '../../server/fees/service/load-fees.ts';
import { firingWords } from '../../server/ware/firing.ts';
import { formWord } from '../../server/ware/presets.ts';
import { upper } from '../../server/ware/words.ts';
import { Facts, Flash, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { PlainAct } from '../ui/verdict.tsx';
import { BackToFees, Because, Money } from './parts.tsx';

interface LoadFeesProps {
  fees: LoadFees;
  refused: string;
  done: string | null;
  reader: FeeReader;
}

/** What a load cost whom, piece by piece with the arithmetic. */
export function LoadFeesPage({ fees, refused, done, reader }: LoadFeesProps) {
  const { number, kiln, firing, firedAt, pieces, payers, totalMinor, cost, mayCharge } = fees;
  const isStaff = reader.may('fees.see-all');
  const missing = pieces.filter(({ charge }) => charge === null);
  return (
    <>
      {refused !== '' && <Flash tone="refused" words={refused} />}
      {done !== null && refused === '' && <Flash words={done} />}
      <h1>What load {number} cost</h1>
      <p>
        {upper(firingWords(firing))}, {kiln.name}, fired {shownTime(firedAt, reader.now, reader.timeZone)}.
      </p>
      <p>
        <b>
          {isStaff ? 'Charged' : 'Yours'}: <Money minor={totalMinor} reader={reader} />
        </b>
      </p>
      {missing.length > 0 && (
        <Panel title={`Not charged: ${missing.length}`}>
          <ul class="plain-list">
            {missing.map((piece) => (
              <li key={piece.number}>
                <a href={`/ware/${piece.number}`}>{pieceWords(piece)}</a>: {piece.why}
              </li>
            ))}
          </ul>
          {mayCharge && (
            <PlainAct
              post={`/fees/loads/${number}/charge`}
              idempotencyKey={`${reader.key}-charge`}
              label="Charge it now"
              small="By the price list of the day it was fired."
            />
          )}
        </Panel>
      )}
      {cost && <Cost cost={cost} totalMinor={totalMinor} reader={reader} />}
      {isStaff && payers.length > 0 && (
        <Panel title="By payer">
          <Table
            columns={[
              { label: 'Who pays', main: true, wraps: true },
              { label: 'Pieces', number: true, keepLabel: true },
              { label: 'Amount', number: true, keepLabel: true },
            ]}
            rows={payers.map((payer) => ({
              key: payer.account,
              cells: [
                <a href={`/fees/accounts/${payer.account}`}>{payer.name}</a>,
                payer.pieces,
                <Money minor={payer.minor} reader={reader} />,
              ],
            }))}
          />
        </Panel>
      )}
      {missing.length < pieces.length && (
        <Panel title="Piece by piece">
          <Table
            columns={[
              { label: 'Piece', main: true, wraps: true },
              ...(isStaff ? [{ label: 'Who pays', wraps: true, keepLabel: true }] : []),
              { label: 'By', wraps: true },
              { label: 'Price', number: true, keepLabel: true },
              { label: 'Why' },
            ]}
            rows={pieces.flatMap((piece) => (piece.charge ? [rowOf(piece, piece.charge, fees, reader)] : []))}
          />
        </Panel>
      )}
      {isStaff && (
        <p>
          <a href={`/kilns/loads/${number}`}>Load {number}</a>
        </p>
      )}
      <BackToFees />
    </>
  );
}

const pieceWords = ({ number, form }: PieceCost): string => `${upper(formWord(form))} ${number}`;

function rowOf(
  piece: PieceCost,
  charge: NonNullable<PieceCost['charge']>,
  { number }: LoadFees,
  reader: FeeReader,
) {
  const { line, cm3, coveredCm3, amountMinor, creditedMinor, isStruck, because, entry } = charge;
  const isStaff = reader.may('fees.see-all');
  return {
    key: piece.number,
    struck: isStruck,
    cells: [
      <a href={`/ware/${piece.number}`}>{pieceWords(piece)}</a>,
      ...(isStaff ? [piece.payer ?? ''] : []),
      <>
        {line}
        <small class="soft">
          {` ${litresText(cm3)}${coveredCm3 > 0 ? `, ${litresText(coveredCm3)} of it included` : ''}`}
        </small>
      </>,
      <>
        <Money minor={amountMinor} reader={reader} />
        {isStruck && <small> struck out</small>}
        {creditedMinor !== 0n && <small> credited {moneyText(creditedMinor, reader.currency)}</small>}
      </>,
      <>
        {piece.isStudiosFault && <b>The studio's doing. </b>}
        <Because lines={because} />
        {isStaff && (
          <span class="row">
            <a class="plain" href={`/fees/entries/${entry}`}>
              Entry {entry}
            </a>
            <a class="plain" href={`/kilns/loads/${number}/outcomes/${piece.number}`}>
              {piece.isStudiosFault ? 'Whose doing' : "The studio's doing?"}
              <span class="hidden-text"> Piece {piece.number}</span>
            </a>
          </span>
        )}
      </>,
    ],
  };
}

function Cost({
  cost: { kWh, energyMinor, wearMinor },
  totalMinor,
  reader,
}: {
  cost: NonNullable<LoadFees['cost']>;
  totalMinor: bigint;
  reader: FeeReader;
}) {
  const money = (minor: bigint) => moneyText(minor, reader.currency);
  const spent = (energyMinor ?? 0n) + (wearMinor ?? 0n);
  const energy = kWh === null ? 'not known' : `about ${kWh.toFixed(0)} kWh`;
  const left = totalMinor - spent;
  return (
    <Panel title="Against what it took">
      <Facts
        items={[
          ['Energy', energyMinor === null ? energy : `${energy}, ${money(energyMinor)}`],
          ['Wear', wearMinor === null ? 'not said for this kiln' : money(wearMinor)],
          ...(energyMinor === null && wearMinor === null
            ? []
            : [['Left over', money(left)] as [string, string]]),
        ]}
      />
    </Panel>
  );
}
