// What was just entered, said at once: that it is on its way, then that it is in the book while the program thinks about
// it. It lies over the panel's head, so that nothing moves.
import type { JSX } from 'preact';
import { useEffect } from 'preact/hooks';
import { taking, type Act } from '../state/job';
import { t, word } from '../text/text';
import { deedText } from './deeds';

function said({ operation, args }: Act): string {
  const what = String(args.what ?? '');
  switch (operation) {
    case 'saw': return `${what} ${word(String(args.shows ?? ''))}`.trim();
    case 'did': return deedText(what);
    case 'undo': return args.entry === undefined ? t('taking.newest') : t('taking.entry', { n: String(args.entry) });
    default: return what || t('taking.step');
  }
}

export function TakingLine(): JSX.Element {
  const now = taking.value;
  const last = now?.acts.at(-1);
  // For who measures how long a tap takes until its answer is seen (test/page/speed.mjs).
  useEffect(() => void (now && performance.mark(now.done ? 'entered' : 'entering')), [now]);
  return (
    <div class="taking" role="status">
      {now && last ? <p>{t(now.done ? 'taking.entered' : 'taking.entering', { what: said(last) })}</p> : null}
    </div>
  );
}
