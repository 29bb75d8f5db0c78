// A recording put into the job: where it was recorded, who is who, what will be entered, and the button that does it.
import { useSignal, type ReadonlySignal, type Signal, useComputed } from '@preact/signals';
import type { JSX } from 'preact';
import { useEffect } from 'preact/hooks';
import type { Board } from '../api/board';
import { call } from '../api/client';
import { keyOf, type Captured, type Kept, type SenderKey, type Witnessed } from '../api/recording';
import type { Reply } from '../api/replies';
import { act } from '../state/job';
import { recordingDraft } from '../state/recording';
import { goTab } from '../state/route';
import { comebacks } from '../state/line';
import { t } from '../text/text';
import { ShowsWithLines } from './frames';
import { Button, Field, Problems, Waiting } from './parts';

export interface Witness {
  /** What would be entered as it is told now; null while it is worked out. */
  reply: Signal<Reply<Witnessed> | null>;
  /** Module of each sender that is known. */
  modules: ReadonlySignal<Map<string, string>>;
  args: ReadonlySignal<Record<string, unknown>>;
  /** Two points, or none: one alone is not asked for. */
  ready: ReadonlySignal<boolean>;
}

/** Asks anew what would be entered when where or who changes. */
export function useWitness(job: string, recording: string): Witness {
  const told = recordingDraft(job);
  const reply = useSignal<Reply<Witnessed> | null>(null);
  const last = useSignal<Map<string, string>>(new Map());
  const ready = useComputed(() => (told.high.value.trim() === '') === (told.low.value.trim() === ''));
  const args = useComputed<Record<string, unknown>>(() => ({
    file: recording,
    ...(told.on.value ? { on: told.on.value } : {}),
    ...(told.channel.value ? { channel: told.channel.value } : {}),
    ...(told.high.value.trim() && told.low.value.trim() ? { at: `${told.high.value.trim()} ${told.low.value.trim()}` } : {}),
    ...(Object.keys(told.who.value).length > 0 ? { who: Object.entries(told.who.value).map(([number, module]) => `${number}=${module}`) } : {}),
  }));
  const print = JSON.stringify([job, args.value, comebacks.value]);
  useEffect(() => {
    const stop = new AbortController();
    // A field that is being typed in is not asked about at every letter.
    const timer = setTimeout(() => {
      void call<Witnessed>('witness', { job, dry: true, ...args.peek() }, stop.signal).then((got) => {
        if (stop.signal.aborted) return;
        reply.value = got;
        if (got.ok) last.value = new Map((got.result.who ?? []).flatMap((one) => (one.module ? [[keyOf(one), one.module] as [string, string]] : [])));
      });
    }, 250);
    return () => {
      clearTimeout(timer);
      stop.abort();
    };
  }, [print]);
  return { reply, modules: last, args, ready };
}

