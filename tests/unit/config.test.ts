import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { describe, expect, it } from 'vitest';
import { ConfigError, readConfig } from '../../server/config.ts';

describe('the environment', () => {
  it('needs nothing', () => {
    expect(readConfig({})).toEqual({
      mode: 'studio',
      host: '127.0.0.1',
      port: 3000,
      portIsFixed: false,
      dataDir: resolve('data'),
      databaseUrl: null,
      databaseOwnerUrl: null,
      publicUrl: null,
      trustProxy: false,
      logLevel: 'info',
      apiRateLimit: 6000,
      metricsPort: null,
      stopDelay: 0,
      setupKey: null,
      mail: null,
      backups: null,
      hooksToPrivate: false,
    });
    expect(readConfig({}, ['--demo']).dataDir).toBe(resolve('data-demo'));
    expect(readConfig({ BACKUP_DIR: 'kept' }).backups).toEqual({ folder: resolve('kept'), days: 14 });
    expect(readConfig({ STOP_DELAY: '5' }).stopDelay).toBe(5000);
    expect(readConfig({ PORT: '', API_RATE_LIMIT: '0' })).toMatchObject({ port: 3000, apiRateLimit: 0 });
  });

  it.each([
    [{ PORT: '65536' }, /PORT must be a whole number from 0 to 65535/],
    [{ PORT: '3000x' }, /PORT/],
    [{ METRICS_PORT: '-1' }, /METRICS_PORT/],
    [{ STOP_DELAY: '601' }, /STOP_DELAY must be a whole number from 0 to 600/],
    [{ SETUP_KEY: 'a short one' }, /SETUP_KEY must be 20 to 100/],
    [{ API_RATE_LIMIT: '1.5' }, /API_RATE_LIMIT/],
    [{ BACKUP_DIR: 'kept', BACKUP_DAYS: '0' }, /BACKUP_DAYS must be a whole number from 1 to 3650, not "0"/],
    [{ SMTP_URL: 'mail.example.org:25' }, /SMTP_URL must look like smtps:/],
    [{ SMTP_URL: 'smtp://mail.example.org' }, /MAIL_FROM must be one address/],
    [{ SMTP_URL: 'smtp://mail.example.org', MAIL_FROM: 'a@b.org, c@d.org' }, /MAIL_FROM/],
    [{ SMTP_URL: 'smtp://mail.example.org', MAIL_FROM: 'x\r\nBcc: <a@b.org>' }, /MAIL_FROM/],
    [{ HOOKS_TO_PRIVATE: 'true' }, /HOOKS_TO_PRIVATE must be yes or no, not "true"/],
    [{ LOG_LEVEL: 'loud' }, /LOG_LEVEL/],
    [{ DATABASE_URL: 'mysql://x' }, /DATABASE_URL must look like postgres:/],
    [{ PUBLIC_URL: 'https://glaze.example.org/wall' }, /PUBLIC_URL must be an origin/],
    [{ WAREBOARD_PORT: '1' }, /Unknown setting WAREBOARD_PORT/],
  ])('is refused where it makes no sense: %j', (env, why) => {
    expect(() => readConfig(env)).toThrow(ConfigError);
    expect(() => readConfig(env)).toThrow(why);
  });

  it('knows whom mail comes from', () => {
    const from = (MAIL_FROM: string) =>
      readConfig({ SMTP_URL: 'smtp://localhost:2525', MAIL_FROM }).mail?.from;
    expect(from('glaze@example.org')).toEqual({ name: '', address: 'glaze@example.org' });
    expect(from('Glaze room <glaze@example.org>')).toEqual({
      name: 'Glaze room',
      address: 'glaze@example.org',
    });
    expect(from('"Ash, bone" <glaze@example.org>')).toEqual({
      name: 'Ash, bone',
      address: 'glaze@example.org',
    });
  });

  it('takes a secret from a file, or from itself, not from both', () => {
    const folder = mkdtempSync(join(tmpdir(), 'config-'));
    const file = join(folder, 'url');
    writeFileSync(file, 'postgres://app@localhost/studio\n');
    try {
      expect(readConfig({ DATABASE_URL_FILE: file }).databaseUrl).toBe('postgres://app@localhost/studio');
      const both = { DATABASE_URL_FILE: file, DATABASE_URL: 'postgres://app@localhost/studio' };
      expect(() => readConfig(both)).toThrow(/not both/);
      expect(() => readConfig({ DATABASE_URL_FILE: join(folder, 'none') })).toThrow(/cannot be read/);
    } finally {
      rmSync(folder, { recursive: true });
    }
  });
});
