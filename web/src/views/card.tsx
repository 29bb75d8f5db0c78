// The next thing to do as a card: what to mind first, where the probes go, what each outcome would mean.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import type { Board } from '../api/board';
import { call } from '../api/client';
import type { Meter, Next, Outcome, Point, Proof, Step, Test } from '../api/replies';
import { spoken } from '../lib/entry';
import { facesOf } from '../lib/names';
import { outcomeOf } from '../lib/reading';
import { shapeOfTest } from '../lib/test_words';
import { draft } from '../state/drafts';
import { act, actAll, answer, didAct, jobName, load, thinking, within } from '../state/job';
import { measureOther } from '../state/other';
import { goTab } from '../state/route';
import { numbers, t, word, type MessageKey } from '../text/text';
import { deedText } from './deeds';
import { FaceView } from './face';
import { AnswerPad, KeyHint, pressByKey, useHotKeys } from './keypad';
import { Button, Caution, messageOf, Section, Share, Waiting } from './parts';
import { ProofCard } from './proof';

export function NextCard({ board, drawing }: { board: Board; drawing: JSX.Element | null }): JSX.Element {
  const next = board.next;
  if (board.job.closed_at !== undefined) return <ClosedCard />;
  if (!next) return <ThinkingCard />;
  switch (next.kind) {
    case 'test': return <TestCard key={next.test?.what} board={board} next={next} test={next.test!} drawing={drawing} />;
    case 'repair': return <RepairCard next={next} />;
    case 'prove':
    case 'leave': return <ProofCard board={board} />;
    default: return <NothingCard next={next} />;
  }
}

function ThinkingCard(): JSX.Element {
  return (
    <article class="card">
      {thinking.value ? (
        <Waiting what={t('card.thinking')} />
      ) : (
        <>
          <p class="quiet">{t('card.none')}</p>
          <Button press={() => void load()}>{t('do.again')}</Button>
        </>
      )}
    </article>
  );
}

function ClosedCard(): JSX.Element {
  return (
    <article class="card">
      <h2>{t('card.closed')}</h2>
      <p>{t('card.closed-text')}</p>
      <Button kind="main" press={() => goTab('sheet')}>
        {t('tab.sheet')}
      </Button>
    </article>
  );
}

function NothingCard({ next }: { next: Next }): JSX.Element {
  if (next.within_minutes !== undefined)
    return (
      <article class="card">
        <h2>{t('card.too-short', { minutes: next.within_minutes })}</h2>
        <p>{t('card.too-short-text', { best: next.best ?? '', minutes: Math.ceil(next.minutes ?? 0) })}</p>
        <Limit />
      </article>
    );
  return (
    <article class="card">
      <h2>{t('card.nothing')}</h2>
      <p>{t('card.nothing-text')}</p>
      <div class="row">
        <Button press={() => void act('skip', { none: true })}>{t('card.unskip')}</Button>
        <Button press={() => goTab('other')}>{t('tab.other')}</Button>
      </div>
    </article>
  );
}

function TestCard({ board, next, test, drawing }: { board: Board; next: Next; test: Test; drawing: JSX.Element | null }): JSX.Element {
  const shape = shapeOfTest(test, board.choices);
  const text = draft(`${jobName.value}:reading:${test.what}`, '');
  const busy = useSignal(false);
  const seen = useSeen(`${test.what} ${(next.cautions ?? []).join()} ${(next.steps ?? []).map((s) => s.act).join()}`);
  const outcome = shape.kind === 'number' ? outcomeOf(text.value, next.outcomes ?? []) : null;
  const enter = async (shows: string) => {
    if (busy.value) return;
    busy.value = true;
    await answer(test.what, shape.kind === 'number' ? spoken(shows, shape.unit) : shows, (next.steps ?? []).map((step) => step.act));
    busy.value = false;
  };
  return (
    <>
      <article class="card" aria-labelledby="card-title">
        <header class="card-head">
          <p class="eyebrow">{board.proof?.complete ? t('card.another-look') : t('card.next')}</p>
          <p class="card-time number">
            {numbers.value.minutes(next.minutes ?? 0)}
            {(next.undo_minutes ?? 0) > 0.05 ? <span class="quiet small"> {t('card.undo-time', { time: numbers.value.minutes(next.undo_minutes ?? 0) })}</span> : null}
          </p>
          <h2 id="card-title">{titleOf(test)}</h2>
        </header>
        {board.proof?.complete ? <ProvenLine proof={board.proof} /> : null}
        <div ref={seen.element} class="card-cautions">
          <Steps steps={next.steps ?? []} />
          {(next.cautions ?? []).map((one) => (
            <Caution key={one} text={one} />
          ))}
        </div>
        {next.read_before ? <p>{t('card.again', { seen: next.read_before })}</p> : null}
        <Probes board={board} next={next} test={test} />
        {drawing}
        <Outcomes list={next.outcomes ?? []} hit={outcome} />
        <CardMore next={next} test={test} />
      </article>
      <AnswerPad
        shape={shape}
        text={text}
        busy={busy.value}
        locked={seen.lock()}
        unlock={seen.show}
        enter={(shows) => void enter(shows)}
        meaning={outcome ? meaningOf(outcome) : ''}
      />
    </>
  );
}

