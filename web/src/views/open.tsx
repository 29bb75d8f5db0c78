// A job begins: which loom, what the driver says. Usual complaints are one tap.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { call } from '../api/client';
import { demos, putOnShelf } from '../state/demos';
import type { Diagnostic } from '../api/replies';
import { draft, dropDrafts, type Kept } from '../state/drafts';
import { go } from '../state/route';
import { t } from '../text/text';
import { Button, Field, Problems, Section } from './parts';

/** Opens a job and goes there; what went wrong otherwise. */
export async function openOn(loom: string, args: { complaint: string; customer?: string; vehicle?: string; parked?: boolean }): Promise<Diagnostic[]> {
  const wanted = Object.fromEntries(Object.entries(args).filter(([, value]) => value !== '' && value !== false && value !== undefined));
  const reply = await call<{ job: string }>('open', { loom, ...wanted });
  if (!reply.ok) return reply.diagnostics;
  go({ view: 'job', job: reply.result.job, tab: 'test' });
  return [];
}

export function OpenView({ loom }: { loom: string }): JSX.Element {
  const demo = demos.find((one) => one.loom === loom);
  const wrong = useSignal<Diagnostic[]>([]);
  const find = async () => {
    if (!demo) return loom;
    const reply = await putOnShelf(demo);
    wrong.value = reply.ok ? [] : reply.diagnostics;
    return reply.ok ? reply.result.loom : null;
  };
  return (
    <main class="page narrow-page" id="main" tabIndex={-1}>
      <h1>{t('open.title')}</h1>
      <p class="quiet">{demo ? demo.name : loom.replace(/^shelf:/, '')}</p>
      {demo ? <p class="small">{t('start.demos-text')}</p> : null}
      <Problems list={wrong.value} />
      <ComplaintForm loom={find} draftKey={`open:${loom}`} first={demo ? [t(demo.complaint)] : []} focus />
    </main>
  );
}

/** `loom` is made when the job opens: a sketch is written only then. `opened`: it did. */
export function ComplaintForm(props: { loom: () => Promise<string | null>; draftKey: string; first?: string[]; focus?: boolean; disabled?: boolean; kept?: Kept; opened?: () => void }): JSX.Element {
  const complaint = draft(`${props.draftKey}:complaint`, '', props.kept);
  const customer = draft(`${props.draftKey}:customer`, '', props.kept);
  const vehicle = draft(`${props.draftKey}:vehicle`, '', props.kept);
  const parked = draft(`${props.draftKey}:parked`, false, props.kept);
  const wrong = useSignal<Diagnostic[]>([]);
  const busy = useSignal(false);
  const open = async (said: string) => {
    if (busy.value || props.disabled) return;
    busy.value = true;
    const loom = await props.loom();
    if (loom !== null) {
      wrong.value = await openOn(loom, { complaint: said || t('complaint.none'), customer: customer.value, vehicle: vehicle.value, parked: parked.value });
      if (wrong.value.length === 0) {
        dropDrafts(props.draftKey);
        props.opened?.();
      }
    }
    busy.value = false;
  };
  const usual = [...(props.first ?? []), t('complaint.dead'), t('complaint.wrong'), t('complaint.dim'), t('complaint.sometimes'), t('complaint.code')];
  return (
    <section class="stack">
      <Problems list={wrong.value} />
      <Field id="complaint" label={t('open.complaint')} value={complaint.value} change={(text) => (complaint.value = text)} enter={() => void open(complaint.value.trim())} focus={props.focus ?? false} hint={t('open.complaint-hint')} />
      <div class="choice" role="group" aria-label={t('open.usual')}>
        {usual.map((one, i) => (
          <Button key={one} press={() => void open(one)} disabled={props.disabled ?? false} data={i}>
            {one}
          </Button>
        ))}
      </div>
      <Section level={2} title={t('open.more')}>
        <Field id="customer" label={t('open.customer')} value={customer.value} change={(text) => (customer.value = text)} />
        <Field id="vehicle" label={t('open.vehicle')} value={vehicle.value} change={(text) => (vehicle.value = text)} />
        <label class="check">
          <input type="checkbox" checked={parked.value} onChange={(event) => (parked.value = event.currentTarget.checked)} />
          {t('open.parked')}
        </label>
      </Section>
      <Button kind="main" press={() => void open(complaint.value.trim())} disabled={busy.value || (props.disabled ?? false)} id="open-job">
        {busy.value ? t('pad.entering') : t('open.open')}
      </Button>
    </section>
  );
}
