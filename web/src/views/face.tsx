// The face of a plug: its cavities in their rows as one looks into it, the two probes marked by letter.
import type { JSX } from 'preact';
import type { Plug } from '../api/board';
import { t } from '../text/text';

const cell = 30;

export function FaceView({ plug, side, marks }: { plug: Plug; side: string; marks: Map<string, string> }): JSX.Element {
  // Rows are told as one looks into the first side; the other one is seen mirrored.
  const mirrored = plug.inline && plug.sides[1]?.name === side;
  const rows = plug.rows.map((row) => (mirrored ? [...row].reverse() : row));
  const widest = Math.max(...rows.map((row) => row.length));
  const shown = widest > 12 ? rows.map((row) => windowed(row, marks)) : rows;
  const width = Math.max(...shown.map((row) => row.length)) * cell + 8;
  const height = shown.length * cell + 8;
  const sideText = plug.inline ? t('face.side', { plug: plug.name, side }) : plug.name;
  return (
    <figure class="face">
      <svg viewBox={`0 0 ${width} ${height}`} width={width} height={height} role="img" aria-label={t('face.label', { plug: plug.name })}>
        <rect class="shape" x="1" y="1" width={width - 2} height={height - 2} rx="5" stroke-width="1.6" />
        {shown.map((row, y) => row.map((name, x) => <Cavity key={`${y} ${x}`} name={name} x={4 + x * cell} y={4 + y * cell} mark={marks.get(name)} />))}
      </svg>
      <figcaption class="small">
        {sideText}
        <span class="quiet"> {t('face.note')}</span>
      </figcaption>
    </figure>
  );
}

function Cavity({ name, x, y, mark }: { name: string; x: number; y: number; mark: string | undefined }): JSX.Element | null {
  if (name === '') return null;
  const middle = { x: x + cell / 2, y: y + cell / 2 };
  return (
    <g class={mark ? `cavity marked ${mark === 'R' ? 'red' : 'black'}` : 'cavity'}>
      {mark === 'B' ? <circle cx={middle.x} cy={middle.y} r={cell / 2 - 2} /> : <rect x={x + 2} y={y + 2} width={cell - 4} height={cell - 4} rx="3" />}
      <text x={middle.x} y={mark ? middle.y - 1 : middle.y + 4} font-size={name.length > 3 ? 8 : 11} text-anchor="middle">
        {name}
      </text>
      {mark ? (
        <text class="letter" x={middle.x} y={middle.y + 11} font-size="11" text-anchor="middle">
          {mark}
        </text>
      ) : null}
    </g>
  );
}

/** Of a long row the part around what is marked. */
function windowed(row: string[], marks: Map<string, string>): string[] {
  if (row.length <= 12) return row;
  const marked = row.findIndex((name) => marks.has(name));
  const from = Math.max(0, Math.min(row.length - 12, (marked < 0 ? 0 : marked) - 5));
  return row.slice(from, from + 12).map((name, i) => ((i === 0 && from > 0) || (i === 11 && from + 12 < row.length) ? '…' : name));
}
