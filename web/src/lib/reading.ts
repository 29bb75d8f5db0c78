// What a typed reading means: its number in the test's unit, and which of the outcomes it is.
import type { Outcome } from '../api/replies';

/** As far as it is typed: whole; the beginning of one; another unit than the test's; nothing that can become a number. */
export type Reading = { is: 'whole'; value: number | null } | { is: 'begun' | 'wrong-unit' | 'no-number' };

interface Unit {
  /** As the test names it. */
  is: string;
  /** In small letters, but for "m". */
  words: string[];
  prefixes: string;
}

// As src/base/number.cpp takes them.
const units: Unit[] = [
  { is: 'V', words: ['v', 'volt', 'volts', 'vdc', 'v dc'], prefixes: 'muk' },
  { is: 'A', words: ['a', 'amp', 'amps', 'ampere', 'amperes'], prefixes: 'munk' },
  { is: 'ohm', words: ['r', 'ohm', 'ohms'], prefixes: 'mukMG' },
  { is: 'W', words: ['w', 'watt', 'watts'], prefixes: 'mk' },
  { is: 's', words: ['s', 'sec', 'secs', 'second', 'seconds'], prefixes: 'mu' },
  { is: 'min', words: ['min', 'mins', 'minute', 'minutes', 'h', 'hour', 'hours'], prefixes: '' },
  { is: 'm', words: ['m', 'metre', 'metres'], prefixes: 'mck' },
  { is: 'mm2', words: ['mm2', 'mm^2'], prefixes: '' },
  { is: 'degC', words: ['c', 'degc', 'deg c', 'celsius'], prefixes: '' },
  { is: '%', words: ['%', 'percent'], prefixes: '' },
];
const electrical = ['V', 'A', 'ohm'];
const exponents: Record<string, number> = { n: -9, u: -6, m: -3, c: -2, k: 3, M: 6, G: 9 };
const prefixWords: [string, string][] = [
  ['milli', 'm'], ['micro', 'u'], ['kilo', 'k'], ['mega', 'M'], ['kil', 'k'], ['meg', 'M'],
  ...[...'numckMG'].map((one): [string, string] => [one, one]), ['K', 'k'],
];

function plain(text: string): string {
  return text.replace(/[\u2212\u2013]/g, '-').replace(/[\u03a9\u2126]/g, 'ohm').replace(/[\u00b5\u03bc]/g, 'u').replace(/\u00b2/g, '2').replace(/\u00b0/g, 'deg').trim();
}

function unitOf(text: string): Unit | undefined {
  return units.find((one) => one.words.some((each) => (each === 'm' ? text === 'm' : each === text.toLowerCase())));
}

/** What stands behind the number: by how much it shifts it, and the unit when one is told. None: no unit known here. */
function suffixOf(text: string): { exponent: number; unit?: Unit } | undefined {
  if (text === '') return { exponent: 0 };
  // On the keypad the unit stands beside the number, so a bare m is thousandths and not metres; `spoken` says it so.
  const whole = text === 'm' ? undefined : unitOf(text);
  if (whole) return { exponent: 0, unit: whole };
  for (const [spelling, letter] of prefixWords) {
    const head = text.slice(0, spelling.length);
    if ((spelling.length > 1 ? head.toLowerCase() : head) !== spelling) continue;
    const rest = text.slice(head.length).trim();
    const unit = unitOf(rest);
    if (unit ? unit.prefixes.includes(letter) : rest === '' && 'kMGunm'.includes(letter)) return { exponent: exponents[letter]!, ...(unit ? { unit } : {}) };
  }
  return undefined;
}

/** Can it still become one? Behind a mark, as in 4k7, only a unit may stand. */
function mayBecomeSuffix(text: string, marked = false): boolean {
  const small = text.toLowerCase();
  const after = (prefix: string) => units.flatMap((one) => one.words.map((each) => `${prefix}${each}`));
  const prefixes = marked ? [] : prefixWords.map(([spelling]) => spelling.toLowerCase());
  return ['', ...prefixes].flatMap(after).some((one) => one.startsWith(small.replace(/ /g, '')) || one.startsWith(small));
}

