// A path hop by hop: what comes next is guessed; Enter takes the first guess, a tap any other.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import type { Diagnostic } from '../api/replies';
import { guesses, pathText, type Path } from '../lib/path';
import { draft } from '../state/drafts';
import { t } from '../text/text';
import { Button } from './parts';

const start: Path[] = [{ hops: [] }];

export function PathField(props: { label: string; value: string; change: (text: string) => void; problem: Diagnostic | undefined }): JSX.Element {
  const paths = draft<Path[]>('sketch:path:hops', start);
  const text = useSignal('');
  const input = useRef<HTMLInputElement>(null);
  useEffect(() => input.current?.focus(), []);
  useEffect(() => {
    const said = pathText(paths.value);
    if (said !== props.value) props.change(said);
  }, [paths.value]);
  const next = guesses(paths.value);
  const last = paths.value[paths.value.length - 1]!;
  const add = (hop: string) => {
    const said = hop.trim();
    if (said === '') return;
    text.value = '';
    paths.value = [...paths.value.slice(0, -1), { hops: [...last.hops, said] }];
    input.current?.focus();
  };
  const newPath = () => {
    if (text.value.trim() !== '') add(text.value);
    if (paths.value[paths.value.length - 1]!.hops.length > 0) paths.value = [...paths.value, { hops: [] }];
    input.current?.focus();
  };
  const back = () => {
    if (last.hops.length > 0) paths.value = [...paths.value.slice(0, -1), { hops: last.hops.slice(0, -1) }];
    else if (paths.value.length > 1) paths.value = paths.value.slice(0, -1);
  };
  const keys = (event: KeyboardEvent) => {
    if (event.key === 'Enter' || event.key === '>') {
      event.preventDefault();
      if (text.value.trim() !== '') add(text.value.replace(/-$/, ''));
      else if (event.key === 'Enter' && next[0] !== undefined) add(next[0]);
      else if (event.key === 'Enter') newPath();
    } else if (event.key === ';') {
      event.preventDefault();
      newPath();
    } else if (event.key === 'Backspace' && text.value === '') {
      event.preventDefault();
      back();
    }
  };
  return (
    <div class="field path-field">
      <label for="path-hop">{props.label}</label>
      <ol class="paths">
        {paths.value.map((path, i) => (
          <li key={i}>
            {path.hops.map((hop, k) => (
              <span key={k} class="hop">
                {hop}
              </span>
            ))}
            {i === paths.value.length - 1 ? <span class="hop next">{text.value || next[0] || t('path.end')}</span> : null}
          </li>
        ))}
      </ol>
      <input
        id="path-hop"
        ref={input}
        value={text.value}
        placeholder={next[0] ?? t('path.next-path')}
        autoComplete="off"
        autoCapitalize="off"
        spellcheck={false}
        aria-describedby="path-hint"
        onInput={(event) => (text.value = event.currentTarget.value)}
        onKeyDown={keys}
      />
      <div class="choice" role="group" aria-label={t('path.guesses')}>
        {next.map((one) => (
          <Button key={one} press={() => add(one)}>
            {one}
          </Button>
        ))}
        <Button kind="quiet" press={newPath}>
          {t('path.next-path')}
        </Button>
        <Button kind="quiet" press={back}>
          {t('path.back')}
        </Button>
      </div>
      <p id="path-hint" class="small quiet">
        {props.problem ? (
          <strong class="error">
            {props.problem.message} {props.problem.hint ?? ''}
          </strong>
        ) : (
          t('path.hint')
        )}
      </p>
    </div>
  );
}
