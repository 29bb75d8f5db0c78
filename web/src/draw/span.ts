// Which part of a recording is seen: a stretch of seconds across so many pixels. Plain arithmetic.

export interface Span {
  from: number;
  to: number;
}

const leastSpan = 0.02; // seconds: frames are some hundred microseconds apart

export function wholeSpan(seconds: number): Span {
  return { from: 0, to: Math.max(leastSpan, seconds) };
}

export function clampSpan(span: Span, seconds: number): Span {
  const all = wholeSpan(seconds).to;
  const width = Math.min(all, Math.max(Math.min(leastSpan, all), span.to - span.from));
  const from = Math.min(all - width, Math.max(0, span.from));
  return { from, to: from + width };
}

/** `factor` above 1: nearer. The moment at `share` of the width (0 left, 1 right) stays where it is. */
export function zoomSpan(span: Span, factor: number, share: number, seconds: number): Span {
  const wanted = clampSpan({ from: 0, to: (span.to - span.from) / factor }, seconds);
  const width = wanted.to - wanted.from;
  const at = span.from + share * (span.to - span.from);
  return clampSpan({ from: at - share * width, to: at + (1 - share) * width }, seconds);
}

/** Moved by a share of what is seen; positive: later. */
export function moveSpan(span: Span, share: number, seconds: number): Span {
  const by = share * (span.to - span.from);
  return clampSpan({ from: span.from + by, to: span.to + by }, seconds);
}

/** So that all between these moments is seen, with half as much again on either side. */
export function spanAround(from: number, to: number, seconds: number): Span {
  const room = Math.max(0.25, to - from);
  return clampSpan({ from: from - room, to: to + room }, seconds);
}

/** Round moments in what is seen, about `most` of them. */
export function ticksOf(span: Span, most: number): number[] {
  const step = niceStep((span.to - span.from) / Math.max(1, most));
  const ticks: number[] = [];
  for (let n = Math.ceil(span.from / step - 1e-9); n * step <= span.to + 1e-9; ++n) ticks.push(Number((n * step).toPrecision(12)));
  return ticks;
}

/** 1, 2, 5 times a power of ten; above ten seconds what clocks show. */
function niceStep(least: number): number {
  const clock = [10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 43200, 86400];
  if (least > 5) return clock.find((one) => one >= least) ?? 86400 * Math.ceil(least / 86400);
  const power = 10 ** Math.floor(Math.log10(least));
  return power * ([1, 2, 5, 10].find((one) => one * power >= least * (1 - 1e-9)) ?? 10);
}

/** "12.5 s", "3:12", "1:02:03". `step`: how fine it has to be told. */
export function momentText(seconds: number, step = 1): string {
  const digits = step >= 1 ? 0 : Math.min(3, Math.ceil(-Math.log10(step) - 1e-9));
  const told = Number(seconds.toFixed(digits));
  if (told < 60) return `${told.toFixed(digits)} s`;
  const rest = (told % 60).toFixed(digits).padStart(digits > 0 ? digits + 3 : 2, '0');
  const minutes = Math.floor(told / 60);
  return minutes < 60 ? `${minutes}:${rest}` : `${Math.floor(minutes / 60)}:${String(minutes % 60).padStart(2, '0')}:${rest}`;
}

/** "480 ms", "1.48 s", "3 min 12 s". */
export function lengthText(seconds: number): string {
  if (seconds < 1) return `${Math.round(seconds * 1000)} ms`;
  if (seconds < 60) return `${Number(seconds.toPrecision(3))} s`;
  const whole = Math.round(seconds);
  return `${Math.floor(whole / 60)} min ${whole % 60} s`;
}
