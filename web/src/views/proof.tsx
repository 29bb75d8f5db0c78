// The proof: what the vehicle should show when mended against what it shows. As a card, row by row; and as a table.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import type { Board } from '../api/board';
import type { Next, Proof, ProofRow, Step } from '../api/replies';
import { spoken } from '../lib/entry';
import { actsFor, cautionOf, shapeOf } from '../lib/test_words';
import { draft } from '../state/drafts';
import { act, actAll, answer, didAct, jobName, sawAct } from '../state/job';
import { measureOther } from '../state/other';
import { goTab } from '../state/route';
import { numbers, t, word } from '../text/text';
import { Steps, useSeen } from './card';
import { CloseForm } from './close';
import { AnswerPad, KeyHint, pressByKey, unitSign, useHotKeys } from './keypad';
import { Mind } from './mind';
import { Button, Caution } from './parts';

/** What is to be seen again: the signs of the trouble; where there was none, what was read with the vehicle as it works. */
function rowsToSee(proof: Proof): ProofRow[] {
  const signs = proof.rows.filter((row) => row.symptom);
  if (signs.length > 0) return signs;
  return proof.rows.filter(({ configuration: { unplugged, fitted, swapped } }) => unplugged.length + fitted.length + swapped.length === 0);
}

/** The row to see next. */
export function openRow(proof: Proof): ProofRow | undefined {
  const rows = rowsToSee(proof);
  return rows.find((row) => row.after === '') ?? rows.find((row) => !row.fits);
}

export function ProofCard({ board }: { board: Board }): JSX.Element {
  const proof = board.proof;
  if (!proof) return <p class="card quiet">{t('card.none')}</p>;
  const leave = leaveOf(board);
  const row = proof.complete || leave ? undefined : openRow(proof);
  if (row) return <RowCard key={row.what} board={board} proof={proof} row={row} />;
  return (
    <article class="card" aria-labelledby="card-title">
      <header class="card-head">
        <p class="eyebrow">{t('proof.title')}</p>
        <p class="card-time">{t('proof.mended', { share: numbers.value.percent(proof.fixed) })}</p>
        <h2 id="card-title">{leave ? t('proof.leave') : proof.complete ? t('proof.complete') : proof.contradicted ? t('proof.contradicted') : t('proof.look-again')}</h2>
      </header>
      {leave ? <Leave next={leave} steps={stepsBack(board, leave)} /> : null}
      <CloseForm board={board} proven={proof.complete} />
      {leave ? <LookAllTheSame board={board} /> : null}
      <ProofTable proof={proof} />
    </article>
  );
}

function leaveOf(board: Board): Next | undefined {
  return board.next?.kind === 'leave' ? board.next : undefined;
}

/** What is to be put back before it is left, with the caution of each. */
function stepsBack(board: Board, next: Next): Step[] {
  const steps = next.steps ?? [];
  return steps.length > 0 ? steps : board.job.left_behind.map((one) => ({ act: one.undo, minutes: one.minutes, caution: one.caution ?? '' }));
}

/** What to mind, what is to be put back, why another look is not worth its minutes. */
function Leave({ next, steps }: { next: Next; steps: Step[] }): JSX.Element {
  return (
    <>
      <div class="card-cautions">
        {(next.cautions ?? []).map((one) => (
          <Caution key={one} text={one} />
        ))}
        <Steps steps={steps} />
      </div>
      <p>{t('proof.leave-why', { time: numbers.value.minutes(next.return_minutes ?? 0), share: numbers.value.percent(1 - (next.probability ?? 0)) })}</p>
    </>
  );
}

function LookAllTheSame({ board }: { board: Board }): JSX.Element {
  return (
    <div class="row">
      <Button press={measureOther}>{t('card.other')}</Button>
      {board.choices.skipped.length > 0 ? <Button press={() => void act('skip', { none: true })}>{t('card.unskip')}</Button> : null}
    </div>
  );
}

