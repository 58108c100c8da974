import { request } from 'node:http';
import type { AddressInfo } from 'node:net';
import { gzipSync } from 'node:zlib';
import sharp from 'sharp';
import { beforeAll, describe, expect, it } from 'vitest';
import { listTiles } from '../../server/buckets/service/index.ts';
import { documentIn, pictureIn } from '../../server/core/files.ts';
import { aStudio, type Studio } from '../helpers/studio.ts';
import { aPhoto, aPng, upload } from '../helpers/upload.ts';

const MB = 2 ** 20;
let s: Studio;
let code: string;
let form: string;
let port: number;
beforeAll(async () => {
  s = await aStudio();
  code = await s.aBucket({ sg: 1.46 });
  form = `/buckets/${code}/tiles/new`;
  await s.app.listen({ host: '127.0.0.1', port: 0 });
  port = (s.app.server.address() as AddressInfo).port;
});

const FIELDS = { clay: 'Buff stoneware', cone: '6' };
const PAYLOAD = '<html><script>alert(document.domain)</script></html>';
const tiles = () => s.as(s.people.technician, (act) => listTiles(act, code));
const send = (bytes: Buffer, name: string, type: string) =>
  upload(s, s.people.technician, form, FIELDS, { bytes, name, type });

/** How much memory this process holds more after some work than before. */
async function grownBy(work: () => Promise<unknown>): Promise<number> {
  const before = process.memoryUsage.rss();
  await work();
  return process.memoryUsage.rss() - before;
}

describe('a file that is two things at once', () => {
  const jpeg = () => aPhoto(64, 48);
  const asPng = async () =>
    sharp(await jpeg())
      .png()
      .toBuffer();

  it.each([
    ['a JPEG with a page behind it', async () => Buffer.concat([await jpeg(), Buffer.from(PAYLOAD)])],
    ['a PNG with a page behind it', async () => Buffer.concat([await asPng(), Buffer.from(PAYLOAD)])],
    // An archive is read from its end, so that a picture before it is no hindrance.
    [
      'a JPEG with an archive behind it',
      async () => Buffer.concat([await jpeg(), Buffer.from(`PK\x03\x04${PAYLOAD}`)]),
    ],
    [
      'a JPEG with a page in its comment',
      async () => {
        const comment = Buffer.from(PAYLOAD);
        const head = Buffer.from([0xff, 0xfe, 0, comment.length + 2]);
        const bytes = await jpeg();
        return Buffer.concat([bytes.subarray(0, 2), head, comment, bytes.subarray(2)]);
      },
    ],
  ])('is kept as its picture alone: %s', async (_what, make) => {
    const sent = await make();
    expect(sent.includes(PAYLOAD)).toBe(true);
    const kept = await pictureIn({ bytes: sent, isTooLarge: false }, 'photo');
    expect(kept.bytes.includes('script')).toBe(false);
    expect(kept.bytes.includes('PK\x03\x04')).toBe(false);
    const answer = await send(sent, 'tile.html', 'text/html');
    expect(answer.statusCode).toBe(303);
    const photo = (await tiles()).find((one) => one.photo === kept.sha256)?.photo;
    const served = await s.visit(s.people.member, `/files/${photo}`);
    expect(served.headers['content-type']).toBe('image/jpeg');
    expect(served.headers['x-content-type-options']).toBe('nosniff');
    expect(served.rawPayload.includes('script')).toBe(false);
  });

  it.each([
    ['a drawing', `<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>`],
    [
      'a drawing behind the name of a PNG',
      `\x89PNG\r\n\x1a\n<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>`,
    ],
    ['a bitmap', 'BM\0\0\0\0'],
    ['a script that reads as a GIF', 'GIF89a=1;alert(1)//'],
    ['a PDF', '%PDF-1.4\n%%EOF'],
    ['a TIFF', 'II*\0\x08\0\0\0'],
  ])('is refused where it is no photo at all: %s', async (_what, words) => {
    const answer = await send(Buffer.from(words, 'latin1'), 'tile.png', 'image/png');
    expect(answer.statusCode).toBe(422);
    expect(answer.body).not.toContain('onload=');
  });

  it('is saved, never opened, where it is a PDF that says it does something', async () => {
    const words = `%PDF-1.7\n1 0 obj<</OpenAction<</S/JavaScript/JS(app.alert(1))>>>>endobj\n${PAYLOAD}\n%%EOF\n`;
    const document = documentIn({ bytes: Buffer.from(words), isTooLarge: false }, 'sheet');
    expect(document.type).toBe('application/pdf');
    const { technician, member } = s.people;
    const made = await s.submit(technician, '/materials/new', {
      ...{ key: 'uploads-material', name: 'Whiting', density: '2.7', classification: 'unknown' },
    });
    const id = /^\/materials\/(\d+)/.exec(String(made.headers.location))?.[1];
    const packed = new FormData();
    const fields = { kind: 'sheet', supplier: 'Fellmoor', language: 'English', issuedOn: '2026-01-02' };
    for (const [name, value] of Object.entries(fields)) packed.append(name, value);
    packed.append('sheet', new Blob([words], { type: 'text/html' }), 'sheet.html');
    const whole = new Response(packed);
    const answer = await s.app.inject({
      method: 'POST',
      url: `/materials/${id}/sheets`,
      payload: Buffer.from(await whole.arrayBuffer()),
      headers: {
        ...{ cookie: technician.cookie, origin: 'http://localhost', host: 'localhost' },
        'content-type': whole.headers.get('content-type') ?? '',
      },
    });
    expect(answer.statusCode, answer.body).toBe(303);
    const served = await s.visit(member, `/files/${document.sha256}`);
    expect(served.headers).toMatchObject({
      'content-type': 'application/pdf',
      'content-disposition': `attachment; filename="sheet-${document.sha256.slice(0, 8)}.pdf"`,
      'content-security-policy': "default-src 'none'; sandbox",
      'x-content-type-options': 'nosniff',
    });
  });
});

