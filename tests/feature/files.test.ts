import fc from 'fast-check';
import sharp from 'sharp';
import { beforeAll, describe, expect, it } from 'vitest';
import { listTiles } from '../../server/buckets/service/index.ts';
import { pictureIn } from '../../server/core/files.ts';
import { aStudio, type Studio } from '../helpers/studio.ts';
import { aPhoto, aPng, upload } from '../helpers/upload.ts';

let s: Studio;
let code: string;
let form: string;
beforeAll(async () => {
  s = await aStudio();
  code = await s.aBucket({ sg: 1.46 });
  form = `/buckets/${code}/tiles/new`;
});

const FIELDS = { clay: 'Buff stoneware', cone: '6' };
const tiles = () => s.as(s.people.technician, (act) => listTiles(act, code));
const send = (bytes: Buffer, name?: string, type?: string, fields: Record<string, string> = FIELDS) =>
  upload(s, s.people.technician, form, fields, { bytes, ...(name && { name }), ...(type && { type }) });
const encoded = (bytes: Buffer) => pictureIn({ bytes, isTooLarge: false }, 'photo');

/** All black; of a very tall one only the first rows. */
const png = (width: number, height: number): Buffer =>
  aPng(width, height, Buffer.alloc((1 + Math.ceil(width / 8)) * (height > 20_000 ? 4 : height)));

describe('a photo', () => {
  it('is encoded anew: upright, at most 1600 px, without place, time and camera', async () => {
    const taken = await sharp({ create: { width: 3000, height: 1000, channels: 3, background: '#7a5' } })
      .withExif({
        IFD0: { Make: 'Some camera', Copyright: 'Ida' },
        IFD3: { GPSLatitudeRef: 'N', GPSLatitude: '51/1 30/1 0/1' },
      })
      .withMetadata({ orientation: 6 })
      .jpeg()
      .toBuffer();
    expect((await sharp(taken).metadata()).exif).toBeDefined();
    const { bytes, type } = await encoded(taken);
    const { exif, width, height, format, orientation, icc, xmp } = await sharp(bytes).metadata();
    expect({ exif, icc, xmp, orientation }).toEqual({});
    expect({ type, format, width, height }).toEqual({
      type: 'image/jpeg',
      format: 'jpeg',
      width: 533,
      height: 1600,
    });
  });

  it.each(['jpeg', 'png', 'webp'] as const)('may be %s, and is never enlarged', async (format) => {
    const { bytes } = await encoded(
      await sharp({ create: { width: 50, height: 20, channels: 4, background: '#00000000' } })
        .toFormat(format)
        .toBuffer(),
    );
    expect(await sharp(bytes).metadata()).toMatchObject({ format: 'jpeg', width: 50, height: 20 });
  });

  it('of far more pixels than bytes is made small', async () => {
    const bomb = png(7_000, 7_000);
    expect(bomb.length).toBeLessThan(20_000);
    expect(await sharp((await encoded(bomb)).bytes).metadata()).toMatchObject({ width: 1600, height: 1600 });
  });

  it('sent twice is kept once', async () => {
    const bytes = await aPhoto(41, 31);
    await send(bytes);
    await send(bytes);
    const photos = (await tiles()).map(({ photo }) => photo);
    expect(photos).toHaveLength(2);
    expect(new Set(photos).size).toBe(1);
  });
});

