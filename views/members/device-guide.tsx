import { ANSWERS, preparation, STEPS } from '../../server/members/device-guide.ts';
import { Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';

export function DeviceGuide({ origin }: { origin: string }) {
  return (
    <>
      <h1>How an instrument sends a reading</h1>
      <p class="narrow">
        A scale or a hydrometer with a small computer beside it sends what it reads over the network. It needs
        a token of yours that may <b>record readings of buckets</b> and nothing else: make it on your{' '}
        <a href="/me">own page</a>. Whoever holds it can do no more than that, in your name.
      </p>
      <Panel title="Once">
        <p>
          Where the studio is, the token, and the code on the bucket's lid. Everything below is for a shell
          and works as it stands.
        </p>
        <Command words={preparation(origin)} />
      </Panel>
      {STEPS.map(({ title, words, command, answered }) => (
        <Panel key={title} title={title}>
          <p>{words}</p>
          <Command words={command} />
          <p class="soft">Answered with {answered}</p>
        </Panel>
      ))}
      <Panel title="What each answer asks for">
        <Table
          columns={[
            { label: 'Answer', main: true },
            { label: 'What to do', wraps: true },
          ]}
          rows={ANSWERS.map(([status, words]) => ({ key: status, cells: [status, words] }))}
        />
      </Panel>
      <p class="narrow">
        Each answer says how many requests a minute are left: RateLimit-Limit, RateLimit-Remaining,
        RateLimit-Reset. Everything else that the API can do is in its{' '}
        <a href="/api/v1/openapi.json">OpenAPI document</a>, with an example of each.
      </p>
    </>
  );
}

const Command = ({ words }: { words: string }) => (
  <pre class="command">
    <code>{words}</code>
  </pre>
);
