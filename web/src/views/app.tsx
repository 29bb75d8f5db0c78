// The frame around every view: the head with where one can go, the line that says work goes on, the keys.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { useEffect, useLayoutEffect, useRef } from 'preact/hooks';
import { writeRoute, type JobTab } from '../lib/route';
import { busySince } from '../state/busy';
import { act, board } from '../state/job';
import { beginWithCodes } from '../state/other';
import { goTab, route } from '../state/route';
import { shortcuts } from '../state/settings';
import { t } from '../text/text';
import { ImportView } from './import';
import { JobView } from './job';
import { LineLost } from './line';
import { jump, usePadKeys } from './keypad';
import { OpenView } from './open';
import { Dialog } from './parts';
import { SettingsView } from './settings';
import { SketchView } from './sketch';
import { StartView } from './start';

export function App(): JSX.Element {
  const help = useSignal(false);
  const now = route.value;
  useShortcuts(() => (help.value = true));
  useTitle();
  return (
    <>
      <a class="skip" href="#main" onClick={(event) => { event.preventDefault(); document.getElementById('main')?.focus(); }}>
        {t('app.skip')}
      </a>
      <header class={now.view === 'job' ? 'app-head in-job' : 'app-head'}>
        <a href="#/" class="brand" aria-label={t('app.home')}>
          <svg viewBox="0 0 34 20" width="34" height="20" aria-hidden="true">
            <path class="ink" stroke-width="1.6" d="M1 10h11M22 10h11M12 2v16M22 2v16" />
            <path class="ink" stroke-width="4.4" d="M6 10h6M22 10h6" />
          </svg>
          <span class="brand-name">Halfsplit</span>
        </a>
        <nav aria-label={t('app.nav')}>
          <a href="#/" aria-current={now.view === 'start' ? 'page' : undefined}>
            {t('app.jobs')}
          </a>
          <a href="#/sketch" aria-current={now.view === 'sketch' ? 'page' : undefined}>
            {t('app.sketch')}
          </a>
          <a href="#/settings" aria-current={now.view === 'settings' ? 'page' : undefined}>
            {t('app.settings')}
          </a>
          <button type="button" class="head-button" aria-label={t('app.help')} onClick={() => (help.value = true)}>
            ?
          </button>
        </nav>
      </header>
      <Working />
      <LineLost />
      <View />
      {help.value ? <Help close={() => (help.value = false)} /> : null}
    </>
  );
}

function View(): JSX.Element {
  const now = route.value;
  const place = now.view === 'job' ? now.job : writeRoute(now);
  useLayoutEffect(() => scrollTo(0, 0), [place]);
  switch (now.view) {
    case 'job': return <JobView key={now.job} job={now.job} tab={now.tab} />;
    case 'open': return <OpenView key={now.loom} loom={now.loom} />;
    case 'sketch': return <SketchView template={now.template} begun={now.begun} />;
    case 'import': return <ImportView />;
    case 'settings': return <SettingsView />;
    default: return <StartView />;
  }
}

/** A thin line under the head while the program works; shown after a moment. */
function Working(): JSX.Element {
  const shown = useSignal(false);
  const since = busySince.value;
  useEffect(() => {
    if (since === null) {
      shown.value = false;
      return undefined;
    }
    const timer = setTimeout(() => (shown.value = true), 250);
    return () => clearTimeout(timer);
  }, [since]);
  return <div class={shown.value ? 'working on' : 'working'} aria-hidden="true" />;
}

function useTitle(): void {
  const title = route.value.view === 'job' && board.value ? `${board.value.job.complaint || board.value.job.loom} · Halfsplit` : 'Halfsplit';
  const last = useRef('');
  useEffect(() => {
    if (last.current !== title) document.title = last.current = title;
  }, [title]);
}

const tabKeys: Record<string, JobTab> = { t: 'test', d: 'drawing', s: 'suspects', e: 'other', h: 'log', p: 'plan', f: 'proof', j: 'sheet', b: 'recording', i: 'kit' };

function useShortcuts(help: () => void): void {
  usePadKeys((event) => {
    if (event.key === '?') {
      help();
      return true;
    }
    if (!shortcuts.value || route.value.view !== 'job') return false;
    const tab = tabKeys[event.key];
    if (tab) {
      if (tab === 'other' && board.value) beginWithCodes(board.value);
      jump(() => goTab(tab));
      return true;
    }
    if (event.key === 'u') void act('undo');
    else if (event.key === 'c' && board.value?.next?.test) void act('skip', { what: board.value.next.test.what });
    else return false;
    return true;
  });
}

function Help({ close }: { close: () => void }): JSX.Element {
  const rows: [string, string][] = [
    ['0–9 . − k M m O', t('help.digits')],
    ['Enter', t('help.enter')],
    ['1 2 3', t('help.words')],
    ['u', t('help.undo')],
    ['c', t('card.skip')],
    ['A B C', t('help.codes')],
    ['1–9', t('help.silent')],
    ['l', t('help.lists')],
    ['r', t('card.repaired')],
    ['n', t('proof.no-codes-anywhere', { modules: '…' })],
    ...Object.entries(tabKeys).map(([key, tab]): [string, string] => [key, t(`tab.${tab}`)]),
    [t('help.arrows'), t('help.drawing')],
    ['+ − Home End', t('help.zoom')],
    ['?', t('app.help')],
  ];
  return (
    <Dialog title={t('app.help')} close={close}>
      <p>{t('help.text')}</p>
      <table>
        <tbody>
          {rows.map(([key, text]) => (
            <tr key={key}>
              <th scope="row">
                <kbd>{key}</kbd>
              </th>
              <td>{text}</td>
            </tr>
          ))}
        </tbody>
      </table>
      <p class="small">{t('help.first')}</p>
    </Dialog>
  );
}
