// "I did something else": any reading at any two points, any code, value, lamp, act or repair.
import { useSignal, type Signal } from '@preact/signals';
import type { JSX } from 'preact';
import type { Board } from '../api/board';
import { spoken } from '../lib/entry';
import { facesOf, pointOf } from '../lib/names';
import { shapeOf } from '../lib/test_words';
import { draft } from '../state/drafts';
import { act, actAll, answer, jobName, sawAct } from '../state/job';
import { instruments, otherDraft, otherWhich, sections, type Instrument, type Which } from '../state/other';
import { goTab } from '../state/route';
import { t, word } from '../text/text';
import { ThingsDone } from './did';
import { FaceView } from './face';
import { AnswerPad, capitals, KeyHint, pressByKey, useHotKeys } from './keypad';
import { Mind } from './mind';
import { Button, Choice, Field, Section } from './parts';

export function OtherView({ board }: { board: Board }): JSX.Element {
  const which = otherWhich();
  const texts: Record<Which, string> = { measured: t('other.measured'), codes: t('other.codes'), seen: t('other.seen'), did: t('other.did') };
  return (
    <section class="panel">
      <h2>{t('tab.other')}</h2>
      <Choice label={t('tab.other')} options={sections.map((value) => ({ value, text: texts[value] }))} value={which.value} choose={(value) => (which.value = value)} />
      {which.value === 'measured' ? <Measured board={board} /> : null}
      {which.value === 'codes' ? <CodesSeen board={board} /> : null}
      {which.value === 'seen' ? <ThingsSeen board={board} /> : null}
      {which.value === 'did' ? <ThingsDone board={board} /> : null}
    </section>
  );
}

function Measured({ board }: { board: Board }): JSX.Element {
  const { instrument, red, black, test, value } = otherDraft();
  const busy = useSignal(false);
  const [named] = test.value.split(' ');
  const own = test.value !== '' && !instruments.includes(named as Instrument);
  if (test.value !== '' && !own) takeOver(test, instrument, red, black);
  const needsTwo = instrument.value !== 'clamp';
  const what = own ? test.value : needsTwo ? `${instrument.value} ${red.value} ${black.value}` : `clamp ${red.value}`;
  const ready = own || (red.value !== '' && (!needsTwo || black.value !== ''));
  const plugs = board.choices.plugs;
  const faces = own ? [] : facesOf({ red: pointOf(red.value, plugs), black: pointOf(black.value, plugs) }, plugs);
  const enter = async (shows: string, steps: string[]) => {
    const shape = shapeOf(what, board.choices);
    busy.value = true;
    if (await answer(what, shape.kind === 'number' ? spoken(shows, shape.unit) : shows, steps)) {
      for (const one of [red, black, test, value]) one.value = '';
      goTab('test');
    }
    busy.value = false;
  };
  const wires = board.drawing.wires.map((wire) => wire.name).filter(Boolean);
  return (
    <>
      <p class="small quiet">{t('other.state')}</p>
      {own ? (
        <p>
          <strong>{test.value}</strong>{' '}
          <Button kind="quiet" press={() => (test.value = '')}>
            {t('do.clear')}
          </Button>
        </p>
      ) : (
        <>
          <Choice label={t('other.instrument')} options={instruments.filter((one) => board.choices.kit.scope || !['highest', 'lowest'].includes(one)).map((one) => ({ value: one, text: t(`with.${one}`) }))} value={instrument.value} choose={(one) => (instrument.value = one)} />
          <div class="row end">
            <Field id="other-red" label={needsTwo ? t('card.red') : t('card.around')} value={red.value} change={(text) => (red.value = text)} list={needsTwo ? board.choices.points : wires} />
            {needsTwo ? <Field id="other-black" label={t('card.black')} value={black.value} change={(text) => (black.value = text)} list={board.choices.points} /> : null}
          </div>
          <div class="row">
            <Button press={() => goTab('drawing')}>{t('other.pick')}</Button>
            {needsTwo ? (
              <Button kind="quiet" press={() => ([red.value, black.value] = [black.value, red.value])}>
                {t('other.swap')}
              </Button>
            ) : null}
          </div>
        </>
      )}
      <div class="faces">
        {faces.map((one) => (
          <FaceView key={`${one.plug.name} ${one.side}`} {...one} />
        ))}
      </div>
      {ready ? (
        <Mind board={board} of={{ test: what }}>
          {({ locked, unlock, steps }) => <AnswerPad shape={shapeOf(what, board.choices)} text={value} busy={busy.value} locked={locked} unlock={unlock} enter={(shows) => void enter(shows, steps)} meaning="" />}
        </Mind>
      ) : (
        <p class="quiet">{t('other.two-points')}</p>
      )}
    </>
  );
}

