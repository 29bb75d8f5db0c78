// The line to the program: does it answer, and does it know this browser? While it does not, it is asked again and again;
// when it is back, `comebacks` counts, and whoever shows something reads anew.
import { signal } from '@preact/signals';
import { call, watchLine, type Line } from '../api/client';

export const line = signal<Line>('up');
export const comebacks = signal(0);
/** It is being asked at this moment. */
export const trying = signal(false);

const soonest = 1000;
const latest = 5000;
let pause = soonest;
let timer: ReturnType<typeof setTimeout> | null = null;

export function startLine(): void {
  watchLine(heard);
}

function heard(now: Line): void {
  const before = line.peek();
  line.value = now;
  if (now !== 'up') {
    if (now !== before) pause = soonest;
    if (timer === null) timer = setTimeout(() => void tryLine(), pause);
    return;
  }
  if (timer !== null) clearTimeout(timer);
  timer = null;
  if (before !== 'up') ++comebacks.value;
}

/** Asks for something small. Its reply says how the line is. */
export async function tryLine(): Promise<void> {
  if (trying.peek()) return;
  if (timer !== null) clearTimeout(timer);
  timer = null;
  trying.value = true;
  pause = Math.min(latest, pause * 1.5);
  await call('profile');
  trying.value = false;
}
