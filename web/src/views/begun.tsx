// Sketches that were begun: go on with one, throw it away, bring it back.
import type { JSX } from 'preact';
import { writeRoute } from '../lib/route';
import { begunSketches, bringBack, throwAway, thrownSketch } from '../state/begun';
import { templates } from '../state/sketch';
import { en } from '../text/en';
import { language, t, tell, type MessageKey } from '../text/text';
import { Button } from './parts';

/** What a template is called on the screen. */
export function templateTitle(name: string): string {
  const key = `template.${name}`;
  return key in en ? tell(language.value, key as MessageKey) : templates.value?.find((one) => one.name === name)?.title ?? name;
}

function throwAndSay(template: string): void {
  throwAway(template);
  // The button that was pressed is gone; where it can be undone is next.
  requestAnimationFrame(() => document.getElementById('bring-back')?.focus());
}

export function ThrowAway({ template }: { template: string }): JSX.Element {
  return (
    <Button kind="quiet" press={() => throwAndSay(template)} label={t('begun.throw-which', { what: templateTitle(template) })} said="throw away">
      {t('begun.throw')}
    </Button>
  );
}

/** What was thrown away last, and the way back. */
export function Thrown(): JSX.Element {
  const template = thrownSketch();
  return (
    <div role="status">
      {template === null ? null : (
        <div class="row thrown">
          <span>{t('begun.thrown', { what: templateTitle(template) })}</span>
          <Button press={bringBack} id="bring-back">
            {t('begun.back')}
          </Button>
        </div>
      )}
    </div>
  );
}

export function BegunSketches(): JSX.Element | null {
  const list = begunSketches();
  if (list.length === 0) return null;
  return (
    <section aria-labelledby="begun-title">
      <h2 id="begun-title">{t('begun.title')}</h2>
      <p class="small quiet">{t('begun.text')}</p>
      <ul class="lines">
        {list.map((one) => (
          <li key={one.template} class="line-row">
            <a class="line" id={`begun-${one.template}`} href={writeRoute({ view: 'sketch', template: one.template })}>
              <strong>{templateTitle(one.template)}</strong>
              <span class="small quiet">{one.said}</span>
            </a>
            <ThrowAway template={one.template} />
          </li>
        ))}
      </ul>
    </section>
  );
}
