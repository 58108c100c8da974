import { Writable } from 'node:stream';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Change } from '../../server/core/changes.ts';
import { Stream } from '../../server/core/live.ts';
import { liveRegion } from '../../views/ui/live.ts';

const topics = new Map([
  ['wall', ({ what }: Change) => what === 'bucket'],
  ['bucket', ({ what, subjectId }: Change) => what === 'bucket' && subjectId === 7],
]);
const change = (subjectId: number, what: Change['what'] = 'bucket'): Change => ({ what, subjectId });

function aStream() {
  let words = '';
  const out = new Writable({
    write(part, _encoding, done) {
      words += String(part);
      done();
    },
  });
  return { stream: new Stream(out, topics), out, words: () => words };
}

describe('a stream', () => {
  it('says nothing before it is open, and all of it then, its mark with the last', () => {
    const { stream, words } = aStream();
    stream.note([change(7)]);
    stream.say('1.1-5');
    stream.beat('1.1-5');
    expect(words()).toBe('');
    stream.open('1.1-6');
    expect(words()).toBe('event: changed-wall\ndata:\n\nevent: changed-bucket\ndata:\nid: 1.1-6\n\n');
  });

  it('says of a thing once what changed often, and nothing of what it does not watch', () => {
    const { stream, words } = aStream();
    stream.open('1.1-5');
    for (let i = 0; i < 20; i++) stream.note([change(8), change(9, 'load')]);
    stream.say('1.1-7');
    stream.say('1.1-8');
    expect(words()).toBe(': still here\nid: 1.1-5\n\nevent: changed-wall\ndata:\nid: 1.1-7\n\n');
  });

  it('whatever happens in whatever order, what was noted is said once it is open, under no earlier mark', () => {
    const act = fc.oneof(
      fc.record({ do: fc.constant('note' as const), id: fc.integer({ min: 5, max: 9 }) }),
      fc.record({
        do: fc.constantFrom('say' as const, 'beat' as const, 'open' as const),
        id: fc.constant(0),
      }),
    );
    fc.assert(
      fc.property(fc.array(act, { maxLength: 30 }), (acts) => {
        const { stream, words } = aStream();
        let mark = 0;
        for (const one of acts) {
          mark++;
          if (one.do === 'note') stream.note([change(one.id)]);
          else stream[one.do](String(mark));
        }
        stream.open(String(mark + 1));
        const lastNoted = acts.findLastIndex((one) => one.do === 'note');
        if (lastNoted < 0) return !words().includes('event:');
        const after = /(?:event: changed-\w+\ndata:\n\n?)+id: (\d+)\n\n(?![\s\S]*event:)/.exec(words());
        return Number(after?.[1]) > lastNoted;
      }),
    );
  });

  it('drops whoever does not read', () => {
    const out = new Writable({ write: () => {} });
    const stream = new Stream(out, topics);
    stream.open('1.1-5');
    let most = 0;
    for (let i = 0; i < 10_000 && !out.destroyed; i++) {
      stream.beat(`1.1-${i}`);
      most = Math.max(most, out.writableLength);
    }
    expect(out.destroyed).toBe(true);
    expect(most).toBeLessThan(17 * 1024);
  });

  it('that ends before it began says nothing', () => {
    const { stream, words, out } = aStream();
    stream.end();
    expect(stream.isOver).toBe(true);
    expect(words()).toBe('');
    expect(out.writableEnded).toBe(false);
  });

  it('that ends for good has all asked for once more first', () => {
    const { stream, words, out } = aStream();
    stream.open('1.1-5');
    stream.end();
    expect(words()).toMatch(/changed-wall[\s\S]*changed-bucket[\s\S]*event: ended\ndata:\n\n$/);
    expect(out.writableEnded).toBe(true);
    const said = words();
    stream.note(null);
    stream.say('1.1-9');
    stream.beat('1.1-9');
    stream.end();
    expect(words()).toBe(said);
  });
});

describe('a live region', () => {
  const trigger = (until: number | null) =>
    liveRegion({ on: 'wall', href: '/wall', now: 1_000_000, until })['hx-trigger'];

  it('asks again when told, every minute, and when time changes what it says', () => {
    expect(trigger(null)).toBe('changed-wall from:#live, every 60s');
    expect(trigger(1_000_000 + 12_400)).toBe('changed-wall from:#live, every 60s, load delay:14s');
    expect(trigger(1_000_000 + 61_000)).toBe(trigger(null));
    expect(trigger(999_000)).toBe(trigger(null));
  });
});
