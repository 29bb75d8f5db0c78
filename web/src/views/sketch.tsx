// The two-minute sketch: a template, a few answers with the usual shown, or a path hop by hop; drawn as one types.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { useEffect, useMemo, useRef } from 'preact/hooks';
import type { Diagnostic, Question, Template } from '../api/replies';
import { answersOf, draftKeyOf, isBegun, setAnswer, sketchKept, type Answers } from '../state/begun';
import { writeRoute } from '../lib/route';
import { wide } from '../state/screen';
import { isDark } from '../state/settings';
import { isSound, keep, looked, looking, readTemplates, templateProblems, templates, tryOut } from '../state/sketch';
import { t, tell, language, type MessageKey } from '../text/text';
import { en } from '../text/en';
import { BegunSketches, templateTitle, ThrowAway, Thrown } from './begun';
import { ComplaintForm } from './open';
import { Button, Field, Problems, Section, Waiting } from './parts';
import { PathField } from './path';

export function SketchView({ template, begun }: { template: string | undefined; begun: string | undefined }): JSX.Element {
  useEffect(() => void readTemplates(), []);
  if (!templates.value)
    return (
      <main class="page" id="main" tabIndex={-1}>
        <Waiting what={t('start.reading')} />
      </main>
    );
  const one = templates.value.find((other) => other.name === template);
  return one && begun ? <SketchForm key={begun} template={one} name={begun} /> : <Cards />;
}

/** Texts of the program in the language of the screen where the catalogue has them. */
function translated(key: string, text: string): string {
  return key in en ? tell(language.value, key as MessageKey) : text.charAt(0).toUpperCase() + text.slice(1);
}

function Cards(): JSX.Element {
  return (
    <main class="page" id="main" tabIndex={-1}>
      <h1>{t('sketch.title')}</h1>
      <p class="quiet">{t('sketch.text')}</p>
      <Problems list={templateProblems.value} />
      <Thrown />
      <BegunSketches />
      <ul class="cards">
        {(templates.value ?? []).map((one) => (
          <li key={one.name}>
            <a class="line" href={writeRoute({ view: 'sketch', template: one.name })} id={`template-${one.name}`}>
              <strong>{templateTitle(one.name)}</strong>
              <span class="small">{translated(`template-use.${one.name}`, one.use ?? one.summary)}</span>
            </a>
          </li>
        ))}
      </ul>
    </main>
  );
}

const pathQuestion = 'path';

function SketchForm({ template, name }: { template: Template; name: string }): JSX.Element {
  const answers = answersOf(name);
  const set = (question: string, text: string) => setAnswer(name, question, text);
  const shown = template.questions.filter((one) => !one.only_with || (answers.value[one.only_with] ?? '') !== '');
  const first = shown.filter((one) => one.required || isUsual(template, one));
  const rest = shown.filter((one) => !first.includes(one));
  const ready = template.questions.every((one) => !one.required || (answers.value[one.name] ?? '').trim() !== '' || one.fallback);
  const print = JSON.stringify(answers.value);
  useEffect(() => {
    if (!ready) {
      looked.value = null;
      return undefined;
    }
    const timer = setTimeout(() => void tryOut(template.name, withUsual(template, answers.value), isDark()), 250);
    return () => clearTimeout(timer);
  }, [print, ready]);
  const wrong = useSignal<Diagnostic[]>([]);
  const shelved = useRef<{ print: string; loom: string } | null>(null);
  const make = async () => {
    // Kept already, and only the job did not open: not kept twice.
    if (shelved.current?.print === print) return shelved.current.loom;
    const reply = await keep(template.name, withUsual(template, answers.value));
    wrong.value = reply.ok ? [] : reply.diagnostics;
    if (!reply.ok) return null;
    shelved.current = { print, loom: reply.result.file };
    return reply.result.file;
  };
  const problems = ready ? looked.value?.problems ?? [] : [];
  const placed = new Set(shown.flatMap((one) => problems.filter((problem) => isAbout(problem, one))));
  const fieldOf = (one: Question, focus: boolean) => (
    <QuestionField key={one.name} sketch={name} template={template} question={one} value={answers.value[one.name] ?? ''} change={(text) => set(one.name, text)} problem={problems.find((problem) => isAbout(problem, one))} focus={focus} />
  );
  return (
    <main class="page sketch" id="main" tabIndex={-1}>
      <div class="sketch-form">
        <div class="row spread">
          <a class="button quiet" href="#/sketch">
            {t('sketch.others')}
          </a>
          <Thrown />
          {isBegun(name) ? <ThrowAway name={name} /> : null}
        </div>
        <h1>{templateTitle(template.name)}</h1>
        {first.map((one, i) => fieldOf(one, i === 0))}
        <Section level={2} title={t('sketch.more')} note={t('sketch.more-note')}>
          {rest.map((one) => fieldOf(one, false))}
        </Section>
        {wide.value ? null : <Look />}
        <Problems list={[...problems.filter((one) => !placed.has(one)), ...wrong.value]} />
        <h2>{t('sketch.then')}</h2>
        <ComplaintForm loom={make} draftKey={`${draftKeyOf(name)}:open`} kept="browser" opened={() => sketchKept(name)} disabled={!ready || (looked.value !== null && !isSound.value)} />
      </div>
      {wide.value ? (
        <div class="sketch-look">
          <Look />
        </div>
      ) : null}
    </main>
  );
}

