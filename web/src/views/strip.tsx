// What is still apart, fitted or raised: always on the screen, one line, opened by a tap.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import type { Board } from '../api/board';
import { t } from '../text/text';
import { LeftToUndo } from './proof';

export function Strip({ board }: { board: Board }): JSX.Element {
  const open = useSignal(false);
  const left = board.job.left_behind;
  if (left.length === 0)
    return (
      <div class="strip" role="status">
        <span class="quiet">{t('left.nothing')}</span>
      </div>
    );
  return (
    <div class="strip some">
      {open.value ? (
        <div id="left-list">
          <LeftToUndo board={board} />
        </div>
      ) : null}
      <button type="button" class="strip-line" aria-expanded={open.value} aria-controls="left-list" onClick={() => (open.value = !open.value)}>
        <span role="status">
          <strong>{t('left.count', { n: left.length })}</strong> {left.map((one) => one.act).join(', ')}
        </span>
        <span aria-hidden="true">{open.value ? '▾' : '▴'}</span>
      </button>
    </div>
  );
}
