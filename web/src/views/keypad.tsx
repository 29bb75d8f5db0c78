// The reading: big keys for a gloved thumb, the same by keyboard. Words are buttons of their own.
import { useSignal, type Signal } from '@preact/signals';
import type { JSX } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import { begins, press, typed, type Key } from '../lib/entry';
import { readingOf, tellsUnit, type Reading } from '../lib/reading';
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
  const state = () => (none !== undefined && text.value === none ? 'whole' : readingOf(text.value, unit).is);
  const whole = state() === 'whole';
  const asked = useSignal(false);
  const wrong = wrongText(state(), asked.value, unit);
  // Asked anew: Enter may follow the last digit before the screen was drawn again.
  const submit = () => {
    asked.value = text.value !== '' && state() !== 'whole';
    if (state() === 'whole' && !busy && !locked) enter(text.value);
  };
  const type = (key: Key) => {
    asked.value = false;
    text.value = press(text.value === none ? '' : text.value, key);
  };
  // Before every other key: of a reading that is begun no letter is a shortcut.
  usePadKeys((event) => {
    if (event.key === 'Enter') {
      if (locked) unlock();
      else submit();
      return true;
    }
    const begun = text.value !== '' && (event.key.length === 1 || ['Backspace', 'Delete', 'Escape'].includes(event.key));
    if (!begun && !begins(event.key)) return false;
    if (locked) {
      unlock();
      return true;
    }
    asked.value = false;
    const now = typed(text.value === none ? '' : text.value, event.key);
    text.value = now === 'OL' && none !== undefined ? none : now;
    return true;
  }, true);
  return (
    <section class="pad" aria-label={t('pad.label')}>
      <div class="pad-line">
        <div class="pad-shown">
          <output class="pad-value" aria-live="polite" aria-label={t('pad.reading')}>
            {text.value === '' ? <span class="quiet">{t('pad.empty')}</span> : text.value}
            {text.value !== none && !tellsUnit(text.value) ? <span class="pad-unit"> {unitSign(unit)}</span> : null}
          </output>
          <span class="small quiet pad-meaning" role="status">
            {wrong ? <strong class="error">{wrong}</strong> : meaning}
          </span>
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

/** Why it is no reading, in a word; what is only begun is asked for more when Enter was pressed. */
function wrongText(state: Reading['is'], asked: boolean, unit: string): string {
  if (state === 'wrong-unit') return t('pad.wrong-unit', { unit: unitSign(unit) });
  return state === 'no-number' || (state === 'begun' && asked) ? t('pad.no-number') : '';
}

function nameOf(key: Key): string | undefined {
  return key in faces ? t(`key.${key}` as MessageKey & 'key.back') : undefined;
}

function WordPad({ words, busy, locked, unlock, enter }: Props & { words: string[] }): JSX.Element {
  usePadKeys((event) => {
    const which = words[Number(event.key) - 1];
    if (which === undefined) return false;
    if (locked) unlock();
    else pressByKey(`.key.word[data-word="${which}"]`);
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

/** Keys of the keyboard, unless something is being typed elsewhere. `first`: before all others that listen. */
export function usePadKeys(take: (event: KeyboardEvent) => boolean, first = false): void {
  useEffect(() => {
    const listen = (event: KeyboardEvent) => {
      if (event.defaultPrevented || event.ctrlKey || event.altKey || event.metaKey || isTyping(event)) return;
      if (event.key === 'Enter' && event.target instanceof HTMLElement && event.target.closest('button, a, summary')) return;
      if (document.querySelector('dialog[open]')) return;
      if (take(event)) event.preventDefault();
    };
    addEventListener('keydown', listen, first);
    return () => removeEventListener('keydown', listen, first);
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

/** A view was gone to by a single key, and nothing was pressed there since. */
let jumped = false;

export function startJumps(): void {
  addEventListener('pointerdown', () => (jumped = false), true);
  addEventListener('keydown', (event) => (jumped = jumped && event.key !== 'Enter' && event.key !== 'Tab'), true);
}

export function jump(go: () => void): void {
  go();
  jumped = true;
}

/** Presses the button of a key. After a jump it only goes there, and Enter presses it: so no slip of a finger is evidence. */
export function pressByKey(selector: string): void {
  const button = document.querySelector<HTMLElement>(selector);
  if (jumped) button?.focus();
  else button?.click();
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
