// A recording of the bus within the job: sent in, read, looked at over time, and put into the job as evidence.
import { useSignal, type Signal } from '@preact/signals';
import type { ComponentChildren, JSX } from 'preact';
import { useEffect } from 'preact/hooks';
import type { Board } from '../api/board';
import { call } from '../api/client';
import { keyOf, mostBytes, sendRecording, type Captured, type Kept, type SenderKey, type Sending } from '../api/recording';
import type { Diagnostic, Reply } from '../api/replies';
import type { Chosen } from '../draw/lanes';
import { lengthText } from '../draw/span';
import { fileIn, widened } from '../lib/lines';
import { jobName, progress } from '../state/job';
import { capturedOf, keptOf, lookOf, readAgain, readKept, recordingDraft } from '../state/recording';
import { comebacks } from '../state/line';
import { numbers, t } from '../text/text';
import { LinesLink } from './frames';
import { Button, Problems, Section, Waiting } from './parts';
import { remarkText } from './remarks';
import { TimePicture } from './time_picture';
import { useWitness, WitnessForm } from './witness';

export function RecordingView({ board }: { board: Board }): JSX.Element {
  const job = jobName.value ?? '';
  const reply = keptOf(job).value;
  const list = reply?.ok ? reply.result.recordings : null;
  const { which } = recordingDraft(job);
  const chosen = list?.find((one) => one.recording === which.value) ?? list?.[list.length - 1];
  return (
    <section class="panel recording">
      <h2>{t('tab.recording')}</h2>
      <Send job={job} first={list?.length === 0} />
      <Problems list={reply && !reply.ok ? reply.diagnostics : []} />
      {list && list.length > 0 ? <KeptList job={job} list={list} chosen={chosen} /> : null}
      {list?.length === 0 ? <p class="quiet">{t('recording.none')}</p> : null}
      {chosen ? <Read key={chosen.recording} board={board} kept={chosen} /> : null}
    </section>
  );
}

function Send({ job, first }: { job: string; first: boolean }): JSX.Element {
  const share = useSignal<number | null>(null);
  const wrong = useSignal<Diagnostic[]>([]);
  const sending = useSignal<Sending | null>(null);
  const send = async (input: HTMLInputElement) => {
    const file = input.files?.[0];
    input.value = ''; // the same file may be chosen again
    if (!file) return;
    wrong.value = [];
    if (file.size > mostBytes) {
      wrong.value = [{ severity: 'error', code: 'recording.too-large', message: t('recording.too-large', { name: file.name, size: megabytes(file.size) }), hint: t('recording.too-large-hint') }];
      return;
    }
    share.value = 0;
    sending.value = sendRecording(job, file, (of) => (share.value = of));
    const reply = await sending.value.done;
    share.value = null;
    sending.value = null;
    if (reply.ok) {
      recordingDraft(job).which.value = reply.result.recording;
      await readKept(job);
    } else if (reply.diagnostics[0]?.code !== 'page.stopped') wrong.value = reply.diagnostics;
  };
  return (
    <div class="send">
      {share.value === null ? (
        <label class={`button file ${first ? 'main' : 'plain'}`}>
          {t('recording.choose')}
          <input type="file" id="recording-file" class="visually-hidden" onChange={(event) => void send(event.currentTarget)} />
        </label>
      ) : (
        <div class="row">
          <label for="recording-share">{t('recording.sending')}</label>
          <progress id="recording-share" max={1} value={share.value} />
          <span class="number">{numbers.value.percent(share.value)}</span>
          <Button press={() => sending.value?.stop()}>{t('recording.stop')}</Button>
        </div>
      )}
      <p class="small quiet">{t('recording.what')}</p>
      <Problems list={wrong.value} close={() => (wrong.value = [])} />
    </div>
  );
}

function megabytes(bytes: number): string {
  return bytes < 1e6 ? `${numbers.value.whole(Math.ceil(bytes / 1000))} kB` : `${numbers.value.whole(Math.round(bytes / 1e6))} MB`;
}

