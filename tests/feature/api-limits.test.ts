import { beforeAll, describe, expect, it } from 'vitest';
import { aStudio, type Studio } from '../helpers/studio.ts';

let made: Studio;
beforeAll(async () => {
  made = await aStudio({ API_RATE_LIMIT: '5', METRICS_PORT: '0' });
  await made.aBucket({ code: 'TB', sg: 1.46, stirredMinutesAgo: 2 });
});

describe('a limit for each token', () => {
  it('says how much is left, refuses what is beyond as a problem, and leaves other tokens and pages alone', async () => {
    const { technician, manager } = made.people;
    const answers = [];
    for (let i = 0; i < 7; i++) answers.push(await made.api(technician, 'GET', '/buckets/TB'));
    expect(answers.map(({ statusCode }) => statusCode)).toEqual([200, 200, 200, 200, 200, 429, 429]);
    const left = answers.map(({ headers }) => headers['ratelimit-remaining']);
    expect(left.join(' ')).toBe('4 3 2 1 0 0 0');
    expect(answers[0]?.headers['ratelimit-limit']).toBe('5');
    const refused = answers[5];
    expect(Number(refused?.headers['retry-after'])).toBeGreaterThan(0);
    expect(Number(refused?.headers['retry-after'])).toBeLessThanOrEqual(60);
    expect(refused?.headers['content-type']).toContain('application/problem+json');
    expect(refused?.json()).toMatchObject({ status: 429, detail: 'This token may ask 5 times a minute.' });

    // All that a token asks counts together, and a write that is refused has done nothing.
    const newest = async () =>
      (await made.api(manager, 'GET', '/buckets/TB/events?limit=1')).json().events[0].number;
    const before = await newest();
    const write = await made.api(technician, 'POST', '/buckets/TB/stirs', {});
    expect(write.statusCode).toBe(429);
    expect(await newest()).toBe(before);
    expect((await made.visit(technician, '/wall')).statusCode).toBe(200);
    expect((await made.visit(technician, '/wall')).headers['ratelimit-limit']).toBeUndefined();
  });

  it('is no limit at 0', async () => {
    const free = await aStudio({ API_RATE_LIMIT: '0' });
    const answer = await free.api(free.people.member, 'GET', '/buckets');
    expect(answer.statusCode).toBe(200);
    expect(answer.headers['ratelimit-limit']).toBeUndefined();
  });
});

describe('a tag of what was read', () => {
  it('spares whoever has it already the answer, until it changes', async () => {
    const { member } = made.people;
    const first = await made.api(member, 'GET', '/buckets/TB');
    const tag = String(first.headers.etag);
    expect(tag).toMatch(/^"[^"]+"$/);
    expect(first.headers['cache-control']).toBe('private, no-cache');
    const again = await made.api(member, 'GET', '/buckets/TB', undefined, { 'if-none-match': tag });
    expect([again.statusCode, again.body]).toEqual([304, '']);
    const stirred = await made.api(member, 'POST', '/buckets/TB/stirs', {});
    expect(stirred.statusCode).toBe(201);
    const now = await made.api(member, 'GET', '/buckets/TB', undefined, { 'if-none-match': tag });
    expect(now.statusCode).toBe(200);
    expect(now.headers.etag).not.toBe(tag);
  });
});

describe('what Prometheus gets', () => {
  it('is every answer by the pattern of its route, and no name', async () => {
    const { metrics } = made.services;
    if (!metrics) throw new Error('nobody measures');
    const watcher = metrics.server();
    metrics.asks(async () => ({
      jobs: [{ queue: 'mail', waiting: 2, failed: 1 }],
      mail: { waiting: 3, givenUp: 4 },
      backupAt: 1_764_000_000_000,
    }));
    const { manager } = made.people;
    await made.visit(manager, '/buckets/TB?who=Ida');
    await made.visit(manager, '/nowhere/Ida');
    const { body, headers, statusCode } = await watcher.inject('/metrics');
    expect(statusCode).toBe(200);
    expect(headers['content-type']).toMatch(/^text\/plain; version=0\.0\.4/);
    expect(body).toContain(
      'http_request_duration_seconds_count{method="GET",route="/buckets/:code",status="200"} 1',
    );
    expect(body).toContain('route="none",status="404"} 1');
    expect(body).not.toContain('TB');
    expect(body).not.toContain('Ida');
    expect(body).toContain('wareboard_last_backup_timestamp_seconds 1764000000');
    expect(body).toContain('wareboard_jobs{queue="mail",state="waiting"} 2');
    expect(body).toContain('wareboard_jobs{queue="mail",state="failed"} 1');
    expect(body).toContain('wareboard_mails{state="given-up"} 4');
    expect(body).toMatch(/^nodejs_heap_size_used_bytes \d+/m);
    // Never where members are.
    expect((await made.visit(manager, '/metrics')).statusCode).toBe(404);
    expect((await watcher.inject('/wall')).statusCode).toBe(404);
  });
});