/** A test named elsewhere (`volts A B`) becomes the choice made here. */
function takeOver(test: Signal<string>, instrument: Signal<Instrument>, red: Signal<string>, black: Signal<string>): void {
  const [kind, ...points] = test.value.split(' ');
  if (points.length > 2) return;
  test.value = '';
  instrument.value = kind as Instrument;
  red.value = points[0] ?? '';
  black.value = points[1] ?? '';
}

const codeWords = ['active', 'past', 'absent'] as const;

function CodesSeen({ board }: { board: Board }): JSX.Element {
  const codes = board.choices.codes;
  const how = draft<'one' | 'list'>(`${jobName.value}:other:how-codes`, codes.length > 6 ? 'list' : 'one');
  const text = draft(`${jobName.value}:other:code`, '');
  const filter = draft(`${jobName.value}:other:code-filter`, '');
  const wanted = codes.filter((code) => `${code.module} ${code.name} ${code.text}`.toLowerCase().includes(filter.value.toLowerCase()));
  const enterOther = async (shows: string) => {
    if (text.value.trim() !== '' && (await act('saw', { what: `code ${text.value.trim()}`, shows }))) text.value = '';
  };
  return (
    <>
      {codes.length > 1 ? (
        <Choice label={t('other.how-codes')} options={[{ value: 'one', text: t('other.one-by-one') }, { value: 'list', text: t('other.whole-lists') }]} value={how.value} choose={(value) => (how.value = value)} />
      ) : null}
      {codes.length > 8 ? <Field id="code-filter" label={t('other.find')} value={filter.value} change={(one) => (filter.value = one)} mode="search" /> : null}
      {how.value === 'one' ? <CodesOneByOne board={board} codes={wanted} /> : <ModuleLists board={board} codes={wanted} />}
      <Section title={t('other.other-code')}>
        <Field id="other-code" label={t('other.other-code')} hint={t('other.other-code-hint')} value={text.value} change={(one) => (text.value = one)} />
        <div class="row">
          {codeWords.map((one) => (
            <Button key={one} press={() => void enterOther(one)}>
              {word(one)}
            </Button>
          ))}
        </div>
      </Section>
    </>
  );
}

type Code = Board['choices']['codes'][number];

function CodesOneByOne({ board, codes }: { board: Board; codes: Code[] }): JSX.Element {
  const state = latestOf(board, 'code ');
  useHotKeys(Object.fromEntries(codes.slice(0, capitals.length).map((code, i) => [capitals[i]!, () => pressByKey(`[data-said="code ${code.name} active"]`)])));
  return (
    <ul class="plain-list choices">
      {codes.map((code, i) => (
        <li key={`${code.module} ${code.name}`}>
          <span>
            <KeyHint name={capitals[i]} /> <CodeName code={code} module />
          </span>
          <Words keys={{ active: capitals[i] }} what={`code ${code.name}`} words={codeWords} now={state.get(`code ${code.name}`)} name={code.name} />
        </li>
      ))}
    </ul>
  );
}

/** `module`: where its list does not say whose it is, unless the name does. */
function CodeName({ code, module = false }: { code: Code; module?: boolean }): JSX.Element {
  return (
    <span>
      {module && !code.name.startsWith(`${code.module} `) ? <span class="code-module">{code.module} </span> : null}
      <strong>{code.name}</strong> <span class="small quiet">{code.text}</span>
    </span>
  );
}

