// Server-sent events of one job: something changed there, from this screen or another.

export interface Listening {
  stop(): void;
}

/** Calls `changed` at every change, and `online` when the line comes or goes. Reconnects by itself. */
export function listen(job: string, changed: () => void, online: (up: boolean) => void): Listening {
  const source = new EventSource(`/events?job=${encodeURIComponent(job)}`);
  let opened = false;
  source.onopen = () => {
    online(true);
    if (opened) changed(); // back after a break: something may have been missed
    opened = true;
  };
  source.onerror = () => online(false);
  source.onmessage = changed;
  for (const name of ['change', 'changed', 'job']) source.addEventListener(name, changed);
  return { stop: () => source.close() };
}