function KeptList({ job, list, chosen }: { job: string; list: Kept[]; chosen: Kept | undefined }): JSX.Element {
  const { which } = recordingDraft(job);
  const remove = async (one: Kept) => {
    await call('jobs', { do: 'recording-remove', what: `${job.replace(/^book:/, '')} ${one.recording}` });
    await readKept(job);
  };
  return (
    <ul class="kept">
      {list.map((one) => (
        <li key={one.recording}>
          <Button pressed={one === chosen} press={() => (which.value = one.recording)}>
            {one.name}
          </Button>
          <span class="small quiet">
            {megabytes(one.bytes)} · {numbers.value.day(one.at)} {numbers.value.time(one.at)}
          </span>
          <Button kind="quiet" press={() => void remove(one)} label={t('recording.remove-n', { name: one.name })}>
            {t('recording.remove')}
          </Button>
        </li>
      ))}
    </ul>
  );
}

function Read({ board, kept }: { board: Board; kept: Kept }): JSX.Element {
  const reply = capturedOf(kept.recording).value;
  useEffect(() => {
    if (reply && !reply.ok) readAgain(kept.recording);
  }, [comebacks.value]);
  if (reply === null)
    return (
      <div>
        <Waiting what={t('recording.reading')} />
        {progress.value !== null && progress.value > 0 ? <progress max={1} value={progress.value} aria-label={t('recording.reading')} /> : null}
      </div>
    );
  if (!reply.ok)
    return (
      <>
        <Problems list={reply.diagnostics} />
        <Button press={() => readAgain(kept.recording)}>{t('do.again')}</Button>
      </>
    );
  return <Tells board={board} kept={kept} reply={reply} />;
}

/** "PMP", or as it is known on any bus: "SA 39 · management computer". */
export function senderLabel(one: SenderKey, captured: Captured, modules: Map<string, string>): string {
  const module = modules.get(keyOf(one));
  const number = one.address !== undefined ? `SA ${one.address}` : `id ${(one.id ?? 0).toString(16).toUpperCase().padStart(3, '0')}`;
  const channel = captured.recording.channels.length > 1 ? `${one.channel} ` : '';
  const suggests = captured.senders.find((sender) => keyOf(sender) === keyOf(one))?.suggests;
  return module ? `${module} · ${channel}${number}` : `${channel}${number}${suggests ? ` · ${suggests}` : ''}`;
}

function Tells({ board, kept, reply }: { board: Board; kept: Kept; reply: Reply<Captured> }): JSX.Element {
  const job = jobName.value ?? '';
  const captured = reply.result;
  const witness = useWitness(job, kept.recording);
  const { span, chosen } = lookOf(job, kept.recording);
  const modules = witness.modules.value;
  const label = useLabel(captured, modules);
  return (
    <>
      <p class="small quiet">
        {t('recording.about', { n: captured.frames, lines: captured.recording.lines, time: lengthText(captured.recording.duration_s), format: captured.recording.format })}
      </p>
      <Problems list={reply.diagnostics} />
      <h3>{t('recording.stands-out')}</h3>
      {captured.stands_out.length === 0 ? <p>{t('recording.nothing')}</p> : null}
      <ul class="stands-out">
        {captured.stands_out.map((one, i) => (
          <li key={i}>
            {remarkText({ captured, label: (sender) => modules.get(keyOf(sender)) ?? label(sender) }, one)}{' '}
            {[...new Set(one.lines)].slice(0, 4).map((line) => (
              <LinesLink key={line} recording={kept.recording} lines={widened(String(line), 8)} />
            ))}
          </li>
        ))}
      </ul>
      {captured.recording.duration_s > 0 && captured.senders.length > 0 ? (
        <>
          <h3>{t('recording.over-time')}</h3>
          <p class="small quiet">{t('recording.legend')}</p>
          <TimePicture captured={captured} label={label} span={span} chosen={chosen} />
        </>
      ) : null}
      <Details captured={captured} label={label} chosen={chosen} recording={kept.recording} />
      <Lists captured={captured} label={label} chosen={chosen} />
      <WitnessForm board={board} kept={kept} captured={captured} witness={witness} entry={entryOf(board, kept)} />
    </>
  );
}

