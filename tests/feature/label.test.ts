import { createElement } from 'preact';
import { renderToString } from 'preact-render-to-string';
import QRCode from 'qrcode';
import { beforeAll, describe, expect, it } from 'vitest';
import { printedAddress } from '../../server/core/address.ts';
import { Qr } from '../../views/ui/qr.tsx';
import { aStudio, type Studio } from '../helpers/studio.ts';
import { aTablet, atTablet } from '../helpers/tablet.ts';

const SITE = 'http://glaze.millrace.example';
const HOST = { host: 'glaze.millrace.example' };

let online: Studio;
let local: Studio;
let code: string;
beforeAll(async () => {
  online = await aStudio({ PUBLIC_URL: SITE });
  local = await aStudio();
  code = await online.aBucket({ code: 'HG', name: 'Harbour Grey' });
  await online.aBucket({ code: 'TB', name: 'Tide Blue' });
  await local.aBucket({ code: 'HG', name: 'Harbour Grey' });
});
const look = (path: string, person = online.people.technician) => online.visit(person, path, HOST);
const labelsIn = (body: string) => body.match(/<li class="label">.*?<\/li>/gs) ?? [];

describe('a label for the body', () => {
  it('carries name, code, chip, caution and the address of the bucket', async () => {
    const { body } = await look(`/buckets/${code}/label`);
    const [label = '', ...more] = labelsIn(body);
    expect(more).toEqual([]);
    expect(label).toContain('Harbour Grey');
    expect(label).toContain('>HG<');
    expect(label).toContain('class="chip"');
    expect(label).toContain('no eating here, wash hands, wipe wet');
    expect(label).toContain(`aria-label="QR code of ${SITE}/buckets/HG"`);
    expect(label).toContain('glaze.millrace.example/buckets/HG');
    expect(body).not.toMatch(/\sstyle="/);
  });

  it('has no QR code while nobody could open it, and the page says why', async () => {
    const { body } = await local.visit(local.people.technician, '/buckets/HG/label');
    expect(labelsIn(body)[0]).not.toContain('class="qr"');
    expect(body).toContain('Without a QR code for now');
    expect((await look(`/buckets/${code}/label`)).body).not.toContain('Without a QR code');
  });

  it('leads, once scanned, to the bucket: signed in, signed out, and on a paired tablet', async () => {
    const at = `/buckets/${code}`;
    expect((await look(at, online.people.member)).statusCode).toBe(200);
    expect((await online.visit(null, at, HOST)).headers.location).toBe('/sign-in?next=%2Fbuckets%2FHG');
    const { visit } = atTablet(online, await aTablet(online));
    expect((await visit(at, HOST)).headers.location).toBe(`/tablet${at}`);
    expect((await visit(`/tablet${at}`, HOST)).statusCode).toBe(200);
  });
});

describe('a label for the lid', () => {
  it.each(['lid-sheet', 'lid-roll'])('carries name and code only: %s', async (size) => {
    const [label = ''] = labelsIn((await look(`/buckets/${code}/label?size=${size}`)).body);
    expect(
      label
        .replace(/<[^>]+>/g, ' ')
        .trim()
        .split(/\s+/),
    ).toEqual(['Harbour', 'Grey', 'HG']);
    expect(label).not.toContain('<svg');
  });
});

describe('a sheet of labels', () => {
  it('holds the buckets that were ticked and keeps the ticks', async () => {
    expect(labelsIn((await look('/labels')).body)).toEqual([]);
    const both = await look('/labels?code=TB&code=HG&size=roll');
    expect(labelsIn(both.body)).toHaveLength(2);
    expect(both.body).toContain('labels is-roll');
    expect(both.body.match(/type="checkbox"[^>]* checked/g)).toHaveLength(2);
    expect(labelsIn((await look('/labels?code=NONE&size=poster')).body)).toEqual([]);
  });

  it('is a technician’s', async () => {
    expect((await look('/labels', online.people.member)).statusCode).toBe(403);
    expect((await look(`/buckets/${code}/label`, online.people.member)).statusCode).toBe(403);
    expect((await look('/buckets/NONE/label')).statusCode).toBe(404);
  });
});

describe('the address in a code', () => {
  const at = (url: string | null) =>
    printedAddress({ publicUrl: url === null ? null : new URL(url) }, '/buckets/HG');

  it.each([
    null,
    'http://localhost:3000',
    'http://glaze.localhost',
    'http://127.0.0.1:3000',
    'http://127.8.0.1',
    'http://[::1]:3000',
    'http://0.0.0.0:3000',
  ])('is none for %s', (url) => expect(at(url)).toBeNull());

  it.each([
    ['http://192.168.1.20:3000', 'http://192.168.1.20:3000/buckets/HG'],
    ['https://glaze.millrace.example', 'https://glaze.millrace.example/buckets/HG'],
  ])('is whole for %s', (url, whole) => expect(at(url)).toBe(whole));
});

it('a drawn code has every dark module in its place, and four of white around', () => {
  const text = `${SITE}/buckets/HG`;
  const svg = renderToString(createElement(Qr, { text, label: 'code' }));
  const { modules } = QRCode.create(text, { errorCorrectionLevel: 'Q' });
  expect(svg).toContain(`viewBox="0 0 ${modules.size + 8} ${modules.size + 8}"`);
  const drawn = new Set(
    [...svg.matchAll(/M(\d+) (\d+)h1v1h-1z/g)].map(([, x, y]) => `${Number(x) - 4},${Number(y) - 4}`),
  );
  for (let y = 0; y < modules.size; y++)
    for (let x = 0; x < modules.size; x++)
      expect(drawn.has(`${x},${y}`), `${x},${y}`).toBe(modules.get(y, x) === 1);
});
