import { describe, expect, it } from 'vitest';
import { isCas } from '../../server/materials/cas.ts';

describe('CAS registry numbers', () => {
  // cas.org, "Check Digit Verification of CAS Registry Numbers".
  it.each(['107-07-3', '71-23-8', '7732-18-5', '64-17-5', '50-00-0'])('%s is one', (number) => {
    expect(isCas(number)).toBe(true);
  });

  // The numbers as published in CLP Annex VI and HCIS; the check digit by cas.org's rule.
  it.each(
    (
      '513-77-9 1313-13-9 1308-06-1 1307-96-6 513-79-1 12069-69-1 1317-38-0 1308-38-9 7778-50-9 1313-99-1 1314-62-1 ' +
      '65997-18-4 1317-36-8 1314-41-6 1306-23-6 554-13-2 1314-13-2 10043-35-3 1303-96-4 14808-60-7 1332-58-7 471-34-1 ' +
      '1633-05-2 1309-37-1 13463-67-7 18282-10-5 10101-52-7 1309-64-4 7782-49-2 7440-38-2 1317-39-1 68476-25-5 ' +
      '37244-96-5 14807-96-6 1344-28-1 497-19-8'
    ).split(' '),
  )('%s, in a glaze material, is one', (number) => {
    expect(isCas(number)).toBe(true);
  });

  // CAS client services note for the first; the others are transposed or a digit off.
  it.each(['50-00-1', '513-77-8', '1313-31-9', '1317-38-1'])('%s has the wrong check digit', (number) => {
    expect(isCas(number)).toBe(false);
  });

  it.each([
    '',
    '0-00-0',
    '5-00-0',
    '12345678-18-5',
    '7732-185',
    '7732 18 5',
    ' 7732-18-5',
    '7732-18-5\n',
    '٧٧٣٢-١٨-٥',
  ])('%j has not the form of one', (text) => {
    expect(isCas(text)).toBe(false);
  });
});