/** All fits already; another look is still worth its minutes, or the job may be closed. */
function ProvenLine({ proof }: { proof: Proof }): JSX.Element {
  return (
    <p class="row spread">
      <span>
        {t('proof.complete')} {t('proof.mended', { share: numbers.value.percent(proof.fixed) })} {t('card.another-look-text')}
      </span>
      <Button press={() => goTab('proof')}>{t('card.to-proof')}</Button>
    </p>
  );
}

/** Have the steps and cautions been on the screen? The reading waits for that. */
export function useSeen(print: string) {
  const element = useRef<HTMLDivElement>(null);
  const all = useSignal(false);
  const isBelow = useSignal(false);
  const left = useRef(new Set<Element>());
  const last = useRef('');
  if (last.current !== print) {
    last.current = print;
    all.value = false;
  }
  useEffect(() => {
    const root = element.current;
    if (!root) return undefined;
    left.current = new Set(root.querySelectorAll('.caution'));
    if (left.current.size === 0) {
      all.value = true;
      return undefined;
    }
    const observer = new IntersectionObserver(
      (changes) => {
        for (const one of changes)
          if (one.isIntersecting) left.current.delete(one.target);
          else if (left.current.has(one.target)) isBelow.value = one.boundingClientRect.bottom > (one.rootBounds?.bottom ?? innerHeight);
        if (left.current.size === 0) all.value = true;
      },
      { root: root.closest('.panel-pane'), rootMargin: `0px 0px -${coveredBelow()}px 0px`, threshold: 0.6 },
    );
    for (const one of left.current) observer.observe(one);
    return () => observer.disconnect();
  }, [print]);
  const show = () => {
    const [first] = left.current;
    first?.scrollIntoView({ block: 'center' });
  };
  /** What stands in place of the keys until then; it points to where the cautions are. */
  const lock = (): string | null => (all.value ? null : isBelow.value ? t('pad.locked-below') : t('pad.locked'));
  return { element, all, show, lock };
}

/** How much of the panel's foot the keypad covers. */
function coveredBelow(): number {
  const pad = document.querySelector<HTMLElement>('.pad');
  return pad && getComputedStyle(pad).position === 'sticky' ? pad.offsetHeight : 0;
}

export function Steps({ steps }: { steps: Step[] }): JSX.Element | null {
  if (steps.length === 0) return null;
  return (
    <ol class="steps" aria-label={t('card.first')}>
      {steps.map((step) => (
        <li key={step.act}>
          <span class="step">
            <strong>{deedText(step.act)}</strong>
            <span class="quiet number">{numbers.value.minutes(step.minutes)}</span>
          </span>
          {step.caution ? <Caution text={step.caution} /> : null}
        </li>
      ))}
    </ol>
  );
}

function Probes({ board, next, test }: { board: Board; next: Next; test: Test }): JSX.Element {
  const faces = facesOf(test, board.choices.plugs);
  return (
    <div class="where">
      <dl class="facts">
        {test.red ? <Probe letter="R" name="red" label={test.black ? t('card.red') : t('card.at')} point={test.red} /> : null}
        {test.black ? <Probe letter="B" name="black" label={t('card.black')} point={test.black} /> : null}
        {test.wire ? <Fact label={t('card.around')} text={test.wire} /> : null}
        <Fact label={t('card.with')} text={withText(test, next)} />
        <Fact label={t('card.state')} text={stateText(test)} />
      </dl>
      {faces.length > 0 ? (
        <div class="faces">
          {faces.map((one) => (
            <FaceView key={`${one.plug.name} ${one.side}`} {...one} />
          ))}
        </div>
      ) : null}
    </div>
  );
}

function Probe({ letter, name, label, point }: { letter: string; name: string; label: string; point: Point }): JSX.Element {
  return (
    <div class="fact">
      <dt>
        <span class={`mark ${name}`} aria-hidden="true">
          {letter}
        </span>
        {label}
      </dt>
      <dd>
        <strong>{pointText(point)}</strong>
        {point.place ? <span class="quiet"> {point.place}</span> : null}
      </dd>
    </div>
  );
}

export function pointText(point: Point): string {
  if (point.lug_of) return t('point.lug', { post: point.point.slice(0, point.point.indexOf('@')), wire: point.lug_of });
  if (!point.connector || point.cavity === undefined) return point.point;
  if (!point.side) return t('point.cavity', { plug: point.connector, cavity: point.cavity });
  const side = point.side === 'loom' ? t('point.loom') : point.side === 'unit' ? t('point.unit') : t('point.side', { side: point.side });
  return t('point.cavity-side', { plug: point.connector, cavity: point.cavity, side });
}

