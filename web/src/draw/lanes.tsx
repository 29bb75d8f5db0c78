// A recording over time as a tree of SVG: a pure function of what `capture` told, the stretch of time that is looked at,
// the width, and what is chosen. A lane for each sender, heavier the busier, broken where it is silent; silences of one
// moment joined by a line with the number of their group. Below: codes, error frames, supply, load. No events: the view
// around it asks `hitAt` what a place means.
import type { JSX } from 'preact';
import { keyOf, type Captured, type Heard, type Load, type Quiet, type SenderKey } from '../api/recording';
import { momentText, ticksOf, type Span } from './span';

export type Chosen =
  | { kind: 'event'; group: number; event: number }
  | { kind: 'sender'; key: string }
  | { kind: 'code'; code: number };

export interface LanesWish {
  captured: Captured;
  span: Span;
  width: number;
  /** Of a sender, at most so long as fits. */
  label: (sender: SenderKey) => string;
  chosen: Chosen | null;
  words: { supply: string; load: string; errors: string };
}

interface Row {
  kind: 'lane' | 'code' | 'errors' | 'supply' | 'load';
  y: number;
  height: number;
  index: number;
}

export interface Layout {
  left: number;
  plot: number;
  top: number;
  rows: Row[];
  height: number;
}

const head = 26;
const laneHeight = 26;
const curveHeight = 58;
const foot = 28;
const leastGap = 4; // pixels: shorter silences are still seen
const reach = 26; // pixels from a tap to the silence it means
const mostLanes = 60;
const mostCodes = 12;

/** Senders that get a lane: all, or those that were silent and the busiest; in the order of the recording. */
export function lanesOf(captured: Captured): Heard[] {
  if (captured.senders.length <= mostLanes) return captured.senders;
  const silent = new Set(captured.silences.flatMap((group) => group.senders.map(keyOf)));
  const busiest = [...captured.senders].sort((a, b) => Number(silent.has(keyOf(b))) - Number(silent.has(keyOf(a))) || b.frames - a.frames);
  const kept = new Set(busiest.slice(0, mostLanes));
  return captured.senders.filter((one) => kept.has(one));
}

/** Codes that get a row: those told as active, as they are first told. */
export function codesOf(captured: Captured): { code: Captured['codes'][number]; index: number }[] {
  return captured.codes
    .map((code, index) => ({ code, index }))
    .filter(({ code }) => code.pgn === 65226)
    .slice(0, mostCodes);
}

export function layoutOf(captured: Captured, width: number): Layout {
  const left = width < 560 ? 78 : 190;
  const rows: Row[] = [];
  let y = head;
  const add = (kind: Row['kind'], height: number, index: number) => {
    rows.push({ kind, y, height, index });
    y += height;
  };
  lanesOf(captured).forEach((_, index) => add('lane', laneHeight, index));
  y += 6;
  codesOf(captured).forEach(({ index }) => add('code', laneHeight, index));
  if (captured.load.some((one) => one.errors?.some((count) => count > 0))) add('errors', laneHeight + 4, 0);
  if (captured.load.some((one) => one.least_volts?.some((volts) => volts !== null))) add('supply', curveHeight + 14, 0);
  if (captured.load.some((one) => one.slots.length > 1)) add('load', curveHeight + 14, 0);
  return { left, plot: Math.max(60, width - left - 8), top: head, rows, height: y + foot };
}

/** What a place of the picture means; none: nothing. */
export function hitAt(wish: LanesWish, layout: Layout, at: { x: number; y: number }): Chosen | null {
  const row = layout.rows.find((one) => at.y >= one.y && at.y < one.y + one.height);
  if (row?.kind === 'code') return { kind: 'code', code: row.index };
  const sender = row?.kind === 'lane' ? lanesOf(wish.captured)[row.index] : undefined;
  const event = at.x < layout.left ? null : nearestEvent(wish, layout, at.x, sender);
  if (event) return event;
  return sender ? { kind: 'sender', key: keyOf(sender) } : null;
}

