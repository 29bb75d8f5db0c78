// The whole strategy as a tree: each step with what may be seen and where that leads.
import type { JSX } from 'preact';
import type { Board } from '../api/board';
import { printOf } from '../api/board';
import type { Plan, PlanNode } from '../api/replies';
import { useAsk } from '../state/ask';
import { jobName } from '../state/job';
import { numbers, t, word } from '../text/text';
import { suspectText } from './card';
import { deedText } from './deeds';
import { Caution, Problems, Waiting } from './parts';

export function PlanView({ board }: { board: Board }): JSX.Element {
  const { reply } = useAsk<Plan>('plan', { job: jobName.value }, printOf(board));
  const got = reply.value;
  return (
    <section class="panel">
      <h2>{t('tab.plan')}</h2>
      {!got ? <Waiting what={t('plan.waiting')} /> : !got.ok ? <Problems list={got.diagnostics} /> : <PlanTree plan={got.result} />}
    </section>
  );
}

function PlanTree({ plan }: { plan: Plan }): JSX.Element {
  const time = numbers.value.minutes;
  return (
    <>
      <p>{t('plan.times', { expected: time(plan.expected_minutes), median: time(plan.median_minutes), most: time(plan.minutes_of_95) })}</p>
      <p class="small quiet">
        {plan.exact ? t('why.exact') : t('plan.bound', { time: time(plan.lower_bound_minutes) })}{' '}
        {plan.cut_chance > 0.005 ? t('plan.cut', { share: numbers.value.percent(plan.cut_chance) }) : ''}
      </p>
      <ul class="tree">
        <Node plan={plan} index={0} depth={0} />
      </ul>
    </>
  );
}

function Node({ plan, index, depth }: { plan: Plan; index: number; depth: number }): JSX.Element | null {
  const node = plan.nodes[index];
  if (!node) return null;
  if (node.kind === 'end') return <li class="leaf">{t('plan.end', { time: numbers.value.minutes(node.minutes_before) })}</li>;
  if (node.kind === 'cut') return <li class="leaf quiet">{t('plan.cut-here')}</li>;
  return (
    <li>
      <details open={depth < 2}>
        <summary>
          <span class="number quiet">{numbers.value.percent(node.chance)}</span> <strong>{node.kind === 'repair' ? t('plan.repair', { what: node.act ?? '' }) : node.act}</strong>{' '}
          <span class="number quiet">{numbers.value.minutes(node.minutes)}</span>
        </summary>
        <Before node={node} />
        <ul class="tree">
          {node.branches.map((branch) => (
            <li key={branch.node} class="branch">
              <p>
                <span class="number">{numbers.value.percent(branch.chance)}</span> {branchText(branch.seen)}
                {branch.then_likely ? <span class="quiet small"> → {suspectText(branch.then_likely)}</span> : null}
              </p>
              <ul class="tree">
                <Node plan={plan} index={branch.node} depth={depth + 1} />
              </ul>
            </li>
          ))}
        </ul>
      </details>
    </li>
  );
}

function branchText(seen: string): string {
  if (seen === 'mended') return t('plan.mended');
  if (seen === 'not mended') return t('plan.not-mended');
  return word(seen);
}

function Before({ node }: { node: PlanNode }): JSX.Element | null {
  if (node.first.length === 0 && node.cautions.length === 0) return null;
  return (
    <div class="inner">
      {node.first.length > 0 ? <p class="small">{t('card.first')}: {node.first.map(deedText).join(', ')}</p> : null}
      {node.cautions.map((one) => (
        <Caution key={one} text={one} />
      ))}
    </div>
  );
}