/** The whole list of each module: what is there is tapped, all else it can set counts as absent; one entry a module. */
function ModuleLists({ board, codes }: { board: Board; codes: Code[] }): JSX.Element {
  const state = latestOf(board, '');
  const lists = board.choices.modules.map((module) => ({ module: module.name, there: listDraft(module.name) }));
  const told = lists.filter((one) => Object.keys(one.there.value).length > 0);
  // Marked by key, and entered with the lists: a single key enters nothing.
  const marked = draft<string[]>(`${jobName.value}:other:silent`, noneMarked);
  const isSilent = (module: string) => state.get(`module ${module}`) === 'silent' || marked.value.includes(module);
  const mark = (module: string) => (marked.value = marked.value.includes(module) ? marked.value.filter((one) => one !== module) : [...marked.value, module]);
  const rest = lists.filter((one) => !told.includes(one) && !isSilent(one.module) && !state.has(`list ${one.module}`));
  const enter = async (which: typeof lists) => {
    const acts = [...marked.value.map((module) => sawAct(`module ${module}`, 'silent')), ...which.map((one) => sawAct(`list ${one.module}`, listText(one.there.value)))];
    if (!(await actAll(acts))) return;
    marked.value = noneMarked;
    for (const one of which) one.there.value = nothingTold;
  };
  const shared = sharedCodes(board.choices.codes.filter((code) => !isSilent(code.module)));
  useHotKeys({
    ...Object.fromEntries(shared.slice(0, capitals.length).map((one, i) => [capitals[i]!, () => setEverywhere(one)])),
    ...Object.fromEntries(lists.slice(0, 9).map(({ module }, i) => [String(i + 1), () => mark(module)])),
    l: () => pressByKey('[data-said="all lists"]'),
    L: () => pressByKey('[data-said="all lists and the rest"]'),
  });
  return (
    <>
      <p class="small quiet">{t('other.module-list-text')}</p>
      {told.length + marked.value.length > 0 ? (
        <div class="row">
          <Button kind="main" said="all lists" keys="l" press={() => void enter(told)}>
            {told.length > 0 ? t('other.enter-all', { n: told.length }) : ''} {marked.value.length > 0 ? t('other.enter-silent', { modules: marked.value.join(', ') }) : ''} <KeyHint name="l" />
          </Button>
          {rest.length > 0 ? (
            <Button said="all lists and the rest" keys="Shift+L" press={() => void enter([...told, ...rest])}>
              {t('other.enter-rest', { modules: rest.map((one) => one.module).join(', ') })} <KeyHint name="L" />
            </Button>
          ) : null}
        </div>
      ) : null}
      {shared.length > 0 ? (
        <section class="module-list" aria-label={t('other.shared')}>
          <h3>{t('other.shared')}</h3>
          <ul class="plain-list choices">
            {shared.map((one, i) => (
              <li key={one.base}>
                <span>
                  <KeyHint name={capitals[i]} /> <strong>{one.base}</strong> <span class="small quiet">{one.codes.map((code) => code.module).join(', ')}</span>
                </span>
                <Button said={`everywhere ${one.base}`} keys={shiftOf(capitals[i])} pressed={isEverywhere(one)} press={() => setEverywhere(one)}>
                  {t('other.everywhere', { n: one.codes.length })}
                </Button>
              </li>
            ))}
          </ul>
        </section>
      ) : null}
      {board.choices.modules.map((module, i) => (
        <section key={module.name} class="module-list" aria-label={module.name}>
          <div class="row spread">
            <h3>
              {module.name} <KeyHint name={i < 9 ? String(i + 1) : undefined} />
            </h3>
            <Words keys={{ silent: i < 9 ? String(i + 1) : undefined }} what={`module ${module.name}`} words={['answers', 'silent']} now={marked.value.includes(module.name) ? 'silent' : state.get(`module ${module.name}`)} name={module.name} />
          </div>
          <ModuleList module={module.name} codes={codes.filter((code) => code.module === module.name)} told={state.get(`list ${module.name}`)} />
        </section>
      ))}
    </>
  );
}

interface SharedCode {
  base: string;
  codes: Code[];
}

/** Codes that several modules can set, as when each of them misses the same message; the module's name is left out. */
function sharedCodes(codes: Code[]): SharedCode[] {
  const groups = new Map<string, Code[]>();
  for (const code of codes) {
    const base = code.name.startsWith(`${code.module} `) ? code.name.slice(code.module.length + 1) : code.name;
    groups.set(base, [...(groups.get(base) ?? []), code]);
  }
  return [...groups].filter(([, all]) => all.length > 1).map(([base, all]) => ({ base, codes: all }));
}

function isEverywhere({ codes }: SharedCode): boolean {
  return codes.every((code) => listDraft(code.module).value[code.name] === 'active');
}

/** Active in each list, or, when it is already, in none. */
function setEverywhere(shared: SharedCode): void {
  const on = !isEverywhere(shared);
  for (const code of shared.codes) {
    const told = listDraft(code.module);
    const { [code.name]: _, ...others } = told.value;
    told.value = on ? { ...others, [code.name]: 'active' } : others;
  }
}

const noneMarked: string[] = [];

type ListTold = Record<string, 'active' | 'past'>;
const nothingTold: ListTold = {};

function listDraft(module: string): Signal<ListTold> {
  return draft(`${jobName.value}:other:list:${module}`, nothingTold);
}

/** As `saw list` takes it. */
function listText(told: ListTold): string {
  const names = Object.keys(told);
  return names.length === 0 ? 'none' : names.map((name) => (told[name] === 'past' ? `${name} past` : name)).join(', ');
}

function ModuleList({ module, codes, told }: { module: string; codes: Code[]; told: string | undefined }): JSX.Element {
  const there = listDraft(module);
  const names = Object.keys(there.value);
  const set = (name: string, as: 'active' | 'past') => {
    const { [name]: before, ...others } = there.value;
    there.value = before === as ? others : { ...others, [name]: as };
  };
  const enter = async () => {
    if (await act('saw', { what: `list ${module}`, shows: listText(there.value) })) there.value = nothingTold;
  };
  return (
    <>
      <ul class="plain-list choices">
        {codes.map((code) => (
          <li key={code.name}>
            <CodeName code={code} />
            <span class="choice" role="group" aria-label={code.name}>
              {(['active', 'past'] as const).map((one) => (
                <Button key={one} said={`${module} ${code.name} ${one}`} pressed={there.value[code.name] === one} press={() => set(code.name, one)}>
                  {word(one)}
                </Button>
              ))}
            </span>
          </li>
        ))}
      </ul>
      <div class="row">
        <Button said={`list ${module}`} press={() => void enter()}>
          {names.length === 0 ? t('other.no-codes', { module }) : t('other.enter-list', { n: names.length, module })}
        </Button>
        {told !== undefined ? <span class="small quiet">{t('other.told', { what: told })}</span> : null}
      </div>
    </>
  );
}

