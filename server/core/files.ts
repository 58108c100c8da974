import { createHash } from 'node:crypto';
import multipart from '@fastify/multipart';
import { and, eq } from 'drizzle-orm';
import type { FastifyInstance, FastifyRequest } from 'fastify';
import sharp from 'sharp';
import type { Act, Read } from './actor.ts';
import { Invalid, Malformed, NotFound } from './errors.ts';
import type { Typed } from './forms.ts';
import { files } from './schema.ts';
import type { Services } from './services.ts';

/** A file as a form brought it. What is larger than is taken here was cut off. */
export interface Upload {
  bytes: Buffer;
  isTooLarge: boolean;
}

/** A picture as it is kept: made by us, whatever was sent. */
export interface Picture {
  bytes: Buffer;
  type: 'image/jpeg';
  sha256: string;
}

/** A document as it is kept: the very bytes that came, and never shown inside a page. */
export interface Document {
  bytes: Buffer;
  type: 'application/pdf';
  sha256: string;
}

declare module 'fastify' {
  interface FastifyRequest {
    /** By the name of their field, where a form brings any. */
    uploads?: Map<string, Upload>;
  }
}

const MOST_MEGABYTES = 15;
/** A form with a file somewhat too large is read, so that it comes back filled in; one that says it is far larger is not. */
const MOST_FORM_BYTES = 64 * 1024 * 1024;
/** More than a phone's camera makes unless it is told to; a small file can claim a picture that fills the memory. */
const MOST_MEGAPIXELS = 64;
const LONGEST_SIDE = 1600;
const QUALITY = 80;
const SHA256 = /^[0-9a-f]{64}$/;

// The studio's computer goes on answering everybody else while one picture is made.
sharp.concurrency(1);
sharp.cache(false);

/** Lets the forms of this scope bring files: their fields become the body, as those of any other form. */
export async function acceptUploads(scope: FastifyInstance): Promise<void> {
  await scope.register(multipart, {
    throwFileSizeLimit: false,
    limits: { fileSize: MOST_MEGABYTES * 1024 * 1024, files: 1, fields: 40, fieldSize: 20_000, parts: 41 },
  });
  scope.addHook('onRequest', async (request, reply) => {
    if (!(Number(request.headers['content-length']) > MOST_FORM_BYTES)) return;
    reply.header('connection', 'close');
    throw Object.assign(new Error('far too large'), { statusCode: 413 });
  });
  scope.addHook('preValidation', async (request) => {
    if (!request.isMultipart()) return;
    await readParts(request).catch((error) => {
      // What cannot be parsed is thrown as a bare error; a limit that was passed has its status.
      throw 'statusCode' in error ? error : new Malformed('The form could not be read. Send it again.');
    });
  });
}

/** A file stands in the body by its hash, so that a form sent twice is known by its picture too. */
async function readParts(request: FastifyRequest): Promise<void> {
  const typed: Typed = {};
  const uploads = new Map<string, Upload>();
  for await (const part of request.parts()) {
    const name = part.fieldname;
    if (part.type === 'file') {
      const bytes = await part.toBuffer();
      if (!part.filename && bytes.length === 0) continue; // nothing was chosen
      uploads.set(name, { bytes, isTooLarge: part.file.truncated });
      typed[name] = hashOf(bytes);
    } else {
      const value = String(part.value);
      const before = typed[name];
      typed[name] = before === undefined ? value : [before, value].flat();
    }
  }
  request.body = typed;
  request.uploads = uploads;
}

/**
 * The picture in an upload, encoded anew: upright, its longest side at most 1600 px, without what the camera wrote
 * into it about place and time. Anything else is refused beside the field `path`.
 */
export async function pictureIn(upload: Upload, path: string): Promise<Picture> {
  const refuse = (message: string) => new Invalid([{ path, message }]);
  const { bytes, isTooLarge } = upload;
  if (isTooLarge) throw refuse(`The photo is larger than ${MOST_MEGABYTES} MB. Take it at a smaller size.`);
  if (bytes.length === 0) throw refuse('The photo is empty. Take it again.');
  if (isHeic(bytes))
    throw refuse('This is a HEIC picture. Set the camera to its most compatible format, which is JPEG.');
  if (!isPhoto(bytes)) throw refuse('This is not a photo: JPEG, PNG or WebP.');
  try {
    const made = await sharp(bytes, { limitInputPixels: MOST_MEGAPIXELS * 1_000_000, failOn: 'error' })
      .rotate()
      .resize({ width: LONGEST_SIDE, height: LONGEST_SIDE, fit: 'inside', withoutEnlargement: true })
      .flatten({ background: '#ffffff' })
      .jpeg({ quality: QUALITY })
      .timeout({ seconds: 15 })
      .toBuffer();
    return { bytes: made, type: 'image/jpeg', sha256: hashOf(made) };
  } catch (error) {
    if (error instanceof Error && /pixel limit/.test(error.message))
      throw refuse(`This picture is too large: at most ${MOST_MEGAPIXELS} million pixels.`);
    throw refuse('This photo cannot be read: it is broken or not whole. Take it again.');
  }
}

