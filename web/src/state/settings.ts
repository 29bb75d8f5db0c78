// What this screen looks like: kept in this browser, not in the book.
import { effect, signal } from '@preact/signals';
import { bestLanguage, language, languages, type Language } from '../text/text';

export const themes = ['system', 'light', 'dark', 'sun'] as const;
export type Theme = (typeof themes)[number];

export const theme = signal<Theme>('system');
/** Single keys as shortcuts (t, d, s ...); some need them off: speech input, a shaking hand. */
export const shortcuts = signal(true);

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
  shortcuts.value = kept('shortcuts') !== 'off';
  const wanted = kept('language');
  language.value = wanted && wanted in languages ? (wanted as Language) : bestLanguage(navigator.languages ?? ['en']);
  effect(() => {
    document.documentElement.dataset.theme = theme.value;
    document.documentElement.lang = language.value;
    try {
      localStorage.setItem('theme', theme.value);
      localStorage.setItem('shortcuts', shortcuts.value ? 'on' : 'off');
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

/** Is the ground dark just now? */
export function isDark(): boolean {
  return theme.value === 'dark' || (theme.value === 'system' && matchMedia('(prefers-color-scheme: dark)').matches);
}
