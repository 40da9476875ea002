// Runs the table of event bytes, and random mutations that the C++ program judged, through the page's module:
//   node run.mjs PATH_OF_event_mutations [SEED]
// Ends with "N passed, N failed", counting each row and each batch of mutations once.

import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { judgeEvent } from '../../sync/page/app/well_formed.mjs';

const kMutations = 40000;
let passed = 0;
let failed = 0;

function report(name, problem) {
  if (!problem) {
    passed += 1;
    return;
  }
  failed += 1;
  console.log(`FAILED ${name}: ${problem}`);
}

/** %HH stands for a byte, [text, times] for a repetition; all else is ASCII. */
function bytesOf(pieces) {
  const whole = pieces.map((piece) => (Array.isArray(piece) ? piece[0].repeat(piece[1]) : piece)).join('');
  const text = whole.replace(/%([0-9A-F]{2})/g, (_, hex) => String.fromCharCode(parseInt(hex, 16)));
  return Uint8Array.from(text, (character) => character.charCodeAt(0));
}

/** An outside judge: whatever we call well-formed, the engine's own decoder and parser must accept and agree on. */
function engineProblem(bytes) {
  try {
    const value = JSON.parse(new TextDecoder('utf-8', { fatal: true, ignoreBOM: true }).decode(bytes));
    const again = new TextEncoder().encode(JSON.stringify(value));
    return judgeEvent(again) === 'none' ? '' : `JSON.stringify gives bytes that are ${judgeEvent(again)}`;
  } catch (error) {
    return `the JavaScript engine refuses it: ${error.message}`;
  }
}

function problemOf(bytes, verdict) {
  const word = judgeEvent(bytes);
  if (word !== verdict) return `expected ${verdict}, got ${word}`;
  return word === 'none' ? engineProblem(bytes) : '';
}

function runTable() {
  const lines = readFileSync(new URL('event-bytes.jsonl', import.meta.url), 'utf8').trimEnd().split('\n');
  for (const line of lines) {
    const row = JSON.parse(line);
    report(row.name, problemOf(bytesOf(row.bytes), row.verdict));
  }
}

function runMutations(program, seed) {
  console.log(`mutations, seed ${seed}`);
  const output = execFileSync(program, [String(seed), String(kMutations)], { maxBuffer: 1 << 28, encoding: 'utf8' });
  const seen = new Set();
  const problems = [];
  for (const line of output.trimEnd().split('\n')) {
    const [hex, verdict] = line.split(' ');
    const problem = problemOf(Uint8Array.from(Buffer.from(hex, 'hex')), verdict);
    if (problem) problems.push(`${hex}: ${problem}`);
    seen.add(verdict);
  }
  report('random mutations', problems.slice(0, 5).join('\n  '));
  // A generator that makes only one sort of text would prove little.
  report('mutations reach most verdicts', seen.size >= 14 ? '' : `only ${[...seen].join(', ')}`);
}

const [program, seed = String(Math.floor(Math.random() * 2 ** 32))] = process.argv.slice(2);
runTable();
if (program) runMutations(program, seed);
else report('random mutations', 'no path of event_mutations was given');
console.log(`${passed} passed, ${failed} failed`);
process.exitCode = failed > 0 ? 1 : 0;
