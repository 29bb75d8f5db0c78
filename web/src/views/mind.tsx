// What to mind before a test or an act of one's own choice, as the program tells it (`mind`): refused or not, what comes
// first, cautions. Until they have been on the screen nothing can be entered, as on the card of a proposed test.
import { useSignal, type Signal } from '@preact/signals';
import type { ComponentChildren, JSX } from 'preact';
import { useEffect } from 'preact/hooks';
import type { Board } from '../api/board';
import { call, isLineTrouble } from '../api/client';
import type { Reply, Step } from '../api/replies';
import { touches } from '../lib/test_words';
import { comebacks } from '../state/line';
import { jobName } from '../state/job';
import { t } from '../text/text';
import { Steps, useSeen } from './card';
import { Caution, Problems } from './parts';

export interface Minded {
  what: string;
  refused?: string;
  steps: Step[];
  cautions: string[];
}

export interface Ready {
  /** Why nothing can be entered yet; none: it can. */
  locked: string | null;
  unlock: () => void;
  /** What counts as done when it is entered, as `did` takes it. */
  steps: string[];
}

interface Props {
  board: Board;
  /** A test, as `saw` takes it; or something to be done, as `did` takes it. */
  of: { test: string; after?: string[] } | { act: string };
  /** What is entered with; not shown where the words cannot be read. */
  children: (ready: Ready) => ComponentChildren;
}

export function askMind(of: Props['of'], stop?: AbortSignal): Promise<Reply<Minded>> {
  return call<Minded>('mind', { job: jobName.peek(), ...('test' in of ? { what: of.test, ...(of.after?.length ? { with: of.after } : {}) } : { act: of.act }) }, stop);
}

/** Asked anew for other words and in another state of the vehicle; not for what is only looked at. */
export function Mind(props: Props): JSX.Element {
  if ('test' in props.of && !touches(props.of.test)) return <>{props.children({ locked: null, unlock: () => undefined, steps: [] })}</>;
  const print = JSON.stringify([props.of, props.board.job.configuration]);
  return <Asked key={print} {...props} />;
}

const typingPause = 200; // ms

function Asked({ of, children }: Props): JSX.Element {
  const reply: Signal<Reply<Minded> | null> = useSignal(null);
  useEffect(() => {
    const stop = new AbortController();
    const ask = async () => {
      const got = await askMind(of, stop.signal);
      if (!stop.signal.aborted && !isLineTrouble(got.diagnostics)) reply.value = got;
    };
    const timer = setTimeout(() => void ask(), typingPause);
    return () => {
      clearTimeout(timer);
      stop.abort();
    };
  }, [comebacks.value]);
  const told = reply.value;
  if (told && !told.ok) return <Problems list={told.diagnostics} />;
  return <Told minded={told?.result ?? null}>{children}</Told>;
}

/** Without an answer yet nothing can be entered either. */
function Told({ minded, children }: { minded: Minded | null; children: Props['children'] }): JSX.Element {
  const seen = useSeen(minded ? `minded ${minded.what}` : '');
  const refused = minded?.refused !== undefined;
  return (
    <>
      <div ref={seen.element} class="card-cautions minded" data-minded={minded ? 'yes' : 'no'}>
        {minded ? <MindedText minded={minded} /> : null}
      </div>
      {children({
        locked: minded === null ? t('mind.asking') : refused ? t('mind.locked') : seen.lock(),
        unlock: refused ? () => seen.element.current?.scrollIntoView({ block: 'center' }) : seen.show,
        steps: (minded?.steps ?? []).map((step) => step.act),
      })}
    </>
  );
}

export function MindedText({ minded }: { minded: Minded }): JSX.Element {
  return (
    <>
      {minded.refused === undefined ? null : (
        <div class="problem error" role="alert">
          <p>
            <strong>{t('mind.refused')}</strong> {minded.refused}
          </p>
          <p class="small">{t('mind.otherwise')}</p>
        </div>
      )}
      <Steps steps={minded.steps} />
      {minded.cautions.map((one) => (
        <Caution key={one} text={one} />
      ))}
    </>
  );
}
