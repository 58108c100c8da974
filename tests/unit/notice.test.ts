import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { H_TEXTS } from '../../server/materials/hazards.ts';
import { changeOf, changeWords, draft, hasRead, standing, TASKS } from '../../server/safety/notice.ts';
import type { ClassBasis } from '../../server/safety/worse.ts';

const basis = (...classes: string[]): ClassBasis => ({ rules: 'eu-clp', classes: classes.sort() });
const RE2 = 'STOT RE 2 H373';
const RE1 = 'STOT RE 1 H372';
const SENS = 'Skin Sens. 1 H317';

describe('the words that a notice is drafted with', () => {
  it('are one line a task, from what the classes say', () => {
    expect(draft('Rust red RR', ['H373', 'H317', 'H410'])).toEqual({
      title: 'Rust red RR: may cause skin allergy, may harm organs over time',
      dipping: 'Gloves for dipping; wash off splashes.',
      mixing: 'Never mix or spray without respirator and local exhaust. Gloves for the powder.',
      cleaning: 'Nothing down the drain: rinse in the rinse bucket. Gloves for cleaning too.',
    });
  });

  it('say nothing where nothing goes beyond the common rules', () => {
    expect(draft('Chalk', [])).toEqual({ title: 'Chalk', dipping: '', mixing: '', cleaning: '' });
    expect(draft('Salt', ['H302'])).toMatchObject({ dipping: '', mixing: '', cleaning: '' });
  });

  it('tell whoever is pregnant to ask first, and of goggles once', () => {
    expect(draft('X', ['H360FD']).dipping).toContain('Pregnant or nursing: ask the technician first.');
    expect(draft('X', ['H360FD']).mixing).toContain('Pregnant or nursing');
    expect(draft('X', ['H314']).dipping.match(/goggles/gi)).toHaveLength(1);
    expect(draft('X', ['H350i']).mixing).toContain('respirator');
    expect(draft('X', ['H350i']).dipping).toBe('');
  });

  it('say in the title what only dust does', () => {
    expect(draft('X', ['H350i', 'H372'], ['H350i', 'H372']).title).toBe(
      'X: its dust may cause cancer, harms organs over time',
    );
    expect(draft('X', ['H317', 'H350i'], ['H350i']).title).toBe(
      'X: may cause skin allergy; its dust may cause cancer',
    );
  });

  it('do not hang on the order of the classes, are short, and lose nothing when a class comes on top', () => {
    const codes = fc.uniqueArray(fc.constantFrom(...Object.keys(H_TEXTS)), { maxLength: 6 });
    fc.assert(
      fc.property(codes, fc.constantFrom(...Object.keys(H_TEXTS)), (some, more) => {
        const made = draft('Glaze', some);
        expect(draft('Glaze', [...some].reverse())).toEqual(made);
        const worse = draft('Glaze', [...some, more]);
        for (const task of TASKS) {
          expect(worse[task].length).toBeLessThanOrEqual(240);
          if (made[task] !== '') expect(worse[task]).not.toBe('');
        }
        expect(made.title.length).toBeLessThanOrEqual(120);
      }),
    );
  });
});

describe('whether a notice stands', () => {
  const from = { kind: 'posted', validFrom: '2026-03-01', validTo: '2026-03-31' } as const;
  it.each([
    ['2026-02-28', 'not-yet'],
    ['2026-03-01', 'in-force'],
    ['2026-03-31', 'in-force'],
    ['2026-04-01', 'ended'],
  ])('on %s: %s', (day, expected) => {
    expect(standing(from, day)).toBe(expected);
  });

  it('for ever without an end, and never once it is taken down', () => {
    expect(standing({ ...from, validTo: null }, '2099-01-01')).toBe('in-force');
    expect(standing({ ...from, kind: 'withdrawn' }, '2026-03-10')).toBe('withdrawn');
  });
});

describe('whether somebody has read it', () => {
  it('once for the same classes, wherever they hung', () => {
    expect(hasRead(basis(RE2), { own: false, bases: [] })).toBe(false);
    expect(hasRead(basis(RE2), { own: false, bases: [basis(RE2)] })).toBe(true);
    expect(hasRead(basis(RE2), { own: false, bases: [basis(RE1, SENS)] })).toBe(true);
  });

  it('again when a class gets worse or a new one comes', () => {
    expect(hasRead(basis(RE1), { own: false, bases: [basis(RE2)] })).toBe(false);
    expect(hasRead(basis(RE2, SENS), { own: false, bases: [basis(RE2)] })).toBe(false);
  });

  it('not by two readings of which neither says it all', () => {
    expect(hasRead(basis(RE2, SENS), { own: false, bases: [basis(RE2), basis(SENS)] })).toBe(false);
  });

  it('for itself alone where no class stands behind it', () => {
    expect(hasRead(null, { own: false, bases: [basis(RE1, SENS)] })).toBe(false);
    expect(hasRead(basis(), { own: false, bases: [basis(RE1, SENS)] })).toBe(false);
    expect(hasRead(null, { own: true, bases: [] })).toBe(true);
  });
});

describe('what changed since it was posted', () => {
  it('is nothing where the classes are the same, by other rules too', () => {
    expect(changeOf(basis(RE2), { rules: 'un', classes: [RE2] })).toBeNull();
  });

  it('is said in words', () => {
    const change = changeOf(basis(RE2, SENS), basis(RE1));
    expect(change).toEqual({ appeared: [RE1], vanished: [RE2, SENS] });
    expect(changeWords({ appeared: [RE1], vanished: [] })).toBe(`now ${RE1}`);
    expect(changeWords({ appeared: [RE1], vanished: [SENS] })).toBe(`now ${RE1}; no more ${SENS}`);
  });
});
