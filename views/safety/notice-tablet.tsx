import type { Reader } from '../../server/buckets/actions/reader.ts';
import type { BucketNow } from '../../server/buckets/service/index.ts';
import type { ShownNotice } from '../../server/buckets/service/safety-gate.ts';
import type { FormState } from '../../server/core/routes.ts';
import type { AtTablet } from '../../server/members/service/tablet.ts';
import { TabletSubPage } from '../buckets/tablet-parts.tsx';
import { Pinned } from '../buckets/tablet-pin.tsx';
import { NoticeBody, taskWords } from './notice-parts.tsx';

interface Props {
  bucket: BucketNow;
  notice: ShownNotice;
  path: string;
  person: AtTablet;
  form: FormState;
  reader: Reader;
}

/** A notice at the wall tablet, for one person who says by PIN that they have read it. */
export function TabletNoticePage({ bucket, notice, ...rest }: Props) {
  return (
    <TabletSubPage bucket={bucket} title={notice.title}>
      <NoticeBody
        {...notice}
        lines={notice.lines.map(({ task, words }) => ({ task: taskWords('bucket', task), words }))}
      />
      {notice.unread ? (
        <Pinned {...rest} hidden={{ version: String(notice.version) }} label="I have read this" />
      ) : (
        <p>{rest.person.actor.name} has read it.</p>
      )}
    </TabletSubPage>
  );
}
