import { describe, expect, it } from '@jest/globals';
import PDFDocument from 'pdfkit';
import { drawFirstSnow, type FirstSnowChart } from './first-snow-chart.js';

const chart: FirstSnowChart = {
  seasonLabel: '2026-27',
  event: '25 mm',
  points: [
    { day: '2026-10-01', probability: 0 },
    { day: '2026-11-10', probability: 0.2 },
    { day: '2026-11-20', probability: 0.5 },
    { day: '2026-12-31', probability: 0.95 },
  ],
  medianDate: '2026-11-20',
  today: '2026-09-15',
  jobs: [
    { label: 'Job 7 <Norvane> & "co"', day: '2026-11-15', ready: 0.83 },
    { label: 'Job 3', day: '2026-10-20' },
  ],
};

describe('the first-snow drawing', () => {
  const drawn = drawFirstSnow(chart);

  it('names and describes itself', () => {
    expect(drawn).toMatch(/^<svg [^>]*role="img" aria-labelledby="first-snow-title first-snow-description"/);
    const title = 'First snow of 2026-27 (25 mm), and when the machines will be finished';
    expect(drawn).toContain(`<title id="first-snow-title">${title}</title>`);
    // Also to the eye, with what the axis shows.
    expect(drawn).toMatch(new RegExp(`<text [^>]*>${title.replace(/[()]/g, '\\$&')}</text>`));
    expect(drawn).toMatch(/<text [^>]*rotate\(-90\)[^>]*>chance that it has snowed by the day<\/text>/);
    expect(drawFirstSnow({ ...chart, jobs: [] })).toContain(
      '<title id="first-snow-title">First snow of 2026-27 (25 mm)</title>',
    );
    expect(drawn).toContain('50 % by 20 Nov 2026.');
    expect(drawn).toContain('@media print');
  });

  it('marks each job where the curve stands on its day', () => {
    // 15 November lies after the step of the 10th: the chance is 20 %; 20 October lies before it: 0 %.
    expect(drawn).toContain('Job 7 &lt;Norvane&gt; &amp; &quot;co&quot;: 15 Nov 2026; snow by then 20 %, in time 83 %');
    expect(drawn).toContain('Job 3: 20 Oct 2026; snow by then 0 %');
    // The axis runs from 15 September (x = 76) to 31 December (x = 776), 107 days; 15 November is day 61.
    const at = Math.round((76 + (61 / 107) * 700) * 10) / 10;
    const high = Math.round((388 - 0.2 * 280) * 10) / 10;
    expect(drawn).toContain(`<line x1="${at}" x2="${at}" y1="${high}"`);
  });

  it('reaches from two weeks before the curve rises to two weeks after', () => {
    // Until the end of next September nothing rises any more: 31 December is day 107, and the axis has 121 days.
    const long = drawFirstSnow({ ...chart, points: [...chart.points, { day: '2027-09-30', probability: 0.95 }] });
    expect(long).toContain(`H${Math.round((76 + (107 / 121) * 700) * 10) / 10}V`);
    // Without today and jobs it begins on 27 October, so 10 November is day 14 of 79.
    const alone = drawFirstSnow({
      ...chart,
      today: null,
      jobs: [],
      points: [
        { day: '2026-07-01', probability: 0 },
        { day: '2026-10-27', probability: 0 },
        ...chart.points.slice(1),
        { day: '2027-09-30', probability: 0.95 },
      ],
    });
    expect(alone).toContain(`d="M76 388H${Math.round((76 + (14 / 79) * 700) * 10) / 10}V`);
  });

  it('leaves no markup of others unescaped and every tag closed', () => {
    expect(drawn).not.toContain('<Norvane>');
    const opened = [...drawn.matchAll(/<([a-z]+)(?: [^>]*)?(?<!\/)>/g)].map(([, tag]) => tag);
    const closed = [...drawn.matchAll(/<\/([a-z]+)>/g)].map(([, tag]) => tag);
    expect([...opened].sort()).toEqual([...closed].sort());
  });

  it('says so when there is nothing to draw', () => {
    expect(drawFirstSnow({ ...chart, points: [] })).toContain('There are no station records');
  });
});

interface Box {
  words: string;
  left: number;
  right: number;
  top: number;
  bottom: number;
}
interface Line {
  x: number;
  top: number;
  bottom: number;
}

