import type { FormState } from '../../server/core/routes.ts';
import { firingWords } from '../../server/ware/firing.ts';
import { formWord } from '../../server/ware/presets.ts';
import type { PieceNow } from '../../server/ware/service/now.ts';
import { Field, Form, Submit } from '../ui/field.tsx';
import { Notice } from '../ui/panel.tsx';
import { Qr } from '../ui/qr.tsx';

interface TagsProps {
  pieces: PieceNow[];
  form: FormState;
  /** What the QR code says; null while no phone could open it. */
  addressOf: (number: number) => string | null;
  studio: string;
}

/** Tags that lie beside pieces on the rack. They never go into the kiln. */
export function TagsPage({ pieces, form, addressOf, studio }: TagsProps) {
  return (
    <>
      <div class="screen-only">
        <h1>Rack tags</h1>
        <p class="narrow">
          A tag lies beside its piece on the rack and stays there. Mark the piece itself too: paper burns off.
        </p>
        <Form action="/ware/tags" method="get" form={form}>
          <Field
            name="pieces"
            label="Numbers"
            hint="Such as: 12, 14-17."
            value={pieces.map(({ number }) => number).join(', ')}
            maxlength={400}
            autocomplete="off"
          />
          <Submit label="Show these tags" look="plain" />
        </Form>
        {pieces.length > 0 && addressOf(1) === null && (
          <Notice title="Without a QR code for now">
            <p>
              This server does not know the address that people type to reach it (PUBLIC_URL), or it is one
              that only this machine can open. A code printed now would lead nowhere.
            </p>
          </Notice>
        )}
        {pieces.length > 0 && (
          <button class="do" type="button" data-print>
            Print {pieces.length === 1 ? 'the tag' : `${pieces.length} tags`}
            <small>A4, eight on a page. At 100 %, without headings of the browser.</small>
          </button>
        )}
      </div>
      <ul class="labels is-rack">
        {pieces.map((piece) => (
          <li key={piece.number} class="label">
            <RackTag piece={piece} address={addressOf(piece.number)} studio={studio} />
          </li>
        ))}
      </ul>
      <p class="screen-only">
        <a href="/ware/sheets">Sheets to print</a>
      </p>
    </>
  );
}

function RackTag({ piece, address, studio }: { piece: PieceNow; address: string | null; studio: string }) {
  const { number, form, owner, clay, ownClay, final, next, wantedBy, glazes } = piece;
  const bisqueFirst = next?.kind === 'bisque' && final.kind !== 'bisque';
  return (
    <>
      <p class="rack-number">{number}</p>
      <p class="rack-owner">{owner?.name ?? 'no name'}</p>
      <p>
        {formWord(form)}, {clay?.name ?? `clay: ${ownClay ?? 'not known'}`}
      </p>
      <p>
        {bisqueFirst && <>bisque, cone {next.cone}, then </>}
        <b>{firingWords(final)}</b>
        {glazes.length > 0 && <>. {glazes.map(({ bucket, own }) => bucket?.name ?? own?.name).join(', ')}</>}
        {wantedBy && <>. Wanted by {wantedBy}</>}
      </p>
      {address && <Qr text={address} label={`QR code of ${address}`} />}
      <p class="label-small label-foot">
        Stays on the rack. {studio}
        {address && `, ${address.replace(/^https?:\/\//, '')}`}
      </p>
    </>
  );
}
