// What a test of the page holds true, counted for tests/run.

let passed = 0;
let failed = 0;

/** One thing that must be so. `told`: say it also when it is, for tests whose figures people read. */
export function check(name, condition, detail = '', told = false) {
  if (condition) passed += 1;
  else failed += 1;
  if (told || !condition) console.log(`${condition ? 'ok    ' : 'FAILED'} ${name} ${detail}`);
}
export const checkAndTell = (name, condition, detail = '') => check(name, condition, detail, true);

/** The last line, from which the checks are counted; ends the program. */
export function finish() {
  console.log(`${passed} passed, ${failed} failed`);
  process.exit(failed > 0 ? 1 : 0);
}
