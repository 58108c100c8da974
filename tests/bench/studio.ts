import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import postgres from 'postgres';
import { systemClock } from '../../server/core/clock.ts';
import { connect, migrate } from '../../server/core/database.ts';
import { startBundled } from '../../server/core/postgres.ts';
import { tokens } from '../../server/core/schema.ts';
import { randomSecret, secretHash } from '../../server/core/secrets.ts';
import { createSessions } from '../../server/core/session.ts';
import { createPerson } from '../../server/members/service/people.ts';
import { createStudio } from '../../server/members/service/studio.ts';
import type { Stops } from './children.ts';
import { fill } from './ledgers.ts';

export interface BenchServer {
  /** What every studio is copied from: one technician and no bucket. */
  template: Studio;
  adminUrl: string;
  folder: string;
}

export interface Studio {
  appUrl: string;
  ownerUrl: string;
  personId: number;
  cookie: string;
  token: string;
}

export interface FilledStudio extends Studio {
  events: number;
  codes: string[];
}

/** A server of its own that writes as surely as a studio's does: fsync is on. */
export async function startServer(stops: Stops): Promise<BenchServer> {
  const folder = await mkdtemp(join(tmpdir(), 'wareboard-bench-'));
  stops.push(() => rm(folder, { recursive: true, force: true }));
  const server = await startBundled({ dataDir: folder, mark: 'test' });
  stops.push(server.stop);
  await migrate(server.ownerUrl, server.appUrl);
  return { template: await settle(server), adminUrl: server.adminUrl, folder };
}

async function settle({ appUrl, ownerUrl }: { appUrl: string; ownerUrl: string }): Promise<Studio> {
  const database = connect(appUrl, { max: 1 });
  const now = systemClock.now();
  const token = randomSecret();
  try {
    const personId = await database.transaction(async (tx) => {
      await createStudio(
        tx,
        { name: 'Millrace Clay Commons', timeZone: 'Europe/London', currency: 'GBP', units: 'metric' },
        now,
      );
      const person = { name: 'Wren', email: 'wren@millrace.example', role: 'technician' as const };
      return createPerson(tx, { ...person, passwordHash: 'nobody signs in by password' }, now);
    });
    await database.db
      .insert(tokens)
      .values({ personId, name: 'bench', hash: secretHash(token), createdAt: now });
    const cookie = await createSessions(database, systemClock, { secure: false }).start(personId);
    return { appUrl, ownerUrl, personId, cookie: cookie.split(';')[0] ?? '', token };
  } finally {
    await database.close();
  }
}

/** A copy of the template with so many events on so many buckets. */
export async function fillStudio(
  server: BenchServer,
  o: { streams: number; length: number },
): Promise<FilledStudio> {
  const events = o.streams * o.length;
  const name = `bench_${events}`;
  const { template } = server;
  const sql = postgres(server.adminUrl, { max: 1, onnotice: () => {} });
  try {
    const { pathname, username } = new URL(template.ownerUrl);
    await sql.unsafe(`create database ${name} template ${pathname.slice(1)} owner ${username}`);
  } finally {
    await sql.end();
  }
  const at = (url: string) => Object.assign(new URL(url), { pathname: `/${name}` }).href;
  const studio = { ...template, appUrl: at(template.appUrl), ownerUrl: at(template.ownerUrl) };
  const codes = await fill(studio.ownerUrl, { ...o, personId: template.personId, now: systemClock.now() });
  return { ...studio, events, codes };
}
