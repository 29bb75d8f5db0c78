// Files from elsewhere: a loom, a job, a wire list as CSV whose columns are shown and can be set right.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { useRef } from 'preact/hooks';
import { importJob, importLoom, readWires, type WireList } from '../api/book';
import type { Diagnostic, Reply } from '../api/replies';
import { slugOf } from '../lib/names';
import { go } from '../state/route';
import { t } from '../text/text';
import { Button, Field, Problems, Waiting } from './parts';

interface Taken {
  name: string;
  text: string;
  told: Record<string, number>;
  list: WireList;
  /** Its first row is a wire: headings are put above it. */
  headless: boolean;
}

/** What the program is to read, and in which lines of the file it found what. */
async function readTaken(taken: Taken, out?: string): Promise<Reply<WireList>> {
  const { columns = [], separator = ',' } = taken.list;
  const heads = taken.headless ? `${columns.map((one) => one.number).join(separator)}\n` : '';
  const reply = await readWires(heads + taken.text.replace(/^\ufeff/, ''), taken.told, { name: taken.name, ...(out ? { out } : {}) });
  const diagnostics = reply.diagnostics.map((one) => (taken.headless && one.line ? { ...one, line: Math.max(1, one.line - 1) } : one));
  return { ...reply, diagnostics };
}

export function ImportView(): JSX.Element {
  const wrong = useSignal<Diagnostic[]>([]);
  const busy = useSignal(false);
  const taken = useSignal<Taken | null>(null);
  const take = async (file: File | undefined) => {
    if (!file) return;
    busy.value = true;
    taken.value = null;
    const text = await file.text();
    const name = file.name.replace(/(\.(loom|job))?\.(toml|csv|txt)$/i, '');
    if (/\.(csv|txt)$/i.test(file.name)) {
      const reply = await readWires(text, {}, { name });
      wrong.value = reply.diagnostics;
      taken.value = reply.result.columns ? { name, text, told: {}, list: reply.result, headless: false } : null;
    } else if (/^job\s*=/m.test(text)) {
      const reply = await importJob(text);
      wrong.value = reply.diagnostics;
      if (reply.ok) go({ view: 'job', job: reply.result.job, tab: 'test' });
    } else {
      const reply = await importLoom(slugOf(name), text);
      wrong.value = reply.diagnostics;
      if (reply.ok) go({ view: 'open', loom: reply.result.loom });
    }
    busy.value = false;
  };
  return (
    <main class="page narrow-page" id="main" tabIndex={-1}>
      <h1>{t('import.title')}</h1>
      <p>{t('import.text')}</p>
      <label class="button main file">
        {t('import.choose')}
        <input type="file" accept=".toml,.csv,.txt,text/csv" class="visually-hidden" onChange={(event) => void take(event.currentTarget.files?.[0])} />
      </label>
      {busy.value ? <Waiting what={t('import.reading')} /> : null}
      <Problems list={wrong.value} />
      {taken.value ? <Columns taken={taken.value} change={(now) => (taken.value = now)} wrong={(list) => (wrong.value = list)} /> : null}
    </main>
  );
}

/** Which column is what: as guessed, to be set right. */
function Columns({ taken, change, wrong }: { taken: Taken; change: (now: Taken) => void; wrong: (list: Diagnostic[]) => void }): JSX.Element {
  const first = useRef((taken.list.columns ?? []).map((one) => one.head));
  const again = async (more: Partial<Taken>, out?: string) => {
    const now = { ...taken, ...more };
    const reply = await readTaken(now, out);
    wrong(reply.diagnostics);
    change({ ...now, list: reply.result.columns ? reply.result : taken.list });
    if (reply.ok && reply.result.file) go({ view: 'open', loom: reply.result.file });
  };
  const choose = (number: number, before: string, meaning: string) => {
    const told = { ...taken.told };
    if (before !== '') told[before] = 0;
    if (meaning !== '') told[meaning] = number;
    void again({ told });
  };
  return (
    <section>
      <h2>{t('import.columns')}</h2>
      <p class="small">{t('import.columns-text')}</p>
      <label class="check">
        <input id="no-heads" type="checkbox" checked={taken.headless} onChange={(event) => void again({ headless: event.currentTarget.checked })} />
        {t('import.no-heads')}
      </label>
      {(taken.list.columns ?? []).map((one, i) => (
        <div class="field" key={one.number}>
          <label for={`column-${one.number}`}>
            {one.number}: {taken.headless ? first.current[i] : one.head}
          </label>
          <select id={`column-${one.number}`} value={one.meaning} onChange={(event) => choose(one.number, one.meaning, event.currentTarget.value)}>
            <option value="">{t('import.no-column')}</option>
            {(taken.list.meanings ?? []).map((meaning) => (
              <option key={meaning} value={meaning}>
                {meaning}
              </option>
            ))}
          </select>
        </div>
      ))}
      <p role="status">{t('import.rows', { wires: taken.list.wires ?? 0, rows: taken.list.rows ?? 0 })}</p>
      <Field id="loom-name" label={t('import.name')} value={taken.name} change={(name) => change({ ...taken, name })} />
      <Button kind="main" press={() => void again({}, `shelf:${slugOf(taken.name)}`)}>
        {t('import.make')}
      </Button>
    </section>
  );
}
