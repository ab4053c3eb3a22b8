import { describe, expect, it } from '@jest/globals';
import { drawFirstSnow, type FirstSnowChart } from './first-snow-chart.js';

const chart: FirstSnowChart = {
  seasonLabel: '2026-27',
  event: '25 mm',
  points: [
    { day: '2026-10-01', chance: 0 },
    { day: '2026-11-10', chance: 0.2 },
    { day: '2026-11-20', chance: 0.5 },
    { day: '2026-12-31', chance: 0.95 },
  ],
  medianDay: '2026-11-20',
  today: '2026-09-15',
  jobs: [
    { label: 'Job 7 <Norvane> & "co"', day: '2026-11-15' },
    { label: 'Job 3', day: '2026-10-20' },
  ],
};

describe('the first-snow drawing', () => {
  const drawn = drawFirstSnow(chart);

  it('names and describes itself', () => {
    expect(drawn).toMatch(/^<svg [^>]*role="img" aria-labelledby="first-snow-title first-snow-description"/);
    expect(drawn).toContain('<title id="first-snow-title">First snow of 2026-27 (25 mm)</title>');
    expect(drawn).toContain('50 % by 20 Nov 2026.');
    expect(drawn).toContain('@media print');
  });

  it('marks each job where the curve stands on its day', () => {
    // 15 November lies after the step of the 10th: the chance is 20 %; 20 October lies before it: 0 %.
    expect(drawn).toContain('Job 7 &lt;Norvane&gt; &amp; &quot;co&quot;: 15 Nov 2026, 20 %');
    expect(drawn).toContain('Job 3: 20 Oct 2026, 0 %');
    // The axis runs from 15 September (x = 56) to 31 December (x = 776), 107 days; 15 November is day 61.
    const at = Math.round((56 + (61 / 107) * 720) * 10) / 10;
    const high = Math.round((304 - 0.2 * 280) * 10) / 10;
    expect(drawn).toContain(`<line x1="${at}" x2="${at}" y1="${high}"`);
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
