import { crc32, deflateSync } from 'node:zlib';
import type { LightMyRequestResponse } from 'fastify';
import sharp from 'sharp';
import type { Person, Studio } from './studio.ts';

interface Sent {
  bytes: Buffer;
  name?: string;
  type?: string;
}

/** A form with a file in `photo`, as a browser sends it; null: no file was chosen. */
export async function upload(
  studio: Studio,
  person: Person,
  url: string,
  fields: Record<string, string>,
  photo: Sent | null,
): Promise<LightMyRequestResponse> {
  const form = new FormData();
  for (const [name, value] of Object.entries(fields)) form.append(name, value);
  const {
    bytes,
    name = 'tile.jpg',
    type = 'image/jpeg',
  } = photo ?? {
    bytes: Buffer.alloc(0),
    name: '',
    type: 'application/octet-stream',
  };
  form.append('photo', new Blob([new Uint8Array(bytes)], { type }), name);
  const packed = new Response(form);
  return studio.app.inject({
    method: 'POST',
    url,
    payload: Buffer.from(await packed.arrayBuffer()),
    headers: {
      cookie: person.cookie,
      origin: 'http://localhost',
      host: 'localhost',
      'content-type': packed.headers.get('content-type') ?? '',
    },
  });
}

/** A small photo of one colour. */
export const aPhoto = (width = 40, height = 30, background = '#2f5d8a'): Promise<Buffer> =>
  sharp({ create: { width, height, channels: 3, background } })
    .jpeg()
    .toBuffer();

/** A PNG of one bit a pixel that says it is of this size, with these pixels, packed. */
export function aPng(width: number, height: number, rows: Buffer): Buffer {
  const chunk = (type: string, data: Buffer) => {
    const body = Buffer.concat([Buffer.from(type, 'latin1'), data]);
    const frame = Buffer.alloc(8);
    frame.writeUInt32BE(data.length);
    frame.writeUInt32BE(crc32(body) >>> 0, 4);
    return Buffer.concat([frame.subarray(0, 4), body, frame.subarray(4)]);
  };
  const header = Buffer.alloc(13);
  header.writeUInt32BE(width);
  header.writeUInt32BE(height, 4);
  header[8] = 1;
  return Buffer.concat([
    Buffer.from('\x89PNG\r\n\x1a\n', 'latin1'),
    chunk('IHDR', header),
    chunk('IDAT', deflateSync(rows)),
    chunk('IEND', Buffer.alloc(0)),
  ]);
}
