/** What is said of a machine that is sold as it was found. General; local rules on such sales go before it. */

export const asFoundText =
  'Sold as found, for repair or for parts, and not safe to run. It was not put right and not tried under load. ' +
  'Do not fuel or start it before somebody who knows such machines has gone through it by the maker’s manual. ' +
  'What is said below of its state is what was seen, and no promise.';

/** @param day on which it was recorded */
export const asFoundRecord = (day: string, by: string): string =>
  `The fuel was drained and the spark plug wire taken off: recorded on ${day} by ${by}.`;
