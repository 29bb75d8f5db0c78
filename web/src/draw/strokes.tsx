// The pen strokes of one thing as SVG. A pure function; the inks are the style sheet's.
import type { ComponentChildren, VNode } from 'preact';
import type { Stroke } from '../api/board';


export function strokesOf(strokes: Stroke[], words: boolean): VNode[] {
  return group(strokes, 0, words).nodes;
}

function group(strokes: Stroke[], from: number, words: boolean): { nodes: VNode[]; end: number } {
  const nodes: VNode[] = [];
  let i = from;
  for (; i < strokes.length; ++i) {
    const stroke = strokes[i]!;
    if (stroke.do === 'end') break;
    if (stroke.do === 'turned') {
      const inner = group(strokes, i + 1, words);
      const [x = 0, y = 0] = stroke.at ?? [];
      nodes.push(<g transform={`translate(${x} ${y}) rotate(${stroke.degrees ?? 0})`}>{inner.nodes as ComponentChildren}</g>);
      i = inner.end;
      continue;
    }
    const node = one(stroke, words);
    if (node) nodes.push(node);
  }
  return { nodes, end: i };
}

function path(at: number[], close = false): string {
  let text = '';
  for (let i = 0; i + 1 < at.length; i += 2) text += `${i === 0 ? 'M' : 'L'}${at[i]} ${at[i + 1]}`;
  return close ? `${text}Z` : text;
}

function half(x1: number, y1: number, x2: number, y2: number, radius: number, clockwise: boolean): string {
  return `M${x1} ${y1}A${radius} ${radius} 0 0 ${clockwise ? 1 : 0} ${x2} ${y2}`;
}

function one(stroke: Stroke, words: boolean): VNode | null {
  const at = stroke.at ?? [];
  const [x = 0, y = 0] = at;
  const r = stroke.radius ?? 0;
  const weight = stroke.weight ?? 1.2;
  const dashed = stroke.dashed ? '4 3' : undefined;
  switch (stroke.do) {
    case 'path':
      return <path class="ink" d={path(at)} stroke-width={weight} stroke-dasharray={dashed} />;
    case 'marker':
      return <path class="marker" d={path(at)} stroke-width={weight} />;
    case 'box':
      return <rect class="shape" x={x} y={y} width={stroke.width} height={stroke.height} stroke-width={weight} stroke-dasharray={dashed} />;
    case 'circle':
      return <circle class="shape" cx={x} cy={y} r={r} stroke-width={weight} />;
    case 'dot':
      return <circle class="solid" cx={x} cy={y} r={r} />;
    case 'arc':
      return <path class="ink" d={half(x, y - r, x, y + r, r, stroke.right === true)} stroke-width={weight} />;
    case 'bump':
      return <path class="ink" d={half(x - r, y, x + r, y, r, true)} stroke-width={weight} />;
    case 'solid':
      return <path class="solid" d={path(at, true)} />;
    case 'text':
      if (!words) return null;
      return (
        <text
          class={`${stroke.bold ? 'bold ' : ''}${stroke.quiet ? 'quiet' : ''}`}
          x={x}
          y={y}
          font-size={stroke.size}
          text-anchor={stroke.anchor}
        >
          {stroke.text}
        </text>
      );
    default:
      return null;
  }
}
