// The time picture of a recording on the screen: nearer and further by wheel, two fingers, buttons and keys; a tap
// chooses the silence, code or sender that is meant. What is drawn is draw/lanes.tsx.
import { useComputed, useSignal, type Signal } from '@preact/signals';
import type { JSX } from 'preact';
import { useEffect, useMemo, useRef } from 'preact/hooks';
import type { Captured, SenderKey } from '../api/recording';
import { hitAt, lanesPicture, type Chosen, type LanesWish, type Layout } from '../draw/lanes';
import { momentText, moveSpan, spanAround, wholeSpan, zoomSpan, type Span } from '../draw/span';
import { t } from '../text/text';
import { Button } from './parts';

interface Props {
  captured: Captured;
  label: (sender: SenderKey) => string;
  span: Signal<Span | null>;
  chosen: Signal<Chosen | null>;
}

export function TimePicture({ captured, label, span, chosen }: Props): JSX.Element {
  const frame = useRef<HTMLDivElement>(null);
  const width = useSignal(0);
  const seconds = captured.recording.duration_s;
  const seen = useComputed(() => span.value ?? wholeSpan(seconds));
  useEffect(() => {
    const element = frame.current;
    if (!element) return;
    const measure = () => (width.value = Math.floor(element.clientWidth));
    const observer = new ResizeObserver(measure);
    observer.observe(element);
    measure();
    return () => observer.disconnect();
  }, []);

  const words = { supply: t('recording.supply'), load: t('recording.load'), errors: t('recording.errors') };
  const wish: LanesWish = { captured, span: seen.value, width: width.value, label, chosen: chosen.value, words };
  const print = JSON.stringify([seen.value, width.value, chosen.value, words]);
  const { tree, layout } = useMemo(() => lanesPicture(wish), [captured, label, print]);

  const look = (to: Span) => (span.value = to.from <= 0 && to.to >= wholeSpan(seconds).to ? null : to);
  const zoom = (factor: number, share = 0.5) => look(zoomSpan(seen.peek(), factor, share, seconds));
  const move = (share: number) => look(moveSpan(seen.peek(), share, seconds));
  const choose = (to: Chosen | null) => {
    chosen.value = to;
    const at = to?.kind === 'event' ? captured.silences[to.group]?.events[to.event] : undefined;
    if (!at) return;
    const ends = Math.max(...at.quiet.map((one) => one.after.at_s));
    if (ends < seen.peek().from || at.begins.at_s > seen.peek().to) look(spanAround(at.begins.at_s, ends, seconds));
  };
  const hands = useHands(frame, layout, zoom, move, (at) => choose(hitAt(wish, layout, at)));

  const key = (event: KeyboardEvent) => {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    const acts: Record<string, () => void> = {
      ArrowLeft: () => move(-0.2), ArrowRight: () => move(0.2), ArrowUp: () => choose(stepEvent(captured, chosen.peek(), -1)), ArrowDown: () => choose(stepEvent(captured, chosen.peek(), 1)),
      '+': () => zoom(1.5), '=': () => zoom(1.5), ']': () => zoom(1.5), '-': () => zoom(1 / 1.5), '[': () => zoom(1 / 1.5), '0': () => (span.value = null), Home: () => (span.value = null), Escape: () => (chosen.value = null),
    };
    const done = acts[event.key];
    if (!done) return;
    done();
    event.preventDefault();
    event.stopPropagation();
  };
  const event = chosen.value?.kind === 'event' ? captured.silences[chosen.value.group]?.events[chosen.value.event] : undefined;
  return (
    <div class="time-picture">
      <div class="row time-buttons">
        <Button label={t('recording.nearer')} press={() => zoom(2)} id="time-nearer">
          <span aria-hidden="true">+</span>
        </Button>
        <Button label={t('recording.further')} press={() => zoom(0.5)} id="time-further" disabled={span.value === null}>
          <span aria-hidden="true">−</span>
        </Button>
        <Button label={t('recording.earlier')} press={() => move(-0.5)} disabled={span.value === null}>
          <span aria-hidden="true">←</span>
        </Button>
        <Button label={t('recording.later')} press={() => move(0.5)} disabled={span.value === null}>
          <span aria-hidden="true">→</span>
        </Button>
        <Button press={() => (span.value = null)} id="time-all" disabled={span.value === null}>
          {t('recording.all')}
        </Button>
        {event ? (
          <Button press={() => look(spanAround(event.begins.at_s, Math.max(...event.quiet.map((one) => one.after.at_s)), seconds))} id="time-there">
            {t('recording.there')}
          </Button>
        ) : null}
        <span class="small quiet number time-seen" role="status">
          {t('recording.seen', { from: momentText(seen.value.from, 0.001), to: momentText(seen.value.to, 0.001) })}
        </span>
      </div>
      <div class="time-frame" ref={frame} tabIndex={0} role="application" aria-label={t('recording.picture')} onKeyDown={key} {...hands}>
        <svg aria-hidden="true" width={width.value} height={layout.height}>
          {width.value > 0 ? tree : null}
        </svg>
      </div>
    </div>
  );
}

