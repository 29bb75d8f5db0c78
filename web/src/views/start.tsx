// Where a day begins: open jobs, looms to open a job on, a new sketch, the demos.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { useEffect } from 'preact/hooks';
import type { JobLine, LoomLine } from '../api/book';
import { bookProblems, jobs, looms, readJobs, readShelf } from '../state/book';
import { comebacks } from '../state/line';
import { draft } from '../state/drafts';
import { demos } from '../state/demos';
import { writeRoute } from '../lib/route';
import { numbers, t } from '../text/text';
import { BegunSketches, Thrown } from './begun';
import { Field, Problems, Waiting } from './parts';

export function StartView(): JSX.Element {
  const search = draft('start:search', '');
  const all = useSignal(false);
  const searching = search.value.trim() !== '';
  useEffect(() => {
    const timer = setTimeout(() => {
      void readJobs(search.value);
      void readShelf(search.value);
    }, jobs.value === null ? 0 : 150);
    return () => clearTimeout(timer);
  }, [search.value, comebacks.value]);
  return (
    <main class="page" id="main" tabIndex={-1}>
      <h1 class="visually-hidden">{t('start.title')}</h1>
      <div class="row start-do">
        <a class="button main" href="#/sketch" id="new-sketch">
          {t('start.sketch')}
        </a>
        <a class="button plain" href="#/import">
          {t('start.import')}
        </a>
      </div>
      <Field id="search" label={t('start.search')} hint={t('start.search-hint')} value={search.value} change={(text) => (search.value = text)} mode="search" />
      <Problems list={bookProblems.value} />
      <Thrown />
      <BegunSketches />
      <section aria-labelledby="jobs-title">
        <h2 id="jobs-title">{t('start.jobs')}</h2>
        {jobs.value === null ? <Waiting what={t('start.reading')} /> : <Jobs list={jobs.value.filter((one) => all.value || searching || one.open)} none={searching ? t('start.found-none') : jobs.value.length > 0 ? t('start.jobs-closed') : t('start.jobs-none')} />}
        <label class="check">
          <input type="checkbox" checked={all.value} onChange={(event) => (all.value = event.currentTarget.checked)} />
          {t('start.closed-too')}
        </label>
      </section>
      <section aria-labelledby="shelf-title">
        <h2 id="shelf-title">{t('start.shelf')}</h2>
        <p class="small quiet">{t('start.shelf-text')}</p>
        <Looms list={(looms.value ?? []).filter((one) => !isPages(one.loom))} none={searching ? t('start.found-none') : t('start.shelf-none')} />
      </section>
      <section aria-labelledby="demo-title">
        <h2 id="demo-title">{t('start.demos')}</h2>
        <p class="small quiet">{t('start.demos-text')}</p>
        <Looms list={demos.map((one) => ({ loom: one.loom, name: one.name, vehicle: '' }))} none="" />
      </section>
    </main>
  );
}

/** What the page itself put on the shelf, now or in former days: the demos, and the sketch that was being tried out. */
function isPages(loom: string): boolean {
  return loom.startsWith('shelf:demo-') || loom === 'shelf:sketch-in-progress';
}

function Jobs({ list, none }: { list: JobLine[]; none: string }): JSX.Element {
  if (list.length === 0) return <p class="quiet">{none}</p>;
  return (
    <ul class="lines">
      {list.map((one) => (
        <li key={one.job}>
          <a class="line" href={writeRoute({ view: 'job', job: one.job, tab: 'test' })}>
            <strong>{one.complaint || one.loom}</strong>
            <span class="small quiet">
              {[one.vehicle, one.customer, one.loom].filter(Boolean).join(' · ')}
              {one.opened_at ? ` · ${numbers.value.day(one.opened_at)}` : ''}
              {one.found ? ` · ${one.found}` : ''}
              {one.closed_at ? ` · ${t('start.closed')}` : ''}
            </span>
          </a>
        </li>
      ))}
    </ul>
  );
}

function Looms({ list, none }: { list: LoomLine[]; none: string }): JSX.Element {
  if (list.length === 0) return <p class="quiet">{none}</p>;
  return (
    <ul class="lines">
      {list.map((one) => (
        <li key={one.loom}>
          <a class="line" id={`loom-${one.loom.replace(/\W+/g, '-')}`} href={writeRoute({ view: 'open', loom: one.loom })}>
            <strong>{one.name || one.loom}</strong>
            <span class="small quiet">{[one.vehicle, one.loom.replace(/^(shelf|demo):/, ''), one.draft ? t('start.draft') : ''].filter(Boolean).join(' · ')}</span>
          </a>
        </li>
      ))}
    </ul>
  );
}

