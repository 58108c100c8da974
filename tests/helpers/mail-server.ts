import type { AddressInfo } from 'node:net';
import { text } from 'node:stream/consumers';
import { SMTPServer } from 'smtp-server';
import { whenFileIsDone } from './closing.ts';

export interface Got {
  to: string;
  from: string;
  /** As it came over the line. */
  raw: string;
  messageId: string;
  subject: string;
}

interface MailServer {
  url: string;
  got: Got[];
  /** What it answers to a recipient, or to a whole mail; null: it takes them. */
  answers: { rcpt: Answer | null; data: Answer | null };
  /** Runs when a mail was taken and before that is said. */
  beforeSaying: (got: Got) => Promise<void>;
  close(): Promise<void>;
}

interface Answer {
  code: number;
  words: string;
}

/** A real SMTP server on a port of its own that keeps what it is given. */
export async function aMailServer(port = 0): Promise<MailServer> {
  const got: Got[] = [];
  const server = new SMTPServer({
    authOptional: true,
    disabledCommands: ['STARTTLS', 'AUTH'],
    logger: false,
    onRcptTo(_address, _session, done) {
      const { rcpt } = made.answers;
      done(rcpt === null ? null : Object.assign(new Error(rcpt.words), { responseCode: rcpt.code }));
    },
    onData(stream, session, done) {
      text(stream)
        .then(async (raw) => {
          const { data } = made.answers;
          if (data !== null) throw Object.assign(new Error(data.words), { responseCode: data.code });
          const { mailFrom, rcptTo } = session.envelope;
          const one = {
            to: rcptTo.map(({ address }) => address).join(', '),
            from: mailFrom === false ? '' : mailFrom.address,
            raw,
            messageId: header(raw, 'Message-ID'),
            subject: header(raw, 'Subject'),
          };
          got.push(one);
          await made.beforeSaying(one);
        })
        .then(() => done(), done);
    },
  });
  server.on('error', () => {}); // a client that went away
  await new Promise<void>((resolve) => server.listen(port, '127.0.0.1', resolve));
  const close = () => new Promise<void>((resolve) => server.close(() => resolve()));
  const made: MailServer = {
    url: `smtp://127.0.0.1:${(server.server.address() as AddressInfo).port}`,
    got,
    answers: { rcpt: null, data: null },
    beforeSaying: async () => {},
    close,
  };
  whenFileIsDone(close);
  return made;
}

/** A header's value, on one line. */
export const header = (raw: string, name: string): string =>
  new RegExp(`^${name}: (.*(?:\\r\\n[ \\t].*)*)`, 'im').exec(raw)?.[1]?.replaceAll(/\r\n[ \t]/g, ' ') ?? '';
