// What of a drawing is seen: pan, zoom, and which things touch the window. Plain arithmetic in drawing pixels.

export interface Size {
  width: number;
  height: number;
}

/** The drawing's point in the middle of the screen, and screen pixels for one of the drawing. */
export interface Look {
  x: number;
  y: number;
  zoom: number;
}

export interface Box extends Size {
  x: number;
  y: number;
}

export const leastZoom = 0.05;
export const mostZoom = 4;

export function clampLook(look: Look, drawing: Size): Look {
  return {
    x: Math.min(drawing.width, Math.max(0, look.x)),
    y: Math.min(drawing.height, Math.max(0, look.y)),
    zoom: Math.min(mostZoom, Math.max(leastZoom, look.zoom)),
  };
}

/** All of it, or as much as is still readable, from the upper left. */
export function fit(drawing: Size, screen: Size, readable = 0.5): Look {
  const all = Math.min(screen.width / (drawing.width + 40), screen.height / (drawing.height + 40));
  const zoom = Math.min(1.4, Math.max(readable, all));
  const half = { width: screen.width / zoom / 2, height: screen.height / zoom / 2 };
  return {
    x: drawing.width <= 2 * half.width ? drawing.width / 2 : half.width - 20,
    y: drawing.height <= 2 * half.height ? drawing.height / 2 : half.height - 20,
    zoom,
  };
}

/** So that all these points are seen, with room around them, no nearer than `nearest`. */
export function fitPoints(points: { x: number; y: number }[], drawing: Size, screen: Size, nearest = 1.25): Look | null {
  if (points.length === 0) return null;
  const xs = points.map((p) => p.x);
  const ys = points.map((p) => p.y);
  const [left, right] = [Math.min(...xs), Math.max(...xs)];
  const [top, bottom] = [Math.min(...ys), Math.max(...ys)];
  const zoom = Math.min(nearest, screen.width / (right - left + 260), screen.height / (bottom - top + 180));
  return clampLook({ x: (left + right) / 2, y: (top + bottom) / 2, zoom }, drawing);
}

/** Zooms by a factor and keeps the drawing's point under the given place of the screen where it is. */
export function zoomAt(look: Look, factor: number, at: { x: number; y: number }, screen: Size, drawing: Size): Look {
  const zoom = Math.min(mostZoom, Math.max(leastZoom, look.zoom * factor));
  const dx = at.x - screen.width / 2;
  const dy = at.y - screen.height / 2;
  return clampLook({ x: look.x + dx / look.zoom - dx / zoom, y: look.y + dy / look.zoom - dy / zoom, zoom }, drawing);
}

/** From a place on the screen to the drawing. */
export function toDrawing(look: Look, screen: Size, at: { x: number; y: number }): { x: number; y: number } {
  return { x: look.x + (at.x - screen.width / 2) / look.zoom, y: look.y + (at.y - screen.height / 2) / look.zoom };
}

/** The window with a margin, in steps, so that small moves keep the same things. */
export function windowOf(look: Look, screen: Size): Box {
  const step = Math.max(200, screen.width / look.zoom / 2);
  const half = { width: screen.width / look.zoom / 2, height: screen.height / look.zoom / 2 };
  const down = (value: number) => Math.floor(value / step) * step;
  const x = down(look.x - half.width - step / 4);
  const y = down(look.y - half.height - step / 4);
  return {
    x,
    y,
    width: down(look.x + half.width + step / 4) + step - x,
    height: down(look.y + half.height + step / 4) + step - y,
  };
}

export function touches(a: Box, b: Box, margin = 60): boolean {
  return (
    a.x - margin < b.x + b.width && b.x < a.x + a.width + margin && a.y - margin < b.y + b.height && b.y < a.y + a.height + margin
  );
}

/** The nearest of the points, no further off than `most`. */
export function nearest<P extends { x: number; y: number }>(points: P[], at: { x: number; y: number }, most: number): P | null {
  let best: P | null = null;
  let least = most * most;
  for (const one of points) {
    const d = (one.x - at.x) ** 2 + (one.y - at.y) ** 2;
    if (d <= least) {
      least = d;
      best = one;
    }
  }
  return best;
}

/** The next point in a direction: near, and more along than across. */
export function stepTo<P extends { x: number; y: number }>(points: P[], from: P, dx: number, dy: number): P {
  let best = from;
  let least = Infinity;
  for (const one of points) {
    const along = (one.x - from.x) * dx + (one.y - from.y) * dy;
    const across = Math.abs((one.x - from.x) * dy) + Math.abs((one.y - from.y) * dx);
    if (along <= 0.5) continue;
    const cost = along + 3 * across + (across > 1.5 * along ? 1e5 : 0); // first what lies that way, then what lies aside
    if (cost < least) {
      least = cost;
      best = one;
    }
  }
  return best;
}