const hashOf = (bytes: Buffer): string => createHash('sha256').update(bytes).digest('hex');

/** By its first bytes; the name and type that came with it are whatever the sender says. */
function isPhoto(bytes: Buffer): boolean {
  const begins = bytes.subarray(0, 12).toString('latin1');
  return (
    begins.startsWith('\xff\xd8\xff') ||
    begins.startsWith('\x89PNG\r\n\x1a\n') ||
    /^RIFF.{4}WEBP$/s.test(begins)
  );
}

const isHeic = (bytes: Buffer): boolean => /^ftyphe/.test(bytes.subarray(4, 12).toString('latin1'));

/** Readers look for the end of a PDF in its last 1024 bytes. */
const TAIL = 1024;

/**
 * The PDF in an upload, by its content: it begins as one and ends as one, whatever its name and type say. Anything
 * else is refused beside the field `path`.
 */
export function documentIn({ bytes, isTooLarge }: Upload, path: string): Document {
  const refuse = (message: string) => new Invalid([{ path, message }]);
  if (isTooLarge) throw refuse(`The file is larger than ${MOST_MEGABYTES} MB. Ask for a smaller one.`);
  if (bytes.length === 0) throw refuse('The file is empty. Choose it again.');
  if (!/^%PDF-[12]\.\d/.test(bytes.subarray(0, 8).toString('latin1'))) throw refuse('This is not a PDF.');
  if (!bytes.subarray(-TAIL).toString('latin1').includes('%%EOF'))
    throw refuse('This PDF is not whole: its end is missing. Download it again.');
  return { bytes, type: 'application/pdf', sha256: hashOf(bytes) };
}

/** Keeps a document, once however often it is sent. */
export const keepDocument = (act: Act, document: Document): Promise<number> => keep(act, document);

/** A document that this person sent before, with a form that was refused. */
export async function findOwnDocument({ tx, actor }: Read, sha256: string): Promise<number | null> {
  const [row] = await tx
    .select({ id: files.id })
    .from(files)
    .where(and(eq(files.sha256, sha256), eq(files.madeBy, actor.id), eq(files.type, 'application/pdf')));
  return row?.id ?? null;
}

/** Keeps a picture, once however often it is sent. */
export const keepPicture = (act: Act, picture: Picture): Promise<number> => keep(act, picture);

async function keep({ tx, actor, now }: Act, file: Picture | Document): Promise<number> {
  const { bytes, type, sha256 } = file;
  const [made] = await tx
    .insert(files)
    .values({ sha256, type, bytes, madeBy: actor.id, madeAt: now })
    .onConflictDoNothing()
    .returning({ id: files.id });
  const [kept] = made
    ? [made]
    : await tx.select({ id: files.id }).from(files).where(eq(files.sha256, sha256));
  return (kept as { id: number }).id;
}

/** A picture that this person sent before, with a form that was refused. */
export async function findOwnPicture({ tx, actor }: Read, sha256: string): Promise<number | null> {
  const [row] = await tx
    .select({ id: files.id })
    .from(files)
    .where(and(eq(files.sha256, sha256), eq(files.madeBy, actor.id), eq(files.type, 'image/jpeg')));
  return row?.id ?? null;
}

type FileGate = (read: Read, fileId: number) => Promise<boolean>;

let mayOpen: FileGate = async () => true;

/** A feature whose files are not everybody's says whose they are; the app tells here how it answers. */
export const fillFileGate = (filled: FileGate): void => {
  mayOpen = filled;
};

/** Files by their hash, which is why browsers may keep them for ever: inert whatever they held. */
export function fileRoutes(app: FastifyInstance, { database, clock }: Services): void {
  app.get('/files/:sha256', { config: { permission: 'files.see' } }, async (request, reply) => {
    const { sha256 } = request.params as { sha256: string };
    const [file] = SHA256.test(sha256)
      ? await database.db
          .select({ id: files.id, type: files.type, bytes: files.bytes })
          .from(files)
          .where(eq(files.sha256, sha256))
      : [];
    const actor = request.caller;
    const isOpen = file && actor && (await mayOpen({ tx: database.db, actor, now: clock.now() }, file.id));
    if (!isOpen) throw new NotFound('There is no such file.');
    // A document is saved, not opened here: its scripts and forms are none of ours.
    const isDocument = file.type === 'application/pdf';
    return reply
      .type(file.type)
      .header('cache-control', 'private, max-age=31536000, immutable')
      .header('content-security-policy', "default-src 'none'; sandbox")
      .header(
        'content-disposition',
        isDocument ? `attachment; filename="sheet-${sha256.slice(0, 8)}.pdf"` : 'inline',
      )
      .send(file.bytes);
  });
}
