// What a typed reading means: its number in the test's unit, and which of the outcomes it is.
import type { Outcome } from '../api/replies';

const exponents: Record<string, string> = { k: 'e3', M: 'e6', m: 'e-3' };

/** The number of a reading as typed on the keypad; none while it is not whole. */
export function valueOf(text: string): number | null {
  const plain = /^(-?\d+(?:\.\d+)?)([kMm]?)$/.exec(text);
  if (plain) return Number(`${plain[1]}${exponents[plain[2]!] ?? ''}`);
  const inside = /^(-?\d+)([kMm])(\d+)$/.exec(text);
  if (inside) return Number(`${inside[1]}.${inside[3]}${exponents[inside[2]!]}`);
  return null;
}

/** The outcome that a reading belongs to. */
export function outcomeOf(text: string, outcomes: Outcome[]): Outcome | null {
  if (text === 'OL' || text === '---') return outcomes.find((one) => one.over_range) ?? null;
  const value = valueOf(text);
  if (value === null) return null;
  return (
    outcomes.find(
      (one) => !one.over_range && one.word === undefined && value >= (one.low ?? -Infinity) && value < (one.high ?? Infinity),
    ) ?? null
  );
}
