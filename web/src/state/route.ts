// Where we are: the address, as a signal.
import { signal } from '@preact/signals';
import { readRoute, writeRoute, type JobTab, type Route } from '../lib/route';
import { freshName } from './begun';

export const route = signal<Route>({ view: 'start' });

export function startRoute(): void {
  const read = () => {
    const now = readRoute(location.hash);
    // A template alone begins a new sketch: its name stands in the address, so that a reload finds it again.
    if (now.view === 'sketch' && now.template && !now.begun) replaceRoute({ ...now, begun: freshName(now.template) });
    else route.value = now;
  };
  addEventListener('hashchange', read);
  read();
}

export function go(to: Route): void {
  const hash = writeRoute(to);
  if (hash === location.hash) route.value = to;
  else location.hash = hash;
}

/** As go, without a step for the back button. */
export function replaceRoute(to: Route): void {
  history.replaceState(null, '', writeRoute(to));
  route.value = to;
}

export function goTab(tab: JobTab): void {
  if (route.value.view === 'job') go({ ...route.value, tab });
}
