// Paths as text while they are typed: "F1 -> S1 -[RD 1mm2]-> E1; E1 -> G1". Here it is only cut into pieces for the screen
// and put together; what a hop is and what comes next the program says (`guess`), and it reads the whole (`sketch path`).

const link = /\s*(?:-\[[^\]]*\]-?>?|->|>|,| - )\s*/;
const linkAtEnd = /(?:-\[[^\]]*\]-?>?|->|>|,)\s*$/;

function cut(text: string): string[] {
  return text.split(/[;\n]/);
}

/** The hops of each path, for the screen; the last path is the one that goes on, empty when it is new. */
export function hopsOf(text: string): string[][] {
  return cut(text).map((path) => path.split(link).map((hop) => hop.trim()).filter((hop) => hop !== ''));
}

/** The text with a hop, or several, behind what stands there. */
export function withHop(text: string, typed: string): string {
  const hop = typed.trim().replace(/\s*-$/, '');
  if (hop === '') return text;
  const begun = cut(text).at(-1)!.trim() !== '';
  const between = !begun ? '' : linkAtEnd.test(text) ? ' ' : ' -> ';
  return text.trimEnd() + (begun || text === '' ? between : ' ') + hop + (hop.endsWith(']') ? '->' : '');
}

export function withNewPath(text: string): string {
  return cut(text).at(-1)!.trim() === '' ? text : `${text.replace(/\s*(->|>|,)?\s*$/, '')};`;
}

/** Without its last hop, else without the path that was begun. */
export function withoutLast(text: string): string {
  const from = Math.max(text.lastIndexOf(';'), text.lastIndexOf('\n')) + 1;
  const path = text.slice(from);
  if (path.trim() === '') return text.slice(0, Math.max(0, from - 1));
  let rest = path.trimEnd();
  const trailing = linkAtEnd.exec(rest);
  if (trailing) rest = rest.slice(0, trailing.index).trimEnd();
  let end = 0;
  for (const found of rest.matchAll(new RegExp(link, 'g'))) end = found.index;
  return text.slice(0, from) + rest.slice(0, end);
}

/** What the sketch is told: paths of one hop say nothing yet. */
export function wholePaths(text: string): string {
  return cut(text)
    .filter((path) => hopsOf(path)[0]!.length > 1)
    .map((path) => path.trim().replace(/\s*(->|>|,)$/, ''))
    .join('; ');
}
