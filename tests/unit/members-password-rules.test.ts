import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { isCommonPassword } from '../../server/members/common-passwords.ts';
import { passwordProblem } from '../../server/members/password-rules.ts';

const ida = {
  isCommon: (password: string) => password === 'qwertyuiop123',
  name: 'Ida Thornbury',
  email: 'ida.t@millrace.example',
  studio: 'Millrace Clay Commons',
};
const problem = (password: string) => passwordProblem(password, ida);

describe('a new password', () => {
  it('has at least 12 characters, counted as a person counts them', () => {
    expect(problem('wedge kiln5')).toMatch('At least 12');
    expect(problem('wedge kilns5')).toBeNull();
    // Six kilns are twelve UTF-16 units but six characters; e with a combining accent is one.
    expect(problem('🏺🏺🏺🏺🏺🏺')).toMatch('At least 12');
    expect(problem('e\u0301'.repeat(11))).toMatch('At least 12');
  });

  it('has at most 200 characters', () => {
    const long = 'shard of a blue-green jug '.repeat(8);
    expect(problem(long.slice(0, 200))).toBeNull();
    expect(problem(long.slice(0, 201))).toMatch('At most 200');
  });

  it('may be of any kind of characters, spaces too', () => {
    for (const password of ['only small letters', '839201746558', 'ЛЕПНИНАИШЛИКЕР', '    tea  bowl    '])
      expect(problem(password)).toBeNull();
  });

  it('is none of the common ones, however they are capitalised', () => {
    expect(problem('QwertyUIOP123')).toMatch('Many people');
    expect(problem('qwertyuiop1234')).toBeNull();
  });

  it.each([
    'ida.t@millrace.example',
    'IdaThornbury!',
    'thornbury 2026',
    'Millrace Clay Commons',
    'millraceclay1',
    'commons-commons-commons',
  ])('is not the name, the e-mail address or the studio: %s', (password) => {
    expect(problem(password)).toMatch('little more than a name');
  });

  it('may have such a word in it when enough else is there', () => {
    expect(problem('clay rabbit teapot')).toBeNull();
  });
});

describe('the list of common passwords', () => {
  it('has the 3,000 that ASVS 6.2.4 asks for', () => {
    const lines = readFileSync('server/members/common-passwords.txt', 'utf8').trimEnd().split('\n');
    expect(new Set(lines).size).toBeGreaterThanOrEqual(3000);
  });

  it('has those that everybody tries first, however capitalised, and not an unlikely one', () => {
    for (const password of ['123456789012', 'Unbelievable', 'password1234', 'QWERTYUIOP12'])
      expect(isCommonPassword(password), password).toBe(true);
    expect(isCommonPassword('clay rabbit teapot')).toBe(false);
  });
});
