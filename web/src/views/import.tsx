// Files from elsewhere: a loom, a job, a wire list as CSV whose columns are shown and can be set right.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { importJob, importLoom, readWires, type WireList } from '../api/book';
import type { Diagnostic } from '../api/replies';
import { go } from '../state/route';
import { t } from '../text/text';
import { Button, Field, Problems, Waiting } from './parts';

export function ImportView(): JSX.Element {
  const wrong = useSignal<Diagnostic[]>([]);
  const busy = useSignal(false);
  const wires = useSignal<WireList | null>(null);
  const take = async (file: File | undefined) => {
    if (!file) return;
    busy.value = true;
    wires.value = null;
    const text = await file.text();
    const name = file.name.replace(/\.(loom\.toml|job\.toml|toml|csv|txt)$/i, '');
    if (/\.(csv|txt)$/i.test(file.name)) {
      const reply = await readWires(name, text, {});
      wrong.value = reply.diagnostics;
      wires.value = reply.result.columns ? { name, text, ...reply.result } : null;
    } else if (/^\s*job\s*=/m.test(text) && !/^\s*loom\s*=\s*\d/m.test(text)) {
      const reply = await importJob(text);
      wrong.value = reply.diagnostics;
      if (reply.ok) go({ view: 'job', job: reply.result.job, tab: 'test' });
    } else {
      const reply = await importLoom(name, text);
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
      {wires.value ? <Columns wires={wires.value} change={(now) => (wires.value = now)} wrong={(list) => (wrong.value = list)} /> : null}
    </main>
  );
}

/** Which column is what: as guessed, to be set right. */
function Columns({ wires, change, wrong }: { wires: WireList; change: (now: WireList) => void; wrong: (list: Diagnostic[]) => void }): JSX.Element {
  const again = async (columns: Record<string, string>, keepName?: string) => {
    const reply = await readWires(wires.name, wires.text, columns, keepName);
    wrong(reply.diagnostics);
    if (reply.result.columns) change({ name: wires.name, text: wires.text, ...reply.result });
    if (reply.ok && reply.result.loom) go({ view: 'open', loom: reply.result.loom });
  };
  const told = Object.fromEntries((wires.columns ?? []).map((one) => [one.is, one.column]));
  return (
    <section>
      <h2>{t('import.columns')}</h2>
      <p class="small">{t('import.columns-text')}</p>
      {(wires.columns ?? []).map((one) => (
        <div class="field" key={one.is}>
          <label for={`column-${one.is}`}>
            {one.is} {one.required ? <span class="quiet">{t('field.needed')}</span> : null}
          </label>
          <select id={`column-${one.is}`} value={one.column} onChange={(event) => void again({ ...told, [one.is]: event.currentTarget.value })}>
            <option value="">{t('import.no-column')}</option>
            {(wires.headings ?? []).map((heading) => (
              <option key={heading} value={heading}>
                {heading}
              </option>
            ))}
          </select>
        </div>
      ))}
      <Field id="loom-name" label={t('import.name')} value={wires.name} change={(name) => change({ ...wires, name })} />
      <Button kind="main" press={() => void again(told, wires.name)}>
        {t('import.make')}
      </Button>
    </section>
  );
}