/** What was seen last of each, by its words. */
function latestOf(board: Board, begins: string): Map<string, string> {
  const state = new Map<string, string>();
  for (const entry of board.job.entries) if (!entry.struck && entry.verb === 'saw' && entry.what.startsWith(begins)) state.set(entry.what, entry.shows);
  return state;
}

function Words(props: { what: string; words: readonly string[]; now: string | undefined; name: string; keys?: Record<string, string | undefined>; enter?: (shows: string) => void }): JSX.Element {
  const { what, words, now, name, keys } = props;
  const enter = props.enter ?? ((shows: string) => void act('saw', { what, shows }));
  return (
    <span class="choice" role="group" aria-label={name}>
      {words.map((one) => (
        <Button key={one} said={`${what} ${one}`} keys={shiftOf(keys?.[one])} pressed={now === one} press={() => enter(one)}>
          {word(one)}
        </Button>
      ))}
    </span>
  );
}

/** As `aria-keyshortcuts` wants it. */
function shiftOf(key: string | undefined): string | undefined {
  return key !== undefined && /^[A-Z]$/.test(key) ? `Shift+${key}` : key;
}

function ThingsSeen({ board }: { board: Board }): JSX.Element {
  const { test } = otherDraft();
  const state = latestOf(board, '');
  const live = (name: string) => {
    test.value = `live ${name}`;
    otherWhich().value = 'measured';
  };
  return (
    <ul class="plain-list choices">
      {board.choices.lives.map((one) => (
        <li key={one.name}>
          <span>
            <strong>{one.name}</strong> <span class="small quiet">{one.module} {state.get(`live ${one.name}`) ?? ''} {one.unit}</span>
          </span>
          <Button press={() => live(one.name)}>{t('other.type-value')}</Button>
        </li>
      ))}
      {board.choices.looks.map((one) => (
        <li key={one.name}>
          <span>
            <strong>{one.name}</strong> <span class="small quiet">{one.kind}</span>
          </span>
          <Words what={`look ${one.name}`} words={one.lamp ? ['bright', 'dim', 'dark'] : ['works', 'weak', 'dead']} now={state.get(`look ${one.name}`)} name={one.name} />
        </li>
      ))}
      {board.choices.modules.map((one) => (
        <li key={one.name}>
          <span>
            <strong>{one.name}</strong> <span class="small quiet">{t('other.module')}</span>
          </span>
          <Words what={`module ${one.name}`} words={['answers', 'silent']} now={state.get(`module ${one.name}`)} name={one.name} />
        </li>
      ))}
      <Moved board={board} />
    </ul>
  );
}

function Moved({ board }: { board: Board }): JSX.Element {
  const what = draft(`${jobName.value}:other:moved`, '');
  const how = draft<'wiggle' | 'heat' | 'cool' | 'inspect'>(`${jobName.value}:other:how`, 'wiggle');
  const eyes = how.value === 'inspect';
  const test = `${how.value} ${what.value.trim()}`;
  const words = eyes ? ['marked', 'clean'] : ['changes', 'steady'];
  const wires = board.drawing.wires.map((one) => one.name);
  const names = [...new Set([...board.choices.plugs.map((one) => one.name), ...wires, ...board.drawing.boxes.map((one) => one.name)])].filter(Boolean);
  return (
    <li class="column">
      <Choice label={t('other.moved')} options={(['wiggle', 'heat', 'cool', 'inspect'] as const).map((value) => ({ value, text: t(`with.${value}`) }))} value={how.value} choose={(value) => (how.value = value)} />
      <div class="row end">
        <Field id="moved" label={t('other.moved')} value={what.value} change={(text) => (what.value = text)} list={eyes ? [...board.choices.points, ...wires] : names} />
      </div>
      {what.value.trim() === '' ? null : (
        <Mind board={board} of={{ test }}>
          {({ locked, unlock, steps }) =>
            locked === null ? (
              <Words what={test} words={words} now={undefined} name={t('other.moved')} enter={(shows) => void answer(test, shows, steps)} />
            ) : (
              <Button press={unlock}>{locked}</Button>
            )
          }
        </Mind>
      )}
    </li>
  );
}