function nearestEvent(wish: LanesWish, layout: Layout, x: number, sender: Heard | undefined): Chosen | null {
  let best: Chosen | null = null;
  let least = reach;
  const place = placer(wish.span, layout);
  wish.captured.silences.forEach((group, g) =>
    group.events.forEach((event, e) => {
      const quiet = sender ? event.quiet.filter((one) => keyOf(one) === keyOf(sender)) : event.quiet;
      for (const one of quiet) {
        const [from, to] = [place(one.before.at_s), place(one.after.at_s)];
        const away = x < from ? from - x : x > to ? x - to : 0;
        if (away < least) {
          least = away;
          best = { kind: 'event', group: g, event: e };
        }
      }
    }),
  );
  return best;
}

function placer(span: Span, layout: Layout): (seconds: number) => number {
  const scale = layout.plot / Math.max(1e-9, span.to - span.from);
  return (seconds) => layout.left + (seconds - span.from) * scale;
}

export function lanesPicture(wish: LanesWish): { tree: JSX.Element; layout: Layout } {
  const layout = layoutOf(wish.captured, wish.width);
  const { left, plot, rows } = layout;
  const lanes = lanesOf(wish.captured);
  const place = placer(wish.span, layout);
  const inPlot = (seconds: number) => place(seconds) - left;
  const laneY = new Map<string, number>();
  for (const row of rows) if (row.kind === 'lane') laneY.set(keyOf(lanes[row.index]!), row.y + row.height / 2);
  const last = rows[rows.length - 1];
  const bottom = last ? last.y + last.height : head;
  const tree = (
    <>
      <Axis span={wish.span} layout={layout} bottom={bottom} />
      {rows.map((row) => (
        <RowLabel key={`${row.kind}${row.index}`} row={row} wish={wish} lanes={lanes} left={left} />
      ))}
      <svg x={left} y={0} width={plot} height={layout.height} class="lanes-plot">
        {rows.map((row) => {
          const key = `${row.kind}${row.index}`;
          if (row.kind === 'lane') return <Lane key={key} sender={lanes[row.index]!} wish={wish} y={row.y + row.height / 2} place={inPlot} width={plot} />;
          if (row.kind === 'code') return <CodeRow key={key} wish={wish} row={row} place={inPlot} />;
          if (row.kind === 'errors') return <ErrorRow key={key} wish={wish} row={row} place={inPlot} />;
          return <Curve key={key} wish={wish} row={row} place={inPlot} width={plot} />;
        })}
        <Events wish={wish} laneY={laneY} place={inPlot} width={plot} />
      </svg>
    </>
  );
  return { tree, layout };
}

function Axis({ span, layout, bottom }: { span: Span; layout: Layout; bottom: number }): JSX.Element {
  const ticks = ticksOf(span, Math.max(2, Math.floor(layout.plot / 90)));
  const step = ticks.length > 1 ? ticks[1]! - ticks[0]! : span.to - span.from;
  const place = placer(span, layout);
  return (
    <g>
      {ticks.map((tick) => (
        <g key={tick}>
          <path class="tick" d={`M${place(tick)} ${layout.top - 4}V${bottom + 5}`} />
          <text class="quiet" x={Math.min(layout.left + layout.plot - 16, place(tick))} y={bottom + 20} text-anchor="middle" font-size={11}>
            {momentText(tick, step)}
          </text>
        </g>
      ))}
    </g>
  );
}

function RowLabel({ row, wish, lanes, left }: { row: Row; wish: LanesWish; lanes: Heard[]; left: number }): JSX.Element {
  const fits = Math.floor((left - 10) / 6.6);
  const code = row.kind === 'code' ? wish.captured.codes[row.index] : undefined;
  const text =
    row.kind === 'lane' ? (left < 100 ? wish.label(lanes[row.index]!).split(' · ')[0]! : wish.label(lanes[row.index]!))
    : code ? (left < 100 ? `${code.spn}/${code.fmi}` : `${wish.label(code).split(' · ')[0]} SPN ${code.spn} FMI ${code.fmi}`)
    : row.kind === 'errors' ? wish.words.errors
    : row.kind === 'supply' ? wish.words.supply
    : wish.words.load;
  const chosen = wish.chosen?.kind === 'sender' && row.kind === 'lane' && wish.chosen.key === keyOf(lanes[row.index]!);
  return (
    <text class={`${chosen ? 'bold' : ''} ${row.kind === 'lane' ? '' : 'quiet'}`} x={left - 6} y={row.y + row.height / 2 + 4} text-anchor="end" font-size={12}>
      {text.length > fits ? `${text.slice(0, fits - 1)}…` : text}
    </text>
  );
}