export function WitnessForm({ board, kept, captured, witness, entry }: { board: Board; kept: Kept; captured: Captured; witness: Witness; entry: number | undefined }): JSX.Element {
  const told = recordingDraft(board.job.job);
  const busy = useSignal(false);
  const reply = witness.reply.value;
  const buses = board.choices.buses ?? [];
  const put = async () => {
    busy.value = true;
    if (await act('witness', witness.args.value)) goTab('suspects');
    busy.value = false;
  };
  return (
    <div class="witness" id="witness">
      <h3>{t('witness.title')}</h3>
      <p class="small quiet">{t('witness.text')}</p>
      {buses.length > 1 ? (
        <div class="field">
          <label for="witness-on">{t('witness.on')}</label>
          <select id="witness-on" value={told.on.value} onChange={(event) => (told.on.value = event.currentTarget.value)}>
            <option value="">{t('witness.on-default')}</option>
            {buses.map((one) => (
              <option key={one.name} value={one.name}>
                {one.name}
              </option>
            ))}
          </select>
        </div>
      ) : null}
      {captured.recording.channels.length > 1 ? (
        <div class="field">
          <label for="witness-channel">{t('witness.channel')}</label>
          <select id="witness-channel" value={told.channel.value} onChange={(event) => (told.channel.value = event.currentTarget.value)}>
            <option value="">{t('witness.channel-choose')}</option>
            {captured.recording.channels.map((name) => (
              <option key={name} value={name}>
                {name}
              </option>
            ))}
          </select>
        </div>
      ) : null}
      <details class="section">
        <summary>
          <h4>{t('witness.where')}</h4>
          <span class="quiet small">{told.high.value.trim() && told.low.value.trim() ? `${told.high.value} ${told.low.value}` : t('witness.reader')}</span>
        </summary>
        <div class="row end">
          <Field id="witness-high" label={t('witness.high')} value={told.high.value} change={(text) => (told.high.value = text)} list={board.choices.points} />
          <Field id="witness-low" label={t('witness.low')} value={told.low.value} change={(text) => (told.low.value = text)} list={board.choices.points} />
        </div>
      </details>
      <Strangers board={board} captured={captured} witness={witness} who={told.who} />
      {reply === null ? <Waiting what={t('witness.looking')} /> : null}
      {reply ? <Problems list={reply.diagnostics} /> : null}
      {reply?.ok ? <WillEnter told={reply.result} kept={kept} /> : null}
      {entry !== undefined ? (
        <p class="row" id="witness-done">
          <span>{t('witness.done', { n: entry })}</span>
          <Button kind="quiet" press={() => void act('undo', { entry })} id="witness-undo">
            {t('job.undo')}
          </Button>
        </p>
      ) : (
        <Button kind="main" id="witness-put" disabled={!reply?.ok || busy.value || !witness.ready.value} press={() => void put()}>
          {t('witness.put')}
        </Button>
      )}
    </div>
  );
}

/** Senders the loom does not know by their number: who is it? */
function Strangers({ board, captured, witness, who }: { board: Board; captured: Captured; witness: Witness; who: Signal<Record<string, string>> }): JSX.Element | null {
  const known = witness.modules.value;
  const numberOf = (one: SenderKey) => String(one.address ?? `0x${(one.id ?? 0).toString(16)}`);
  const rows = captured.senders.filter((one) => !known.has(keyOf(one)) || who.value[numberOf(one)] !== undefined);
  if (rows.length === 0 || witness.reply.value === null) return null;
  const say = (number: string, module: string) => {
    const next = { ...who.value };
    if (module === '') delete next[number];
    else next[number] = module;
    who.value = next;
  };
  return (
    <details class="section" id="witness-who">
      <summary>
        <h4>{t('witness.who')}</h4>
        <span class="quiet small">{t('witness.who-n', { n: rows.length })}</span>
      </summary>
      <div class="who">
        {rows.map((one) => {
          const number = numberOf(one);
          return (
            <div class="field" key={keyOf(one)}>
              <label for={`who-${number}`}>
                {one.address !== undefined ? `SA ${one.address}` : `id ${number}`} <span class="quiet">{one.suggests ?? ''}</span>
              </label>
              <select id={`who-${number}`} value={who.value[number] ?? ''} onChange={(event) => say(number, event.currentTarget.value)}>
                <option value="">{t('witness.stranger')}</option>
                {board.choices.modules.map(({ name }) => (
                  <option key={name} value={name}>
                    {name}
                  </option>
                ))}
              </select>
            </div>
          );
        })}
      </div>
    </details>
  );
}

const verbs = ['heard', 'never', 'restarts', 'returns', 'steady', 'hears', 'deaf', 'active', 'past'] as const;
function verbText(verb: string): string {
  const known = verbs.find((one) => one === verb);
  return known ? t(`witness.verb-${known}`) : verb;
}

/** Each thing it will say, a line each, with the lines it came from. */
function WillEnter({ told, kept }: { told: Witnessed; kept: Kept }): JSX.Element {
  return (
    <div class="will-enter">
      <p>
        <strong>{t('witness.will')}</strong> {told.saw}
      </p>
      <ul>
        {told.shows
          .split('; ')
          .filter((item) => !item.startsWith('file '))
          .map((item) => {
            const [verb = '', ...rest] = item.split(' ');
            return (
              <li key={item}>
                <span class="quiet">{verbText(verb)}</span> <ShowsWithLines shows={rest.join(' ')} recording={kept.recording} />
              </li>
            );
          })}
      </ul>
    </div>
  );
}