/** The silence before or after the chosen one, by time. */
export function stepEvent(captured: Captured, from: Chosen | null, by: 1 | -1): Chosen | null {
  const all = captured.silences
    .flatMap((group, g) => group.events.map((event, e) => ({ chosen: { kind: 'event', group: g, event: e } as const, at: event.begins.at_s })))
    .sort((a, b) => a.at - b.at);
  const now = all.findIndex(({ chosen }) => from?.kind === 'event' && chosen.group === from.group && chosen.event === from.event);
  const next = now < 0 ? (by > 0 ? 0 : all.length - 1) : Math.min(all.length - 1, Math.max(0, now + by));
  return all[next]?.chosen ?? from;
}

/** Fingers, mouse and wheel: one moves along time (up and down scrolls the view), two pinch, a short one taps. */
function useHands(frame: { current: HTMLDivElement | null }, layout: Layout, zoom: (factor: number, share: number) => void, move: (share: number) => void, tap: (at: { x: number; y: number }) => void) {
  const down = useRef(new Map<number, { x: number; y: number }>());
  const moved = useRef(0);
  const now = useRef({ layout, zoom, move });
  now.current = { layout, zoom, move };
  const place = (event: PointerEvent | WheelEvent) => {
    const edge = frame.current!.getBoundingClientRect();
    return { x: event.clientX - edge.left, y: event.clientY - edge.top };
  };
  const shareOf = (x: number) => Math.min(1, Math.max(0, (x - now.current.layout.left) / now.current.layout.plot));
  useEffect(() => {
    const element = frame.current;
    if (!element) return;
    const wheel = (event: WheelEvent) => {
      event.preventDefault();
      if (Math.abs(event.deltaX) > Math.abs(event.deltaY) || event.shiftKey) now.current.move((event.deltaX + (event.shiftKey ? event.deltaY : 0)) / 600);
      else now.current.zoom(Math.exp(-event.deltaY * 0.002), shareOf(place(event).x));
    };
    element.addEventListener('wheel', wheel, { passive: false });
    return () => element.removeEventListener('wheel', wheel);
  }, []);
  return {
    onPointerDown: (event: PointerEvent) => {
      if (down.current.size === 0) moved.current = 0;
      down.current.set(event.pointerId, place(event));
      if (event.pointerType !== 'touch') frame.current?.setPointerCapture(event.pointerId);
    },
    onPointerMove: (event: PointerEvent) => {
      const before = down.current.get(event.pointerId);
      if (!before) return;
      const at = place(event);
      const others = [...down.current].filter(([id]) => id !== event.pointerId).map(([, where]) => where);
      down.current.set(event.pointerId, at);
      moved.current += Math.hypot(at.x - before.x, at.y - before.y);
      const other = others[0];
      if (other) {
        const apart = (one: { x: number }) => Math.max(12, Math.abs(one.x - other.x));
        zoom(apart(at) / apart(before), shareOf((at.x + other.x) / 2));
      } else if (moved.current > 6) move((before.x - at.x) / layout.plot);
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
