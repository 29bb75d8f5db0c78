// Small pieces that all views use.
import { useSignal } from '@preact/signals';
import type { ComponentChildren, JSX } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import { isLineTrouble } from '../api/client';
import type { Diagnostic } from '../api/replies';
import { line } from '../state/line';
import { numbers, t } from '../text/text';

export function Button(props: {
  children: ComponentChildren;
  press: () => void;
  kind?: 'main' | 'plain' | 'quiet';
  disabled?: boolean;
  label?: string;
  pressed?: boolean;
  id?: string;
  keys?: string | undefined;
  /** Which of the usual complaints it is. */
  data?: number;
  /** What it says to the program, for tests. */
  said?: string;
}): JSX.Element {
  return (
    <button
      type="button"
      id={props.id}
      class={`button ${props.kind ?? 'plain'}`}
      disabled={props.disabled ?? false}
      aria-label={props.label}
      aria-pressed={props.pressed}
      aria-keyshortcuts={props.keys}
      data-complaint={props.data}
      data-said={props.said}
      onClick={props.press}
    >
      {props.children}
    </button>
  );
}

/** Errors and warnings as the program gives them: what, where, how to mend. */
export function Problems({ list, close }: { list: Diagnostic[]; close?: () => void }): JSX.Element {
  // What the line says of itself stands above every view (line.tsx).
  const own = line.value === 'up' ? list : list.filter((one) => !isLineTrouble([one]));
  return (
    <div role="alert" class="problems">
      {own.map((one, i) => (
        <div key={i} class={`problem ${one.severity}`}>
          <p>
            <strong>{t(one.severity === 'error' ? 'problem.error' : one.severity === 'warning' ? 'problem.warning' : 'problem.note')}</strong>{' '}
            {messageOf(one)}
          </p>
          {placeOf(one) ? <p class="quiet small">{placeOf(one)}</p> : null}
          {hintOf(one) ? <p class="small">{hintOf(one)}</p> : null}
        </div>
      ))}
      {close && own.length > 0 ? (
        <Button kind="quiet" press={close}>
          {t('problem.seen')}
        </Button>
      ) : null}
    </div>
  );
}

/** What the program says, as it says it; what the page says of the line to it, in the language of the screen. */
export function messageOf(one: Diagnostic): string {
  switch (one.code) {
    case 'page.unreachable': return t('problem.unreachable');
    case 'page.not-paired': return t('problem.not-paired');
    case 'page.bad-reply': return t('problem.bad-reply', { said: one.message });
    case 'page.stopped': return t('problem.stopped');
    default: return one.message;
  }
}

/** Where: of a text that was sent in the line, of a file that only the program has for itself nothing. */
function placeOf(one: Diagnostic): string {
  if (!one.file || /^(import|sketch)\.loom\.toml$/.test(one.file)) return '';
  if (one.file === 'the wire list') return one.line ? t('problem.line', { line: one.line }) : '';
  return [one.file, one.line, one.column].filter(Boolean).join(':');
}

function hintOf(one: Diagnostic): string {
  switch (one.code) {
    case 'page.unreachable': return t('problem.unreachable-hint');
    case 'page.not-paired': return t('problem.not-paired-hint');
    case 'page.bad-reply': return t('problem.again');
    case 'page.stopped': return t('problem.again');
    case 'test.refused': return t('mind.otherwise');
    case 'did.needs': return t('problem.say-did');
    case 'csv.no-column': return t('import.say-which');
    // What is typed at a command line helps nobody here.
    default: return /\bhalfsplit [a-z]|(^|\s)--[a-z]/.test(one.hint ?? '') ? '' : one.hint ?? '';
  }
}

/** How likely: a percentage, and a line whose weight is the suspicion. */
export function Share({ of }: { of: number }): JSX.Element {
  return (
    <span class="share">
      <svg class="share-line" viewBox="0 0 28 10" width="28" height="10" aria-hidden="true">
        <path d="M1 5h26" class="ink" stroke-width={of < 0.005 ? 1 : 1 + 6 * Math.sqrt(Math.min(1, of))} />
      </svg>
      <span class="number">{numbers.value.percent(of)}</span>
    </span>
  );
}