function RowCard({ board, proof, row }: { board: Board; proof: Proof; row: ProofRow }): JSX.Element {
  const shape = shapeOf(row.what, board.choices);
  const text = draft(`${jobName.value}:reading:proof ${row.what}`, '');
  const busy = useSignal(false);
  const acts = actsFor(row.configuration, board.job.configuration, board.job.left_behind);
  const minutes = (name: string) => board.choices.setups.find((one) => one.name === name)?.minutes ?? board.job.left_behind.find((one) => one.undo === name)?.minutes ?? 0;
  const steps = acts.map((name) => ({ act: name, minutes: minutes(name), caution: cautionOf(name, board.choices) || (board.job.left_behind.find((one) => one.undo === name)?.caution ?? '') }));
  const seen = useSeen(`${row.what} ${acts.join()}`);
  const left = rowsToSee(proof).filter((one) => one.after === '').length;
  const listed = codesOfModule(board, proof, row);
  const modules = isCode(row.what) ? modulesToSee(board, proof) : [];
  const enterLists = async (names: string[]) => {
    if (busy.value) return;
    busy.value = true;
    await actAll([...acts.map(didAct), ...names.map((name) => sawAct(`list ${name}`, 'none'))]);
    busy.value = false;
  };
  useHotKeys({ n: () => (seen.all.value ? pressByKey('[data-said^="none "][aria-keyshortcuts]') : seen.show()) });
  const enter = async (shows: string, steps: string[]) => {
    if (busy.value) return;
    busy.value = true;
    await answer(row.what, shape.kind === 'number' ? spoken(shows, shape.unit) : shows, [...acts, ...steps]);
    busy.value = false;
  };
  return (
    <>
      <article class="card" aria-labelledby="card-title">
        <header class="card-head">
          <p class="eyebrow">{t('proof.title')}</p>
          <p class="card-time quiet">{t('proof.left', { n: left })}</p>
          <h2 id="card-title">{row.what}</h2>
        </header>
        <div ref={seen.element} class="card-cautions">
          <Steps steps={steps} />
        </div>
        <dl class="facts">
          <div class="fact">
            <dt>{t('proof.before')}</dt>
            <dd>{row.before ? word(row.before) : '–'}</dd>
          </div>
          <div class="fact">
            <dt>{t('proof.should')}</dt>
            <dd>
              <strong>{predictedText(row, shape.kind === 'number' ? shape.unit : '')}</strong>
            </dd>
          </div>
        </dl>
        {listed ? (
          <Button said={`none ${listed.module}`} keys={modules.length > 1 ? undefined : 'n'} press={() => void enterLists([listed.module])} disabled={!seen.all.value}>
            {t('proof.no-codes', listed)}
          </Button>
        ) : null}
        {modules.length > 1 ? (
          <Button said="none anywhere" keys="n" press={() => void enterLists(modules)} disabled={!seen.all.value}>
            {t('proof.no-codes-anywhere', { modules: modules.join(', ') })} <KeyHint name="n" />
          </Button>
        ) : null}
        <p class="small quiet">{row.symptom ? t('proof.row-text') : t('proof.row-read')}</p>
        <div class="row">
          <Button press={() => goTab('proof')}>{t('proof.all')}</Button>
          <Button press={measureOther}>{t('card.other')}</Button>
        </div>
      </article>
      <Mind board={board} of={{ test: row.what, after: acts }}>
        {({ locked, unlock, steps: more }) => (
          <AnswerPad shape={shape} text={text} busy={busy.value} locked={seen.lock() ?? locked} unlock={() => (seen.all.value ? unlock() : seen.show())} enter={(shows) => void enter(shows, more)} meaning="" />
        )}
      </Mind>
    </>
  );
}

function isCode(what: string): boolean {
  return what.startsWith('code ');
}

function moduleOf(board: Board, what: string): string | undefined {
  return board.choices.codes.find((code) => what === `code ${code.name}` || what === `code ${code.module} ${code.name}`)?.module;
}

/** Of a code: its module, and how many of that module's codes are still to be seen again. More than one: one look at the list. */
function codesOfModule(board: Board, proof: Proof, row: ProofRow): { module: string; n: number } | null {
  const module = moduleOf(board, row.what);
  if (module === undefined) return null;
  const n = rowsToSee(proof).filter((one) => one.after === '' && moduleOf(board, one.what) === module).length;
  return n > 1 ? { module, n } : null;
}

/** Modules with codes that are still to be seen again. */
function modulesToSee(board: Board, proof: Proof): string[] {
  const names = rowsToSee(proof).filter((one) => one.after === '').map((one) => moduleOf(board, one.what));
  return [...new Set(names.filter((one) => one !== undefined))];
}

