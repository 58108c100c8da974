import { systemClock } from '../../server/core/clock.ts';
import { connect } from '../../server/core/database.ts';
import { tokens } from '../../server/core/schema.ts';
import { randomSecret, secretHash } from '../../server/core/secrets.ts';
import { createSessions } from '../../server/core/session.ts';
import { createPerson } from '../../server/members/service/people.ts';
import { request, type Target } from './load.ts';
import type { FilledStudio } from './studio.ts';

export interface Member {
  cookie: string;
  token: string;
}

/** So many members of a studio, each with a browser and a token. */
export async function settleMembers({ appUrl }: FilledStudio, count: number): Promise<Member[]> {
  const database = connect(appUrl, { max: 2 });
  const now = systemClock.now();
  const sessions = createSessions(database, systemClock, { secure: false });
  try {
    return await Promise.all(
      Array.from({ length: count }, async (_, i) => {
        const token = randomSecret();
        const person = {
          name: `Member ${i}`,
          email: `member-${i}@millrace.example`,
          role: 'member' as const,
        };
        const personId = await database.transaction((tx) =>
          createPerson(tx, { ...person, passwordHash: 'nobody signs in by password' }, now),
        );
        await database.db
          .insert(tokens)
          .values({ personId, name: 'bench', hash: secretHash(token), createdAt: now });
        return { cookie: (await sessions.start(personId)).split(';')[0] ?? '', token };
      }),
    );
  } finally {
    await database.close();
  }
}

type Kind = [share: number, method: 'GET' | 'POST', path: (code: string) => string, body?: () => object];

/** What members do at a studio's busiest: of a hundred requests so many each. 70 only look. */
const READS: Kind[] = [
  [26, 'GET', (code) => `/buckets/${code}`],
  [14, 'GET', () => '/wall'],
  [8, 'GET', () => '/kilns'],
  [8, 'GET', () => '/ware'],
  [4, 'GET', () => '/me'],
  [10, 'GET', (code) => `/api/v1/buckets/${code}`],
];
const WRITES: Kind[] = [
  [14, 'POST', (code) => `/api/v1/buckets/${code}/stirs`, () => ({})],
  [
    8,
    'POST',
    (code) => `/api/v1/buckets/${code}/readings`,
    () => ({
      method: 'weighed',
      grams: 145 + Math.floor(Math.random() * 4) / 2,
      millilitres: 100,
      stirred: true,
    }),
  ],
  [5, 'POST', (code) => `/api/v1/buckets/${code}/notes`, () => ({ note: 'Thin at the rim of the tile' })],
  [
    3,
    'POST',
    () => '/api/v1/pieces',
    () => ({ form: 'bowl', begins: 'drying', ownClay: 'From the river', kind: 'bisque', cone: '06' }),
  ],
];

/** Kinds by turns, so that any hundred requests of a client hold as many of each as they say. */
function turnsOf(kinds: Kind[]): Kind[] {
  const all = kinds.flatMap((kind) => Array.from({ length: kind[0] }, () => kind));
  // 37 has no divisor in common with 100 or 70.
  return all.map((_, i) => all[(i * 37) % all.length] as Kind);
}

/** Members of a studio at work: the nth client is the nth member. */
export function mix(
  { studio, members, port }: { studio: FilledStudio; members: Member[]; port: number },
  o: { onlyReads?: boolean } = {},
): Target {
  const turns = turnsOf(o.onlyReads ? READS : [...READS, ...WRITES]);
  return {
    port,
    next(client, n) {
      const [, method, path, body] = turns[(client * 7 + n) % turns.length] as Kind;
      const { cookie, token } = members[client % members.length] as Member;
      const at = path(studio.codes[(client * 5 + n) % studio.codes.length] as string);
      const who: Record<string, string> = at.startsWith('/api/')
        ? { authorization: `Bearer ${token}` }
        : { cookie };
      return request(method, at, who, body ? JSON.stringify(body()) : '');
    },
  };
}

/** The same shares on the floor: a select and as many bytes, and for a write one row that is committed, too. */
export function floorMix(port: number): Target {
  const turns = turnsOf([...READS, ...WRITES]);
  const page = request('GET', '/page', {});
  const kept = request('POST', '/kept', {}, JSON.stringify({ grams: 146 }));
  return {
    port,
    next: (client, n) => (turns[(client * 7 + n) % turns.length]?.[1] === 'GET' ? page : kept),
  };
}
