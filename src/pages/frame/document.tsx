/** The pattern of every page: the answer, what can be done about it, the rest. */
import type { Child, FC } from 'hono/jsx';
import { Act } from './components.js';
import type { View } from './view.js';

/** What a page has to say. */
export interface Shown {
  /** The question, for the browser's tab and the history. */
  title: string;
  /** One sentence. */
  answer: Child;
  /** A line or two below it. */
  more?: Child;
  /** One to three large buttons, the likeliest first. */
  doing?: Child;
  rest?: Child;
  /** It shows prices: it is kept nowhere. */
  priced?: boolean;
  status?: number;
}

export const questions = [
  { path: '/', name: 'What now' },
  { path: '/machines', name: 'Which machine' },
  { path: '/new', name: 'New here', writes: true },
  { path: '/missing', name: 'What is missing' },
  { path: '/paint', name: 'May I paint' },
  { path: '/worth', name: 'What is it worth', prices: true },
  { path: '/snow', name: 'Before the snow' },
  { path: '/find', name: 'Find' },
  { path: '/shop', name: 'The shop' },
] as const;

const near = [
  { path: '/', name: 'Now' },
  { path: '/missing', name: 'Missing' },
  { path: '/paint', name: 'Paint' },
] as const;

interface FrameProps {
  title: string;
  assets: string;
  children?: Child;
  body?: Record<string, string | undefined>;
}
export const Frame: FC<FrameProps> = ({ title, assets, children, body }) => (
  <html lang="en">
    <head>
      <meta charset="utf-8" />
      <title>{title}</title>
      <meta name="viewport" content="width=device-width, initial-scale=1" />
      <link rel="stylesheet" href={`/shop/assets/${assets}.css`} />
      <link rel="icon" href={`/shop/assets/${assets}.svg`} type="image/svg+xml" />
      <script type="module" src={`/shop/assets/${assets}.js`}></script>
    </head>
    <body {...body}>{children}</body>
  </html>
);

export const Document: FC<{ view: View; shown: Shown; assets: string; planMark: string | null }> = ({
  view,
  shown,
  assets,
  planMark,
}) => {
  const path = view.here.split('?')[0];
  const asked = questions.filter(
    (question) => (!('prices' in question) || view.seesPrices) && (!('writes' in question) || view.owns),
  );
  const current = (one: string) => (one === path ? { 'aria-current': 'page' as const } : {});
  return (
    <Frame
      title={`${shown.title} – ${view.shop.name}`}
      assets={assets}
      body={{
        'data-base': view.base,
        'data-device': view.device.id,
        ...(planMark ? { 'data-plan': planMark } : {}),
        ...(view.secure ? { 'data-worker': `${view.base}/worker.js` } : {}),
      }}
    >
      <a class="skip" href="#answer">
        To the answer
      </a>
      <header class="top">
        <p>
          {view.shop.name}
          {view.device.role === 'owner' ? '' : `, as ${view.device.role}`}
        </p>
        <p>{view.say.fullDay(view.say.today.toString())}</p>
      </header>
      <main id="answer" tabindex={-1}>
        <div id="waiting" aria-live="polite"></div>
        {view.done ? (
          <div class="note" role="status">
            <p>{view.done.said}</p>
            {view.done.undo ? (
              <Act
                view={view}
                act={view.done.undo.act}
                about="undo"
                fields={view.done.undo.fields}
                quiet
                label="Take it back"
              >
                <p>{view.done.undo.says}</p>
              </Act>
            ) : null}
          </div>
        ) : null}
        {view.refusal && view.refusal.about === 'undo' ? (
          <p class="refused" role="alert">
            {view.refusal.message}
          </p>
        ) : null}
        <p class="note" id="fresh" hidden>
          The plan has changed: <a href={view.base + view.here}>show it</a>
        </p>
        <p class="note" id="progress" hidden>
          <span></span> <progress max="1" aria-label="How far the work is"></progress>
        </p>
        <h1>{shown.answer}</h1>
        {shown.more}
        {shown.doing ? <div class="do">{shown.doing}</div> : null}
        {shown.rest}
      </main>
      <nav id="ask" aria-label="Ask something else">
        <ul class="links">
          {asked.map((question) => (
            <li>
              <a href={view.to(question.path)} {...current(question.path)}>
                {question.name}
              </a>
            </li>
          ))}
        </ul>
      </nav>
      <nav class="bar" aria-label="Asked most">
        {near.map((one) => (
          <a href={view.to(one.path)} {...current(one.path)}>
            {one.name}
          </a>
        ))}
        <a href="#ask">More</a>
      </nav>
    </Frame>
  );
};
