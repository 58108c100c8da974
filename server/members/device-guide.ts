// How an instrument sends a reading, in commands that work as they stand. A test runs every one of them.

export interface Step {
  title: string;
  words: string;
  /** For a POSIX shell, after the lines of `preparation`. */
  command: string;
  /** The status that it is answered with on a bucket that was read at about 1.46. */
  answered: number;
}

/** What is set once; `YOUR-TOKEN` is put there by hand. */
export const preparation = (origin: string): string =>
  [`STUDIO=${origin}`, 'TOKEN=YOUR-TOKEN', 'BUCKET=HG'].join('\n');

const curl = (...lines: string[]): string =>
  ['curl -sS', '-H "Authorization: Bearer $TOKEN"', ...lines].join(' \\\n  ');
const send = (key: string, body: string, ...more: string[]): string =>
  curl(
    "-H 'Content-Type: application/json'",
    `-H "Idempotency-Key: ${key}"`,
    ...more,
    `-d '${body}'`,
    '"$STUDIO/api/v1/buckets/$BUCKET/readings"',
  );

const weighed = '{"method":"weighed","grams":1462,"millilitres":1000}';

export const STEPS: readonly Step[] = [
  {
    title: 'Send what a scale says',
    words:
      'Grams of so many millilitres, of a bucket that was stirred just before; where it was not, add "stirred":false. The key is any text that the instrument uses for this one reading and never again.',
    command: send('scale-1-reading-0001', weighed),
    answered: 201,
  },
  {
    title: 'Send it again when no answer came',
    words:
      'With the same key and the same content it is recorded once, however often it arrives; the answer is the first one again. Here curl does so by itself, up to eight times, and waits as long as Retry-After says.',
    command: send('scale-1-reading-0001', weighed, '--retry 8 --retry-connrefused --max-time 20'),
    answered: 201,
  },
  {
    title: 'Send a reading that waited',
    words:
      'An instrument without a network keeps its readings and sends them later, the oldest first, each with the time it was taken: with an offset, or Z. Without a time it is now. Up to 48 hours back; for technicians as far as they like.',
    command: send(
      'hydrometer-1-reading-0007',
      `{"method":"hydrometer","value":1.46,"happenedAt":"'"$(date -u +%Y-%m-%dT%H:%M:%SZ)"'"}`,
    ),
    answered: 201,
  },
  {
    title: 'When a reading is odd',
    words:
      'A value far from the last one is answered with 409 and nothing is recorded: most often the cup was not full. Somebody looks, and weighs again.',
    command: send('scale-1-reading-0002', '{"method":"weighed","grams":1790,"millilitres":1000}'),
    answered: 409,
  },
  {
    title: 'When it is right all the same',
    words: 'The same with confirm. Only a person decides that; no instrument sends it by itself.',
    command: send(
      'scale-1-reading-0003',
      '{"method":"weighed","grams":1790,"millilitres":1000,"confirm":true}',
    ),
    answered: 201,
  },
  {
    title: 'When something is wrong with what was sent',
    words: 'It is answered with 422, and errors says which field and why. Sending it again helps nobody.',
    command: send('scale-1-reading-0004', '{"method":"weighed","grams":"a lot","millilitres":1000}'),
    answered: 422,
  },
  {
    title: 'Ask how the bucket is',
    words:
      'For this a token needs buckets:read, too. State and advice are worked out from the newest reading.',
    command: curl('"$STUDIO/api/v1/buckets/$BUCKET"'),
    answered: 200,
  },
];

/** What an instrument does about each answer. */
export const ANSWERS: readonly [status: string, words: string][] = [
  ['201', 'Recorded. Forget the reading; the next one gets a new key.'],
  ['401', 'The token has ended or is wrong. Keep the readings and call somebody.'],
  ['403', 'The token may not do this: it needs buckets:record.'],
  ['404', 'No bucket has this code.'],
  ['409', 'Odd, or not as things stand: detail says which. Show it; do not send it again by itself.'],
  [
    '422',
    'Wrong: errors names the field. Show it; do not send it again. The same key with other content is wrong as well.',
  ],
  [
    '429',
    'Too many a minute. Wait as many seconds as Retry-After says, then send it again with the same key.',
  ],
  [
    '500, 503 or no answer',
    'Send it again with the same key: after Retry-After where there is one, else after 2, 4, 8 seconds and so on, up to some minutes.',
  ],
];
