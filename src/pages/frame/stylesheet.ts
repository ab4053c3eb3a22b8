/**
 * The one stylesheet. Sizes in rem, so that text at 200 % keeps its room; every target is at least 2.75rem (44 px) high;
 * colours are pairs that keep 4.5:1 in light and dark; nothing moves.
 */
export const stylesheet = `
:root {
  color-scheme: light dark;
  --paper: #f7f4ec; --card: #fffdf8; --ink: #1b2428; --soft: #4d5a60; --line: #c9c2b2;
  --act: #14504b; --act-ink: #ffffff; --quiet: #e7e1d3; --quiet-ink: #1b2428;
  --warn: #7a2e0e; --warn-back: #fbe9dc; --good: #1f5a2d; --good-back: #e3f1e2; --mark: #b8651b; --focus: #0a4fb4;
}
@media (prefers-color-scheme: dark) {
  :root {
    --paper: #12181b; --card: #1b2327; --ink: #ece7dc; --soft: #b3bcbf; --line: #3d4a50;
    --act: #8fd6c8; --act-ink: #0c201d; --quiet: #2b363b; --quiet-ink: #ece7dc;
    --warn: #ffc39e; --warn-back: #3d2213; --good: #a9dcae; --good-back: #16301b; --mark: #e0a055; --focus: #9cc4ff;
  }
}
* { box-sizing: border-box; }
html { font: 112.5%/1.45 system-ui, sans-serif; scroll-padding-bottom: 5rem; -webkit-text-size-adjust: 100%; }
body { margin: 0; background: var(--paper); color: var(--ink); overflow-wrap: anywhere; }
a { color: inherit; text-underline-offset: .2em; }
:focus-visible { outline: 3px solid var(--focus); outline-offset: 2px; border-radius: .2rem; }
h1 { font-size: clamp(1.3rem, 1rem + 1.6vw, 1.6rem); line-height: 1.25; margin: 0; font-weight: 650; max-width: 30em; }
h2 { font-size: 1.15rem; margin: 2rem 0 .5rem; }
h2.name { font-size: 1rem; margin: 0; }
p { margin: .4rem 0; max-width: 38em; }
ul, ol { padding-left: 1.2rem; margin: .4rem 0; }
.skip { position: absolute; left: -99rem; }
.skip:focus { position: static; }
.top { display: flex; flex-wrap: wrap; gap: 0 1rem; justify-content: space-between;
  padding: .3rem 1rem; font-size: .9rem; color: var(--soft); }
.top p { margin: .3rem 0; }
main { padding: .5rem 1rem 2rem; max-width: 62rem; margin: 0 auto; }
.note { padding: .6rem .9rem; border-radius: .4rem; margin: 0 0 .8rem; background: var(--good-back); color: var(--good); }
.note.stop, .caution, .refused { background: var(--warn-back); color: var(--warn); }
.caution, .refused { padding: .4rem .8rem; border-left: .35rem solid var(--mark); border-radius: .2rem; margin: .5rem 0; max-width: 40em; }
.soft { color: var(--soft); }
.do { display: flex; flex-wrap: wrap; gap: .6rem; margin: 1rem 0; align-items: flex-start; }
.do > form { display: contents; }
button, .button, summary, select, input, textarea { font: inherit; min-height: 2.75rem; }
button, .button {
  display: inline-flex; align-items: center; padding: .5rem 1.1rem; border-radius: .5rem; border: 2px solid var(--act);
  background: var(--act); color: var(--act-ink); font-weight: 600; text-decoration: none;
    cursor: pointer; min-width: 2.75rem; text-align: left;
}
.quiet, .do > form:not(:first-child) > button.later { background: var(--quiet); color: var(--quiet-ink);
  border-color: var(--line); font-weight: 500; }
button[disabled] { opacity: .75; }
.kept { display: inline-block; padding: .5rem 0; font-weight: 600; color: var(--good); }
.card { background: var(--card); border: 1px solid var(--line); border-radius: .6rem; padding: .8rem 1rem; margin: .8rem 0; }
.name a { display: inline-flex; align-items: center; min-height: 2.75rem; }
.pictures { list-style: none; padding: 0; display: flex; flex-wrap: wrap; gap: .5rem; }
.pictures img { display: block; width: auto; height: 7.5rem; border-radius: .3rem; background: var(--line); }
img.whole { display: block; max-width: 100%; height: auto; border-radius: .3rem; }
.rows { list-style: none; padding: 0; margin: .5rem 0; }
.rows > li { border-top: 1px solid var(--line); padding: .5rem 0; }
.rows > li > a:only-child, .links a { display: flex; align-items: center; min-height: 2.75rem; }
.links { list-style: none; padding: 0; }
details { margin: .3rem 0; }
summary { cursor: pointer; display: list-item; padding: .55rem 0; font-weight: 500;
  text-decoration: underline; text-underline-offset: .2em; }
fieldset { border: 1px solid var(--line); border-radius: .5rem; margin: .8rem 0; padding: .3rem .8rem .8rem; min-width: 0; }
legend { font-weight: 600; padding: 0 .3rem; }
.field { display: block; margin: .7rem 0; max-width: 30rem; }
.field > span { display: block; font-weight: 500; }
.field small { color: var(--soft); font-weight: 400; }
input, select, textarea { width: 100%; padding: .45rem .6rem; border: 1px solid var(--soft); border-radius: .4rem;
  background: var(--card); color: var(--ink); }
input[type=checkbox], input[type=radio] { width: 1.4rem; min-height: 1.4rem; height: 1.4rem;
  margin: 0 .6rem 0 0; accent-color: var(--act); flex: none; }
.short { max-width: 12rem; }
.choice { display: flex; flex-wrap: wrap; gap: .4rem; }
.choice label { display: inline-flex; align-items: center; min-height: 2.75rem; padding: .3rem .8rem;
  border: 1px solid var(--line); border-radius: .5rem; background: var(--card); }
.choice label:has(:checked) { border-color: var(--act); box-shadow: inset 0 0 0 1px var(--act); }
.wrong { color: var(--warn); font-weight: 600; display: block; }
.scroll { overflow-x: auto; }
table { border-collapse: collapse; width: 100%; font-size: .95rem; }
caption { text-align: left; font-weight: 600; padding: .4rem 0; }
th, td { text-align: left; vertical-align: top; padding: .45rem .7rem .45rem 0;
  border-top: 1px solid var(--line); font-variant-numeric: tabular-nums; }
thead th { border-top: 0; color: var(--soft); font-weight: 500; }
td.number, th.number { text-align: right; }
@media (max-width: 40rem) {
  table.stack thead { position: absolute; left: -99rem; }
  table.stack, table.stack caption, table.stack tbody, table.stack tr, table.stack td, table.stack th {
    display: block; border: 0; padding: 0; text-align: left; }
  table.stack tr { border-top: 1px solid var(--line); padding: .5rem 0; }
  table.stack td[data-head]::before { content: attr(data-head) ": "; color: var(--soft); }
  table.stack td:empty { display: none; }
}
dl.facts { display: grid; grid-template-columns: minmax(7rem, auto) 1fr; gap: .25rem 1rem; margin: .5rem 0; }
dl.facts dt { color: var(--soft); }
dl.facts dd { margin: 0; }
figure { margin: 1rem 0; }
figure svg { display: block; width: 100%; height: auto; max-width: 40rem; }
svg text { fill: currentColor; font: 12px system-ui, sans-serif; }
svg .axis, svg .grid { stroke: var(--line); stroke-width: 1; fill: none; }
svg .work { fill: var(--act); }
svg .wait { fill: var(--line); }
svg .coat { fill: var(--mark); }
svg .line { stroke: var(--act); stroke-width: 2.5; fill: none; }
svg .band { fill: var(--act); opacity: .2; }
svg .now { stroke: var(--mark); stroke-width: 2; stroke-dasharray: 4 3; }
svg .dot { fill: var(--act); stroke: var(--card); stroke-width: 1.5; }
svg .ring { fill: none; stroke: var(--act); stroke-width: 2; }
.pictures { display: flex; flex-wrap: wrap; gap: .5rem; list-style: none; padding: 0; }
.pictures img { display: block; width: 9rem; height: 7rem; object-fit: cover; border-radius: .3rem; background: var(--quiet); }
.picture { max-width: 100%; height: auto; border-radius: .4rem; }
.qr { width: 14rem; background: #fff; padding: .6rem; }
.bar { position: sticky; bottom: 0; display: grid; grid-template-columns: repeat(4, 1fr);
  background: var(--card); border-top: 1px solid var(--line); }
.bar a { display: flex; align-items: center; justify-content: center; text-align: center;
  min-height: 3.2rem; padding: .2rem; font-size: .9rem; text-decoration: none;
  font-weight: 600; }
.bar a[aria-current] { box-shadow: inset 0 .25rem var(--act); }
#ask { padding: 0 1rem 1rem; max-width: 62rem; margin: 0 auto; border-top: 1px solid var(--line); }
#ask .links { display: grid; grid-template-columns: repeat(auto-fill, minmax(10rem, 1fr)); gap: 0 1rem; }
@media (min-width: 70rem) {
  body { display: grid; grid-template-columns: 14rem 1fr; grid-template-rows: auto 1fr; }
  .top { grid-column: 1 / 3; }
  #ask { grid-column: 1; grid-row: 2; border: 0; margin: 0; }
  #ask .links { display: block; position: sticky; top: 0; }
  main { grid-column: 2; grid-row: 2; margin: 0; width: 100%; }
  .bar { display: none; }
}
@media print {
  :root { --paper: #fff; --card: #fff; --ink: #000; --soft: #333; --line: #888;
    --act: #000; --warn: #000; --warn-back: #fff; --good: #000; --good-back: #fff; --mark: #555; }
  html { font-size: 11pt; }
  body { display: block; }
  .top a, .do, .bar, #ask, form, .noprint, summary:not(.keep) { display: none; }
  .card { break-inside: avoid; border-color: #888; }
  main { max-width: none; padding: 0; }
}
`.trim();