function fits(unit: Unit | undefined, wanted: string): boolean {
  return unit === undefined || wanted === '' || !electrical.includes(wanted) || unit.is === wanted;
}

const marks: Record<string, { exponent: number; unit?: string }> = {
  R: { exponent: 0, unit: 'ohm' }, r: { exponent: 0, unit: 'ohm' }, V: { exponent: 0, unit: 'V' }, v: { exponent: 0, unit: 'V' }, A: { exponent: 0, unit: 'A' }, a: { exponent: 0, unit: 'A' },
  k: { exponent: 3 }, K: { exponent: 3 }, M: { exponent: 6 }, m: { exponent: -3 }, u: { exponent: -6 }, n: { exponent: -9 },
};

/** A reading as it is typed, in the notations of the command line (docs/guide.md, "Numbers as the trade writes them"). */
export function readingOf(typed: string, wanted: string): Reading {
  const text = plain(typed);
  if (text === '' || /^([-+>]|[-+>]?R)$/i.test(text)) return { is: 'begun' };
  if (/^>?\s*([.]?[o0]\.?l\.?|over)/i.test(text)) {
    const after = suffixOf(text.replace(/^>?\s*([.]?[o0]\.?l\.?|over)/i, '').trim());
    if (!after) return { is: 'no-number' };
    return wanted === 'V' || wanted === 'A' || !fits(after.unit, wanted) ? { is: 'wrong-unit' } : { is: 'whole', value: null };
  }
  const marked = /^([-+]?)(\d*)([RrkKMmuVvAan])(\d+)(.*)$/.exec(text);
  const mark = marked && (marked[2] !== '' || marked[3]!.toUpperCase() === 'R') ? marks[marked[3]!] : undefined;
  if (marked && mark) {
    const rest = marked[5]!.trim();
    const unit = rest === '' ? units.find((one) => one.is === mark.unit) : unitOf(rest);
    if (rest !== '' && (!unit || (mark.unit !== undefined && unit.is !== mark.unit))) return { is: mayBecomeSuffix(rest, true) ? 'begun' : 'no-number' };
    if (!fits(unit, wanted)) return { is: 'wrong-unit' };
    return { is: 'whole', value: Number(`${marked[1] === '-' ? '-' : ''}${marked[2] || '0'}.${marked[4]}e${mark.exponent}`) };
  }
  const number = /^(>?\s*)([-+]?)(\d+(?:[.,]\d+)?|[.,]\d+)(?:[eE]([-+]?\d+))?(.*)$/.exec(text);
  if (!number) return { is: /^[-+>]?\d*[.,]?$/.test(text) ? 'begun' : 'no-number' };
  const rest = number[5]!.trim();
  if (/^[.,]$/.test(rest) && !/[.,]/.test(number[3]!)) return { is: 'begun' };
  if (/^[eE][-+]?$/.test(rest) && number[4] === undefined) return { is: 'begun' };
  const suffix = suffixOf(rest);
  if (!suffix) return { is: mayBecomeSuffix(rest) ? 'begun' : 'no-number' };
  if (!fits(suffix.unit, wanted)) return { is: 'wrong-unit' };
  if (number[1] !== '') return wanted === 'ohm' ? { is: 'whole', value: null } : { is: 'wrong-unit' };
  return { is: 'whole', value: Number(`${number[2] === '-' ? '-' : ''}${number[3]!.replace(',', '.')}e${Number(number[4] ?? 0) + suffix.exponent}`) };
}

/** The number of a reading; none while it is not whole, and over range. */
export function valueOf(text: string): number | null {
  const reading = readingOf(text, '');
  return reading.is === 'whole' ? reading.value : null;
}

/** Does it tell its unit itself? Then the screen does not tell it once more. */
export function tellsUnit(text: string): boolean {
  return /[a-zA-Z%\u03a9\u2126\u00b0]/.test(text.replace(/^[-+>\u2212\u2013]?[\d.,]*([eE][-+]?\d+)?[kMm]?\d*$/, ''));
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
