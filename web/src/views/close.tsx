// Closing the job. It does not close over what is left behind without a word: "all the same" is a second, named step.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import type { Board } from '../api/board';
import { act, actAll, didAct } from '../state/job';
import { goTab } from '../state/route';
import { t } from '../text/text';
import { Button } from './parts';

export function CloseForm({ board, proven }: { board: Board; proven: boolean }): JSX.Element | null {
  const sure = useSignal(false);
  const left = board.job.left_behind;
  if (board.job.closed_at !== undefined) return <p>{t('close.closed')}</p>;
  const close = async (anyway: boolean) => {
    if (await act('close', anyway ? { anyway: true } : {})) goTab('sheet');
  };
  const undoAll = () => actAll(left.map((one) => didAct(one.undo)));
  if (left.length === 0)
    return (
      <div class="stack">
        {proven ? null : <p class="small">{t('close.unproven')}</p>}
        <div class="row">
          <Button kind={proven ? 'main' : 'plain'} press={() => void close(false)} id="close-job">
            {t('close.close')}
          </Button>
          <Button press={() => goTab('sheet')}>{t('tab.sheet')}</Button>
        </div>
      </div>
    );
  return (
    <div class="stack">
      <p>
        <strong>{t('close.left', { n: left.length })}</strong> {left.map((one) => one.act).join(', ')}
      </p>
      <div class="row">
        <Button kind="main" press={() => void undoAll()} id="undo-all">
          {t('close.undone-all')}
        </Button>
        {sure.value ? (
          <Button press={() => void close(true)}>{t('close.anyway-sure')}</Button>
        ) : (
          <Button kind="quiet" press={() => (sure.value = true)}>
            {t('close.anyway')}
          </Button>
        )}
      </div>
    </div>
  );
}
