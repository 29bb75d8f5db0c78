// One catalogue for every word on the screen. Keys and the {names} in a message are checked by the compiler.
import { computed, signal } from '@preact/signals';
import { makeNumbers, type Numbers } from '../lib/number';
import { de } from './de';
import { en } from './en';

export type Catalogue = typeof en;
export type MessageKey = keyof Catalogue;
/** A message, or its plural forms. */
export type Message = string | { one: string; other: string };

type NamesIn<Text extends string> = Text extends `${string}{${infer Name}}${infer Rest}` ? Name | NamesIn<Rest> : never;
type TextOf<Key extends MessageKey> = Catalogue[Key] extends { other: infer Other extends string }
  ? Other
  : Catalogue[Key] extends string
    ? Catalogue[Key]
    : never;
type Values<Key extends MessageKey> = [NamesIn<TextOf<Key>>] extends [never]
  ? []
  : [values: Record<NamesIn<TextOf<Key>>, string | number>];

export const languages = { en: 'English', de: 'Deutsch' } as const;
export type Language = keyof typeof languages;
const catalogues: Record<Language, Record<MessageKey, Message>> = { en, de };

/** The language of the screen; set from the settings or the browser. */
export const language = signal<Language>('en');

const rules: Record<Language, Intl.PluralRules> = { en: new Intl.PluralRules('en'), de: new Intl.PluralRules('de') };
const formats: Record<Language, Numbers> = { en: makeNumbers('en-GB'), de: makeNumbers('de-DE') };
export const numbers = computed(() => formats[language.value]);

/** The message of a key, in a language given or that of the screen. `n` chooses the plural. */
export function tell(which: Language, key: MessageKey, values: Record<string, string | number> = {}): string {
  const message = catalogues[which][key];
  const text =
    typeof message === 'string' ? message : message[rules[which].select(Number(values.n ?? 0)) === 'one' ? 'one' : 'other'];
  return text.replace(/\{(\w+)\}/g, (_, name: string) => {
    const value = values[name];
    return typeof value === 'number' ? formats[which].whole(value) : String(value ?? '');
  });
}

export function t<Key extends MessageKey>(key: Key, ...values: Values<Key>): string {
  return tell(language.value, key, values[0]);
}

/** A word of the program (`dim`, `absent`) in the language of the screen; itself when the catalogue lacks it. */
export function word(text: string): string {
  const key = `word.${text}`;
  return key in en ? tell(language.value, key as MessageKey) : text;
}

export function bestLanguage(wanted: readonly string[]): Language {
  for (const one of wanted) {
    const base = one.toLowerCase().split('-')[0];
    if (base && base in languages) return base as Language;
  }
  return 'en';
}