describe('what is no photo', () => {
  const html = Buffer.from('<!doctype html><script>alert(1)</script>');
  const svg = Buffer.from('<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>');
  const cut = async () => (await aPhoto(800, 600)).subarray(0, 900);

  it.each([
    ['a page called a photo', () => html, 'This is not a photo: JPEG, PNG or WebP.'],
    ['a drawing with a script', () => svg, 'This is not a photo'],
    ['a GIF', () => Buffer.from('GIF89a\x01\0\x01\0\0\0\0;'), 'This is not a photo'],
    ['nothing at all', () => Buffer.alloc(0), 'The photo is empty.'],
    ['half of one', cut, 'This photo cannot be read'],
    [
      'a page behind the first bytes of one',
      () => Buffer.concat([Buffer.from([255, 216, 255]), html]),
      'cannot be read',
    ],
    ['a HEIC', () => Buffer.from('\0\0\0\x18ftypheic\0\0\0\0'), 'This is a HEIC picture.'],
    ['3600 million pixels in a few bytes', () => png(60_000, 60_000), 'at most 64 million pixels'],
    [
      '16 MB',
      () => Buffer.concat([Buffer.from([255, 216, 255]), Buffer.alloc(16 * 2 ** 20)]),
      'larger than 15 MB',
    ],
  ])('is refused beside its field, and the rest of the form kept: %s', async (_what, make, words) => {
    const before = (await tiles()).length;
    const answer = await send(await make(), 'tile.jpg', 'image/jpeg', { ...FIELDS, note: 'odd & ends' });
    expect(answer.statusCode).toBe(422);
    expect(answer.body).toMatch(/<p class="error" id="f-photo-error">/);
    expect(answer.body).toContain(words);
    expect(answer.body).toContain('value="Buff stoneware"');
    expect(answer.body).toContain('odd &amp; ends');
    expect(answer.body).not.toContain('<script>alert');
    expect((await tiles()).length).toBe(before);
  });

  it('never makes the server fail, whatever follows a photo’s first bytes', async () => {
    const magic = [
      Buffer.from([255, 216, 255]),
      Buffer.from('\x89PNG\r\n\x1a\n', 'latin1'),
      Buffer.from('RIFF\x20\0\0\0WEBPVP8 '),
    ];
    await fc.assert(
      fc.asyncProperty(fc.constantFrom(...magic), fc.uint8Array({ maxLength: 300 }), async (start, rest) => {
        const answer = await send(Buffer.concat([start, rest]));
        expect(answer.statusCode).toBeLessThan(500);
      }),
      { numRuns: 40 },
    );
  });
});

describe('a form with a file', () => {
  const raw = (payload: string | Buffer, type: string, url = form) =>
    s.app.inject({
      method: 'POST',
      url,
      payload,
      headers: {
        cookie: s.people.technician.cookie,
        origin: 'http://localhost',
        host: 'localhost',
        'content-type': type,
      },
    });

  it('is taken by no route that has no file to ask for', async () => {
    const packed = '--x\r\ncontent-disposition: form-data; name="litres"\r\n\r\n1\r\n--x--\r\n';
    const answer = await raw(packed, 'multipart/form-data; boundary=x', `/buckets/${code}/stirs`);
    expect(answer.statusCode).toBe(415);
  });

  it.each([
    ['without a boundary', 'anything', 'multipart/form-data'],
    [
      'cut off',
      '--x\r\ncontent-disposition: form-data; name="clay"\r\n\r\nbu',
      'multipart/form-data; boundary=x',
    ],
    ['empty', '', 'multipart/form-data; boundary=x'],
    [
      'with a poisoned name',
      '--x\r\ncontent-disposition: form-data; name="__proto__"\r\n\r\n1\r\n--x--\r\n',
      'multipart/form-data; boundary=x',
    ],
    [
      'with a hundred fields',
      `${'--x\r\ncontent-disposition: form-data; name="clay"\r\n\r\n1\r\n'.repeat(100)}--x--\r\n`,
      'multipart/form-data; boundary=x',
    ],
    [
      'with two files',
      `${'--x\r\ncontent-disposition: form-data; name="photo"; filename="a.jpg"\r\n\r\n1\r\n'.repeat(2)}--x--\r\n`,
      'multipart/form-data; boundary=x',
    ],
  ])('%s is refused in words', async (_what, payload, type) => {
    const answer = await raw(payload, type);
    expect(answer.statusCode).toBeGreaterThanOrEqual(400);
    expect(answer.statusCode).toBeLessThan(500);
    expect(answer.headers['content-type']).toContain('text/html');
  });
});

describe('a kept picture', () => {
  it('is served inert to whoever is signed in, and to nobody else', async () => {
    await send(await aPhoto(42, 32));
    const [tile] = await tiles();
    const url = `/files/${tile?.photo}`;
    const answer = await s.visit(s.people.member, url);
    expect(answer.statusCode).toBe(200);
    expect(answer.headers).toMatchObject({
      'content-type': 'image/jpeg',
      'x-content-type-options': 'nosniff',
      'content-security-policy': "default-src 'none'; sandbox",
      'cache-control': 'private, max-age=31536000, immutable',
    });
    expect(await sharp(answer.rawPayload).metadata()).toMatchObject({ width: 42, height: 32 });
    const stranger = await s.visit(null, url);
    expect(stranger.statusCode).toBe(303);
    expect(stranger.headers['cache-control']).toBe('no-store');
  });

  it.each(['0'.repeat(64), 'none', '%00', '..%2f..%2fetc'])('called %s is not there', async (name) => {
    const answer = await s.visit(s.people.member, `/files/${name}`);
    expect(answer.statusCode).toBe(404);
    expect(answer.headers['cache-control']).toBe('no-store');
  });
});