describe('a small file that would be a large one', () => {
  it.each([
    ['50,000 × 50,000', 50_000, 50_000],
    ['2 × 2,000,000,000', 2, 2_000_000_000],
    ['none at all', 0, 0],
  ])('of %s pixels is refused by what it says of itself', async (_what, width, height) => {
    const bomb = aPng(width, height, Buffer.alloc(64_000));
    expect(bomb.length).toBeLessThan(2_000);
    const grown = await grownBy(async () => {
      expect((await send(bomb, 'tile.png', 'image/png')).statusCode).toBe(422);
    });
    expect(grown).toBeLessThan(200 * MB);
  });

  it('whose pixels unpack to far more than it says is read no further than it says', async () => {
    const bomb = aPng(8, 8, Buffer.alloc(100 * MB));
    expect(bomb.length).toBeLessThan(200_000);
    const grown = await grownBy(async () => {
      expect((await send(bomb, 'tile.png', 'image/png')).statusCode).toBeLessThan(500);
    });
    expect(grown).toBeLessThan(200 * MB);
  });

  it('as large as is taken, several at a time, leaves the memory within bounds', async () => {
    const large = aPng(8_000, 8_000, Buffer.alloc(1001 * 8_000));
    const grown = await grownBy(async () => {
      const answers = await Promise.all([1, 2, 3].map(() => send(large, 'tile.png', 'image/png')));
      // On a busy machine one may be given up for taking too long.
      for (const { statusCode } of answers) expect([303, 422]).toContain(statusCode);
    });
    // 64 million pixels of three bytes are 183 MB: never three of them at once.
    expect(grown).toBeLessThan(400 * MB);
  });

  it('packed on its way is not unpacked', async () => {
    const { technician } = s.people;
    const bomb = gzipSync(Buffer.alloc(20 * MB, 32));
    for (const url of ['/api/v1/buckets', form]) {
      const answer = await s.app.inject({
        method: 'POST',
        url,
        payload: bomb,
        headers: {
          ...{ origin: 'http://localhost', host: 'localhost', 'content-encoding': 'gzip' },
          ...(url === form
            ? { cookie: technician.cookie, 'content-type': 'application/x-www-form-urlencoded' }
            : { authorization: `Bearer ${technician.token}`, 'content-type': 'application/json' }),
        },
      });
      expect(answer.statusCode, url).toBeGreaterThanOrEqual(400);
      expect(answer.statusCode, url).toBeLessThan(500);
    }
  });
});

