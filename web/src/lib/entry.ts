// What the keypad types: a reading as text, key by key. No screen, no state: text in, text out.
// The program reads the text; this only keeps it well formed and says early what cannot be.

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

/** The key that a typed character stands for. */
export function keyOf(character: string): Key | undefined {
  if (/^\d$/.test(character)) return character as Key;
  switch (character) {
    case '.': case ',': return 'point';
    case '-': return 'minus';
    case 'k': case 'K': return 'kilo';
    case 'M': return 'mega';
    case 'm': return 'milli';
    case 'o': case 'O': case 'l': case 'L': return 'over';
    case 'Backspace': return 'back';
    case 'Delete': return 'clear';
    default: return undefined;
  }
}

/** Is there a whole reading? */
export function isWhole(text: string): boolean {
  return text === 'OL' || /^-?\d+(\.\d+)?[kMm]?$/.test(text) || /^-?\d+[kMm]\d+$/.test(text);
}

/** As `saw` takes it. A bare m would be metres, so the unit goes behind it. */
export function spoken(text: string, unit: string | undefined): string {
  if (text === 'OL') return text;
  if (/^-?\d+m\d+$/.test(text)) text = `${text.replace('m', '.')}m`;
  return text.endsWith('m') ? text + (unit === 'ohm' ? 'ohm' : unit ?? 'V') : text;
}
