/** One thing wrong with one field: `path` is the field's name, '' for the whole form. */
export interface FieldError {
  path: string;
  message: string;
}

/** What a use case throws when it will not do what was asked; each class has one HTTP status. */
export abstract class Refusal extends Error {
  abstract readonly status: number;
  abstract readonly title: string;
  readonly errors: FieldError[] = [];
}

export class Invalid extends Refusal {
  readonly status = 422;
  readonly title = 'Something needs another look';
  override readonly errors: FieldError[];
  constructor(errors: FieldError[] | string) {
    const list = typeof errors === 'string' ? [{ path: '', message: errors }] : errors;
    super(list.map((e) => e.message).join(' '));
    this.errors = list;
  }
}

export class Malformed extends Refusal {
  readonly status = 400;
  readonly title = 'This could not be read';
}

export class Unauthorised extends Refusal {
  readonly status = 401;
  readonly title = 'Sign in first';
}

export class Forbidden extends Refusal {
  readonly status = 403;
  readonly title = 'Not yours to do';
}

export class NotFound extends Refusal {
  readonly status = 404;
  readonly title = 'Nothing here';
}

export class Conflict extends Refusal {
  readonly status = 409;
  readonly title: string = 'Not as things stand';
  /** @param path the field that it is said beside, where one is at fault */
  constructor(message: string, path?: string) {
    super(message);
    if (path !== undefined) this.errors.push({ path, message });
  }
}

/** A value that is possible but odd: the same request with `confirm` is taken. */
export class Doubtful extends Conflict {
  override readonly title = 'Is this right?';
  constructor(path: string, message: string) {
    super(message, path);
  }
}

/** It was made by somebody else than whoever is signed in now. */
export class NotAsMeant extends Refusal {
  readonly status = 412;
  readonly title = 'Somebody else is signed in';
}

export class TooMany extends Refusal {
  readonly status = 429;
  readonly title = 'Too many tries';
  readonly retryAfterSeconds: number;
  constructor(message: string, retryAfterSeconds: number) {
    super(message);
    this.retryAfterSeconds = Math.max(1, Math.ceil(retryAfterSeconds));
  }
}

export class Unavailable extends Refusal {
  readonly status = 503;
  readonly title = 'The database does not answer';
  readonly retryAfterSeconds = 5;
}
