import { hash, verify } from '@node-rs/argon2';

export interface Passwords {
  hash(password: string): Promise<string>;
  /** Costs the same when there is nobody to compare with. */
  matches(stored: string | null, password: string): Promise<boolean>;
}

/** Argon2id at OWASP's first recommendation (m = 46 MiB, t = 1, p = 1). `cheap` is for tests alone. */
export async function createPasswords(options: { cheap?: boolean } = {}): Promise<Passwords> {
  const cost = options.cheap
    ? { memoryCost: 8, timeCost: 1, parallelism: 1 }
    : { memoryCost: 47_104, timeCost: 1, parallelism: 1 };
  const nobody = await hash('nobody has this password', cost);
  return {
    hash: (password) => hash(password.normalize('NFC'), cost),
    async matches(stored, password) {
      const same = await verify(stored ?? nobody, password.normalize('NFC'));
      return same && stored !== null;
    },
  };
}
