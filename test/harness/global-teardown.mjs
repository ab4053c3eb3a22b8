/** Runs once after all tests: ends the database server, if one was started. */
export default async function teardown() {
  await globalThis.frostwrightTestServer?.close();
}
