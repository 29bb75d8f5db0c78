// The job in the order things happened. Nothing is deleted: an entry is struck, and the same once more counts again.
import type { JSX } from 'preact';
import type { Board } from '../api/board';
import type { Entry } from '../api/replies';
import { fileIn } from '../lib/lines';
import { draft } from '../state/drafts';
import { act, jobName, taking } from '../state/job';
import { keptOf, recordingOf } from '../state/recording';
import { numbers, t, word } from '../text/text';
import { deedText } from './deeds';
import { ShowsWithLines } from './frames';
import { Button } from './parts';

export function LogView({ board }: { board: Board }): JSX.Element {
  const { entries, minutes } = board.job;
  return (
    <section class="panel">
      <h2>{t('tab.log')}</h2>
      <p class="quiet">{t('log.minutes', { time: numbers.value.minutes(minutes), n: entries.length })}</p>
      <LogList board={board} />
      <NoteForm />
      <Skipped board={board} />
    </section>
  );
}

function LogList({ board }: { board: Board }): JSX.Element {
  return (
    <ol class="log" reversed>
      {[...board.job.entries].reverse().map((entry) => (
        <Line key={entry.n} entry={entry} doubtful={board.suspects.worth_repeating.includes(entry.n)} />
      ))}
    </ol>
  );
}

function Line({ entry, doubtful }: { entry: Entry; doubtful: boolean }): JSX.Element {
  const file = fileIn(entry.what, entry.shows);
  const recording = recordingOf(jobName.value ?? '', entry);
  const text = entry.verb === 'did' ? deedText(entry.what) : entry.what;
  // Shown as pressed before the program has answered.
  const turning = taking.value?.done === false && taking.value.acts.some((one) => one.operation === 'undo' && one.args.entry === entry.n);
  return (
    <li class={entry.struck !== turning ? 'struck' : ''} aria-busy={turning}>
      <span class="number quiet log-n">{entry.n}</span>
      <span class="log-text">
        {entry.verb === 'note' ? <em>{text}</em> : text} {entry.shows ? <strong>{file === undefined ? word(entry.shows) : <ShowsWithLines shows={entry.shows} recording={recording} />}</strong> : null}
        <span class="small quiet">
          {' '}
          {numbers.value.time(entry.at)}
          {entry.minutes > 0 ? ` · ${numbers.value.minutes(entry.minutes)}` : ''}
          {entry.struck ? ` · ${t('log.struck')}` : ''}
          {doubtful ? ` · ${t('log.doubtful')}` : ''}
          {file !== undefined && recording === undefined && keptOf(jobName.value ?? '').value?.ok ? ` · ${t('recording.gone')}` : ''}
        </span>
      </span>
      <Button kind="quiet" press={() => void act('undo', { entry: entry.n })} label={t(entry.struck ? 'log.again-n' : 'log.strike-n', { n: entry.n })}>
        {entry.struck ? t('log.again') : t('log.strike')}
      </Button>
    </li>
  );
}

function NoteForm(): JSX.Element {
  const text = draft(`${jobName.value}:note`, '');
  const add = async () => {
    if (text.value.trim() !== '' && (await act('note', { what: text.value.trim() }))) text.value = '';
  };
  return (
    <div class="field">
      <label for="note">{t('note.label')}</label>
      <div class="row">
        <input id="note" value={text.value} onInput={(event) => (text.value = event.currentTarget.value)} onKeyDown={(event) => event.key === 'Enter' && void add()} />
        <Button press={() => void add()}>{t('note.add')}</Button>
      </div>
    </div>
  );
}

function Skipped({ board }: { board: Board }): JSX.Element | null {
  const list = board.choices.skipped;
  if (list.length === 0) return null;
  return (
    <div>
      <h3>{t('skipped.title')}</h3>
      <ul>
        {list.map((one) => (
          <li key={one}>{one}</li>
        ))}
      </ul>
      <Button press={() => void act('skip', { none: true })}>{t('card.unskip')}</Button>
    </div>
  );
}
