/** Node, but after the first failure the rest of a file is passed over: one failure kills a mutant. */
import { TestEnvironment } from 'jest-environment-node';

export default class FailFast extends TestEnvironment {
  failed = false;

  handleTestEvent(event) {
    if (event.name === 'test_fn_failure' || event.name === 'hook_failure') this.failed = true;
    if (event.name === 'test_start' && this.failed) event.test.mode = 'skip';
  }
}
