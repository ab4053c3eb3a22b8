/** `npm start`: prepares the checkout, then becomes the service, so that signals and exit codes need no passing on. */
import { prepareAndRun } from './prepare.mjs';

await prepareAndRun('src/main.js');
