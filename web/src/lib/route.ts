// The address after # is what is on the screen, so that reload, back and a second tab work.

export const jobTabs = ['test', 'drawing', 'suspects', 'other', 'log', 'plan', 'proof', 'sheet', 'photos', 'recording', 'kit'] as const;
export type JobTab = (typeof jobTabs)[number];

export type Route =
  | { view: 'start' }
  | { view: 'shelf'; loom?: string }
  | { view: 'import' }
  | { view: 'sketch'; template?: string; begun?: string }
  | { view: 'open'; loom: string }
  | { view: 'job'; job: string; tab: JobTab }
  | { view: 'settings' }
  | { view: 'pair' };

export function readRoute(hash: string): Route {
  const [first = '', second, third] = hash.replace(/^#?\/?/, '').split('/').map(decode);
  switch (first) {
    case 'shelf': return second ? { view: 'shelf', loom: second } : { view: 'shelf' };
    case 'import': return { view: 'import' };
    case 'sketch':
      if (!second) return { view: 'sketch' };
      return third ? { view: 'sketch', template: second, begun: third } : { view: 'sketch', template: second };
    case 'open': return second ? { view: 'open', loom: second } : { view: 'shelf' };
    case 'settings': return { view: 'settings' };
    case 'pair': return { view: 'pair' };
    case 'job':
      if (!second) return { view: 'start' };
      return { view: 'job', job: second, tab: jobTabs.find((tab) => tab === third) ?? 'test' };
    default: return { view: 'start' };
  }
}

export function writeRoute(route: Route): string {
  switch (route.view) {
    case 'start': return '#/';
    case 'shelf': return route.loom ? `#/shelf/${encodeURIComponent(route.loom)}` : '#/shelf';
    case 'sketch': return ['#/sketch', ...[route.template, route.begun].filter((one) => one !== undefined).map(encodeURIComponent)].join('/');
    case 'open': return `#/open/${encodeURIComponent(route.loom)}`;
    case 'job': return `#/job/${encodeURIComponent(route.job)}${route.tab === 'test' ? '' : `/${route.tab}`}`;
    default: return `#/${route.view}`;
  }
}

function decode(text: string): string {
  try {
    return decodeURIComponent(text);
  } catch {
    return text;
  }
}
