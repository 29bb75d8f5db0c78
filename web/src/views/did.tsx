// What was done: setups, plugs, repairs, what was fitted or swapped, anything else. What is to be minded stands above the
// button that enters it.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import type { Board } from '../api/board';
import { draft } from '../state/drafts';
import { actAll, didAct, jobName, problems } from '../state/job';
import { numbers, t } from '../text/text';
import { deedText } from './deeds';
import { askMind, Mind, MindedText, type Minded } from './mind';
import { Button, Caution, Choice, Field } from './parts';

export function ThingsDone({ board }: { board: Board }): JSX.Element {
  const plugs = board.choices.plugs.filter((one) => one.pluggable);
  return (
    <>
      <ul class="plain-list choices">
        {board.choices.setups.map((one) => (
          <Deed key={one.name} text={one.name} minutes={one.done ? one.undo_minutes : one.minutes} caution={one.done ? '' : one.caution ?? ''} did={one.done ? one.undo_name : one.name} />
        ))}
        {plugs.map((one) => (
          <Deed key={`plug ${one.name}`} text={one.name} minutes={one.apart ? one.plug_minutes : one.unplug_minutes} caution={one.apart ? '' : one.caution ?? ''} did={`${one.apart ? 'plug' : 'unplug'} ${one.name}`} />
        ))}
      </ul>
      <Fitted board={board} />
      <h3>{t('other.repaired')}</h3>
      <ul class="plain-list choices">
        {board.suspects.groups.filter((one) => one.repair !== 'not on this drawing').slice(0, 6).map((one) => (
          <Deed key={one.repair} text={one.repair} caution="" did={`repaired ${one.repair}`} button={t('card.repaired')} />
        ))}
      </ul>
      <InWords board={board} />
    </>
  );
}

/** One thing to be done. What has to be minded beyond the caution that stands here already comes before it is entered. */
function Deed({ text, minutes, caution, did, button = deedText(did) }: { text: string; minutes?: number; caution: string; did: string; button?: string }): JSX.Element {
  const minded = useSignal<Minded | null>(null);
  const busy = useSignal(false);
  const enter = async (steps: string[]) => {
    minded.value = null;
    await actAll([...steps.map(didAct), didAct(did)]);
  };
  const press = async () => {
    if (busy.value) return;
    busy.value = true;
    const reply = await askMind({ act: did });
    if (!reply.ok) problems.value = reply.diagnostics;
    else if (reply.result.refused !== undefined || reply.result.steps.length > 0 || reply.result.cautions.some((one) => one !== caution)) minded.value = reply.result;
    else await enter([]);
    busy.value = false;
  };
  const told = minded.value;
  return (
    <li class={told ? 'column' : ''}>
      <span>
        <strong>{text}</strong> {minutes === undefined ? null : <span class="quiet number small">{numbers.value.minutes(minutes)}</span>}
        {caution && !told ? <Caution text={caution} /> : null}
      </span>
      {told ? (
        <div class="stack minded">
          <MindedText minded={told} />
          <div class="row">
            {told.refused === undefined ? (
              <Button kind="main" said={`confirm ${did}`} press={() => void enter(told.steps.map((step) => step.act))}>
                {t('mind.do', { what: deedText(did) })}
              </Button>
            ) : null}
            <Button kind="quiet" press={() => (minded.value = null)}>
              {t('mind.not')}
            </Button>
          </div>
        </div>
      ) : (
        <Button said={did} press={() => void press()}>
          {button}
        </Button>
      )}
    </li>
  );
}

/** The button of something that was told in fields or words, under what is to be minded of it. */
function MindedButton({ board, did, done }: { board: Board; did: string; done: () => void }): JSX.Element {
  const enter = async (steps: string[]) => {
    if (await actAll([...steps.map(didAct), didAct(did)])) done();
  };
  return (
    <Mind board={board} of={{ act: did }}>
      {({ locked, unlock, steps }) => (
        <Button kind="main" said={`confirm ${did}`} press={() => (locked === null ? void enter(steps) : unlock())}>
          {locked ?? t('mind.do', { what: deedText(did) })}
        </Button>
      )}
    </Mind>
  );
}

const fittings = ['resistor', 'lead', 'swap'] as const;
type Fitting = (typeof fittings)[number];

function Fitted({ board }: { board: Board }): JSX.Element {
  const job = jobName.value;
  const how = draft<Fitting>(`${job}:other:fit`, 'resistor');
  const ohms = draft(`${job}:other:fit-ohms`, '');
  const a = draft(`${job}:other:fit-a`, '');
  const b = draft(`${job}:other:fit-b`, '');
  const part = draft(`${job}:other:fit-part`, '');
  const texts: Record<Fitting, string> = { resistor: t('other.fit-resistor'), lead: t('other.fit-lead'), swap: t('other.fit-swap') };
  const parts = board.drawing.boxes.filter((one) => one.kind === 'part' || one.kind === 'module').map((one) => one.name);
  const told = [a, b, ...(how.value === 'resistor' ? [ohms] : [])].every((one) => one.value.trim() !== '');
  const points = `${a.value.trim()} ${b.value.trim()}`;
  const did = how.value === 'swap' ? (part.value.trim() === '' ? '' : `swap ${part.value.trim()}`) : told ? `fit ${how.value === 'lead' ? 'lead' : ohms.value.trim()} at ${points}` : '';
  const clear = () => {
    for (const one of [ohms, a, b, part]) one.value = '';
  };
  return (
    <section class="stack">
      <h3>{t('other.fitted')}</h3>
      <Choice label={t('other.fitted')} options={fittings.map((value) => ({ value, text: texts[value] }))} value={how.value} choose={(value) => (how.value = value)} />
      {how.value === 'swap' ? (
        <Field id="swap-part" label={t('other.which-part')} value={part.value} change={(text) => (part.value = text)} list={[...new Set(parts)]} />
      ) : (
        <div class="row end">
          {how.value === 'resistor' ? <Field id="fit-ohms" label={t('other.ohms')} value={ohms.value} change={(text) => (ohms.value = text)} list={board.choices.kit.resistors} /> : null}
          <Field id="fit-a" label={t('other.between')} value={a.value} change={(text) => (a.value = text)} list={board.choices.points} />
          <Field id="fit-b" label={t('other.and')} value={b.value} change={(text) => (b.value = text)} list={board.choices.points} />
        </div>
      )}
      {did === '' ? null : <MindedButton board={board} did={did} done={clear} />}
    </section>
  );
}

function InWords({ board }: { board: Board }): JSX.Element {
  const text = draft(`${jobName.value}:other:did`, '');
  const did = text.value.trim();
  return (
    <>
      <Field id="did" label={t('other.did-text')} hint={t('other.did-hint')} value={text.value} change={(one) => (text.value = one)} />
      {did === '' ? null : <MindedButton board={board} did={did} done={() => (text.value = '')} />}
    </>
  );
}
