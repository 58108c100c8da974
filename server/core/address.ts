import type { Config } from '../config.ts';

/**
 * A path of ours as a QR code may carry it; null while PUBLIC_URL is unset or means this machine alone, so that no
 * code is printed which a phone cannot open.
 */
export function printedAddress({ publicUrl }: Pick<Config, 'publicUrl'>, path: string): string | null {
  return publicUrl === null || isLoopback(publicUrl.hostname) ? null : new URL(path, publicUrl).href;
}

const isLoopback = (hostname: string): boolean =>
  /^(localhost|.*\.localhost|127\..*|0\.0\.0\.0|\[::1?\])$/i.test(hostname);
