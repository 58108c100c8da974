import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { HOUR } from '../../server/core/clock.ts';
import {
  type CallKind,
  hrefOf,
  MOST_TRIES,
  sentBody,
  sentId,
  triedAgainAt,
  WHATS,
} from '../../server/today/hook-call.ts';

const SECRET = `whsec_${Buffer.from('a key of twenty four byt').toString('base64')}`;
const call = { callId: 7, what: 'bucket' as const, subject: 'HG', changedAt: Date.UTC(2026, 2, 7, 14, 5) };

describe('the tries of a call', () => {
  it('come later and later and end after about thirty hours', () => {
    fc.assert(
      fc.property(fc.nat(), (callId) => {
        let now = 0;
        let before = 0;
        for (let tries = 1; tries < MOST_TRIES; tries++) {
          const wait = (triedAgainAt(callId, tries, now) ?? Number.NaN) - now;
          expect(wait).toBeGreaterThan(before);
          before = wait;
          now += wait;
        }
        expect(now / HOUR).toBeGreaterThan(26);
        expect(now / HOUR).toBeLessThan(34);
        expect(triedAgainAt(callId, MOST_TRIES, now)).toBeNull();
      }),
    );
  });

  it('of calls that failed together do not come together, and are the same every time', () => {
    const next = Array.from({ length: 100 }, (_, id) => triedAgainAt(id, 1, 0));
    expect(new Set(next).size).toBeGreaterThan(90);
    expect(Array.from({ length: 100 }, (_, id) => triedAgainAt(id, 1, 0))).toEqual(next);
  });
});

describe('what is sent', () => {
  it('is a signal, and no more', () => {
    expect(JSON.parse(sentBody(SECRET, call))).toEqual({
      id: sentId(SECRET, 7),
      what: 'bucket',
      subject: 'HG',
      changedAt: '2026-03-07T14:05:00.000Z',
      href: '/api/v1/buckets/HG',
    });
  });

  it('has an id that is another for every call and every hook, and does not count', () => {
    const ids = Array.from({ length: 200 }, (_, id) => sentId(SECRET, id));
    expect(new Set(ids).size).toBe(200);
    expect(sentId(`${SECRET}A`, 1)).not.toBe(ids[1]);
    for (const id of ids) expect(id).toMatch(/^call_[\w-]{24}$/);
  });

  it('leads to a path of ours, whatever the subject is', () => {
    const kinds: CallKind[] = [...WHATS, 'test', 'everything'];
    fc.assert(
      fc.property(fc.constantFrom(...kinds), fc.stringMatching(/^[\w/.?#\\ -]{0,12}$/), (what, subject) => {
        const url = new URL(hrefOf(what, subject), 'https://glaze.example.org');
        expect(url.host).toBe('glaze.example.org');
        expect(url.search + url.hash).toBe('');
      }),
    );
  });
});
