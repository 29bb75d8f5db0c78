// One job on the screen. On a phone one thing at a time, tabs below; wide, the drawing beside everything else.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { useEffect, useLayoutEffect, useRef } from 'preact/hooks';
import type { Board } from '../api/board';
import type { JobTab } from '../lib/route';
import { act, board, leaveJob, load, openJob, problems, thinking } from '../state/job';
import { beginWithCodes, otherDraft, pickPoint } from '../state/other';
import { goTab } from '../state/route';
import { wide } from '../state/screen';
import { t, word } from '../text/text';
import { Canvas } from './canvas';
import { NextCard } from './card';
import { KitView } from './kit';
import { LogView } from './log';
import { Doubts } from './doubts';
import { OtherView } from './other';
import { Button, Problems, Waiting } from './parts';
import { PhotosView } from './photos';
import { PlanView } from './plan';
import { ProofView } from './proof';
import { RecordingView } from './recording';
import { FramesDialog } from './frames';
import { SheetView } from './sheet';
import { Strip } from './strip';
import { SuspectsView } from './suspects';
import { TakingLine } from './taking';

export function JobView({ job, tab }: { job: string; tab: JobTab }): JSX.Element {
  useEffect(() => {
    openJob(job);
    return leaveJob;
  }, [job]);
  const now = board.value;
  if (!now)
    return (
      <main class="page" id="main" tabIndex={-1}>
        {problems.value.length > 0 ? (
          <>
            <Problems list={problems.value} />
            <Button press={() => void load()}>{t('do.again')}</Button>
          </>
        ) : (
          <Waiting what={t('job.opening')} />
        )}
      </main>
    );
  return <OpenJob now={now} tab={tab} />;
}

function OpenJob({ now, tab }: { now: Board; tab: JobTab }): JSX.Element {
  const isWide = wide.value;
  const showPanel = isWide || tab !== 'drawing';
  const panelTab: JobTab = tab === 'drawing' && isWide ? 'test' : tab;
  const body = useRef<HTMLDivElement>(null);
  const before = useRef(tab);
  // Another view: the next Tab key goes to its first control.
  useEffect(() => {
    if (before.current !== tab) body.current?.focus({ preventScroll: true });
    before.current = tab;
  }, [tab]);
  // Another view, or another thing to do: from its head on.
  const shows = panelTab === 'test' ? `test ${now.next?.kind ?? ''} ${now.next?.test?.what ?? now.next?.repair ?? ''}` : panelTab;
  useLayoutEffect(() => {
    body.current?.closest('.panel-pane')?.scrollTo(0, 0);
  }, [shows]);
  // What had the focus is gone with the step it belonged to: on from the head of what stands there now, not from the top.
  useEffect(() => {
    if (document.activeElement === null || document.activeElement === document.body) body.current?.focus({ preventScroll: true });
  }, [now]);
  return (
    <div class={`job ${isWide ? 'wide' : 'narrow'} tab-${tab}`} data-thinking={thinking.value ? 'yes' : 'no'} data-entries={now.job.entries.length}>
      <section class="job-head" aria-labelledby="job-title">
        {isWide ? null : (
          <a class="job-back" href="#/" aria-label={t('job.back')}>
            <span aria-hidden="true">‹</span>
          </a>
        )}
        <h1 id="job-title">{now.job.complaint || now.job.loom}</h1>
        <p class="small quiet">{[now.job.vehicle, now.job.loom].filter(Boolean).join(' · ')}</p>
      </section>
      {isWide || tab === 'drawing' ? <DrawingPane now={now} tab={tab} /> : null}
      {showPanel ? (
        <main class="panel-pane" id="main" tabIndex={-1}>
          {isWide ? <Tabs tab={panelTab} all /> : null}
          <TakingLine />
          <div class="panel-body" ref={body} tabIndex={-1}>
            <Problems list={problems.value} close={() => (problems.value = [])} />
            <Panel now={now} tab={panelTab} isWide={isWide} />
          </div>
        </main>
      ) : null}
      <FramesDialog />
      <Strip board={now} />
      {isWide ? null : <Tabs tab={tab} all={false} />}
      <p class="visually-hidden" role="status">
        {thinking.value ? t('card.thinking') : now.next?.test ? t('job.said-next', { what: now.next.test.what }) : ''}
      </p>
    </div>
  );
}

function Panel({ now, tab, isWide }: { now: Board; tab: JobTab; isWide: boolean }): JSX.Element {
  switch (tab) {
    case 'suspects': return <SuspectsView board={now} />;
    case 'other': return <OtherView board={now} />;
    case 'log': return <LogView board={now} />;
    case 'plan': return <PlanView board={now} />;
    case 'proof': return <ProofView board={now} />;
    case 'sheet': return <SheetView board={now} />;
    case 'photos': return <PhotosView />;
    case 'recording': return <RecordingView board={now} />;
    case 'kit': return <KitView board={now} />;
    default:
      return (
        <>
          <Doubts board={now} />
          {isNew(now) ? <FirstWords now={now} /> : null}
          <NextCard board={now} drawing={isWide ? null : <SmallDrawing now={now} />} />
          <Newest now={now} />
        </>
      );
  }
}