describe('a form that goes on and on', () => {
  const head = '--x\r\ncontent-disposition: form-data; name=';

  /** A form sent over the network; `bodyOf` writes it. */
  const sent = (
    headers: Record<string, string>,
    bodyOf: (write: (part: Buffer | string) => Promise<void>) => Promise<void>,
  ) =>
    new Promise<number>((resolve, reject) => {
      let status = 0;
      const out = request({
        ...{ host: '127.0.0.1', port, method: 'POST', path: form },
        headers: {
          ...{ cookie: s.people.technician.cookie, origin: `http://127.0.0.1:${port}` },
          'content-type': 'multipart/form-data; boundary=x',
          ...headers,
        },
      });
      out.on('response', (answer) => {
        status = answer.statusCode ?? 0;
        answer.resume();
        answer.on('close', () => {
          resolve(status);
          out.destroy();
        });
      });
      // Whoever is told to stop and goes on is cut off.
      out.on('error', (error) => (status ? resolve(status) : reject(error)));
      const write = (part: Buffer | string) =>
        new Promise<void>((done) => {
          if (status || out.destroyed || out.write(part)) done();
          else out.once('drain', done);
        });
      void bodyOf(write).then(() => out.end());
    });
  const asFile = `${head}"photo"; filename="a.jpg"\r\ncontent-type: image/jpeg\r\n\r\n\xff\xd8\xff`;

  it('and says so is refused before anything of it is read', async () => {
    const status = await sent({ 'content-length': String(2 ** 30) }, async (write) => {
      await write(Buffer.from(asFile, 'latin1'));
      // The rest is never sent: the answer does not wait for it.
      await new Promise<void>(() => {});
    });
    expect(status).toBe(413);
  });

  it('and does not say so is read to its end, of which no more is kept than is taken', async () => {
    const before = (await tiles()).length;
    const grown = await grownBy(async () => {
      const status = await sent({ 'transfer-encoding': 'chunked' }, async (write) => {
        await write(Buffer.from(asFile, 'latin1'));
        const part = Buffer.alloc(MB, 1);
        for (let i = 0; i < 100; i++) await write(part);
        await write('\r\n--x--\r\n');
      });
      expect([413, 422]).toContain(status);
    });
    expect(grown).toBeLessThan(250 * MB);
    expect((await tiles()).length).toBe(before);
  });

  it.each([
    ['in a name', `${head}"${'n'.repeat(300_000)}"\r\n\r\n1\r\n--x--\r\n`],
    ['in the name of its file', `${head}"photo"; filename="${'f'.repeat(300_000)}"\r\n\r\n1\r\n--x--\r\n`],
    ['in a value', `${head}"clay"\r\n\r\n${'v'.repeat(2 * MB)}\r\n--x--\r\n`],
    ['in headers of a part', `--x\r\n${'x-more: 1\r\n'.repeat(50_000)}\r\n1\r\n--x--\r\n`],
    ['in parts', `${`${head}"clay"\r\n\r\n1\r\n`.repeat(20_000)}--x--\r\n`],
    ['in empty parts', `${'--x\r\n\r\n\r\n'.repeat(20_000)}--x--\r\n`],
    ['in boundaries', `${'--x\r\n'.repeat(100_000)}--x--\r\n`],
  ])('%s is refused, or as good as not sent', async (_what, body) => {
    const before = (await tiles()).length;
    const answer = await s.app.inject({
      method: 'POST',
      url: form,
      payload: body,
      headers: {
        ...{ cookie: s.people.technician.cookie, origin: 'http://localhost', host: 'localhost' },
        'content-type': 'multipart/form-data; boundary=x',
      },
    });
    expect(answer.statusCode).toBeGreaterThanOrEqual(400);
    expect(answer.statusCode).toBeLessThan(500);
    expect((await tiles()).length).toBe(before);
  });

  it('by somebody who may not send it is not read at all', async () => {
    const member = await sent(
      { cookie: s.people.member.cookie, 'content-length': String(10 * MB) },
      async (write) => {
        await write(Buffer.from(asFile, 'latin1'));
        await new Promise<void>(() => {});
      },
    );
    expect(member).toBe(403);
  });
});
