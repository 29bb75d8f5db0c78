// The suspects with their reasons; the codes and which of them the first suspect explains; what nothing explains.
import type { JSX } from 'preact';
import type { Board } from '../api/board';
import type { CodeStanding, Reason, SuspectGroup } from '../api/replies';
import { act } from '../state/job';
import { linesOfReason, widened } from '../lib/lines';
import { recordingOf } from '../state/recording';
import { goTab } from '../state/route';
import { numbers, t, word } from '../text/text';
import { suspectText } from './card';
import { LinesLink } from './frames';
import { Button, Section, Share } from './parts';

export function SuspectsView({ board }: { board: Board }): JSX.Element {
  const { groups, unexplained, worth_repeating: repeat, alike } = board.suspects;
  return (
    <section class="panel">
      <h2>{t('tab.suspects')}</h2>
      <p class="small quiet">{t('suspects.text')}</p>
      {repeat.length > 0 ? <Doubtful board={board} entries={repeat} text={t('suspects.repeat')} /> : null}
      {unexplained.length > 0 ? <Doubtful board={board} entries={unexplained} text={t('suspects.unexplained')} /> : null}
      <ol class="suspects">
        {groups.map((group, i) => (
          <Group board={board} key={group.repair} group={group} open={i === 0} />
        ))}
      </ol>
      {(alike ?? []).length > 0 ? (
        <p class="small">
          {t('suspects.alike')} {alike!.map((names) => names.join(' / ')).join('; ')}
        </p>
      ) : null}
      <Codes board={board} />
    </section>
  );
}

function Doubtful({ board, entries, text }: { board: Board; entries: number[]; text: string }): JSX.Element {
  return (
    <div class="problem warning">
      <p>
        <strong>{text}</strong>
      </p>
      <ul class="plain-list">
        {entries.map((n) => {
          const entry = board.job.entries.find((one) => one.n === n);
          return (
            <li key={n} class="row spread">
              <span>
                {n}: {entry?.what} <strong>{entry ? word(entry.shows) : ''}</strong>
              </span>
              <Button press={() => void act('undo', { entry: n })}>{t('log.strike')}</Button>
            </li>
          );
        })}
      </ul>
    </div>
  );
}

function Group({ board, group, open }: { board: Board; group: SuspectGroup; open: boolean }): JSX.Element {
  const title = suspectText(group.repair);
  return (
    <li>
      <details open={open}>
        <summary>
          <Share of={group.probability} />
          <strong>{title}</strong>
          {group.also ? <span class="small"> + {group.also.join(', ')}</span> : null}
        </summary>
        <ul class="plain-list inner">
          {group.suspects
            .filter((one, i) => i === 0 || one.probability > 0.001)
            .map((one) => (
              <li key={one.name}>
                <p>
                  <span class="number">{numbers.value.percent(one.probability)}</span> {one.description || suspectText(one.name)}
                </p>
                {one.reasons ? <Reasons list={one.reasons} board={board} /> : null}
              </li>
            ))}
        </ul>
      </details>
    </li>
  );
}

/** A reason that came from a recording leads back to its lines, or to the recording. */
function ReasonSource({ board, reason }: { board: Board; reason: Reason }): JSX.Element | null {
  const entry = board.job.entries.find((one) => one.n === reason.entry);
  const recording = entry ? recordingOf(board.job.job, entry) : undefined;
  if (!entry || !recording) return null;
  const lines = linesOfReason(reason.what, entry.shows);
  if (lines) return <LinesLink recording={recording} lines={lines.includes('-') ? lines : widened(lines, 8)} />;
  return (
    <button type="button" class="lines-link" onClick={() => goTab('recording')}>
      {t('tab.recording')}
    </button>
  );
}

function Reasons({ list, board }: { list: Reason[]; board: Board }): JSX.Element {
  return (
    <table class="reasons small">
      <tbody>
        {[...list]
          .sort((a, b) => Math.abs(Math.log(b.factor)) - Math.abs(Math.log(a.factor)))
          .slice(0, 6)
          .map((one) => (
            <tr key={`${one.entry} ${one.what}`}>
              <td class="number">
                {one.factor >= 1 ? '×' : '÷'} {factorText(one.factor >= 1 ? one.factor : 1 / one.factor)}
              </td>
              <td>
                {one.what} <strong>{word(one.seen)}</strong>
                <span class="quiet"> {t('suspects.predicts', { what: one.predicts.replace(/^[a-z]+/, word) })}</span> <ReasonSource board={board} reason={one} />
              </td>
            </tr>
          ))}
      </tbody>
    </table>
  );
}

function factorText(factor: number): string {
  if (factor > 1e6) return '1,000,000+';
  return factor < 10 ? factor.toFixed(1) : String(Number(factor.toPrecision(3)));
}

function Codes({ board }: { board: Board }): JSX.Element | null {
  const codes = board.suspects.codes ?? [];
  const others = board.suspects.other_codes ?? [];
  if (codes.length === 0 && others.length === 0) return null;
  return (
    <Section title={t('codes.title')} open={codes.length < 12} note={t('codes.count', { n: codes.length })}>
      <table>
        <tbody>
          {codes.map((code) => (
            <tr key={`${code.module} ${code.code}`}>
              <th scope="row">
                {code.module} {code.code}
              </th>
              <td>{word(code.seen)}</td>
              <td class="small">{verdictText(code)}</td>
            </tr>
          ))}
          {others
            .filter((one) => one.entry !== undefined)
            .map((one) => (
              <tr key={`${one.module} ${one.code}`}>
                <th scope="row">
                  {one.module} {one.code}
                </th>
                <td>{word(one.seen)}</td>
                <td class="small">{t('codes.not-drawn')}</td>
              </tr>
            ))}
        </tbody>
      </table>
    </Section>
  );
}

function verdictText(code: CodeStanding): string {
  switch (code.is) {
    case 'explained': return t('codes.explained');
    case 'not-explained': return t('codes.not-explained');
    case 'missing': return t('codes.missing');
    case 'absent': return t('codes.absent');
    case 'other': return t('codes.other', { share: numbers.value.percent(code.other_reason ?? 0) });
    default: return code.verdict;
  }
}
