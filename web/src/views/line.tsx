// Above every view while the program does not answer, or does not know this browser: what that means, and what to do.
import type { JSX } from 'preact';
import { useEffect } from 'preact/hooks';
import { line, trying, tryLine } from '../state/line';
import { t } from '../text/text';
import { Button } from './parts';

export function LineLost(): JSX.Element | null {
  const now = line.value;
  useEffect(() => {
    document.documentElement.dataset.line = now;
  }, [now]);
  if (now === 'up') return null;
  return (
    <section class="line-lost" role="alert" id="line-lost">
      <p>
        <strong>{t(`line.${now}`)}</strong> {t(`line.${now}-text`)}
      </p>
      <Button press={() => void tryLine()} id="line-again">
        {trying.value ? t('line.trying') : t('do.again')}
      </Button>
    </section>
  );
}
