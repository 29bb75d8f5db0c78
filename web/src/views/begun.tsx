// Sketches that were begun: go on with one, throw it away, bring it back.
import type { JSX } from 'preact';
import { writeRoute } from '../lib/route';
import { begunSketches, bringBack, templateOf, throwAway, thrownSketch } from '../state/begun';
import { templates } from '../state/sketch';
import { en } from '../text/en';
import { language, t, tell, type MessageKey } from '../text/text';
import { Button } from './parts';

/** What a template is called on the screen. */
export function templateTitle(name: string): string {
  const key = `template.${name}`;
  return key in en ? tell(language.value, key as MessageKey) : templates.value?.find((one) => one.name === name)?.title ?? name;
}

function throwAndSay(name: string): void {
  throwAway(name);
  // The button that was pressed is gone; where it can be undone is next.
  requestAnimationFrame(() => document.getElementById('bring-back')?.focus());
}

export function ThrowAway({ name, said = '' }: { name: string; said?: string }): JSX.Element {
  const what = [templateTitle(templateOf(name)), said].filter(Boolean).join(', ');
  return (
    <Button kind="quiet" press={() => throwAndSay(name)} label={t('begun.throw-which', { what })} said="throw away">
      {t('begun.throw')}
    </Button>
  );
}

/** What was thrown away last, and the way back. */
export function Thrown(): JSX.Element {
  const name = thrownSketch();
  return (
    <div role="status">
      {name === null ? null : (
        <div class="row thrown">
          <span>{t('begun.thrown', { what: templateTitle(templateOf(name)) })}</span>
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
          <li key={one.name} class="line-row">
            <a class="line" id={`begun-${one.name}`} href={writeRoute({ view: 'sketch', template: one.template, begun: one.name })}>
              <strong>{templateTitle(one.template)}</strong>
              <span class="small quiet">{one.said}</span>
            </a>
            <ThrowAway name={one.name} said={one.said} />
          </li>
        ))}
      </ul>
    </section>
  );
}
