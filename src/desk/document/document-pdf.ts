/** A machine's paper drawn on sheets: the text as it stands, then the pictures two and two. */
import { createRequire } from 'node:module';
import PDFDocument from 'pdfkit';
import { type Block, plainText } from './read-text.js';

export interface DrawnDocument {
  title: string;
  author: string;
  paper: 'A4' | 'LETTER';
  /** Stands in the file as its day: the same content drawn at one moment is the same bytes. */
  drawnAt: Date;
  blocks: readonly Block[];
  pictures: readonly { content: Buffer; words: string; width: number; height: number }[];
}

const MARGIN = 56;
const GAP = 14;
/** The tallest a picture stands on the sheet, in points. */
const PICTURE_HEIGHT = 230;
const { resolve: pathOf } = createRequire(import.meta.url);
// Carried along as far as it is used, as on the labels: what readers bring has Western letters only.
const typefaces = {
  plain: pathOf('dejavu-fonts-ttf/ttf/DejaVuSansCondensed.ttf'),
  bold: pathOf('dejavu-fonts-ttf/ttf/DejaVuSansCondensed-Bold.ttf'),
};
const sizes: Record<Block['kind'], number> = { title: 18, heading: 12.5, item: 9.5, paragraph: 9.5 };

export async function drawDocument(given: DrawnDocument): Promise<Buffer> {
  const document = new PDFDocument({
    size: given.paper,
    margin: MARGIN,
    lang: 'en',
    displayTitle: true,
    info: { Title: given.title, Author: given.author, CreationDate: given.drawnAt, ModDate: given.drawnAt },
  });
  for (const [name, file] of Object.entries(typefaces)) document.registerFont(name, file);
  const pieces: Buffer[] = [];
  const ended = new Promise<Buffer>((resolve, reject) => {
    document.on('data', (piece: Buffer) => pieces.push(piece));
    document.on('end', () => resolve(Buffer.concat(pieces)));
    document.on('error', reject);
  });
  for (const block of given.blocks) drawBlock(document, block);
  drawPictures(document, given.pictures);
  document.end();
  return ended;
}

function drawBlock(document: PDFKit.PDFDocument, block: Block): void {
  const size = sizes[block.kind];
  const bottom = document.page.height - MARGIN;
  const left = MARGIN + (block.kind === 'item' ? 12 : 0);
  const width = document.page.width - MARGIN - left;
  const height = document.font('plain').fontSize(size).heightOfString(plainText(block), { width });
  // A heading keeps what it is of beside it.
  const needed = block.kind === 'heading' ? height + 40 : Math.min(height, 60);
  if (block.kind === 'heading') document.y += 8;
  if (document.y + needed > bottom) document.addPage();
  if (block.kind === 'item') document.font('plain').fontSize(size).text('–', MARGIN, document.y).moveUp();
  document.x = left;
  const whole = block.kind === 'title' || block.kind === 'heading';
  for (const [index, run] of block.runs.entries())
    document
      .font(whole || run.bold ? 'bold' : 'plain')
      .fontSize(size)
      .text(run.text, { width, continued: index < block.runs.length - 1 });
  document.y += block.kind === 'item' ? 2 : 4;
  document.x = MARGIN;
}

function drawPictures(document: PDFKit.PDFDocument, pictures: DrawnDocument['pictures']): void {
  if (pictures.length === 0) return;
  drawBlock(document, { kind: 'heading', runs: [{ text: 'Pictures', bold: false }] });
  const width = (document.page.width - 2 * MARGIN - GAP) / 2;
  for (let first = 0; first < pictures.length; first += 2) {
    const pair = pictures.slice(first, first + 2).map((picture) => {
      const scale = Math.min(width / picture.width, PICTURE_HEIGHT / picture.height);
      return { ...picture, wide: picture.width * scale, tall: picture.height * scale };
    });
    const tall = Math.max(...pair.map((one) => one.tall));
    if (document.y + tall + 24 > document.page.height - MARGIN) document.addPage();
    const top = document.y;
    for (const [column, one] of pair.entries()) {
      const x = MARGIN + column * (width + GAP);
      document.image(one.content, x, top, { width: one.wide, height: one.tall });
      document
        .font('plain')
        .fontSize(8)
        .text(one.words, x, top + tall + 3, { width, height: 10, ellipsis: true });
    }
    document.y = top + tall + 20;
    document.x = MARGIN;
  }
}
