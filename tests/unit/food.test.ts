import { describe, expect, it } from 'vitest';
import {
  foodLine,
  foodOf,
  foodOfGlaze,
  type GlazedPiece,
  SAYS_NOTHING_OF,
  type StandingTest,
} from '../../server/safety/food.ts';

const test = (more: Partial<StandingTest> = {}): StandingTest => ({
  number: 1,
  recipeId: 7,
  recipeVersion: 2,
  clayId: 3,
  clay: 'Buff stoneware',
  cone: '6',
  passed: true,
  lab: 'Alder Lab',
  testedOn: '2026-03-02',
  ...more,
});
const GLAZE = { recipeId: 7, recipeVersion: 2 };

describe('what is in a bucket', () => {
  it('is not for food until it was tested', () =>
    expect(foodLine(foodOfGlaze([], GLAZE))).toBe('Not tested: not for food.'));

  it('passed on one clay at one cone, which says nothing of other metals', () => {
    const food = foodOfGlaze([test()], GLAZE);
    expect(food).toMatchObject({
      state: 'passed',
      words: 'Pb/Cd test passed (Alder Lab, 2026-03-02) on Buff stoneware at cone 6',
    });
    expect(food.more).toContain('Only there, in one layer and not crazed.');
    expect(food.more).toContain(SAYS_NOTHING_OF);
    expect(SAYS_NOTHING_OF).toMatch(/barium, manganese, copper, cobalt or lithium/);
  });

  it('failed', () => {
    const food = foodOfGlaze([test({ passed: false })], GLAZE);
    expect(food.state).toBe('decorative');
    expect(food.words).toBe('Decorative only: Pb/Cd test failed (Alder Lab, 2026-03-02)');
  });

  it('failed on one clay and passed on another', () => {
    const food = foodOfGlaze(
      [test(), test({ number: 2, clayId: 4, clay: 'White stoneware', passed: false })],
      GLAZE,
    );
    expect(food.state).toBe('decorative');
    expect(food.words).toMatch(/^Decorative only, except on Buff stoneware at cone 6: Pb\/Cd test passed/);
    expect(food.more).toContain('It failed on White stoneware at cone 6.');
  });

  it('one test that failed stands against newer ones that passed', () =>
    expect(
      foodOfGlaze([test({ passed: false }), test({ number: 2, testedOn: '2026-06-01' })], GLAZE).state,
    ).toBe('decorative'));

  it('has a new version, which no test of the old one counts for', () => {
    const food = foodOfGlaze([test()], { ...GLAZE, recipeVersion: 3 });
    expect(food).toMatchObject({ state: 'untested', words: 'Not tested: not for food' });
    expect(food.more).toContain('another version');
  });
});

const piece = (more: Partial<GlazedPiece> = {}): GlazedPiece => ({
  coats: [GLAZE],
  clayId: 3,
  firings: [{ cone: '6', reached: 'yes' }],
  isCrazed: false,
  ...more,
});

describe('a piece', () => {
  it('with the tested glaze on the tested clay, fired to its cone, passed', () =>
    expect(foodOf([test()], piece())).toMatchObject({
      state: 'passed',
      words: 'Pb/Cd test passed (Alder Lab, 2026-03-02)',
    }));

  it.each<[string, Partial<GlazedPiece>, string]>([
    ['of another version', { coats: [{ ...GLAZE, recipeVersion: 3 }] }, 'another version'],
    ['with two coats', { coats: [GLAZE, GLAZE] }, 'Layers'],
    ['with a glaze from outside', { coats: [null] }, 'from outside'],
    ['of another clay', { clayId: 4 }, 'another clay'],
    ['of a clay on no list', { clayId: null }, 'another clay'],
    ['fired to another cone', { firings: [{ cone: '5', reached: 'yes' }] }, 'another cone'],
    ['fired off the cone', { firings: [{ cone: '6', reached: 'no' }] }, 'Fired off cone 6'],
    [
      'fired with nothing that shows its cone',
      { firings: [{ cone: '6', reached: 'unknown' }] },
      'neither cones nor a log',
    ],
    [
      'fired again, to another cone',
      {
        firings: [
          { cone: '6', reached: 'yes' },
          { cone: '018', reached: 'yes' },
        ],
      },
      'another cone',
    ],
    ['that is crazed', { isCrazed: true }, 'crazed'],
    ['that is not fired yet', { firings: [] }, 'Not fired yet'],
  ])('%s is not for food, and says why', (_, more, why) => {
    const food = foodOf([test()], piece(more));
    expect(food).toMatchObject({ state: 'untested', words: 'Not tested: not for food' });
    expect(food.more).toContain(why);
  });

  it('is decorative where its very glaze failed, fired or not', () => {
    const failed = [test({ passed: false })];
    expect(foodOf(failed, piece()).words).toMatch(/^Decorative only/);
    expect(foodOf(failed, piece({ firings: [] })).words).toMatch(/^Decorative only/);
  });

  it('a test of no clay counts for no piece', () =>
    expect(foodOf([test({ clayId: null })], piece({ clayId: null })).state).toBe('untested'));
});
