/**
 * What can go wrong in an operation: a small closed set. Each transport maps it once; nothing else that is
 * thrown reaches a client as anything but an anonymous fault.
 */
export interface Fault {
  /** What is wrong, in words for the person who sent it. */
  detail: string;
  /** JSON Pointer into the input, such as `/machines/0/price`. */
  pointer: string;
}

export abstract class DomainError extends Error {
  abstract readonly status: number;
  abstract readonly title: string;
  /** Members added to the problem body, such as `errors` or the current version. */
  readonly extra: Record<string, unknown>;

  constructor(
    /** Stable, machine-readable; ends the problem's `type`. */
    readonly code: string,
    detail: string,
    extra: Record<string, unknown> = {},
  ) {
    super(detail);
    this.name = new.target.name;
    this.extra = extra;
  }
}

/** The request could not be read at all: bad JSON, a bad header, a bad cursor. */
export class Unreadable extends DomainError {
  readonly status = 400;
  readonly title = 'The request could not be read';
}

export class Unauthenticated extends DomainError {
  readonly status = 401;
  readonly title = 'A valid key is needed';
  constructor(detail = 'Send the header "Authorization: Bearer <key>" with a key of your shop.') {
    super('key-needed', detail);
  }
}

export class Forbidden extends DomainError {
  readonly status = 403;
  readonly title = 'This key may not do that';
  constructor(detail: string) {
    super('not-allowed', detail);
  }
}

export class NotFound extends DomainError {
  readonly status = 404;
  readonly title = 'There is no such thing here';
  constructor(what: string, id?: string) {
    super('not-found', id ? `There is no ${what} with id ${id}.` : `There is no ${what}.`);
  }
}

/** The request contradicts what is already recorded. */
export class Conflict extends DomainError {
  readonly status = 409;
  readonly title = 'The records stand against it';
}

/** Somebody else changed it first. */
export class Outdated extends DomainError {
  readonly status = 412;
  readonly title = 'It has changed since you read it';
  constructor(currentVersion: number) {
    super(
      'outdated',
      `The current version is ${currentVersion}. Read it again, then send your change with that version.`,
      {
        currentVersion,
      },
    );
  }
}

export class VersionNeeded extends DomainError {
  readonly status = 428;
  readonly title = 'Say which version you are changing';
  constructor() {
    super('version-needed', 'Send the header If-Match with the ETag you were given when you read it.');
  }
}

/** The input was read, and is wrong: every fault is listed with its place. */
export class Invalid extends DomainError {
  readonly status = 422;
  readonly title = 'The input is not acceptable';
  constructor(validationErrors: Fault[], code = 'invalid-input') {
    super(code, validationErrors.map((f) => `${f.pointer || 'input'}: ${f.detail}`).join('; '), {
      errors: validationErrors,
    });
  }
}

/** A rule of the trade or of the house stands against it; the detail says what to do next. */
export class Refused extends DomainError {
  readonly status = 422;
  readonly title = 'A rule stands against it';
}

/** What is sent is more than is taken; the detail says how much that is. */
export class TooLarge extends DomainError {
  readonly status = 413;
  readonly title = 'The request is too large';
  constructor(detail: string) {
    super('too-large', detail);
  }
}

/** A kind of body that is not read there; the detail says which is. */
export class UnsupportedMedia extends DomainError {
  readonly status = 415;
  readonly title = 'That kind of body is not read here';
  constructor(detail: string) {
    super('unsupported-media', detail);
  }
}

/** There was no room to begin; nothing was done. */
export class Busy extends DomainError {
  readonly status = 503;
  readonly title = 'Too busy at the moment';
}

export class TooMany extends DomainError {
  readonly status = 429;
  readonly title = 'Too many requests';
}

/** The database cannot be reached; nothing was done. */
export class Unavailable extends DomainError {
  readonly status = 503;
  readonly title = 'The database does not answer';
  constructor(
    detail = 'The database does not answer at the moment; nothing was changed. Send it again in a few seconds.',
  ) {
    super('database-away', detail);
  }
}

/** The database went away while it was asked to keep the work: it may be kept or not. */
export class OutcomeUnknown extends DomainError {
  readonly status = 503;
  readonly title = 'Whether it was recorded is not known';
  /** @param settle how the caller finds out */
  constructor(settle: string) {
    super('outcome-unknown', `The database went away before it told whether this was recorded. ${settle}`);
  }
}

/** The database has no room left to write. */
export class StorageFull extends DomainError {
  readonly status = 507;
  readonly title = 'There is no room left';
  constructor() {
    super(
      'storage-full',
      'The disk of the database is full: nothing was changed. What is recorded can still be read; whoever runs the service must make room.',
    );
  }
}

/** Pictures cannot be kept or fetched at the moment; nothing was done. */
export class FilesAway extends DomainError {
  readonly status = 503;
  readonly title = 'The store of pictures does not answer';
  constructor(detail = 'The store of pictures does not answer; nothing was changed. Send it again in a few seconds.') {
    super('files-away', detail);
  }
}
