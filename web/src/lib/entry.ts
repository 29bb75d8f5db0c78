// What the keypad types: a reading as text, key by key. No screen, no state: text in, text out.
// The program reads the text; this only keeps it well formed and says early what cannot be.
import { readingOf } from './reading';

export type Key =
  | '0' | '1' | '2' | '3' | '4' | '5' | '6' | '7' | '8' | '9'
  | 'point' | 'minus' | 'back' | 'clear' | 'over' | 'kilo' | 'mega' | 'milli';

const prefixes: Record<string, string> = { kilo: 'k', mega: 'M', milli: 'm' };

/** Presses one key on what stands there. A key that makes no sense there changes nothing. */
export function press(text: string, key: Key): string {
  if (key === 'clear') return '';
  if (key === 'over') return 'OL';
  if (key === 'back') return text === 'OL' ? '' : text.slice(0, -1);
  if (text === 'OL') text = '';
  if (key === 'minus') return text.startsWith('-') ? text.slice(1) : `-${text}`;
  if (key === 'point') return /[.kMm]/.test(text) ? text : `${/\d$/.test(text) ? text : `${text}0`}.`;
  const prefix = prefixes[key];
  if (prefix !== undefined) {
    if (!/\d/.test(text)) return text;
    return /[kMm]/.test(text) ? text.replace(/[kMm]/, text.endsWith(prefix) ? '' : prefix) : text.replace(/\.$/, '') + prefix;
  }
  if (text.replace(/\D/g, '').length >= 9) return text;
  if (/[kMm]/.test(text) && text.includes('.')) return text; // 4.7k takes no more digits
  return text + key;
}

/** Begins a reading at the keyboard; other keys are shortcuts until then. */
export function begins(character: string): boolean {
  return /^[\d.,+\u2212\u2013>R-]$/.test(character) || isOver(character);
}

function isOver(character: string): boolean {
  return /^[oOlL]$/.test(character);
}

const longest = 24; // characters of a reading with its unit

/** The reading after a key of the keyboard: once it is begun every character goes into it, sense or not. */
export function typed(text: string, key: string): string {
  if (key === 'Backspace') return text === 'OL' ? '' : text.slice(0, -1);
  if (key === 'Delete' || key === 'Escape') return '';
  if (isOver(key) && (text === '' || text === 'OL')) return 'OL';
  if (text === 'OL' && begins(key)) return key;
  return text.length < longest ? text + key : text;
}

/** Is there a whole reading in that unit? */
export function isWhole(text: string, unit = ''): boolean {
  return readingOf(text, unit).is === 'whole';
}

/** As `saw` takes it. A bare m would be metres, so the unit goes behind it. */
export function spoken(text: string, unit: string | undefined): string {
  if (text === 'OL') return text;
  if (/^-?\d+m\d+$/.test(text)) text = `${text.replace('m', '.')}m`;
  return text.endsWith('m') ? text + (unit === 'ohm' ? 'ohm' : unit ?? 'V') : text;
}
