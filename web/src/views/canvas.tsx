// The drawing on the screen: pan and zoom by finger, wheel and keys; a tap chooses the nearest point. What is drawn is
// draw/drawing.tsx; this only moves the window over it.
import { useComputed, useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { useEffect, useMemo, useRef } from 'preact/hooks';
import type { Drawing } from '../api/board';
import { drawingOf, findPoint, laneHead, pointsOf, type Probes } from '../draw/drawing';
import { clampLook, fit, fitPoints, nearest, stepTo, toDrawing, windowOf, zoomAt, type Look, type Size } from '../draw/window';
import { numbers, t } from '../text/text';
import { Button } from './parts';

interface Props {
  drawing: Drawing;
  probes: Probes;
  /** A point was tapped or chosen by key. */
  pick?: ((point: string) => void) | undefined;
  label: string;
}

const tapReach = 34; // screen pixels from a tap to the point it means
const smallestWords = 0.42; // below this zoom words cannot be read and are left out

export function Canvas({ drawing, probes, pick, label }: Props): JSX.Element {
  const frame = useRef<HTMLDivElement>(null);
  const screen = useSignal<Size>({ width: 0, height: 0 });
  const look = useSignal<Look | null>(null);
  const chosen = useSignal<string | undefined>(undefined);
  const size = { width: drawing.width, height: drawing.height };

  useEffect(() => {
    const element = frame.current;
    if (!element) return;
    const measure = () => {
      const { width, height } = element.getBoundingClientRect();
      if (width > 0) screen.value = { width, height };
    };
    const observer = new ResizeObserver(measure);
    observer.observe(element);
    measure();
    return () => observer.disconnect();
  }, []);

  const lit = () =>
    [findPoint(drawing, probes.red), findPoint(drawing, probes.black)].filter((one) => one !== undefined);
  const showProbes = () => {
    look.value = fitPoints(lit(), size, screen.value) ?? fit(size, screen.value);
  };
  const showAll = () => {
    look.value = fit(size, screen.value, 0.05);
  };

  // Another test: look there. Another drawing: from the start.
  useEffect(() => {
    if (screen.value.width > 0) showProbes();
  }, [probes.red, probes.black, drawing.width, drawing.height, screen.value.width > 0]);

  // For who measures how long a tap takes until it is seen (test/page/speed.mjs).
  useEffect(() => void performance.mark('drawn'), [drawing, chosen.value]);

  const hands = useHands(frame, look, screen, size, (at) => {
    const now = look.value;
    if (!now) return;
    const one = nearest(pointsOf(drawing), toDrawing(now, screen.value, at), tapReach / now.zoom);
    chosen.value = one?.point;
    if (one) pick?.(one.point);
  });

  const words = useComputed(() => (look.value?.zoom ?? 1) >= smallestWords);
  const window = useComputed(() => (look.value ? windowOf(look.value, screen.value) : undefined));
  const windowPrint = JSON.stringify(window.value);
  const tree = useMemo(
    () => drawingOf({ drawing, probes: { ...probes, chosen: chosen.value }, words: words.value, window: window.value }),
    [drawing, probes.red, probes.black, chosen.value, words.value, windowPrint],
  );

  const move = (event: KeyboardEvent) => {
    const now = look.value;
    if (!now || event.ctrlKey || event.altKey || event.metaKey) return;
    const arrows: Record<string, [number, number]> = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
    const arrow = arrows[event.key];
    const middle = { x: screen.value.width / 2, y: screen.value.height / 2 };
    if (arrow && event.shiftKey) {
      look.value = clampLook({ ...now, x: now.x + (arrow[0] * 80) / now.zoom, y: now.y + (arrow[1] * 80) / now.zoom }, size);
    } else if (arrow) {
      const points = pointsOf(drawing);
      const from = findPoint(drawing, chosen.value ?? probes.red) ?? nearest(points, now, Infinity);
      if (!from) return;
      const to = chosen.value === undefined ? from : stepTo(points, from, arrow[0], arrow[1]);
      chosen.value = to.point;
      keepSeen(to);
    } else if (event.key === '+' || event.key === ']') look.value = zoomAt(now, 1.3, middle, screen.value, size);
    else if (event.key === '-' || event.key === '[') look.value = zoomAt(now, 1 / 1.3, middle, screen.value, size);
    else if (event.key === 'Home') showAll();
    else if (event.key === 'End') showProbes();
    else if ((event.key === 'Enter' || event.key === ' ') && chosen.value !== undefined) pick?.(chosen.value);
    else return;
    event.preventDefault();
    event.stopPropagation();
  };
  const keepSeen = (to: { x: number; y: number }) => {
    const now = look.value!;
    const half = { width: screen.value.width / now.zoom / 2 - 40, height: screen.value.height / now.zoom / 2 - 40 };
    if (Math.abs(to.x - now.x) > half.width || Math.abs(to.y - now.y) > half.height)
      look.value = clampLook({ ...now, x: to.x, y: to.y }, size);
  };

  const at = look.value;
  const place = at
    ? `translate(${screen.value.width / 2 - at.x * at.zoom} ${screen.value.height / 2 - at.y * at.zoom}) scale(${at.zoom})`
    : undefined;
  return (
    <div class="canvas">
      <div
        class="canvas-frame"
        ref={frame}
        tabIndex={0}
        role="application"
        aria-label={`${label}. ${t('drawing.keys')}`}
        onKeyDown={move}
        {...hands}
      >
        <svg aria-hidden="true" width={screen.value.width} height={screen.value.height}>
          {at ? <g transform={place}>{tree}</g> : null}
        </svg>
      </div>
      {at && !words.value ? <LaneNames drawing={drawing} look={at} screen={screen.value} /> : null}
      <div class="canvas-foot">
        <span class="small quiet" role="status">
          {chosen.value ?? (drawing.elsewhere !== undefined && drawing.elsewhere >= 0.005
            ? t('drawing.elsewhere', { share: numbers.value.percent(drawing.elsewhere) })
            : '')}
        </span>
        <Button kind="quiet" press={showAll} label={t('drawing.all')}>
          {t('drawing.all')}
        </Button>
        {lit().length > 0 ? (
          <Button kind="quiet" press={showProbes} label={t('drawing.probes')}>
            {t('drawing.probes')}
          </Button>
        ) : null}
        <Button kind="quiet" label={t('drawing.smaller')} press={() => zoomBy(1 / 1.4)}>
          <span aria-hidden="true">−</span>
        </Button>
        <Button kind="quiet" label={t('drawing.larger')} press={() => zoomBy(1.4)}>
          <span aria-hidden="true">+</span>
        </Button>
      </div>
    </div>
  );

  function zoomBy(factor: number): void {
    if (look.value)
      look.value = zoomAt(look.value, factor, { x: screen.value.width / 2, y: screen.value.height / 2 }, screen.value, size);
  }
}

/** Names of the places over a drawing too small to read. */
function LaneNames({ drawing, look, screen }: { drawing: Drawing; look: Look; screen: Size }): JSX.Element {
  return (
    <div class="lane-names" aria-hidden="true">
      {drawing.lanes.map((lane) => {
        const middle = screen.width / 2 + ((lane.left + lane.right) / 2 - look.x) * look.zoom;
        const width = (lane.right - lane.left) * look.zoom;
        if (middle < 0 || middle > screen.width || width < 36) return null;
        const top = Math.max(2, screen.height / 2 + (-laneHead - look.y) * look.zoom);
        return (
          <svg key={lane.name} class="lane-tag" x="0" y="0" width={screen.width} height={screen.height}>
            <text x={middle} y={top + 12} text-anchor="middle" font-size={11}>
              {lane.name}
            </text>
          </svg>
        );
      })}
    </div>
  );
}

/** Fingers, mouse and wheel: one moves, two pinch, a short one taps. */
function useHands(
  frame: { current: HTMLDivElement | null },
  look: { value: Look | null },
  screen: { value: Size },
  size: Size,
  tap: (at: { x: number; y: number }) => void,
) {
  const down = useRef(new Map<number, { x: number; y: number }>());
  const moved = useRef(0);
  const place = (event: PointerEvent | WheelEvent) => {
    const edge = frame.current!.getBoundingClientRect();
    return { x: event.clientX - edge.left, y: event.clientY - edge.top };
  };
  useEffect(() => {
    const element = frame.current;
    if (!element) return;
    const wheel = (event: WheelEvent) => {
      event.preventDefault();
      if (look.value) look.value = zoomAt(look.value, Math.exp(-event.deltaY * 0.0015), place(event), screen.value, size);
    };
    element.addEventListener('wheel', wheel, { passive: false });
    return () => element.removeEventListener('wheel', wheel);
  }, [size.width, size.height]);
  return {
    onPointerDown: (event: PointerEvent) => {
      if (down.current.size === 0) moved.current = 0;
      down.current.set(event.pointerId, place(event));
      frame.current?.setPointerCapture(event.pointerId);
    },
    onPointerMove: (event: PointerEvent) => {
      const before = down.current.get(event.pointerId);
      const now = look.value;
      if (!before || !now) return;
      const at = place(event);
      const others = [...down.current].filter(([id]) => id !== event.pointerId).map(([, where]) => where);
      down.current.set(event.pointerId, at);
      moved.current += Math.hypot(at.x - before.x, at.y - before.y);
      const other = others[0];
      if (other) {
        const apart = (one: { x: number; y: number }) => Math.max(10, Math.hypot(one.x - other.x, one.y - other.y));
        look.value = zoomAt(now, apart(at) / apart(before), other, screen.value, size);
      } else if (moved.current > 6) {
        look.value = clampLook({ ...now, x: now.x - (at.x - before.x) / now.zoom, y: now.y - (at.y - before.y) / now.zoom }, size);
      }
    },
    onPointerUp: (event: PointerEvent) => {
      const was = down.current.delete(event.pointerId);
      if (was && down.current.size === 0 && moved.current <= 6) tap(place(event));
    },
    onPointerCancel: (event: PointerEvent) => {
      down.current.delete(event.pointerId);
      moved.current = 100;
    },
  };
}