/** Nothing seen yet: what is known already is said first, in one tap. */
function isNew(now: Board): boolean {
  return now.job.closed_at === undefined && !now.job.entries.some((one) => one.verb === 'saw' && !one.struck);
}

function sayKnown(now: Board): void {
  beginWithCodes(now);
  goTab('other');
}

function FirstWords({ now }: { now: Board }): JSX.Element {
  return (
    <p class="first-words">
      {t('job.first')}{' '}
      <Button kind="quiet" id="say-known" press={() => sayKnown(now)}>
        {t('job.first-do')}
      </Button>
    </p>
  );
}

/** What was entered last, to be taken back in one tap. */
function Newest({ now }: { now: Board }): JSX.Element | null {
  const last = [...now.job.entries].reverse().find((one) => !one.struck);
  if (!last || now.job.closed_at !== undefined) return null;
  return (
    <p class="newest small">
      <span>
        <span class="quiet">{t('job.newest')}</span> {last.what} <strong>{word(last.shows)}</strong>
      </span>
      <Button kind="quiet" id="undo" keys="u" press={() => void act('undo', { entry: last.n })}>
        {t('job.undo')}
      </Button>
    </p>
  );
}

function probesOf(now: Board, tab: JobTab): { red?: string; black?: string } {
  if (tab === 'other' || tab === 'drawing') {
    const { red, black } = otherDraft();
    if (red.value || black.value) return { red: red.value || undefined, black: black.value || undefined } as { red?: string; black?: string };
  }
  const test = now.next?.test;
  return { ...(test?.red ? { red: test.red.point } : {}), ...(test?.black ? { black: test.black.point } : {}) };
}

function DrawingPane({ now, tab }: { now: Board; tab: JobTab }): JSX.Element {
  const { red, black } = otherDraft();
  const picking = red.value !== '' || black.value !== '';
  const alone = tab === 'drawing' && !wide.value;
  const Frame = alone ? 'main' : 'section';
  return (
    <Frame class="drawing-pane" aria-label={t('tab.drawing')} {...(alone ? { id: 'main', tabIndex: -1 } : {})}>
      <Canvas drawing={now.drawing} probes={probesOf(now, tab)} label={t('tab.drawing')} pick={(point) => { pickPoint(point); if (tab === 'drawing' && wide.value) goTab('other'); }} />
      {tab === 'drawing' && picking ? (
        <div class="picked row">
          <span>
            <span class="mark red" aria-hidden="true">R</span> {red.value || '–'} <span class="mark black" aria-hidden="true">B</span> {black.value || '–'}
          </span>
          <Button kind="main" press={() => goTab('other')} disabled={red.value === ''}>
            {t('other.measured')}
          </Button>
          <Button kind="quiet" press={() => ([red.value, black.value] = ['', ''])}>
            {t('do.clear')}
          </Button>
        </div>
      ) : null}
    </Frame>
  );
}

/** On a phone: the part of the drawing with the two points, above the card. A tap opens all of it. */
function SmallDrawing({ now }: { now: Board }): JSX.Element | null {
  const probes = probesOf(now, 'test');
  if (!probes.red && !probes.black) return null;
  return (
    <section class="small-drawing" aria-label={t('tab.drawing')}>
      <Canvas drawing={now.drawing} probes={probes} label={t('tab.drawing')} pick={pickPoint} />
    </section>
  );
}

const firstTabs: JobTab[] = ['test', 'drawing', 'suspects', 'log'];
const wideTabs: JobTab[] = ['test', 'suspects', 'other', 'log', 'plan', 'proof', 'sheet', 'recording', 'photos', 'kit'];
const firstWideTabs: JobTab[] = wideTabs.slice(0, 7);

function Tabs({ tab, all }: { tab: JobTab; all: boolean }): JSX.Element {
  const open = useSignal(false);
  const shown = all ? firstWideTabs : firstTabs;
  const hidden = wideTabs.filter((one) => !shown.includes(one));
  const choose = (one: JobTab) => {
    open.value = false;
    goTab(one);
  };
  return (
    <nav class={all ? 'tabs top' : 'tabs bottom'} aria-label={t('job.views')}>
      {shown.map((one) => (
        <TabButton key={one} tab={one} now={tab} choose={choose} />
      ))}
      {hidden.length > 0 ? (
        <button type="button" class="tab" aria-expanded={open.value} aria-current={hidden.includes(tab) ? 'page' : undefined} onClick={() => (open.value = !open.value)}>
          {hidden.includes(tab) ? t(`tab.${tab}`) : t('tab.more')}
        </button>
      ) : null}
      {open.value ? (
        <div class="more">
          {hidden.map((one) => (
            <TabButton key={one} tab={one} now={tab} choose={choose} />
          ))}
        </div>
      ) : null}
    </nav>
  );
}

function TabButton({ tab, now, choose }: { tab: JobTab; now: JobTab; choose: (tab: JobTab) => void }): JSX.Element {
  return (
    <button type="button" class="tab" id={`tab-${tab}`} aria-current={tab === now ? 'page' : undefined} onClick={() => choose(tab)}>
      {t(`tab.${tab}`)}
    </button>
  );
}