function predictedText(row: ProofRow, unit: string): string {
  const p = row.predicted;
  if (!p.settled) return t('proof.no-rest');
  if (p.chances) {
    const [best] = Object.entries(p.chances).sort((a, b) => b[1] - a[1]);
    return best ? word(wordOf(row.what, best[0])) : '–';
  }
  if ((p.over_range ?? 0) > 0.5) return 'OL';
  if (p.value === null || p.value === undefined) return '–';
  const one = (value: number | null | undefined) => (value === null || value === undefined ? '?' : short(value));
  return `${short(p.value)} ${unitSign(unit)} (${one(p.low)} … ${one(p.high)})`;
}

/** The word of a module or a beep as one says it. */
function wordOf(what: string, said: string): string {
  if (what.startsWith('module ')) return said === 'yes' ? 'answers' : said === 'no' ? 'silent' : said;
  if (what.startsWith('continuity ')) return said === 'yes' ? 'beep' : said === 'no' ? 'silent' : said;
  return said;
}

function short(value: number): string {
  const size = Math.abs(value);
  if (size < 0.0005) return '0';
  if (size >= 1e6) return `${Number((value / 1e6).toPrecision(3))} M`;
  if (size >= 1e3) return `${Number((value / 1e3).toPrecision(3))} k`;
  return String(Number(value.toPrecision(size < 1 ? 2 : 3)));
}

export function ProofTable({ proof }: { proof: Proof }): JSX.Element {
  return (
    <div class="scroll" tabIndex={0} role="region" aria-label={t('proof.title')}>
      <table class="small">
        <thead>
          <tr>
            <th scope="col">{t('proof.look')}</th>
            <th scope="col">{t('proof.before')}</th>
            <th scope="col">{t('proof.should')}</th>
            <th scope="col">{t('proof.after')}</th>
          </tr>
        </thead>
        <tbody>
          {proof.rows.map((row, i) => (
            <tr key={i}>
              <th scope="row">
                {row.what}
                {row.symptom ? <span class="quiet small"> {t('proof.sign')}</span> : null}
              </th>
              <td>{row.before ? word(row.before) : '–'}</td>
              <td>{predictedText(row, '')}</td>
              <td>
                {row.after ? word(row.after) : '–'}
                {row.after ? <span class="quiet small"> {row.fits ? t('proof.fits') : t('proof.fits-not')}</span> : null}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

export function ProofView({ board }: { board: Board }): JSX.Element {
  const proof = board.proof;
  if (!proof || !proof.repaired)
    return (
      <section class="panel">
        <h2>{t('proof.title')}</h2>
        <p>{t('proof.none')}</p>
        <LeftToUndo board={board} />
        <CloseForm board={board} proven={false} />
      </section>
    );
  const leave = leaveOf(board);
  return (
    <section class="panel">
      <h2>{proof.complete ? t('proof.complete') : proof.contradicted ? t('proof.contradicted') : proof.look_again && !leave ? t('proof.look-again') : t('proof.not-yet')}</h2>
      <p>{t('proof.mended', { share: numbers.value.percent(proof.fixed) })}</p>
      {leave ? (
        <>
          <p>
            <strong>{t('proof.leave')}</strong>
          </p>
          <Leave next={leave} steps={[]} />
        </>
      ) : null}
      <ProofTable proof={proof} />
      {proof.complete || leave ? null : <Button kind="main" press={() => goTab('test')}>{t('proof.go-on')}</Button>}
      <LeftToUndo board={board} />
      <CloseForm board={board} proven={proof.complete} />
    </section>
  );
}

export function LeftToUndo({ board }: { board: Board }): JSX.Element | null {
  const list = board.job.left_behind;
  if (list.length === 0) return <p class="quiet">{t('left.nothing')}</p>;
  return (
    <ul class="plain-list">
      {list.map((one) => (
        <li key={one.act} class="row spread">
          <span>
            <strong>{one.act}</strong> <span class="quiet number">{numbers.value.minutes(one.minutes)}</span>
          </span>
          {one.caution ? <Caution text={one.caution} /> : null}
          <Button press={() => void act('did', { what: one.undo })}>{t('left.undone', { what: one.undo })}</Button>
        </li>
      ))}
    </ul>
  );
}
