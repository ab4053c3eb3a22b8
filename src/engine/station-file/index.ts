/** Reading daily records of weather stations, as archives give them out. */
export { type NceiUnits } from './read-ncei.js';
export { linesOf, StationReader, type StationReaderOptions } from './reader.js';
export { type StationFormat, type StationItem, type StationSummary } from './tally.js';
