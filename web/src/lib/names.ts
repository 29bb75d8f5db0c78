// Names of points for people: connector, cavity and side apart.
import type { Plug } from '../api/board';
import type { Point, Test } from '../api/replies';

/** `J4:12@cab` taken apart with the help of the plugs there are. */
export function pointOf(name: string, plugs: Plug[]): Point {
  const at = name.lastIndexOf('@');
  const bare = at < 0 ? name : name.slice(0, at);
  const colon = bare.lastIndexOf(':');
  const connector = colon < 0 ? bare : bare.slice(0, colon);
  const plug = plugs.find((one) => one.name === connector);
  if (!plug || colon < 0) return at < 0 ? { point: name } : { point: name, lug_of: name.slice(at + 1) };
  const side = at < 0 ? (plug.inline ? '' : 'loom') : name.slice(at + 1);
  const place = plug.sides.find((one) => one.name === side)?.place ?? plug.sides[0]?.place ?? '';
  return { point: name, connector, cavity: bare.slice(colon + 1), side, place };
}

/** The plugs that the probes of a test touch, each once, with the cavities and which probe is where. */
export function facesOf(test: Pick<Test, 'red' | 'black'>, plugs: Plug[]): { plug: Plug; side: string; marks: Map<string, string> }[] {
  const faces: { plug: Plug; side: string; marks: Map<string, string> }[] = [];
  for (const [letter, point] of [['R', test.red], ['B', test.black]] as const) {
    const plug = plugs.find((one) => one.name === point?.connector);
    if (!plug || point?.cavity === undefined || plug.rows.length === 0) continue;
    const side = point.side ?? '';
    // A side or cavity that the plug does not have has no face either.
    const sides = plug.inline ? plug.sides.map((one) => one.name) : ['loom', 'unit'];
    if (!sides.includes(side) || !plug.rows.flat().includes(point.cavity)) continue;
    let face = faces.find((one) => one.plug === plug && one.side === side);
    if (!face) faces.push((face = { plug, side, marks: new Map() }));
    face.marks.set(point.cavity, (face.marks.get(point.cavity) ?? '') + letter);
  }
  return faces;
}

/** A name for the shelf. */
export function slugOf(name: string): string {
  return name.toLowerCase().normalize('NFKD').replace(/[^a-z0-9]+/g, '-').replace(/^-|-$/g, '').slice(0, 60) || 'loom';
}
