import { createTransport } from 'nodemailer';
import type { MailSettings } from '../config.ts';
import { oneLine } from './told.ts';

// nodemailer is only known here.

/** A mail as it goes out. */
export interface Letter {
  to: { name: string; address: string };
  subject: string;
  text: string;
  /** The same however often it is tried, so that whoever gets it twice can tell. */
  messageId: string;
  /** The page where somebody says what reaches them; null where there is no address for it. */
  choicesUrl: string | null;
}

export interface Post {
  /** Resolves once the server has taken it. Rejects as `Refused`. */
  send(letter: Letter): Promise<void>;
  close(): void;
}

/**
 * Why a mail was not taken. `never`: it will not take this one however often it is tried. `later`: this one, not now.
 * `server`: it takes none just now, or none from us.
 */
export class Refused extends Error {
  readonly how: 'never' | 'later' | 'server';
  constructor(how: 'never' | 'later' | 'server', words: string) {
    super(words);
    this.how = how;
  }
}

// Common practice, no source.
const CONNECTS_WITHIN = 10_000;
const SILENT_FOR = 20_000;
const WHOLE = 60_000;
const WORDS = 300;

/** A few connections to the studio's mail server; they end with `close`. */
export function createPost({ url, from }: MailSettings): Post {
  const transport = createTransport({
    url,
    pool: true,
    maxConnections: 2,
    // It would send again what may have arrived: that is for whoever keeps count.
    maxRequeues: 0,
    connectionTimeout: CONNECTS_WITHIN,
    greetingTimeout: CONNECTS_WITHIN,
    dnsTimeout: CONNECTS_WITHIN,
    socketTimeout: SILENT_FOR,
    disableFileAccess: true,
    disableUrlAccess: true,
  });
  return {
    async send({ to, subject, text, messageId, choicesUrl }) {
      try {
        await transport.sendMail({
          from,
          to: { name: oneLine(to.name), address: to.address },
          subject: oneLine(subject),
          text,
          messageId: `<${messageId}>`,
          headers: {
            'Auto-Submitted': 'auto-generated',
            ...(choicesUrl === null ? {} : { 'List-Unsubscribe': `<${choicesUrl}>` }),
          },
          signal: AbortSignal.timeout(WHOLE),
        });
      } catch (error) {
        throw refusalOf(error);
      }
    },
    close: () => transport.close({ force: true }),
  };
}

/** Whether the server answers and takes us; null: it does, else why not. */
export async function reach({ url }: Pick<MailSettings, 'url'>): Promise<string | null> {
  const transport = createTransport({
    url,
    connectionTimeout: CONNECTS_WITHIN,
    greetingTimeout: CONNECTS_WITHIN,
    dnsTimeout: CONNECTS_WITHIN,
    socketTimeout: SILENT_FOR,
  });
  try {
    await transport.verify();
    return null;
  } catch (error) {
    return refusalOf(error).message;
  } finally {
    transport.close();
  }
}

/** What a mail server's answer means for the next try. */
export function refusalOf(error: unknown): Refused {
  const { code, responseCode, command, message, response } = error as {
    code?: string;
    responseCode?: number;
    command?: string;
    message?: string;
    response?: string;
  };
  const words = oneLine(response ?? message ?? String(error)).slice(0, WORDS);
  const isOurs = code === 'EAUTH' || command === 'MAIL FROM' || responseCode === 421;
  const isAbout = (code === 'EENVELOPE' || code === 'EMESSAGE') && !isOurs;
  if (!isAbout) return new Refused('server', words);
  const isFinal = responseCode === undefined || (responseCode >= 500 && responseCode !== 503);
  return new Refused(isFinal ? 'never' : 'later', words);
}
