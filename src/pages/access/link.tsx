/** The page that shows a link to sign another device in, once. */
import { raw } from 'hono/html';
import type { FC } from 'hono/jsx';
import type { View } from '../frame/view.js';
import { LINK_MINUTES } from './sign-in-links.js';

export const SignInCode: FC<{ view: View; address: string | null; path: string; svg: string | null; role: string }> = ({
  view,
  address,
  path,
  svg,
  role,
}) => (
  <>
    <p>
      It signs one device in with the rights of {role === 'owner' ? 'the owner' : `a ${role}`}, once, within{' '}
      {LINK_MINUTES} minutes. Show it to nobody else.
    </p>
    {svg ? (
      <div class="qr" role="img" aria-label="The link as a code to scan">
        {raw(svg)}
      </div>
    ) : (
      <p>
        A code to scan needs the address that phones reach this service by: set PUBLIC_URL. Until then type on the
        device the address that it reaches the service by, and behind it:
      </p>
    )}
    <p>
      <code>{address ?? path}</code>
    </p>
    <p>
      <a class="button quiet" href={view.to('/shop')}>
        Back to the shop
      </a>
    </p>
  </>
);
