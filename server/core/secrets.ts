import { createHash, randomBytes } from 'node:crypto';

/** 160 random bits, URL-safe: for links, tokens and one-time keys. */
export const randomSecret = (): string => randomBytes(20).toString('base64url');

/** What is stored of a secret. These are random already, so a plain hash is enough. */
export const secretHash = (secret: string): string => createHash('sha256').update(secret).digest('base64url');