/** The same function as long as it says the same, so that the picture is not drawn anew for nothing. */
function useLabel(captured: Captured, modules: Map<string, string>): (one: SenderKey) => string {
  const known = useSignal<{ print: string; label: (one: SenderKey) => string } | null>(null);
  const print = JSON.stringify([...modules]);
  if (known.peek()?.print !== print) known.value = { print, label: (one) => senderLabel(one, captured, modules) };
  return known.peek()!.label;
}

/** The entry that this recording was put in as; none: not yet, or taken back. */
function entryOf(board: Board, kept: Kept): number | undefined {
  return [...board.job.entries].reverse().find((one) => !one.struck && fileIn(one.what, one.shows) === kept.name)?.n;
}

interface Shown {
  captured: Captured;
  label: (one: SenderKey) => string;
  chosen: Signal<Chosen | null>;
  recording: string;
}

/** What was touched, in words, with its lines. */
function Details(shown: Shown): JSX.Element | null {
  const now = shown.chosen.value;
  let inside: ComponentChildren = null;
  if (now?.kind === 'event') inside = <EventDetails {...shown} group={now.group} event={now.event} />;
  if (now?.kind === 'sender') inside = <SenderDetails {...shown} wanted={now.key} />;
  if (now?.kind === 'code') inside = <CodeDetails {...shown} code={now.code} />;
  return (
    <div class="details" id="recording-details" role="status">
      {inside ?? <p class="quiet small">{t('recording.touch')}</p>}
    </div>
  );
}

function EventDetails({ captured, label, recording, group, event }: Shown & { group: number; event: number }): JSX.Element | null {
  const all = captured.silences[group];
  const one = all?.events[event];
  if (!all || !one) return null;
  const longest = one.quiet.reduce((a, b) => (b.seconds > a.seconds ? b : a));
  return (
    <>
      <h4>
        {t('recording.silence-n', { n: group + 1, names: all.senders.map((each) => shortLabel(label, each)).join(' + ') })}
      </h4>
      <p>
        {t('recording.silence-of', { i: event + 1, times: all.times, at: lengthText(one.begins.at_s), time: lengthText(longest.seconds) })}{' '}
        {one.whole_bus ? t('recording.whole-bus') : null} {one.quiet.some((each) => each.claimed) ? t('recording.claimed') : one.quiet.some((each) => each.to_the_end) ? t('recording.to-the-end') : t('recording.came-back')}
      </p>
      <ul>
        {one.quiet.map((each) => (
          <li key={keyOf(each)}>
            {label(each)}: {lengthText(each.seconds)} <LinesLink recording={recording} lines={`${each.before.line}-${each.after.line}`} />
          </li>
        ))}
      </ul>
      {one.heard.length > 0 ? <p class="small">{t('recording.went-on', { names: one.heard.map((each) => shortLabel(label, each)).join(', ') })}</p> : null}
      {one.too_slow_to_tell.length > 0 ? <p class="small quiet">{t('recording.too-slow', { names: one.too_slow_to_tell.map((each) => shortLabel(label, each)).join(', ') })}</p> : null}
      {one.volts_before || one.volts_least ? (
        <p class="small">
          {t('recording.volts')}
          {one.volts_before ? ` ${t('recording.volts-before', { volts: voltsText(one.volts_before.volts) })}` : ''}
          {one.volts_least ? ` ${t('recording.volts-least', { volts: voltsText(one.volts_least.volts) })}` : ''}
        </p>
      ) : null}
    </>
  );
}

const voltsText = (volts: number) => String(Number(volts.toFixed(2)));

/** A module's name alone; else all of it. */
function shortLabel(label: (one: SenderKey) => string, one: SenderKey): string {
  return label(one).split(' · ')[0] ?? '';
}