/** Asked up front although not needed: what most of the fault lies in. */
function isUsual(template: Template, question: Question): boolean {
  return ['plugs', 'codes', 'code-high', 'relay', 'pins', 'metals'].includes(question.name) || template.questions.length < 6;
}

function withUsual(template: Template, answers: Answers): Answers {
  const all = { ...answers };
  for (const one of template.questions) if (one.required && (all[one.name] ?? '').trim() === '' && one.fallback) all[one.name] = one.fallback;
  return all;
}

function isAbout(problem: Diagnostic, question: Question): boolean {
  return problem.message.startsWith(`${question.name}:`) || problem.message.startsWith(`${question.name} `) || problem.message.includes(`--${question.name} `);
}

function QuestionField(props: { sketch: string; template: Template; question: Question; value: string; change: (text: string) => void; problem: Diagnostic | undefined; focus: boolean }): JSX.Element {
  const { question, value } = props;
  const own = `ask.${props.template.name}.${question.name}`;
  const label = translated(own in en ? own : `ask.${question.name}`, question.asks);
  const usual = question.fallback ? t('sketch.usual', { what: question.fallback }) : question.list ? t('sketch.several') : '';
  if (question.name === pathQuestion) return <PathField sketch={props.sketch} label={label} value={value} change={props.change} problem={props.problem} />;
  const choices = question.choices ?? (question.kind === 'yes-no' ? ['yes', 'no'] : undefined);
  if (choices)
    return (
      <div class="field">
        <span id={`ask-${question.name}`}>{label}</span>
        <div class="choice" role="group" aria-labelledby={`ask-${question.name}`}>
          {choices.map((one) => (
            <Button key={one} pressed={(value || question.fallback) === one} press={() => props.change(one)}>
              {one === 'yes' ? t('do.yes') : one === 'no' ? t('do.no') : one}
            </Button>
          ))}
        </div>
      </div>
    );
  const guess = question.required && value === '' ? guessOf(question) : '';
  return (
    <div class="guessed">
      <Field
        id={`ask-${question.name}`}
        label={label}
        value={value}
        change={props.change}
        placeholder={question.fallback || (question.example ? t('sketch.example', { what: question.example }) : '')}
        required={question.required}
        error={props.problem?.message}
        hint={usual}
        focus={props.focus}
        enter={() => {
          if (value === '' && guess) props.change(guess);
          focusNext(`ask-${question.name}`);
        }}
      />
      {guess ? (
        <Button press={() => props.change(guess)} label={t('sketch.take', { what: guess })}>
          {guess}
        </Button>
      ) : null}
    </div>
  );
}

const usualNames: Record<string, string> = { module: 'ECU', sensor: 'B1', load: 'E1', nodes: 'VCU, DSP, BC1, BC2', curve: '-40=50k, 20=2500, 120=120', alternator: 'GEN' };

function guessOf(question: Question): string {
  return question.fallback || usualNames[question.name] || (question.example ?? '').replace(/ @ [^,;]*/g, '');
}

function focusNext(id: string): void {
  const fields = [...document.querySelectorAll<HTMLElement>('.sketch-form input:not([type=checkbox])')].filter((one) => one.offsetParent !== null);
  fields[fields.findIndex((one) => one.id === id) + 1]?.focus();
}

function Look(): JSX.Element {
  const now = looked.value;
  const address = useMemo(() => (now?.svg ? URL.createObjectURL(new Blob([now.svg], { type: 'image/svg+xml' })) : null), [now?.svg]);
  useEffect(() => () => (address ? URL.revokeObjectURL(address) : undefined), [address]);
  if (!now) return <p class="quiet empty">{looking.value ? t('sketch.looking') : t('sketch.empty')}</p>;
  return (
    <>
      {address ? (
        <div class="sketch-picture" tabIndex={0} role="region" aria-label={t('tab.drawing')}>
          <img src={address} alt={t('sketch.picture', { name: now.name })} />
        </div>
      ) : null}
      {now.assumed.length > 0 ? (
        <Section level={2} title={t('sketch.assumed')} note={t('sketch.assumed-note')}>
          <ul>
            {now.assumed.map((one) => (
              <li key={one}>{one}</li>
            ))}
          </ul>
        </Section>
      ) : null}
    </>
  );
}
