/**
 * Splits one line of a delimited file; fields may stand in double quotes, a quote inside is doubled (RFC 4180).
 * A record that runs over several lines is not read: no station file has any.
 * @returns undefined when a quote is not closed or something follows a closed one
 */
export function splitLine(text: string, delimiter: string): string[] | undefined {
  const fields: string[] = [];
  for (let at = 0; ; at += 1) {
    let field: string;
    if (text[at] === '"') {
      field = '';
      for (at += 1; ; at += 1) {
        const quote = text.indexOf('"', at);
        if (quote < 0) return undefined;
        field += text.slice(at, quote);
        at = quote + 1;
        if (text[at] !== '"') break;
        field += '"';
      }
    } else {
      const end = text.indexOf(delimiter, at);
      field = text.slice(at, end < 0 ? text.length : end);
      at += field.length;
    }
    fields.push(field.trim());
    if (at >= text.length) return fields;
    if (text[at] !== delimiter) return undefined;
  }
}

/** A tab or a semicolon where the header has one, else a comma. */
export const delimiterOf = (header: string): string =>
  header.includes('\t') ? '\t' : header.includes(';') ? ';' : ',';
