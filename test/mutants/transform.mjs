/** Compiles as the tests do, with one file changed in memory on its way: the sources on disk stay as they are. */
import { createHash } from 'node:crypto';
import { createRequire } from 'node:module';

const swc = createRequire(import.meta.url)('@swc/jest');

export default {
  createTransformer({ mutant }) {
    const inner = swc.createTransformer();
    const changed = (source, file) =>
      mutant && file === mutant.path
        ? source.slice(0, mutant.start) + mutant.replacement + source.slice(mutant.end)
        : source;
    return {
      process: (source, file, options) => inner.process(changed(source, file), file, options),
      processAsync: (source, file, options) => inner.processAsync(changed(source, file), file, options),
      // Without the settings, which name the mutant: the other files are compiled once.
      getCacheKey: (source, file, { supportsStaticESM }) =>
        createHash('sha256').update(`${file}\0${supportsStaticESM}\0`).update(changed(source, file)).digest('hex'),
    };
  },
};
