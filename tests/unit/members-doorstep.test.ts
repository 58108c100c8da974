import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { ownPath } from '../../server/members/own-path.ts';
import { network, waitSeconds } from '../../server/members/slow-down.ts';

describe('where a person goes after signing in', () => {
  it.each([
    ['/b/HG', '/b/HG'],
    ['/wall?by=place', '/wall?by=place'],
    ['/b/a%20b', '/b/a%20b'],
  ])('a path of ours: %s', (wanted, goes) => {
    expect(ownPath(wanted)).toBe(goes);
  });

  it.each([
    'https://elsewhere.example/',
    '//elsewhere.example',
    '/\\elsewhere.example',
    '/\t/elsewhere.example',
    '/.//elsewhere.example',
    '/a/..//elsewhere.example',
    'javascript:alert(1)',
    '/wall/../..//elsewhere.example',
    'wall',
    '',
    undefined,
    ['/wall'],
  ])('never anywhere else: %j', (wanted) => {
    expect(ownPath(wanted)).toBe('/');
  });

  it('stays with us whatever is asked for', () => {
    const parts = fc.constantFrom('/', '\\', '.', '..', '@', ':', '\t', '%2f', 'elsewhere.example', '?', '#');
    fc.assert(
      fc.property(fc.array(parts, { maxLength: 8 }), (pieces) => {
        const goes = ownPath(`/${pieces.join('')}`);
        expect(new URL(goes, 'https://studio.example').origin).toBe('https://studio.example');
        expect(ownPath(goes)).toBe(goes);
      }),
    );
  });
});

describe('the wait after failed sign-ins', () => {
  it('starts after the free ones, doubles, and never exceeds a minute', () => {
    expect([0, 4, 5, 6, 7, 10, 11, 12, 5000].map((failures) => waitSeconds(failures, 5))).toEqual([
      0, 0, 1, 2, 4, 32, 60, 60, 60,
    ]);
  });
});

describe('what counts as one address', () => {
  it.each([
    ['192.0.2.7', '192.0.2.7'],
    ['::ffff:192.0.2.7', '192.0.2.7'],
    ['2001:db8:1:2:aaaa::7', '2001:db8:1:2::/64'],
    ['2001:0DB8:0001:0002:0000:0000:0000:0009', '2001:db8:1:2::/64'],
    ['2001:db8::7', '2001:db8:0:0::/64'],
    ['::1', '0:0:0:0::/64'],
    ['fe80::1%eth0', 'fe80:0:0:0::/64'],
  ])('%s counts as %s', (address, counts) => {
    expect(network(address)).toBe(counts);
  });
});
