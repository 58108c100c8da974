import { describe, expect, it } from 'vitest';
import { type SheetRow, sheetNow, yearsOn } from '../../server/materials/sheet.ts';

const TODAY = '2026-06-01';
const sheet = (number: number, issuedOn: string, reviewOn = yearsOn(issuedOn, 3)): SheetRow => ({
  number,
  kind: 'sheet',
  issuedOn,
  reviewOn,
});
const reviewed = (number: number, reviewOn: string): SheetRow => ({
  number,
  kind: 'reviewed',
  issuedOn: null,
  reviewOn,
});
const newer = (number: number): SheetRow => ({
  number,
  kind: 'newer-exists',
  issuedOn: null,
  reviewOn: null,
});
const state = (...rows: SheetRow[]) => sheetNow(rows, TODAY).state;

describe('where a material stands with its sheets', () => {
  it('none came', () => {
    expect(sheetNow([], TODAY)).toEqual({ state: 'none', sheet: null, reviewOn: null });
    expect(state(newer(1))).toBe('none');
  });

  it('its day is the day it is asked for, not the day after', () => {
    expect(state(sheet(1, '2023-06-02'))).toBe('current');
    expect(state(sheet(1, '2023-06-01'))).toBe('look-again');
    expect(state(sheet(1, '2019-01-01'))).toBe('look-again');
  });

  it('looked through again it holds until the new day', () => {
    expect(state(sheet(1, '2020-01-01'), reviewed(2, '2027-01-01'))).toBe('current');
    expect(state(sheet(1, '2020-01-01'), reviewed(2, '2026-06-01'))).toBe('look-again');
  });

  it('a newer one is missed until it is here, or was none', () => {
    expect(state(sheet(1, '2025-01-01'), newer(2))).toBe('newer-exists');
    expect(state(sheet(1, '2025-01-01'), newer(2), sheet(3, '2026-05-01'))).toBe('current');
    expect(state(sheet(1, '2025-01-01'), newer(2), reviewed(3, '2027-01-01'))).toBe('current');
  });

  it('an older sheet that is filed later does not stand in for the newest', () => {
    const rows = [sheet(1, '2025-01-01'), sheet(2, '2015-01-01')];
    expect(sheetNow(rows, TODAY).sheet?.number).toBe(1);
    expect(state(...rows, newer(3))).toBe('newer-exists');
    expect(sheetNow([...rows].reverse(), TODAY)).toEqual(sheetNow(rows, TODAY));
  });
});

it('years on is the same day, and the last of February where there is no 29th', () => {
  expect(yearsOn('2024-02-29', 3)).toBe('2027-02-28');
  expect(yearsOn('2024-02-29', 4)).toBe('2028-02-29');
  expect(yearsOn('2023-12-31', 3)).toBe('2026-12-31');
});