// The widths of Helvetica (Adobe's metrics, which the PDF library carries) and a tenth more, since a reader's own font may
// be wider; letters reach 0.93 em up and 0.22 em down (its bounding box).
const helvetica = new PDFDocument().font('Helvetica').fontSize(12);
const unescaped = (text: string): string =>
  text
    .replace(/&lt;/g, '<')
    .replace(/&gt;/g, '>')
    .replace(/&quot;/g, '"')
    .replace(/&#39;/g, "'")
    .replace(/&amp;/g, '&');

/** Every text of a drawing as the box it fills. */
function boxesOf(drawn: string): Box[] {
  return [...drawn.matchAll(/<text x="([\d.-]+)" y="([\d.-]+)"(?: text-anchor="(\w+)")?>([^<]*)<\/text>/g)].map(
    ([, x, y, anchor, text]) => {
      const words = unescaped(text!);
      const wide = helvetica.widthOfString(words) * 1.1;
      const left = anchor === 'end' ? Number(x) - wide : Number(x);
      return { words, left, right: left + wide, top: Number(y) - 0.93 * 12, bottom: Number(y) + 0.22 * 12 };
    },
  );
}

/** The jobs' lines and those of the marks, none of the grid. */
function linesOf(drawn: string): Line[] {
  return [
    ...drawn.matchAll(/<line(?: class="(?:today|median)")? x1="([\d.]+)" x2="[\d.]+" y1="([\d.]+)" y2="([\d.]+)"/g),
  ].map(([, x, from, to]) => ({ x: Number(x), top: Number(from), bottom: Number(to) }));
}

const overlap = (one: Box, other: Box): boolean =>
  one.left < other.right && other.left < one.right && one.top < other.bottom && other.top < one.bottom;
const crosses = (line: Line, box: Box): boolean =>
  line.x > box.left && line.x < box.right && line.top < box.bottom && line.bottom > box.top;

/** What lies on something else, in words; empty when all can be read. */
function faultsOf(drawn: string): string[] {
  const boxes = boxesOf(drawn);
  const [, width, height] = /viewBox="0 0 (\d+) (\d+)"/.exec(drawn)!;
  return [
    ...boxes.flatMap((one, index) =>
      boxes
        .slice(index + 1)
        .filter((other) => overlap(one, other))
        .map((other) => `"${one.words}" lies on "${other.words}"`),
    ),
    ...linesOf(drawn).flatMap((line) =>
      boxes.filter((box) => crosses(line, box)).map((box) => `a line runs through "${box.words}"`),
    ),
    ...boxes
      .filter((box) => box.left < 0 || box.right > Number(width) || box.top < 0 || box.bottom > Number(height))
      .map((box) => `"${box.words}" is cut off`),
  ];
}

const dayAfter = (days: number): string => new Date(Date.UTC(2026, 8, 15 + days)).toISOString().slice(0, 10);
const labelled = (number: number): string =>
  `Job ${number} ${['Norvane Drift 21', 'Hallgrim Boreal 24 with the WIDE CHUTE', 'Pikestone P8'][number % 3]!}, ` +
  `ready with ${number * 2} %`;
/** So many jobs, the days between them as told. */
const withJobs = (count: number, dayOf: (index: number) => number): FirstSnowChart => ({
  ...chart,
  jobs: Array.from({ length: count }, (_, index) => ({ label: labelled(index + 1), day: dayAfter(dayOf(index)) })),
});

describe('words and lines', () => {
  const spreads: [string, (index: number) => number][] = [
    ['all on one day', () => 60],
    ['on following days', (index) => 30 + index],
    ['by twos and threes', (index) => 20 + 2 * Math.floor(index / 3)],
    ['all over the season', (index) => (index * 37) % 107],
    ['at its two ends', (index) => (index % 2 === 0 ? index % 4 : 107 - (index % 3))],
    ["beyond the curve's last day", (index) => 100 + 5 * index],
  ];

  for (const count of [0, 1, 5, 15, 40]) {
    it.each(spreads)(`of ${count} jobs, %s: none lies on another, no line runs through words`, (_, dayOf) => {
      const drawn = drawFirstSnow(withJobs(count, dayOf));
      expect(faultsOf(drawn)).toEqual([]);
      expect(drawn.match(/<g class="job">/g) ?? []).toHaveLength(count);
      expect(linesOf(drawn)).toHaveLength(count + 2);
      expect(drawFirstSnow(withJobs(count, dayOf))).toBe(drawn);
    });
  }

  it('keep clear wherever today and the even chance stand', () => {
    for (let today = 0; today <= 107; today += 1) {
      for (const median of [0, 1, 5, 50, 106, 107]) {
        const drawn = drawFirstSnow({
          ...withJobs(5, (index) => 20 * index),
          today: dayAfter(today),
          medianDate: dayAfter(median),
        });
        expect([today, median, faultsOf(drawn)]).toEqual([today, median, []]);
      }
    }
  });

  it('share a row where there is room, so that few jobs far apart take little of it', () => {
    const far = drawFirstSnow({
      ...chart,
      jobs: [
        { label: 'Job 1', day: dayAfter(2) },
        { label: 'Job 2', day: dayAfter(50) },
      ],
    });
    const rows = boxesOf(far)
      .filter((box) => box.words.startsWith('Job'))
      .map((box) => box.top);
    expect(rows[0]).toBe(rows[1]);
  });

  it('would be told apart from words that lie on others', () => {
    const [first] = boxesOf(drawFirstSnow(chart)).filter((box) => box.words.startsWith('Job'));
    const spoilt = drawFirstSnow(chart).replace(
      '</svg>',
      `<line x1="${first!.left + 20}" x2="${first!.left + 20}" y1="0" y2="900"/><text ` +
        `x="${first!.left + 9}" y="${first!.bottom}">Across</text></svg>`,
    );
    expect(faultsOf(spoilt)).toEqual(
      expect.arrayContaining([
        expect.stringContaining('lies on "Across"'),
        expect.stringContaining('a line runs through "Job'),
      ]),
    );
  });
});
