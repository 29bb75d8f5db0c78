// What was entered and does not go with the rest: said above the card, with the way back.
import type { JSX } from 'preact';
import type { Board } from '../api/board';
import type { Entry } from '../api/replies';
import { act } from '../state/job';
import { t, word } from '../text/text';
import { Button } from './parts';

/** Two readings of one test with nothing done between that say different things: the newest, and the one before. */
export function twiceOtherwise(entries: Entry[]): Entry[] {
  const counting = entries.filter((one) => !one.struck && one.verb !== 'note');
  const newest = counting.at(-1);
  if (newest?.verb !== 'saw') return [];
  for (const one of counting.slice(0, -1).reverse()) {
    if (one.verb !== 'saw') return [];
    if (one.what === newest.what) return one.shows === newest.shows ? [] : [one, newest];
  }
  return [];
}

export function Doubts({ board }: { board: Board }): JSX.Element | null {
  if (board.job.closed_at !== undefined) return null;
  const twice = twiceOtherwise(board.job.entries);
  const odd = board.job.entries.filter((one) => board.suspects.worth_repeating.includes(one.n) && !one.struck && !twice.includes(one));
  if (odd.length + twice.length === 0) return null;
  return (
    <div class="doubts" role="alert">
      {twice.length > 0 ? <Doubt text={t('doubt.twice')} entries={twice} /> : null}
      {odd.length > 0 ? <Doubt text={t('doubt.odd')} entries={odd} /> : null}
    </div>
  );
}

function Doubt({ text, entries }: { text: string; entries: Entry[] }): JSX.Element {
  return (
    <div class="problem warning">
      <p>
        <strong>{text}</strong>
      </p>
      <ul class="plain-list">
        {entries.map((one) => (
          <li key={one.n} class="row spread">
            <span>
              {one.n}: {one.what} <strong>{word(one.shows)}</strong>
            </span>
            <Button said={`take back ${one.n}`} press={() => void act('undo', { entry: one.n })}>
              {t('job.undo')}
            </Button>
          </li>
        ))}
      </ul>
    </div>
  );
}