function Fact({ label, text }: { label: string; text: string }): JSX.Element {
  return (
    <div class="fact">
      <dt>{label}</dt>
      <dd>{text}</dd>
    </div>
  );
}

function titleOf(test: Test): string {
  const name = test.code ?? test.live ?? test.module ?? test.part ?? test.connector ?? test.wire ?? '';
  const key = `title.${test.instrument}` as MessageKey & 'title.code';
  const points = test.red && test.black ? `${test.red.point} – ${test.black.point}` : '';
  return t(key, { name: name || points || (test.red?.point ?? '') });
}

function withText(test: Test, next: Next): string {
  const range = rangeOf(test, next.meter, next.outcomes ?? []);
  const run = test.instrument === 'inspect' && test.wire ? '-run' : '';
  const parts = [t(`with.${test.instrument}${run}` as MessageKey & 'with.code')];
  if (range) parts.push(t('with.range', { range }));
  if (next.long_lead) parts.push(t('with.long-lead'));
  return parts.join(', ');
}

/** The first range of the meter that shows every outcome foreseen. */
function rangeOf(test: Test, meter: Meter | undefined, outcomes: Outcome[]): string {
  if (!meter || !['volts', 'ohms', 'clamp'].includes(test.instrument)) return '';
  const instrument = meter[test.instrument] as { ranges?: { to: number }[] } | undefined;
  const top = Math.max(0, ...outcomes.filter((one) => !one.over_range).map((one) => Math.abs(one.middle ?? 0)));
  const range = instrument?.ranges?.find((one) => typeof one.to === 'number' && one.to >= top)?.to;
  if (range === undefined) return '';
  const unit = test.unit === 'ohm' ? 'Ω' : test.unit ?? '';
  if (range >= 1e6) return `${range / 1e6} M${unit}`;
  if (range >= 1e3) return `${range / 1e3} k${unit}`;
  return range < 1 ? `${Math.round(range * 1e3)} m${unit}` : `${range} ${unit}`;
}

function stateText(test: Test): string {
  const { made, unplugged, fitted, swapped } = test.configuration;
  const parts = [
    ...made,
    ...unplugged.map((one) => t('state.apart', { name: one })),
    ...fitted.map((one) => t('state.fitted', { what: one.kind === 'lead' ? t('state.lead') : `${one.ohm} Ω`, a: one.a, b: one.b })),
    ...swapped.map((one) => t('state.swapped', { name: one })),
  ];
  return parts.length > 0 ? parts.join(', ') : t('state.parked');
}

function Outcomes({ list, hit }: { list: Outcome[]; hit: Outcome | null }): JSX.Element {
  return (
    <table class="outcomes">
      <caption class="visually-hidden">{t('card.outcomes')}</caption>
      <thead>
        <tr>
          <th scope="col">{t('card.shows')}</th>
          <th scope="col">{t('card.chance')}</th>
          <th scope="col">{t('card.then')}</th>
        </tr>
      </thead>
      <tbody>
        {list
          .filter((one) => one.chance >= 0.004)
          .map((one) => (
            <tr key={one.name} class={one === hit ? 'hit' : ''}>
              <th scope="row">{one.word ? word(one.word) : one.name}</th>
              <td class="number">{numbers.value.percent(one.chance)}</td>
              <td class="small">{meaningOf(one)}</td>
            </tr>
          ))}
      </tbody>
    </table>
  );
}

function meaningOf(outcome: Outcome): string {
  return outcome.suspects
    .filter((one, i) => i < 3 && (i === 0 || one.probability > 0.08))
    .map((one) => `${suspectText(one.name)} ${numbers.value.percent(one.probability)}`)
    .join(', ');
}

export function suspectText(name: string): string {
  return name === 'not on this drawing' ? t('suspect.elsewhere') : name;
}

function CardMore({ next, test }: { next: Next; test: Test }): JSX.Element {
  return (
    <>
      <div class="row">
        <Button press={() => void act('skip', { what: test.what })} keys="c">
          {t('card.skip')}
        </Button>
        <Button press={measureOther}>
          {t('card.other')}
        </Button>
      </div>
      <Why next={next} />
    </>
  );
}

function gapText(gap: number): string {
  return gap <= 1 ? t('why.gap', { share: numbers.value.percent(gap) }) : t('why.gap-times', { times: numbers.value.figure(1 + gap) });
}