/** Its line in four weights, each one path; nothing where it is silent. */
function Lane({ sender, wish, y, place, width }: { sender: Heard; wish: LanesWish; y: number; place: (s: number) => number; width: number }): JSX.Element {
  const silent = silencesOf(wish.captured, sender).map((one): [number, number] => [one.before.at_s, one.after.at_s]);
  const slot = wish.captured.load[0]?.slot_s ?? wish.captured.recording.duration_s;
  const slots = sender.slots ?? [];
  const most = Math.max(1, ...slots);
  const paths = ['', '', '', ''];
  const put = (from: number, to: number, weight: number) => {
    const [a, b] = [Math.max(-4, place(from)), Math.min(width + 4, place(to))];
    if (b > a) paths[weight] += `M${a.toFixed(1)} ${y}H${b.toFixed(1)}`;
  };
  for (const [from, to] of stretchesOf(sender.first.at_s, sender.last.at_s, silent)) {
    if (to < wish.span.from || from > wish.span.to) continue;
    if (slots.length === 0) put(from, to, 1);
    let at = Math.max(from, wish.span.from);
    const end = Math.min(to, wish.span.to);
    while (at < end) {
      // As far as slots weigh the same.
      const weigh = (index: number) => Math.min(3, Math.round(((slots[index] ?? 0) / most) * 3));
      let index = Math.floor(at / slot + 1e-9);
      const weight = weigh(index);
      while (index + 1 < slots.length && (index + 1) * slot < end && weigh(index + 1) === weight) ++index;
      const next = Math.min(end, Math.max((index + 1) * slot, at + slot * 1e-6));
      if (slots.length > 0) put(at, index + 1 < slots.length ? next : end, weight);
      at = index + 1 < slots.length ? next : end;
    }
  }
  const chosen = wish.chosen?.kind === 'sender' && wish.chosen.key === keyOf(sender);
  return (
    <g class={chosen ? 'lane-line chosen' : 'lane-line'}>
      {paths.map((d, i) => (d === '' ? null : <path key={i} class="ink" stroke-width={[1, 2.2, 3.6, 5.2][i]} d={d} />))}
    </g>
  );
}

export function silencesOf(captured: Captured, sender: SenderKey): Quiet[] {
  const key = keyOf(sender);
  return captured.silences.flatMap((group) => group.events.flatMap((event) => event.quiet.filter((one) => keyOf(one) === key)));
}

/** From first to last without the silences. */
export function stretchesOf(first: number, last: number, silent: [number, number][]): [number, number][] {
  const stretches: [number, number][] = [];
  let from = first;
  for (const [begins, ends] of [...silent].sort((a, b) => a[0] - b[0])) {
    if (begins > from) stretches.push([from, begins]);
    from = Math.max(from, ends);
  }
  if (last > from) stretches.push([from, last]);
  return stretches;
}

function Events({ wish, laneY, place, width }: { wish: LanesWish; laneY: Map<string, number>; place: (s: number) => number; width: number }): JSX.Element {
  let numberUpTo = -Infinity;
  const all = wish.captured.silences
    .flatMap((group, g) => group.events.map((event, e) => ({ group: g, e, event, x: place(event.begins.at_s) })))
    .sort((a, b) => a.x - b.x);
  return (
    <g>
      {all.map(({ group, e, event, x }) => {
        const quiet = event.quiet.filter((one) => laneY.has(keyOf(one)));
        const ends = Math.max(x, ...quiet.map((one) => place(one.after.at_s)));
        if (quiet.length === 0 || x > width || ends < 0) return null;
        const ys = quiet.map((one) => laneY.get(keyOf(one))!);
        const chosen = wish.chosen?.kind === 'event' && wish.chosen.group === group && wish.chosen.event === e;
        const named = x - numberUpTo > 16;
        if (named) numberUpTo = x;
        return (
          <g key={`${group} ${e}`} class={chosen ? 'silence chosen' : 'silence'}>
            <path class="joint" d={`M${x.toFixed(1)} ${head - 4}V${Math.max(...ys) + 8}`} />
            {quiet.map((one) => {
              const from = place(one.before.at_s);
              return <rect key={keyOf(one)} class="gap" x={from} y={laneY.get(keyOf(one))! - 8} width={Math.max(leastGap, place(one.after.at_s) - from)} height={16} />;
            })}
            {named ? (
              <text class="bold" x={Math.min(width - 5, Math.max(5, x))} y={head - 9} text-anchor="middle" font-size={12}>
                {group + 1}
              </text>
            ) : null}
          </g>
        );
      })}
    </g>
  );
}

