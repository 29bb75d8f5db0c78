// What is being said beyond the proposed test: which of its lists is open, the two points and the instrument. Shared with
// the drawing, on which the points can be tapped.
import type { Signal } from '@preact/signals';
import type { Board } from '../api/board';
import { draft } from './drafts';
import { jobName } from './job';
import { goTab } from './route';

export const sections = ['measured', 'codes', 'seen', 'did'] as const;
export type Which = (typeof sections)[number];
export const instruments = ['volts', 'ohms', 'continuity', 'lamp', 'clamp', 'highest', 'lowest'] as const;
export type Instrument = (typeof instruments)[number];

export function otherWhich(): Signal<Which> {
  return draft<Which>(`${jobName.peek()}:other:which`, 'measured');
}

/** Nothing seen yet: what the reader and the lamps say comes first. */
export function beginWithCodes(board: Board): void {
  if (!board.job.entries.some((one) => one.verb === 'saw' && !one.struck)) otherWhich().value = board.choices.codes.length > 0 ? 'codes' : 'seen';
}

/** The two points and the instrument. */
export function otherDraft(): { instrument: Signal<Instrument>; red: Signal<string>; black: Signal<string>; test: Signal<string>; value: Signal<string> } {
  const job = jobName.peek();
  return {
    instrument: draft<Instrument>(`${job}:other:instrument`, 'volts'),
    red: draft(`${job}:other:red`, ''),
    black: draft(`${job}:other:black`, ''),
    test: draft(`${job}:other:test`, ''),
    value: draft(`${job}:other:value`, ''),
  };
}

/** A point tapped on the drawing: red first, then black. */
export function pickPoint(point: string): void {
  const { red, black } = otherDraft();
  otherWhich().value = 'measured';
  if (red.value === '' || (red.value !== '' && black.value !== '')) {
    red.value = point;
    black.value = '';
  } else if (point !== red.value) black.value = point;
}

/** "I did something else": a measurement of one's own choice, whatever was said last. */
export function measureOther(): void {
  otherWhich().value = 'measured';
  goTab('other');
}
