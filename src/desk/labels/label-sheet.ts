/** Labels drawn on sheets of paper, to be cut along the lines. */
import { createRequire } from 'node:module';
import PDFDocument from 'pdfkit';
import QRCode from 'qrcode';
import type { z } from 'zod';
import type { Label, Paper } from './labels.shapes.js';

const pointsPerMillimetre = 72 / 25.4;
const marginMillimetres = 10;
const padMillimetres = 2;
const columns = 3;
const rows = 8;
export const LABELS_A_PAGE = columns * rows;

/**
 * Carried along in the sheet, as far as it is used: the fonts that every reader has know Western letters only. This one
 * is narrow, and has Latin, Greek, Cyrillic and more; what it lacks is printed as an empty box.
 */
const { resolve: pathOf } = createRequire(import.meta.url);
const typefaces = {
  plain: pathOf('dejavu-fonts-ttf/ttf/DejaVuSansCondensed.ttf'),
  bold: pathOf('dejavu-fonts-ttf/ttf/DejaVuSansCondensed-Bold.ttf'),
};

/**
 * @param drawnAt stands in the document as its day; two sheets of the same labels drawn at one moment are the same bytes
 * @param publicUrl the address that people reach the service by; without it the labels carry no code
 * @returns a PDF of as many pages as the labels need, an empty list being one empty page
 */
export async function drawLabels(
  labels: readonly z.output<typeof Label>[],
  paper: z.output<typeof Paper>,
  drawnAt: Date,
  publicUrl: string | null,
): Promise<Buffer> {
  const document = new PDFDocument({
    size: paper === 'a4' ? 'A4' : 'LETTER',
    margin: 0,
    info: { Title: 'Labels', CreationDate: drawnAt, ModDate: drawnAt },
  });
  for (const [name, file] of Object.entries(typefaces)) document.registerFont(name, file);
  const pieces: Buffer[] = [];
  const ended = new Promise<Buffer>((resolve, reject) => {
    document.on('data', (piece: Buffer) => pieces.push(piece));
    document.on('end', () => resolve(Buffer.concat(pieces)));
    document.on('error', reject);
  });
  const margin = marginMillimetres * pointsPerMillimetre;
  const width = (document.page.width - 2 * margin) / columns;
  const height = (document.page.height - 2 * margin) / rows;
  for (const [index, label] of labels.entries()) {
    const place = index % LABELS_A_PAGE;
    if (index > 0 && place === 0) document.addPage();
    drawLabel(document, label, publicUrl && publicUrl + label.path, {
      x: margin + (place % columns) * width,
      y: margin + Math.floor(place / columns) * height,
      width,
      height,
    });
  }
  document.end();
  return ended;
}

interface Box {
  x: number;
  y: number;
  width: number;
  height: number;
}

/** The code to the left, the words to the right of it. */
function drawLabel(
  document: PDFKit.PDFDocument,
  label: z.output<typeof Label>,
  code: string | null,
  { x, y, width, height }: Box,
): void {
  document.lineWidth(0.25).strokeColor('#999999').rect(x, y, width, height).stroke();
  const pad = padMillimetres * pointsPerMillimetre;
  const side = code === null ? -pad : Math.min(height - 2 * pad, (width - 3 * pad) * 0.45);
  if (code !== null) drawCode(document, code, x + pad, y + (height - side) / 2, side);
  const left = x + 2 * pad + side;
  const right = width - 3 * pad - side;
  document.fillColor('#000000');
  const write = (text: string, size: number, lines: number, bold = false): void => {
    document
      .font(bold ? 'bold' : 'plain')
      .fontSize(size)
      .text(text, left, document.y, { width: right, height: lines * size * 1.2, ellipsis: true });
  };
  document.y = y + pad;
  write(label.title, 9, 3, true);
  if (label.bin !== null) write(`Bin ${label.bin}`, 10, 1, true);
  if (label.quantity !== null) write(`Quantity ${label.quantity}`, 8, 1);
  if (label.jobNumbers.length > 0) write(`Job ${label.jobNumbers.join(', ')}`, 8, 1);
  if (label.note !== null) write(label.note, 7, 2);
  // The end of the id tells two labels apart where there is no reader at hand.
  document
    .font('plain')
    .fontSize(6)
    .text(label.urn.slice(-12), left, y + height - pad - 6, { width: right, lineBreak: false });
}

/** Modules between the code and anything else, as the standard asks for (ISO/IEC 18004, quiet zone). */
const QUIET = 4;

/** A QR code as black squares, those side by side in one stroke; error correction M bears a smudge. */
function drawCode(document: PDFKit.PDFDocument, text: string, x: number, y: number, side: number): void {
  const { modules } = QRCode.create([{ data: Buffer.from(text), mode: 'byte' }], { errorCorrectionLevel: 'M' });
  const unit = side / (modules.size + 2 * QUIET);
  document.fillColor('#000000');
  for (let row = 0; row < modules.size; row += 1) {
    for (let column = 0; column < modules.size; column += 1) {
      if (!modules.get(row, column)) continue;
      const from = column;
      while (column + 1 < modules.size && modules.get(row, column + 1)) column += 1;
      document.rect(x + (QUIET + from) * unit, y + (QUIET + row) * unit, (column - from + 1) * unit, unit);
    }
  }
  document.fill();
}
