/** The doors: a key typed, or a link opened. Both need a press. */
import type { Child, FC } from 'hono/jsx';
import { Frame } from '../frame/document.js';
import { assetMark } from '../frame/send.js';

const Door: FC<{ title: string; children?: Child }> = ({ title, children }) => (
  <Frame title={title} assets={assetMark()}>
    <main id="answer">
      <h1>{title}</h1>
      {children}
    </main>
  </Frame>
);

/** What a browser calls itself, as a first word for the list of devices. */
export function deviceName(userAgent: string | undefined): string {
  const agent = userAgent ?? '';
  const kinds: [RegExp, string][] = [
    [/iPhone/, 'iPhone'],
    [/iPad/, 'iPad'],
    [/Android.*Mobile/, 'Android phone'],
    [/Android/, 'Android tablet'],
    [/Macintosh/, 'Mac'],
    [/Windows/, 'Windows computer'],
    [/Linux/, 'Linux computer'],
  ];
  return kinds.find(([pattern]) => pattern.test(agent))?.[1] ?? 'Browser';
}

export const SignInPage: FC<{ name: string; wrong?: string; again?: string }> = ({ name, wrong, again }) => (
  <Door title="Sign this device in">
    {again ? (
      <p>
        <a class="button" href={again}>
          I am signed in here: go on
        </a>
      </p>
    ) : null}
    {wrong ? (
      <p class="refused" role="alert">
        {wrong}
      </p>
    ) : null}
    <p>
      Scan the code or open the link that the owner’s device shows under “The shop”. Or type a key, as the first start
      printed it: it stays nowhere on this device.
    </p>
    <form method="post" action="/shop/sign-in">
      <label class="field">
        <span>Key</span>
        <input name="key" type="password" required autocomplete="off" maxlength={100} />
      </label>
      <label class="field">
        <span>What to call this device</span>
        <input name="name" value={name} required maxlength={80} autocomplete="off" />
      </label>
      <div class="do">
        <button>Sign in</button>
      </div>
    </form>
  </Door>
);

export const LinkPage: FC<{ token: string; shopName: string; role: string; name: string }> = ({
  token,
  shopName,
  role,
  name,
}) => (
  <Door title={`Sign in to ${shopName}?`}>
    <p>
      This device will be “{name}”, with the rights of {role === 'owner' ? 'the owner' : `a ${role}`}. The link works
      once.
    </p>
    <form method="post" action="/shop/sign-in">
      <input type="hidden" name="link" value={token} />
      <div class="do">
        <button>Sign this device in</button>
      </div>
    </form>
  </Door>
);

export const DoorMessage: FC<{ title: string; text: string; to?: string; label?: string }> = ({
  title,
  text,
  to,
  label,
}) => (
  <Door title={title}>
    <p>{text}</p>
    {to ? (
      <p>
        <a class="button" href={to}>
          {label}
        </a>
      </p>
    ) : null}
  </Door>
);
