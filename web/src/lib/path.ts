// The free path, hop by hop: what is typed so far, and what probably comes next. Text in, text out; the program reads
// the finished text (`sketch path`). Letters in names as usual on drawings: F a fuse, K a relay, S a switch, J or X a
// plug, G a ground stud, B a sensor, E, M, H and Y loads (common practice).

export interface Path {
  hops: string[];
}

type Kind = 'fuse' | 'relay' | 'switch' | 'plug' | 'ground' | 'sensor' | 'load' | 'module' | 'battery' | 'other';

const letters: [RegExp, Kind][] = [
  [/^BAT/i, 'battery'],
  [/^(G\d|GND|chassis|frame|ground)/i, 'ground'],
  [/^F\d/i, 'fuse'],
  [/^K\d/i, 'relay'],
  [/^S\d/i, 'switch'],
  [/^[JX]\d/i, 'plug'],
  [/^B\d/i, 'sensor'],
  [/^[EMHYL]\d/i, 'load'],
  [/^\w+\.\w+:/, 'module'],
];

export function kindOf(hop: string): Kind {
  return letters.find(([pattern]) => pattern.test(hop.trim()))?.[1] ?? 'other';
}

/** `J4:12` in its pieces. */
function plugOf(hop: string): { name: string; cavity: string } | null {
  const match = /^([^:@\s]+):([^:@\s/]+)/.exec(hop.trim());
  return match ? { name: match[1]!, cavity: match[2]! } : null;
}

/** The next number of a name: J4 to J5, 12 to 13, A9 to A10. */
export function following(name: string): string {
  const match = /^(.*?)(\d+)$/.exec(name);
  return match ? `${match[1]}${Number(match[2]) + 1}` : `${name}2`;
}

function free(name: string, used: Set<string>): string {
  let one = name;
  while (used.has(one)) one = following(one);
  return one;
}

/** What probably comes next on the last path, the likeliest first, each once. */
export function guesses(paths: Path[]): string[] {
  const all = paths.flatMap((path) => path.hops);
  const used = new Set(all.map((hop) => hop.split(/[:.\s@]/)[0]!));
  const hops = paths[paths.length - 1]?.hops ?? [];
  const before = paths.slice(0, -1);
  const list = hops.length === 0 ? beginnings(before, used) : afterHop(hops, before, used);
  return [...new Set(list)].slice(0, 6);
}

function beginnings(before: Path[], used: Set<string>): string[] {
  // The way back: from the load or sensor at which the last path ended.
  const ends = before.map((path) => path.hops[path.hops.length - 1]!).filter((hop) => hop && ['load', 'sensor'].includes(kindOf(hop)));
  const back = ends.map((hop) => hop.replace(/\s*\(.*$/, '').replace(/:.*$/, ''));
  const module = before.flatMap((path) => path.hops).find((hop) => kindOf(hop) === 'module');
  const nextPin = module ? [module.replace(/([^:]+)$/, (pin) => following(pin))] : [];
  return [...back.reverse(), ...nextPin, free('F1', used), 'BAT:+', 'ECU.A:1'];
}

function afterHop(hops: string[], before: Path[], used: Set<string>): string[] {
  const last = hops[hops.length - 1]!;
  const kind = kindOf(last);
  const newPlug = `${free('J1', used)}:1`;
  const load = `${free('E1', used)} (lamp)`;
  const sensor = `${free('B1', used)}`;
  // The way back goes through the same plugs as the way there, one cavity further.
  const wayBack = before.length > 0 && ['load', 'sensor'].includes(kindOf(hops[0]!));
  if (wayBack) {
    const there = [...before[before.length - 1]!.hops].reverse().map(plugOf).filter((one) => one !== null && kindOf(one.name + '1') === 'plug');
    const passed = new Set(hops.map((hop) => plugOf(hop)?.name));
    const left = there.filter((one) => one && !passed.has(one.name)).map((one) => `${one!.name}:${following(one!.cavity)}`);
    const start = before[before.length - 1]!.hops[0]!;
    const home = kindOf(start) === 'module' ? [start.replace(/([^:]+)$/, (pin) => following(pin))] : [];
    return kind === 'ground' ? [] : [...left, ...home, free('G1', used), 'chassis', newPlug];
  }
  switch (kind) {
    case 'battery': return [free('F1', used), newPlug];
    case 'fuse': return [free('S1', used), newPlug, `${free('K1', used)}:30/87`, load];
    case 'relay':
    case 'switch': return [newPlug, load, `${free('K1', used)}:30/87`];
    case 'plug': {
      const plug = plugOf(last);
      const onward = plug ? `${free(following(plug.name), used)}:${plug.cavity}` : newPlug;
      const fromModule = kindOf(hops[0]!) === 'module';
      return fromModule ? [sensor, onward, load] : [load, onward, sensor, free('G1', used), 'chassis'];
    }
    case 'module': return [newPlug, sensor, load];
    case 'sensor':
    case 'load': return [];
    case 'ground': return [];
    default: return [newPlug, load, free('G1', used), 'chassis'];
  }
}

/** As `sketch path --path` takes it. */
export function pathText(paths: Path[]): string {
  return paths
    .filter((path) => path.hops.length > 1)
    .map((path) => path.hops.join(' -> '))
    .join('; ');
}
