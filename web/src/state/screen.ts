// How wide the screen is: wide enough for the drawing beside the card, or one thing at a time.
import { signal } from '@preact/signals';

export const wide = signal(true);

export function startScreen(): void {
  const query = matchMedia('(min-width: 900px)');
  wide.value = query.matches;
  query.addEventListener('change', () => (wide.value = query.matches));
}
