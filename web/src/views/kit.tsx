// What is in the van: kept with the job; the plan goes by it.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import type { Board, KitThings } from '../api/board';
import { draft } from '../state/drafts';
import { act, jobName } from '../state/job';
import { t } from '../text/text';
import { Button, Field } from './parts';

const things = ['clamp', 'test_lamp', 'long_lead', 'reader', 'heat_gun', 'cold_spray', 'scope'] as const satisfies readonly (keyof KitThings)[];

export function KitView({ board }: { board: Board }): JSX.Element {
  const kit = board.choices.kit;
  const set = (args: Record<string, unknown>) => act('kit', args);
  return (
    <section class="panel">
      <h2>{t('tab.kit')}</h2>
      <p class="small quiet">{t('kit.text')}</p>
      <fieldset>
        <legend>{t('kit.have')}</legend>
        {things.map((one) => (
          <label key={one} class="check">
            <input type="checkbox" checked={kit[one]} onChange={(event) => void set({ [one.replace('_', '-')]: event.currentTarget.checked ? 'yes' : 'no' })} />
            {t(`kit.${one}`)}
          </label>
        ))}
      </fieldset>
      <Kept id="resistors" label={t('kit.resistors')} now={kit.resistors.join(' ')} hint={t('kit.resistors-hint')} set={(text) => set({ resistors: text.split(/[\s,;]+/).filter(Boolean) })} />
      <Kept id="money" label={t('kit.money')} now={String(kit.money_per_hour)} set={(text) => set({ 'money-per-hour': text })} />
      <Kept id="fetch" label={t('kit.fetch')} now={String(kit.fetch_minutes)} hint={t('kit.fetch-hint')} set={(text) => set({ 'fetch-minutes': text })} />
      <Kept id="road" label={t('kit.road')} now={String(kit.road_minutes)} set={(text) => set({ 'road-minutes': text })} />
      <p>
        {t('kit.meter')}: <strong>{board.job.meter ?? ''}</strong>
      </p>
    </section>
  );
}

function Kept(props: { id: string; label: string; now: string; hint?: string; set: (text: string) => Promise<boolean> }): JSX.Element {
  const text = draft<string | null>(`${jobName.value}:kit:${props.id}`, null);
  const done = useSignal('');
  const save = async () => {
    if (text.value === null) return;
    if (await props.set(text.value)) {
      text.value = null;
      done.value = t('kit.saved');
    }
  };
  return (
    <div class="row end">
      <Field id={`kit-${props.id}`} label={props.label} value={text.value ?? props.now} change={(value) => (text.value = value)} hint={done.value || props.hint} enter={() => void save()} />
      <Button press={() => void save()} disabled={text.value === null}>
        {t('kit.save')}
      </Button>
    </div>
  );
}
