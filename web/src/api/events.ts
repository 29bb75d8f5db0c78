// Server-sent events of one job (docs/serve.md): something was written there, or long work goes on.

export interface Heard {
  changed: () => void;
  /** Share done of long work, 0 to 1. */
  progress: (share: number) => void;
  /** The line broke; it may come back by itself, or it may not. */
  broke: () => void;
}

export interface Listening {
  stop(): void;
}

/** Reconnects by itself; after a break something may have been missed, so that counts as a change. */
export function listen(job: string, heard: Heard): Listening {
  const source = new EventSource(`/events?job=${encodeURIComponent(job)}`);
  let opened = false;
  source.onopen = () => {
    if (opened) heard.changed();
    opened = true;
  };
  source.onerror = heard.broke;
  source.addEventListener('changed', heard.changed);
  source.addEventListener('progress', (event) => {
    const share = shareIn((event as MessageEvent<string>).data);
    if (share !== null) heard.progress(share);
  });
  return { stop: () => source.close() };
}

function shareIn(data: string): number | null {
  try {
    const { fraction } = JSON.parse(data) as { fraction?: unknown };
    return typeof fraction === 'number' ? fraction : null;
  } catch {
    return null;
  }
}
