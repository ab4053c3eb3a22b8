/**
 * What the database refuses, in the words of the person who caused it. A rule that only the database can keep
 * (no two open jobs on one machine, nobody at two benches at once) is thereby told as clearly as any other.
 */
import { CommitUnacknowledged, isConnectionLost } from '../database/connection-lost.js';
import { Busy, Conflict, DomainError, Invalid, NotFound, OutcomeUnknown, StorageFull, Unavailable } from '../errors.js';

/** Constraint name → what to tell. Constraints that can only fail through a fault of ours are not listed. */
const told: Record<string, { code: string; detail: string }> = {
  one_open_job_a_machine: {
    code: 'job-open',
    detail: 'This machine already has an open job; finish or close that one first.',
  },
  labour_one_place_at_a_time: {
    code: 'person-busy',
    detail: 'This person is already recorded at work during that time.',
  },
  one_standing_offer_a_job: {
    code: 'already-offered',
    detail: 'This machine is already offered; withdraw that offer first.',
  },
  one_standing_sale_a_job: { code: 'already-sold', detail: 'This machine is already sold; reverse that sale first.' },
  one_standing_scrap_sale_a_machine: {
    code: 'already-sold',
    detail: 'What was left of this machine is already sold as scrap; reverse that first.',
  },
  ledger_reversal: { code: 'already-reversed', detail: 'Only an entry that is not itself a reversal can be reversed.' },
  LedgerEntry_shopId_reversesId_key: { code: 'already-reversed', detail: 'This entry has already been reversed.' },
  order_line_quantities: {
    code: 'too-many-received',
    detail: 'Received and cancelled together cannot exceed what was ordered.',
  },
  stock_amounts: { code: 'not-in-stock', detail: 'There is not that much in the bin.' },
};

interface Refusal {
  status: string;
  constraint: string | undefined;
  message: string;
}

/** Domain errors pass; known refusals become domain errors; anything else is returned as it is, a fault of ours. */
export function asDomainError(error: unknown): unknown {
  if (error instanceof DomainError) return error;
  // Prisma's own word for an update or delete that met no row.
  if (isCode(error, 'P2025')) return new NotFound('such record');
  // No connection became free in time.
  if (isCode(error, 'P2028') && /unable to start a transaction/i.test((error as Error).message))
    return new Busy('too-busy', 'More is being asked at once than can be answered; send it again in a few seconds.');
  if (error instanceof CommitUnacknowledged) return new OutcomeUnknown('Read it again before you send it again.');
  if (isConnectionLost(error)) return new Unavailable();
  const refusal = refusalIn(error);
  if (!refusal) return error;
  const words = refusal.constraint ? told[refusal.constraint] : undefined;
  if (words) return new Conflict(words.code, words.detail);
  switch (refusal.status) {
    case '23505':
      return new Conflict('already-there', `The shop already has one ${likeWhat(refusal.constraint)}.`);
    case '23503':
      return new NotFound('such record for an id that you sent');
    case '23514':
    case '22003':
      return new Invalid([
        {
          detail: 'a value is outside what is allowed',
          pointer: '',
        },
      ]);
    case '23001':
      return new Conflict('kept-as-written', 'What is recorded here is never changed; record its opposite instead.');
    case '53100':
      return new StorageFull();
    case '53300':
      return new Busy('too-busy', 'The database has no connection left; send it again in a few seconds.');
    case '57014':
      return new Busy(
        'too-slow',
        'It took too long and was given up; nothing was changed. Ask for less, or send it again later.',
      );
    case '40001':
    case '40P01':
      return new Conflict('busy', 'Others were changing the same records; send it again.');
    default:
      return error;
  }
}

/** A unique index is named after its table and columns; a caller knows the columns only. */
function likeWhat(constraint: string | undefined): string {
  const columns = /^[A-Z][A-Za-z]*_(\w+)_key$/
    .exec(constraint ?? '')?.[1]
    ?.split('_')
    .filter((one) => one !== 'shopId');
  return columns?.length ? `with the same ${columns.join(' and ')}` : 'like that';
}

const isCode = (error: unknown, code: string): boolean => (error as { code?: unknown } | null)?.code === code;

function refusalIn(error: unknown, depth = 0): Refusal | undefined {
  if (error === null || typeof error !== 'object' || depth > 6) return undefined;
  const one = error as Record<string, unknown>;
  const status = [one.code, one.originalCode, one.sqlState].find(
    (code): code is string => typeof code === 'string' && /^[0-9A-Z]{5}$/.test(code) && !/^P\d{4}$/.test(code),
  );
  const message = typeof one.message === 'string' ? one.message : '';
  if (status) return { status, constraint: constraintIn(one), message };
  for (const key of ['cause', 'meta', 'driverAdapterError', 'error']) {
    const inner = refusalIn(one[key], depth + 1);
    if (inner) return { ...inner, constraint: inner.constraint ?? constraintIn(one) };
  }
  return undefined;
}

function constraintIn(one: Record<string, unknown>): string | undefined {
  const constraint = one.constraint;
  if (typeof constraint === 'string') return constraint;
  if (
    constraint !== null &&
    typeof constraint === 'object' &&
    typeof (constraint as { index?: unknown }).index === 'string'
  )
    return (constraint as { index: string }).index;
  const quoted = /constraint "([^"]+)"/.exec(String(one.originalMessage ?? one.message ?? ''));
  return quoted?.[1];
}
