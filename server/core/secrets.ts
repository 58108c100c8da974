import { createHash, randomBytes } from 'node:crypto';

/** 160 random bits, URL-safe: for links, tokens and one-time keys. */
export const randomSecret = (): string => randomBytes(20).toString('base64url');

/** The secret of ours that a browser sends in the cookie of this name. */
export function secretInCookie(cookieHeader: string | undefined, cookie: string): string | null {
  for (const pair of (cookieHeader ?? '').split(';')) {
    const [name, value] = pair.trim().split('=', 2);
    if (name === cookie && value && /^[\w-]{20,64}$/.test(value)) return value;
  }
  return null;
}

/** What is stored of a secret. These are random already, so a plain hash is enough. */
export const secretHash = (secret: string): string => createHash('sha256').update(secret).digest('base64url');