function SenderDetails({ captured, label, recording, wanted }: Shown & { wanted: string }): JSX.Element | null {
  const one = captured.senders.find((each) => keyOf(each) === wanted);
  if (!one) return null;
  return (
    <>
      <h4>{label(one)}</h4>
      <p>
        {t('recording.sender', { n: one.frames })} {one.fastest_ms !== undefined ? t('recording.fastest', { ms: Math.round(one.fastest_ms) }) : t('recording.not-judged')}{' '}
        <LinesLink recording={recording} lines={widened(String(one.first.line), 8)} /> <LinesLink recording={recording} lines={widened(String(one.last.line), 8)} />
      </p>
      <ul class="small">
        {one.messages.slice(0, 12).map((message) => (
          <li key={message.id}>
            {message.pgn !== undefined ? `PGN ${message.pgn}` : `id ${message.id.toString(16).toUpperCase()}`} {message.name ?? ''} · {t('recording.frames-n', { n: message.frames })}
            {message.median_ms !== undefined ? ` · ${t('recording.every', { ms: Number(message.median_ms.toPrecision(3)) })}` : ''}
          </li>
        ))}
      </ul>
    </>
  );
}

function CodeDetails({ captured, label, recording, code }: Shown & { code: number }): JSX.Element | null {
  const one = captured.codes[code];
  if (!one) return null;
  return (
    <>
      <h4>
        {label(one)}: SPN {one.spn} FMI {one.fmi}
      </h4>
      <p>
        {t('recording.told', { n: one.times })} {one.at_the_end ? t('recording.still-told') : t('recording.gone-again')} <LinesLink recording={recording} lines={widened(String(one.first.line), 8)} />{' '}
        <LinesLink recording={recording} lines={widened(String(one.last.line), 8)} />
      </p>
    </>
  );
}

/** The same as the picture, as lists: for who cannot see or touch it. */
function Lists({ captured, label, chosen }: Omit<Shown, 'recording'>): JSX.Element {
  const choose = (to: Chosen) => {
    chosen.value = to;
    document.getElementById('recording-details')?.scrollIntoView({ block: 'nearest' });
  };
  return (
    <>
      {captured.silences.length > 0 ? (
        <Section title={t('recording.silences')} id="recording-silences">
          {captured.silences.slice(0, 20).map((group, g) => (
            <div key={g} class="silence-row">
              <p>
                <strong>{g + 1}</strong> {group.senders.map((one) => shortLabel(label, one)).join(' + ')}
              </p>
              <div class="choice">
                {group.events.slice(0, 12).map((event, e) => (
                  <Button key={e} press={() => choose({ kind: 'event', group: g, event: e })} pressed={chosen.value?.kind === 'event' && chosen.value.group === g && chosen.value.event === e}>
                    {lengthText(event.begins.at_s)}
                  </Button>
                ))}
              </div>
              {group.events.length > 12 ? <p class="small quiet">{t('recording.more-times', { n: group.events.length - 12 })}</p> : null}
            </div>
          ))}
        </Section>
      ) : null}
      <Section title={t('recording.senders')} id="recording-senders">
        <div class="choice">
          {captured.senders.map((one) => (
            <Button key={keyOf(one)} press={() => choose({ kind: 'sender', key: keyOf(one) })} pressed={chosen.value?.kind === 'sender' && chosen.value.key === keyOf(one)}>
              {label(one)}
            </Button>
          ))}
        </div>
      </Section>
      {captured.codes.length > 0 ? (
        <Section title={t('recording.codes')} id="recording-codes">
          <div class="choice">
            {captured.codes.map((one, i) => (
              <Button key={i} press={() => choose({ kind: 'code', code: i })} pressed={chosen.value?.kind === 'code' && chosen.value.code === i}>
                {shortLabel(label, one)} SPN {one.spn} FMI {one.fmi}
              </Button>
            ))}
          </div>
        </Section>
      ) : null}
    </>
  );
}