function CodeRow({ wish, row, place }: { wish: LanesWish; row: Row; place: (s: number) => number }): JSX.Element {
  const code = wish.captured.codes[row.index]!;
  const y = row.y + row.height / 2;
  const [from, to] = [place(code.first.at_s), place(code.last.at_s)];
  return (
    <g class={wish.chosen?.kind === 'code' && wish.chosen.code === row.index ? 'code-line chosen' : 'code-line'}>
      <path class="ink dashed" stroke-width={1.4} d={`M${from} ${y}H${to}`} />
      <circle class="solid" cx={from} cy={y} r={4} />
      {code.at_the_end ? <circle class="solid" cx={to} cy={y} r={4} /> : <path class="ink" stroke-width={1.6} d={`M${to} ${y - 6}V${y + 6}`} />}
    </g>
  );
}

function ErrorRow({ wish, row, place }: { wish: LanesWish; row: Row; place: (s: number) => number }): JSX.Element {
  const base = row.y + row.height - 4;
  let d = '';
  for (const load of wish.captured.load)
    (load.errors ?? []).forEach((count, slot) => {
      const at = (slot + 0.5) * load.slot_s;
      if (count > 0 && at >= wish.span.from - load.slot_s && at <= wish.span.to + load.slot_s) d += `M${place(at).toFixed(1)} ${base}V${(base - Math.min(22, 5 + 5 * Math.log10(count))).toFixed(1)}`;
    });
  return <path class="ink" stroke-width={2} d={d} />;
}

/** Supply (lowest report of each slot) or load (share of the bit rate) as a curve with its two bounds. */
function Curve({ wish, row, place, width }: { wish: LanesWish; row: Row; place: (s: number) => number; width: number }): JSX.Element {
  const supply = row.kind === 'supply';
  const valuesOf = (load: Load) => (supply ? load.least_volts ?? [] : load.slots);
  const told = wish.captured.load.flatMap(valuesOf).filter((one): one is number => one !== null);
  const low = supply ? Math.floor(Math.min(...told) - 0.5) : 0;
  const high = supply ? Math.max(low + 1, Math.ceil(Math.max(...told) + 0.5)) : 1;
  const bottom = row.y + row.height - 6;
  const up = (value: number) => bottom - ((Math.min(high, Math.max(low, value)) - low) / (high - low)) * curveHeight;
  const unit = (value: number) => (supply ? `${value} V` : `${Math.round(value * 100)} %`);
  return (
    <g>
      {[low, high].map((value) => (
        <g key={value}>
          <path class="tick" d={`M0 ${up(value)}H${width}`} />
          <text class="quiet" x={width - 2} y={up(value) + (value === high ? 10 : -3)} text-anchor="end" font-size={10}>
            {unit(value)}
          </text>
        </g>
      ))}
      {wish.captured.load.map((load, i) => {
        let d = '';
        let pen = 'M';
        valuesOf(load).forEach((value, slot) => {
          const at = (slot + 0.5) * load.slot_s;
          if (value === null || at < wish.span.from - 2 * load.slot_s || at > wish.span.to + 2 * load.slot_s) return;
          d += `${pen}${place(at).toFixed(1)} ${up(value).toFixed(1)}`;
          pen = 'L';
        });
        return d === '' ? null : <path key={i} class={i % 2 === 1 ? 'ink dashed' : 'ink'} stroke-width={1.4} d={d} />;
      })}
    </g>
  );
}
