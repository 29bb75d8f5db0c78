// The drawing as a tree of SVG: a pure function of a snapshot, the probes, and what of it is looked at. Places are
// lanes, suspicion is the weight of a line and a percentage. No state, no events: the view around it has those.
import type { VNode } from 'preact';
import type { DrawnPoint, DrawnThing, Drawing } from '../api/board';
import { strokesOf } from './strokes';
import { touches, type Box } from './window';

export interface Probes {
  red?: string;
  black?: string;
  /** Under the finger or the keyboard. */
  chosen?: string;
}

export interface DrawingWish {
  drawing: Drawing;
  probes: Probes;
  /** What is looked at; none: all of it. */
  window?: Box;
  /** Words are left out where they would be too small to read. */
  words: boolean;
}

export const laneHead = 44;
const beyond = 4000; // lanes go on above and below what is drawn

// A thing drawn once stays the same node as long as the snapshot is the same: the view library then skips it.
const drawn = new WeakMap<DrawnThing, Map<boolean, VNode>>();

function thing(one: DrawnThing, words: boolean): VNode {
  let known = drawn.get(one);
  if (!known) drawn.set(one, (known = new Map()));
  let node = known.get(words);
  if (!node) {
    node = (
      <g key={`${one.kind} ${one.name} ${one.x} ${one.y}`} class={one.kind === 'wire' ? 'wire' : 'thing'}>
        {one.hint && words ? <title>{one.hint}</title> : null}
        {strokesOf(one.strokes, words)}
      </g>
    );
    known.set(words, node);
  }
  return node;
}

function isSeen(one: Box, window: Box | undefined): boolean {
  return window === undefined || touches(one, window);
}

export function drawingOf({ drawing, probes, window, words }: DrawingWish): VNode {
  const wires = drawing.wires.filter((one) => isSeen(one, window));
  const boxes = drawing.boxes.filter((one) => isSeen(one, window));
  return (
    <g>
      {lanesOf(drawing, words)}
      {boxes.length + wires.length > 0 ? tracesOf(drawing, probes) : null}
      <g class="wires">{wires.map((one) => thing(one, words))}</g>
      <g class="boxes">{boxes.map((one) => thing(one, words))}</g>
      {words ? <g class="labels">{wires.map(label)}</g> : null}
      {probesOf(drawing, probes)}
    </g>
  );
}

const labels = new WeakMap<DrawnThing, VNode>();

function label(wire: DrawnThing): VNode {
  let node = labels.get(wire);
  if (!node) {
    node = <g key={`${wire.name} ${wire.x} ${wire.y}`}>{strokesOf(wire.words ?? [], true)}</g>;
    labels.set(wire, node);
  }
  return node;
}

function lanesOf(drawing: Drawing, words: boolean): VNode {
  return (
    <g class="lanes">
      {drawing.lanes.map((lane, i) => (
        <g key={lane.name}>
          <rect
            class={i % 2 === 0 ? 'lane' : 'lane other'}
            x={lane.left}
            y={-laneHead - beyond}
            width={Math.max(0, lane.right - lane.left)}
            height={drawing.height + laneHead + 24 + 2 * beyond}
          />
          {words ? (
            <>
              <text class="lane-name" x={(lane.left + lane.right) / 2} y={-laneHead + 18} font-size={12} text-anchor="middle">
                {lane.name}
              </text>
              <text class="quiet" x={(lane.left + lane.right) / 2} y={-laneHead + 33} font-size={9} text-anchor="middle">
                {lane.detail}
              </text>
            </>
          ) : null}
        </g>
      ))}
    </g>
  );
}

/** Every point a probe can touch, where it lies; a point may be drawn at several places. */
export function pointsOf(drawing: Drawing): DrawnPoint[] {
  const list: DrawnPoint[] = [];
  for (const box of drawing.boxes) if (box.points) list.push(...box.points);
  return list;
}

const found = new WeakMap<Drawing, Map<string, DrawnPoint>>();

/** Where a point lies. */
export function findPoint(drawing: Drawing, name: string | undefined): DrawnPoint | undefined {
  if (name === undefined) return undefined;
  let map = found.get(drawing);
  if (!map) {
    map = new Map(pointsOf(drawing).reverse().map((one) => [one.point, one]));
    found.set(drawing, map);
  }
  return map.get(name);
}

// The two points are lit: a broad pale band below them, so that they are found at a glance.
function tracesOf(drawing: Drawing, probes: Probes): VNode {
  return (
    <g class="lit">
      {[probes.red, probes.black].map((name, i) => {
        const at = findPoint(drawing, name);
        return at ? <circle key={i} class="light" cx={at.x} cy={at.y} r={26} /> : null;
      })}
    </g>
  );
}

function probesOf(drawing: Drawing, probes: Probes): VNode {
  const chosen = findPoint(drawing, probes.chosen);
  const red = findPoint(drawing, probes.red);
  const black = findPoint(drawing, probes.black);
  const shift = probes.red === probes.black ? 9 : 0;
  // Two cavities of one plug: the lower flag hangs, so that neither covers the other's point.
  const near = red && black && shift === 0 && Math.abs(red.x - black.x) < 24 && Math.abs(red.y - black.y) < 40;
  return (
    <g class="probes">
      {chosen ? <circle class="chosen" cx={chosen.x} cy={chosen.y} r={13} /> : null}
      {probe(red, 'red', 'R', -shift, Boolean(near && red.y > black.y))}
      {probe(black, 'black', 'B', shift, Boolean(near && black.y >= red.y))}
    </g>
  );
}

// A flag with a letter, its tip on the point: told apart by letter and shape, not by colour alone.
function probe(at: DrawnPoint | undefined, name: 'red' | 'black', letter: string, shift: number, hangs: boolean): VNode | null {
  if (!at) return null;
  const x = at.x + shift;
  const standing = name === 'red' ? `M${x} ${at.y}l-7 -9h-4v-17h22v17h-4z` : `M${x} ${at.y}l-6 -9a10 10 0 1 1 12 0z`;
  const hanging = name === 'red' ? `M${x} ${at.y}l-7 9h-4v17h22v-17h-4z` : `M${x} ${at.y}l-6 9a10 10 0 1 0 12 0z`;
  const shape = hangs ? hanging : standing;
  return (
    <g class={`probe ${name}`}>
      <circle class="tip" cx={x} cy={at.y} r={3.2} />
      <path d={shape} />
      <text x={x} y={at.y + (hangs ? 22 : -13)} font-size={12} text-anchor="middle">
        {letter}
      </text>
    </g>
  );
}
