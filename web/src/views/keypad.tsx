// The reading: big keys for a gloved thumb, the same by keyboard. Words are buttons of their own.
import type { Signal } from '@preact/signals';
import type { JSX } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import { isWhole, keyOf, press, type Key } from '../lib/entry';
import type { AnswerShape } from '../lib/test_words';
import { wide } from '../state/screen';
import { shortcuts } from '../state/settings';
import { t, word, type MessageKey } from '../text/text';

interface Props {
  shape: AnswerShape;
  text: Signal<string>;
  busy: boolean;
  /** Why nothing can be entered yet; none: it can. */
  locked: string | null;
  unlock: () => void;
  enter: (shows: string) => void;
  /** What a whole reading would mean. */
  meaning: string;
}

const keys: Key[] = [
  '7', '8', '9', 'over', 'kilo', 'back',
  '4', '5', '6', 'mega', 'milli', 'minus',
  '1', '2', '3', '0', 'point', 'clear',
];
const faces: Partial<Record<Key, string>> = { over: 'OL', back: '⌫', clear: 'C', kilo: 'k', mega: 'M', milli: 'm', minus: '−', point: '.' };
const unitSigns: Record<string, string> = { ohm: 'Ω', degC: '°C' };

export function unitSign(unit: string): string {
  return unitSigns[unit] ?? unit;
}

export function AnswerPad(props: Props): JSX.Element {
  if (props.shape.kind === 'words') return <WordPad {...props} words={props.shape.words} />;
  return <NumberPad {...props} unit={props.shape.unit} none={props.shape.none} />;
}

function NumberPad({ text, busy, locked, unlock, enter, meaning, unit, none }: Props & { unit: string; none?: string | undefined }): JSX.Element {
  const isReady = () => isWhole(text.value) || (none !== undefined && text.value === none);
  const whole = isReady();
  // Asked anew: Enter may follow the last digit before the screen was drawn again.
  const submit = () => {
    if (isReady() && !busy && !locked) enter(text.value);
  };
  const type = (key: Key) => {
    text.value = press(text.value === none ? '' : text.value, key);
  };
  usePadKeys((event) => {
    if (event.key === 'Enter') {
      if (locked) unlock();
      else submit();
      return true;
    }
    const key = keyOf(event.key);
    if (key === undefined) return false;
    if (key === 'over' && none !== undefined) {
      if (!locked) text.value = none;
      return true;
    }
    if (locked) unlock();
    else type(key);
    return true;
  });
  return (
    <section class="pad" aria-label={t('pad.label')}>
      <div class="pad-line">
        <div class="pad-shown">
          <output class="pad-value" aria-live="polite" aria-label={t('pad.reading')}>
            {text.value === '' ? <span class="quiet">{t('pad.empty')}</span> : text.value}
            {text.value !== 'OL' && text.value !== none ? <span class="pad-unit"> {unitSign(unit)}</span> : null}
          </output>
          <span class="small quiet pad-meaning">{meaning}</span>
        </div>
        <button type="button" class="key enter" id="enter" aria-disabled={!whole || busy} onClick={submit}>
          {busy ? t('pad.entering') : t('pad.enter')}
        </button>
      </div>
      {locked ? (
        <Lock text={locked} unlock={unlock} />
      ) : (
        <div class="pad-keys">
          {keys.map((key) =>
            key === 'over' && none !== undefined ? (
              <button key={key} type="button" class="key small" id="key-over" onClick={() => (text.value = none)}>
                {t('pad.no-value')}
              </button>
            ) : (
              <button key={key} type="button" class={/^\d$/.test(key) ? 'key digit' : 'key'} id={`key-${key}`} aria-label={nameOf(key)} onClick={() => type(key)}>
                {faces[key] ?? key}
              </button>
            ),
          )}
        </div>
      )}
    </section>
  );
}

function nameOf(key: Key): string | undefined {
  return key in faces ? t(`key.${key}` as MessageKey & 'key.back') : undefined;
}

function WordPad({ words, busy, locked, unlock, enter }: Props & { words: string[] }): JSX.Element {
  usePadKeys((event) => {
    const which = words[Number(event.key) - 1];
    if (which === undefined) return false;
    if (locked) unlock();
    else if (!busy) enter(which);
    return true;
  });
  return (
    <section class="pad" aria-label={t('pad.label')}>
      {locked ? (
        <Lock text={locked} unlock={unlock} />
      ) : (
        <div class="pad-words">
          {words.map((one, i) => (
            <button key={one} type="button" class="key word" data-word={one} aria-disabled={busy} aria-keyshortcuts={String(i + 1)} onClick={() => !busy && enter(one)}>
              <span class="key-number quiet" aria-hidden="true">
                {i + 1}
              </span>
              {word(one)}
            </button>
          ))}
        </div>
      )}
    </section>
  );
}

function Lock({ text, unlock }: { text: string; unlock: () => void }): JSX.Element {
  return (
    <button type="button" class="key lock" onClick={unlock}>
      {text}
    </button>
  );
}

/** Keys of the keyboard, unless something is being typed elsewhere. */
export function usePadKeys(take: (event: KeyboardEvent) => boolean): void {
  useEffect(() => {
    const listen = (event: KeyboardEvent) => {
      if (event.defaultPrevented || event.ctrlKey || event.altKey || event.metaKey || isTyping(event)) return;
      if (event.key === 'Enter' && event.target instanceof HTMLElement && event.target.closest('button, a, summary')) return;
      if (document.querySelector('dialog[open]')) return;
      if (take(event)) event.preventDefault();
    };
    addEventListener('keydown', listen);
    return () => removeEventListener('keydown', listen);
  });
}

/** Single keys that do what a button does; not where they are switched off. Capitals and digits leave the tabs' keys free. */
export function useHotKeys(deeds: Record<string, () => void>): void {
  const now = useRef(deeds);
  now.current = deeds;
  usePadKeys((event) => {
    const deed = shortcuts.value ? now.current[event.key] : undefined;
    deed?.();
    return deed !== undefined;
  });
}

export const capitals = 'ABCDEFGHIJKLMNOPQRSTUVWXYZ';

/** The key of a button, beside it; for who has a keyboard. */
export function KeyHint({ name }: { name: string | undefined }): JSX.Element | null {
  return name && wide.value && shortcuts.value ? <kbd aria-hidden="true">{name}</kbd> : null;
}

export function isTyping(event: KeyboardEvent): boolean {
  const at = event.target;
  return at instanceof HTMLElement && at.closest('input, textarea, select') !== null;
}