function Why({ next }: { next: Next }): JSX.Element {
  const gap = next.exact ? t('why.exact') : next.gap !== null && next.gap !== undefined ? gapText(next.gap) : '';
  return (
    <Section title={t('why.title')}>
      <p>{t('why.expected', { time: numbers.value.minutes(next.expected_minutes ?? 0), n: next.tests_considered ?? 0 })} {gap}</p>
      {(next.alternatives ?? []).length > 0 ? (
        <table>
          <caption>{t('why.others')}</caption>
          <tbody>
            {next.alternatives!.map((one) => (
              <tr key={one.what}>
                <th scope="row">
                  <button type="button" class="link" onClick={() => chooseOther(one.what)}>
                    {one.what}
                  </button>
                </th>
                <td class="number">{numbers.value.minutes(one.expected_minutes)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      ) : null}
      <WhyNotForm />
      <Limit />
    </Section>
  );
}

function chooseOther(what: string): void {
  draft(`${jobName.value}:other:test`, '').value = what;
  goTab('other');
}

function WhyNotForm(): JSX.Element {
  const what = draft(`${jobName.value}:why-not`, '');
  const told = useSignal<string>('');
  const ask = async () => {
    const reply = await call<Next>('next', { job: jobName.value, 'why-not': what.value });
    const why = reply.result.why_not;
    if (!reply.ok || !why) told.value = reply.diagnostics.map(messageOf).join(' ');
    else if (why.refused) told.value = t('why-not.refused', { why: why.refused });
    else if (why.taken) told.value = t('why-not.taken');
    else if (why.skipped) told.value = t('why-not.skipped');
    else if (!why.weighed) told.value = t('why-not.unweighed');
    else
      told.value = t('why-not.worth', {
        bits: (why.bits ?? 0).toFixed(2),
        time: numbers.value.minutes(why.minutes ?? 0),
        better: why.better ?? 0,
        of: why.of ?? 0,
      });
  };
  return (
    <div class="field">
      <label for="why-not">{t('why-not.label')}</label>
      <div class="row">
        <input
          id="why-not"
          value={what.value}
          placeholder="ohms A B"
          onInput={(event) => (what.value = event.currentTarget.value)}
          onKeyDown={(event) => event.key === 'Enter' && void ask()}
        />
        <Button press={() => void ask()}>{t('why-not.ask')}</Button>
      </div>
      <p role="status">{told}</p>
    </div>
  );
}

function Limit(): JSX.Element {
  const set = (minutes: number | null) => {
    within.value = minutes;
    void load();
  };
  return (
    <div class="field">
      <span id="limit-label">{t('limit.label')}</span>
      <div class="choice" role="group" aria-labelledby="limit-label">
        {[null, 10, 20, 30, 60].map((one) => (
          <Button key={String(one)} pressed={within.value === one} press={() => set(one)}>
            {one === null ? t('limit.none') : `${one} min`}
          </Button>
        ))}
      </div>
    </div>
  );
}

function RepairCard({ next }: { next: Next }): JSX.Element {
  const busy = useSignal(false);
  const seen = useSeen(`${next.repair} ${(next.steps ?? []).map((s) => s.act).join()}`);
  const beyond = (next.repairs ?? []).length === 0;
  const done = async () => {
    if (busy.value) return;
    if (!seen.all.value) return seen.show();
    busy.value = true;
    await actAll([
      ...(next.steps ?? []).map((step) => didAct(step.act)),
      didAct(`repaired ${next.repair}`),
    ]);
    busy.value = false;
  };
  useHotKeys({ r: () => pressByKey('#repaired') });
  return (
    <article class="card" aria-labelledby="card-title">
      <header class="card-head">
        <p class="eyebrow">{t('card.stop')}</p>
        <p class="card-time number">{numbers.value.minutes(next.minutes ?? 0)}</p>
        <h2 id="card-title">{beyond ? t('card.beyond') : next.repair}</h2>
      </header>
      <p class="big">
        {t('card.right-with')} <Share of={next.probability ?? 0} />
      </p>
      <div ref={seen.element} class="card-cautions">
        <Steps steps={next.steps ?? []} />
        {(next.cautions ?? []).map((one) => (
          <Caution key={one} text={one} />
        ))}
      </div>
      {(next.parts ?? []).length > 0 ? (
        <p>
          {t('card.parts')}: <strong>{next.parts!.join(', ')}</strong> <span class="quiet number">{numbers.value.money(next.part_money ?? 0)}</span>
        </p>
      ) : null}
      <p class="small quiet">{beyond ? t('card.beyond-text') : t('card.stop-text')}</p>
      <div class="row">
        {beyond ? null : (
          <Button kind="main" press={() => void done()} disabled={busy.value} id="repaired" keys="r">
            {busy.value ? t('pad.entering') : t('card.repaired')} <KeyHint name="r" />
          </Button>
        )}
        <Button press={measureOther}>
          {t('card.other')}
        </Button>
      </div>
      <Why next={next} />
    </article>
  );
}
