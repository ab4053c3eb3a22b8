/** A station's file of daily records, read as it comes in and written in pieces: its size does not matter. */
import {
  linesOf,
  StationReader,
  type StationReaderOptions,
  type StationSummary,
} from '../../engine/station-file/index.js';
import { Refused } from '../../platform/errors.js';
import { type AppContext, type Caller, inTransaction } from '../../platform/operation/execute.js';
import { findOne } from '../../platform/operation/stored.js';
import { type DayRecord, newSummary, type Summary, writeStationDays } from './station-days.js';

const daysAPiece = 2000;
const maxCharacters = 200_000_000;

/**
 * Each piece is a transaction of its own, so that a long file holds no lock; should it break off half-way, the same
 * file sent again completes it and changes nothing else.
 * @throws NotFound, Refused; EngineError for a file that is none of the known formats
 */
export async function importStationFile(
  appContext: AppContext,
  caller: Caller,
  stationId: string,
  chunks: AsyncIterable<string>,
  options: StationReaderOptions,
): Promise<Summary> {
  const today = await inTransaction(appContext, caller, async (context) => {
    const station = await findOne(context.tx.station, 'weather station', stationId);
    if (station.archivedAt)
      throw new Refused('archived', 'This weather station was archived; import into one that is in use.');
    return context.today;
  });
  const reader = new StationReader({ ...options, today });
  const written = newSummary(stationId, '', []);
  let piece: DayRecord[] = [];
  const write = async () => {
    const rows = piece;
    piece = [];
    await inTransaction(appContext, caller, (context) => writeStationDays(context, written, rows));
  };
  for await (const item of reader.read(linesOf(limited(chunks)))) {
    if (item.kind === 'day') piece.push(item.record);
    if (piece.length >= daysAPiece) await write();
  }
  const { station: stationInFile, ...read } = reader.summary();
  if (read.days === 0) throw nothingUnderstood(read);
  await write();
  await inTransaction(appContext, caller, (context) =>
    context.tx.auditEntry.create({
      data: {
        shopId: context.shop.id,
        accessKeyId: context.accessKeyId,
        operation: 'importStationFile',
        subjectId: stationId,
      },
    }),
  );
  return { ...written, ...read, stationInFile };
}

/** A file of which no line could be taken is no import: it says so, with the first lines that were refused. */
function nothingUnderstood({ lines, validationErrors }: Pick<StationSummary, 'lines' | 'validationErrors'>): Refused {
  const first = validationErrors.slice(0, 3).map(({ line, detail }) => `Line ${line} ${detail}.`);
  return new Refused(
    'nothing-understood',
    `None of the ${lines} lines of the file gave a day, so nothing was recorded. ` +
      (first.length > 0 ? first.join(' ') : 'Its header names columns, but no day with a value follows it.'),
  );
}

async function* limited(chunks: AsyncIterable<string>): AsyncGenerator<string> {
  let characters = 0;
  for await (const chunk of chunks) {
    characters += chunk.length;
    if (characters > maxCharacters)
      throw new Refused(
        'file-too-large',
        'The file is larger than any station record; split it, or send the right one.',
      );
    yield chunk;
  }
}
