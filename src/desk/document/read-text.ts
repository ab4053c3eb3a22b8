/** The starting point's own Markdown, taken apart: page and paper print the one text, so that they cannot say two things. */

export interface Run {
  text: string;
  bold: boolean;
}
export interface Block {
  kind: 'title' | 'heading' | 'item' | 'paragraph';
  runs: Run[];
}

const kinds: [string, Block['kind']][] = [
  ['# ', 'title'],
  ['## ', 'heading'],
  ['- ', 'item'],
];

/** Only what `startingPointText` writes: headings, items, bold, and escaped signs. */
export function readText(text: string): Block[] {
  return text
    .split('\n')
    .filter((line) => line.trim() !== '')
    .map((line) => {
      const [mark, kind] = kinds.find(([start]) => line.startsWith(start)) ?? ['', 'paragraph' as const];
      return { kind, runs: runsOf(line.slice(mark.length)) };
    });
}

function runsOf(line: string): Run[] {
  const runs: Run[] = [];
  let bold = false;
  // An escaped sign is a sign; two stars that are not escaped turn bold on and off.
  for (const [piece] of line.matchAll(/\\.|\*\*|[^\\*]+|[\\*]/gsu)) {
    if (piece === '**') {
      bold = !bold;
      continue;
    }
    const text = piece.startsWith('\\') && piece.length > 1 ? piece.slice(1) : piece;
    const last = runs.at(-1);
    if (last && last.bold === bold) last.text += text;
    else runs.push({ text, bold });
  }
  return runs;
}

export const plainText = (block: Block): string => block.runs.map((run) => run.text).join('');
