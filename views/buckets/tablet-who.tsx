import type { Reader } from '../../server/buckets/actions/reader.ts';
import { byInitial, initialsOf } from '../../server/buckets/initials.ts';
import type { BucketNow } from '../../server/buckets/service/index.ts';
import type { ShownNotice } from '../../server/buckets/service/safety-gate.ts';
import type { AtTablet, Name } from '../../server/members/service/tablet.ts';
import { Field, Form, Submit } from '../ui/field.tsx';
import { Filter, Flash, Panel } from '../ui/panel.tsx';
import { NoticesAtTablet } from './bucket-notices.tsx';
import { TabletSubPage } from './tablet-parts.tsx';

interface WhoPageProps {
  bucket: BucketNow;
  title: string;
  path: string;
  /** Tapping a name does the act. */
  records: boolean;
  refused?: string | null | undefined;
  toRead?: { notices: readonly ShownNotice[]; person: AtTablet } | undefined;
  all: Name[];
  initial: string | null;
  reader: Reader;
}

/** Above this many, letters to tap stand over the names. */
const FEW = 12;

/** Names to tap, or a card to scan. */
export function WhoPage({
  bucket,
  title,
  path,
  records,
  refused,
  toRead,
  all,
  initial,
  reader,
}: WhoPageProps) {
  const letters = initialsOf(all);
  const shown = initial !== null && letters.includes(initial) ? byInitial(all, initial) : all;
  const joined = new Intl.DateTimeFormat('en-GB', {
    timeZone: reader.timeZone,
    month: 'short',
    year: 'numeric',
  });
  const words = ({ name, joinedAt }: Name) => (
    <>
      {name}
      {joinedAt !== null && <small>here since {joined.format(joinedAt)}</small>}
    </>
  );
  return (
    <>
      {refused && <Flash words={refused} tone="refused" />}
      {toRead && <NoticesAtTablet {...toRead} code={bucket.code} />}
      <TabletSubPage bucket={bucket} title={`${title}: who is it?`}>
        {all.length > FEW && (
          <Filter
            label="Begins with"
            options={[null, ...letters].map((letter) => ({
              href: letter === null ? path : `${path}?initial=${encodeURIComponent(letter)}`,
              label: letter ?? 'All',
              current: letter === initial,
            }))}
          />
        )}
        {records ? (
          <form class="names" method="post" action={path} hx-sync="drop">
            <input type="hidden" name="key" value={reader.key} />
            {shown.map((person) => (
              <button key={person.handle} class="plain" type="submit" name="as" value={person.handle}>
                {words(person)}
              </button>
            ))}
          </form>
        ) : (
          <div class="names">
            {shown.map((person) => (
              <a key={person.handle} class="plain" href={`${path}?as=${person.handle}`}>
                {words(person)}
              </a>
            ))}
          </div>
        )}
        <Panel title="Or scan your card">
          <Form id="c" action={path} idempotencyKey={`${reader.key}-card`}>
            <Field
              name="card"
              label="Tap here, then hold the card under the scanner"
              hint="Without a scanner, point the tablet's camera at the card."
              autocomplete="off"
              spellcheck={false}
              maxlength={300}
            />
            <Submit label="Go on with this card" look="plain" />
          </Form>
        </Panel>
      </TabletSubPage>
    </>
  );
}
