// How many requests are under way, and since when: shown after a moment, so that quick ones do not flicker.
import { signal } from '@preact/signals';
import { watchRequests } from '../api/client';

export const requests = signal(0);
export const busySince = signal<number | null>(null);

export function startBusy(): void {
  watchRequests((delta) => {
    requests.value += delta;
    if (requests.value > 0 && busySince.value === null) busySince.value = performance.now();
    if (requests.value === 0) busySince.value = null;
  });
}
