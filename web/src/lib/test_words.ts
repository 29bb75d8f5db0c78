// What kind of answer a test takes: read off its words, as docs/formats/job.md lists them.
import type { Choices } from '../api/board';
import type { ActToUndo, Configuration, Test } from '../api/replies';

export type AnswerShape = { kind: 'number'; unit: string; none?: string } | { kind: 'words'; words: string[] };

const byInstrument: Record<string, AnswerShape> = {
  volts: { kind: 'number', unit: 'V' },
  highest: { kind: 'number', unit: 'V' },
  lowest: { kind: 'number', unit: 'V' },
  ohms: { kind: 'number', unit: 'ohm' },
  clamp: { kind: 'number', unit: 'A' },
  continuity: { kind: 'words', words: ['beep', 'silent'] },
  lamp: { kind: 'words', words: ['bright', 'dim', 'dark'] },
  code: { kind: 'words', words: ['active', 'past', 'absent'] },
  module: { kind: 'words', words: ['answers', 'silent'] },
  inspect: { kind: 'words', words: ['marked', 'clean'] },
  wiggle: { kind: 'words', words: ['changes', 'steady'] },
  heat: { kind: 'words', words: ['changes', 'steady'] },
  cool: { kind: 'words', words: ['changes', 'steady'] },
};

/** Of a test as `saw` takes it: `volts A B`, `look L1`. */
export function shapeOf(what: string, choices: Choices): AnswerShape {
  const [instrument = '', ...rest] = what.split(' ');
  const name = rest.join(' ');
  if (instrument === 'live') {
    const live = choices.lives.find((one) => one.name === name);
    return { kind: 'number', unit: live?.unit ?? '', none: '---' };
  }
  if (instrument === 'look') {
    const seen = choices.looks.find((one) => one.name === name);
    return { kind: 'words', words: seen && !seen.lamp ? ['works', 'weak', 'dead'] : ['bright', 'dim', 'dark'] };
  }
  return byInstrument[instrument] ?? { kind: 'number', unit: '' };
}

/** Do hands or probes go to the vehicle for it? Codes, live values and lamps are only looked at. */
export function touches(what: string): boolean {
  return ['volts', 'highest', 'lowest', 'ohms', 'continuity', 'lamp', 'clamp', 'inspect', 'wiggle', 'heat', 'cool'].includes(what.split(' ')[0]!);
}

/** Of a test that was proposed: it says its own words. */
export function shapeOfTest(test: Test, choices: Choices): AnswerShape {
  if (['look', 'module', 'continuity'].includes(test.instrument)) return shapeOf(test.what, choices); // a lamp is bright, not "works"
  if (test.results) return { kind: 'words', words: test.results };
  const shape = shapeOf(test.what, choices);
  return shape.kind === 'number' && test.unit ? { ...shape, unit: test.unit } : shape;
}

/** What has to be done so that a row of the proof can be seen again, in the words of `did`. */
export function actsFor(wanted: Configuration, now: Configuration, leftBehind: ActToUndo[]): string[] {
  const putBack = leftBehind
    .filter((one) => /^(remove|put back|plug) /.test(one.undo) && !wanted.unplugged.some((plug) => one.act === `unplug ${plug}`))
    .map((one) => one.undo);
  return [...putBack, ...wanted.made.filter((one) => !now.made.includes(one))];
}

/** The caution of an act, where the loom has one. */
export function cautionOf(act: string, choices: Choices): string {
  const setup = choices.setups.find((one) => one.name === act || one.undo_name === act);
  if (setup) return setup.name === act ? setup.caution ?? '' : '';
  const plug = choices.plugs.find((one) => act === `unplug ${one.name}` || act === `plug ${one.name}`);
  return plug?.caution ?? '';
}
