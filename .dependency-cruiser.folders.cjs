/** Folders import one way. Specs are left out: one beside what it checks may reach for the harness. */
const { options } = require('./.dependency-cruiser.cjs');

/** @type {import('dependency-cruiser').IConfiguration} */
module.exports = {
  forbidden: [
    {
      name: 'no-folder-circle',
      comment: 'Folders import one way, so that each can be read knowing only those below it.',
      severity: 'error',
      scope: 'folder',
      from: { path: '^src/' },
      to: { circular: true },
    },
  ],
  options: { ...options, exclude: { path: ['^\\.build/', '\\.spec\\.tsx?$'] } },
};
