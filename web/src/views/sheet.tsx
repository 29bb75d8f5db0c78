// The job sheet as the program makes it: looked at, printed, taken along as PDF, text or JSON.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import { printOf, type Board } from '../api/board';
import { call } from '../api/client';
import type { Diagnostic } from '../api/replies';
import { useAsk } from '../state/ask';
import { jobName } from '../state/job';
import { t } from '../text/text';
import { CloseForm } from './close';
import { Button, Problems, Waiting } from './parts';

interface SheetReply {
  sheet: string;
  /** base64 */
  pdf?: string;
  /** The name it should have. */
  file?: string;
}

export function SheetView({ board }: { board: Board }): JSX.Element {
  const { reply } = useAsk<SheetReply>('sheet', { job: jobName.value, html: true }, `${printOf(board)} ${board.job.closed_at ?? ''}`);
  const got = reply.value;
  // Pressed before the sheet was there: printed as soon as it is.
  const wanted = useSignal(false);
  const ready = got?.ok === true;
  useEffect(() => {
    if (!wanted.value || !ready) return;
    wanted.value = false;
    window.print();
  }, [wanted.value, ready]);
  return (
    <section class="panel sheet-panel">
      <h2>{t('tab.sheet')}</h2>
      <div class="row">
        <Button kind="main" press={() => (wanted.value = true)} id="print-sheet">
          {t('sheet.print')}
        </Button>
        <Downloads />
      </div>
      {!got ? <Waiting what={t('sheet.waiting')} /> : !got.ok ? <Problems list={got.diagnostics} /> : <Paper html={got.result.sheet} />}
      <CloseForm board={board} proven={board.proof?.complete === true} />
    </section>
  );
}

// The sheet is made for A4. On a phone's screen, not on paper, its columns stand below one another.
const narrowRules = `@media screen and (max-width: 640px) {
  :host { font-size: 8.5pt; overflow-wrap: anywhere; }
  header { flex-wrap: wrap; }
  h1 { text-align: left; }
  dl { grid-template-columns: minmax(5em, max-content) 1fr; }
  dd.wide { grid-column: auto; }
  .columns { grid-template-columns: 1fr; }
  table { font-size: 0.92em; }
  th, td { overflow-wrap: normal; padding-right: 0.4em; }
  th:first-child, td:first-child { overflow-wrap: anywhere; min-width: 4.5em; }
  .number { white-space: normal; padding-left: 0.4em; }
  img, svg, pre { max-width: 100%; }
  pre { white-space: pre-wrap; }
}`;

/** The sheet's own HTML and styles, apart from those of the page; printing prints it alone. */
function Paper({ html }: { html: string }): JSX.Element {
  const host = useRef<HTMLDivElement>(null);
  useEffect(() => {
    const element = host.current;
    if (!element) return;
    const inside = element.shadowRoot ?? element.attachShadow({ mode: 'open' });
    const rules: string[] = [];
    const bare = html.replace(/<style[^>]*>([\s\S]*?)<\/style>/gi, (_, text: string) => {
      rules.push(text.replace(/(^|[\s,}])(html|body|:root)(?=[\s,{])/g, '$1:host'));
      return '';
    });
    const sheet = new DOMParser().parseFromString(bare, 'text/html');
    for (const one of sheet.querySelectorAll('script, link, meta, base')) one.remove();
    for (const one of sheet.querySelectorAll('th:empty')) one.replaceWith(Object.assign(sheet.createElement('td'), { className: one.className }));
    const styles = new CSSStyleSheet();
    styles.replaceSync([...rules, narrowRules].join('\n'));
    inside.adoptedStyleSheets = [styles];
    inside.replaceChildren(...sheet.body.childNodes);
  }, [html]);
  return <div ref={host} class="paper" tabIndex={0} role="region" aria-label={t('tab.sheet')} />;
}

const kinds = [
  { name: 'PDF', args: { pdf: true }, type: 'application/pdf', end: 'pdf' },
  { name: 'sheet.text', args: {}, type: 'text/plain', end: 'txt' },
  { name: 'JSON', args: { json: true }, type: 'application/json', end: 'json' },
] as const;

function Downloads(): JSX.Element {
  const wrong = useSignal<Diagnostic[]>([]);
  const fetchOne = async (kind: (typeof kinds)[number]) => {
    const reply = await call<SheetReply>('sheet', { job: jobName.value, ...(kind.end === 'json' ? {} : kind.args) });
    wrong.value = reply.ok ? [] : reply.diagnostics;
    if (!reply.ok) return;
    const { pdf, sheet, file } = reply.result;
    const content = kind.end === 'json' ? JSON.stringify(reply.result, null, 2) : kind.end === 'pdf' ? bytesOf(pdf ?? '') : sheet;
    const own = `${(jobName.value ?? 'job').replace(/\W+/g, '-')}.${kind.end}`;
    save(new Blob([content], { type: kind.type }), kind.end === 'pdf' ? file ?? own : own);
  };
  return (
    <>
      {kinds.map((kind) => (
        <Button key={kind.end} press={() => void fetchOne(kind)}>
          {kind.name === 'sheet.text' ? t('sheet.text') : kind.name}
        </Button>
      ))}
      <Problems list={wrong.value} />
    </>
  );
}

function bytesOf(base64: string): Uint8Array<ArrayBuffer> {
  const binary = atob(base64);
  const bytes = new Uint8Array(binary.length);
  for (let i = 0; i < binary.length; ++i) bytes[i] = binary.charCodeAt(i);
  return bytes;
}

export function save(blob: Blob, name: string): void {
  const link = document.createElement('a');
  link.href = URL.createObjectURL(blob);
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}
