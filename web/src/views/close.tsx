// Closing the job. It does not close over what is left behind without a word: "all the same" is a second, named step.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import type { Board } from '../api/board';
import { act, actAll, didAct } from '../state/job';
import { goTab } from '../state/route';
import { t } from '../text/text';
import { Button } from './parts';

export function CloseForm({ board, proven }: { board: Board; proven: boolean }): JSX.Element | null {
  const sure = useSignal(false);
  const left = board.job.left_behind;
  const title = useRef<HTMLHeadingElement>(null);
  const undoing = useRef(false);
  // All is undone: the button that was pressed is gone, and closing is next. Not the button itself has the focus, so that
  // an Enter too many closes nothing.
  useEffect(() => {
    if (undoing.current && left.length === 0) title.current?.focus();
    undoing.current = false;
  }, [left.length]);
  if (board.job.closed_at !== undefined) return <p>{t('close.closed')}</p>;
  const close = async (anyway: boolean) => {
    if (await act('close', anyway ? { anyway: true } : {})) goTab('sheet');
  };
  const undoAll = () => {
    undoing.current = true;
    void actAll(left.map((one) => didAct(one.undo)));
  };
  const heading = (
    <h3 ref={title} tabIndex={-1}>
      {t('close.title')}
    </h3>
  );
  if (left.length === 0)
    return (
      <div class="stack">
        {heading}
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
      {heading}
      <p>
        <strong>{t('close.left', { n: left.length })}</strong> {left.map((one) => one.act).join(', ')}
      </p>
      <div class="row">
        <Button kind="main" press={undoAll} id="undo-all">
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
