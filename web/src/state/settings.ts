// What this screen looks like: kept in this browser, not in the book.
import { effect, signal } from '@preact/signals';
import { bestLanguage, language, languages, type Language } from '../text/text';

export const themes = ['system', 'light', 'dark', 'sun'] as const;
export type Theme = (typeof themes)[number];

export const theme = signal<Theme>('system');

/** Reads and keeps them. A browser that keeps nothing (private mode) still works. */
export function startSettings(): void {
  const kept = (name: string): string | null => {
    try {
      return localStorage.getItem(name);
    } catch {
      return null;
    }
  };
  theme.value = themes.find((one) => one === kept('theme')) ?? 'system';
  const wanted = kept('language');
  language.value = wanted && wanted in languages ? (wanted as Language) : bestLanguage(navigator.languages ?? ['en']);
  effect(() => {
    document.documentElement.dataset.theme = theme.value;
    document.documentElement.lang = language.value;
    try {
      localStorage.setItem('theme', theme.value);
    } catch {
      // not kept then
    }
  });
}

export function chooseLanguage(which: Language): void {
  language.value = which;
  try {
    localStorage.setItem('language', which);
  } catch {
    // not kept then
  }
}
