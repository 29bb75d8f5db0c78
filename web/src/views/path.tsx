// A path hop by hop: the program guesses what comes next; Enter takes the first guess, a tap any other.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import type { Diagnostic, Guess, Guessed } from '../api/replies';
import { hopsOf, wholePaths, withHop, withNewPath, withoutLast } from '../lib/path';
import { draftKeyOf } from '../state/begun';
import { draft } from '../state/drafts';
import { afterEnter, guess, knownGuess } from '../state/guess';
import { t } from '../text/text';
import { Button } from './parts';

const pause = 120; // ms: half a name is asked for when the fingers rest

/** The answer to `path`; while it is on its way, the last one. */
function useGuess(path: string, typing: boolean): Guessed | null {
  const last = useSignal<Guessed | null>(null);
  const here = knownGuess(path);
  useEffect(() => {
    let stopped = false;
    const look = () => void guess(path).then((got) => (stopped || got.path !== path ? undefined : (last.value = got)));
    const timer = typing && !here ? setTimeout(look, pause) : (look(), undefined);
    return () => {
      stopped = true;
      clearTimeout(timer);
    };
  }, [path]);
  return here ?? last.value;
}

/** Edits one after the other: an Enter that waits for its guess holds back what is pressed after it. */
function useInTurn(): (edit: () => void | Promise<void>) => void {
  const queue = useRef(Promise.resolve());
  return (edit) => {
    queue.current = queue.current.then(edit);
  };
}

export function PathField(props: { sketch: string; label: string; value: string; change: (text: string) => void; problem: Diagnostic | undefined }): JSX.Element {
  const text = draft(`${draftKeyOf(props.sketch)}:text`, '', 'browser');
  const typed = draft(`${draftKeyOf(props.sketch)}:typed`, '', 'browser');
  const input = useRef<HTMLInputElement>(null);
  const inTurn = useInTurn();
  useEffect(() => input.current?.focus(), []);
  useEffect(() => {
    const said = wholePaths(text.value);
    if (said !== props.value) props.change(said);
  }, [text.value]);
  const asked = withHop(text.value, typed.value);
  const answer = useGuess(asked, typed.value !== '');
  const list = answer?.guesses ?? [];
  const current = answer !== null && answer.path === asked;
  const ends = current && answer.ends;
  const edit = (change: () => void | Promise<void>) => {
    inTurn(change);
    input.current?.focus();
  };
  const add = (said: string) => (typed.value = '', edit(() => void (text.value = withHop(text.value, said))));
  const take = (one: Guess) => {
    const whole = current ? asked + one.append : withHop(text.value, one.hop);
    typed.value = '';
    edit(() => void (text.value = whole));
  };
  const takeFirst = () =>
    edit(async () => {
      const before = text.value;
      const got = await guess(before);
      const next = got.path === before && text.value === before ? afterEnter(got) : null;
      if (next !== null) text.value = next;
    });
  const newPath = () => {
    add(typed.value);
    edit(() => void (text.value = withNewPath(text.value)));
  };
  const back = () => edit(() => void (text.value = withoutLast(text.value)));
  const keys = (event: KeyboardEvent) => {
    const nothing = typed.value.trim() === '';
    if (event.key === 'Enter' || event.key === '>') nothing ? event.key === 'Enter' && takeFirst() : add(typed.value);
    else if (event.key === ';') newPath();
    else if (event.key === 'Backspace' && typed.value === '') back();
    else return;
    event.preventDefault();
  };
  const leave = (event: FocusEvent) => {
    const to = event.relatedTarget;
    if (typed.value.trim() !== '' && !(to instanceof Element && to.closest('.path-field'))) inTurn(() => void (text.value = withHop(text.value, typed.value), typed.value = ''));
  };
  const first = ends ? t('path.end') : list[0]?.hop ?? '';
  const paths = hopsOf(text.value);
  return (
    <div class="field path-field">
      <label for="path-hop">{props.label}</label>
      <ol class="paths">
        {paths.map((hops, i) => (
          <li key={i}>
            {hops.map((hop, k) => (
              <span key={k} class="hop">
                {hop}
              </span>
            ))}
            {i === paths.length - 1 ? <span class="hop next">{typed.value || first || '…'}</span> : null}
          </li>
        ))}
      </ol>
      <input
        id="path-hop"
        ref={input}
        value={typed.value}
        placeholder={ends ? t('path.next-path') : first}
        autoComplete="off"
        autoCapitalize="off"
        spellcheck={false}
        aria-describedby="path-hint"
        onInput={(event) => (typed.value = event.currentTarget.value)}
        onKeyDown={keys}
        onBlur={leave}
      />
      <div class="choice" role="group" aria-label={t('path.guesses')}>
        {list.map((one) => (
          <Button key={one.hop} press={() => take(one)} said={one.hop} disabled={!current && typed.value === ''}>
            {one.hop}
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