export function Caution({ text }: { text: string }): JSX.Element {
  return (
    <p class="caution">
      <svg viewBox="0 0 24 22" width="24" height="22" aria-hidden="true">
        <path d="M12 1.5L23 21H1z" class="caution-sign" />
        <path d="M12 8v6.4M12 17v1.6" class="caution-mark" />
      </svg>
      <span>
        <strong class="visually-hidden">{t('card.caution')}: </strong>
        {text}
      </span>
    </p>
  );
}

export function Section(props: { title: string; children: ComponentChildren; open?: boolean; id?: string; note?: ComponentChildren; level?: 2 | 3 }): JSX.Element {
  const Heading = props.level === 2 ? 'h2' : 'h3';
  return (
    <details class="section" open={props.open ?? false} id={props.id}>
      <summary>
        <Heading>{props.title}</Heading>
        {props.note ? <span class="quiet small">{props.note}</span> : null}
      </summary>
      {props.children}
    </details>
  );
}

export function Field(props: {
  id: string;
  label: string;
  value: string;
  change: (value: string) => void;
  list?: string[];
  hint?: ComponentChildren;
  placeholder?: string;
  required?: boolean;
  error?: string | undefined;
  enter?: (() => void) | undefined;
  mode?: 'text' | 'decimal' | 'search' | 'numeric';
  focus?: boolean;
}): JSX.Element {
  const input = useRef<HTMLInputElement>(null);
  useEffect(() => {
    if (props.focus) input.current?.focus();
  }, []);
  const same = {
    id: props.id,
    ref: input,
    value: props.value,
    placeholder: props.placeholder,
    'aria-required': props.required,
    'aria-invalid': props.error !== undefined,
    'aria-describedby': `${props.id}-hint`,
    autoComplete: 'off' as const,
    autoCapitalize: 'off' as const,
    spellcheck: false,
    onInput: (event: Event) => props.change((event.currentTarget as HTMLInputElement).value),
    onKeyDown: (event: KeyboardEvent) => {
      if (event.key !== 'Enter' || !props.enter) return;
      event.preventDefault();
      props.enter();
    },
  };
  return (
    <div class="field">
      <label for={props.id}>
        {props.label}
        {props.required ? <span class="quiet"> {t('field.needed')}</span> : null}
      </label>
      <input type={props.mode === 'search' ? 'search' : 'text'} inputMode={props.mode ?? 'text'} list={props.list ? `${props.id}-list` : undefined} {...same} />
      {props.list ? (
        <datalist id={`${props.id}-list`}>
          {props.list.map((one) => (
            <option key={one} value={one} />
          ))}
        </datalist>
      ) : null}
      <div id={`${props.id}-hint`} class="small quiet">
        {props.error ? <strong class="error">{props.error}</strong> : props.hint}
      </div>
    </div>
  );
}

/** One of a few, as buttons side by side. */
export function Choice<Value extends string>(props: {
  label: string;
  options: { value: Value; text: string }[];
  value: Value;
  choose: (value: Value) => void;
}): JSX.Element {
  return (
    <div class="choice" role="group" aria-label={props.label}>
      {props.options.map((one) => (
        <Button key={one.value} pressed={one.value === props.value} press={() => props.choose(one.value)}>
          {one.text}
        </Button>
      ))}
    </div>
  );
}

/** A window over the page; Escape or its button closes it. */
export function Dialog(props: { title: string; close: () => void; children: ComponentChildren }): JSX.Element {
  const element = useRef<HTMLDialogElement>(null);
  useEffect(() => {
    element.current?.showModal();
  }, []);
  return (
    <dialog ref={element} onClose={props.close} aria-label={props.title}>
      <h2>{props.title}</h2>
      {props.children}
      <Button kind="main" press={() => element.current?.close()}>
        {t('do.close')}
      </Button>
    </dialog>
  );
}

/** Shown once something takes longer than a moment. */
export function Waiting({ what }: { what: string }): JSX.Element {
  const seconds = useSignal(0);
  useEffect(() => {
    const timer = setInterval(() => ++seconds.value, 1000);
    return () => clearInterval(timer);
  }, []);
  return (
    <p class="waiting" role="status">
      <span class="turning" aria-hidden="true" />
      {what}
      {seconds.value > 2 ? <span class="quiet number"> {t('wait.seconds', { n: seconds.value })}</span> : null}
    </p>
  );
}
