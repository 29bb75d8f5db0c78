// Line numbers of a recording in what an entry says: "returns PMP + REL (3 times: 120-131, 4021-4033); file run.log".

export interface Piece {
  text: string;
  /** "120-131": these lines of the recording. */
  lines?: string;
}

/** The recording an entry came from, as it names it; none: it came from elsewhere. */
export function fileIn(what: string, shows: string): string | undefined {
  if (!/^recording( |$)/.test(what)) return undefined;
  return /(?:^|;) *file ([^;]+)$/.exec(shows)?.[1]?.trim();
}

/** What it says in pieces, those with lines apart. */
export function piecesOf(shows: string): Piece[] {
  const pieces: Piece[] = [];
  const add = (piece: Piece) => {
    if (piece.text !== '') pieces.push(piece);
  };
  const remarks = /\((\d+ times?: )([\d, -]+?)( \.\.\.)?\)|\((\d+ asked from line )(\d+)\)/g;
  let from = 0;
  for (const found of shows.matchAll(remarks)) {
    const [, times, list, rest, asked, line] = found;
    add({ text: `${shows.slice(from, found.index)}(${times ?? asked ?? ''}` });
    const ranges = (list ?? line ?? '').split(', ').filter(Boolean);
    ranges.forEach((range, i) => {
      if (i > 0) add({ text: ', ' });
      add({ text: range, lines: range });
    });
    add({ text: `${rest ?? ''})` });
    from = found.index + found[0].length;
  }
  add({ text: shows.slice(from) });
  return pieces;
}

/** Where in a recording a reason comes from: the lines that the entry gives for it, the first of them. */
export function linesOfReason(what: string, shows: string): string | undefined {
  const names = /^quiet (.+?)(?: while | on |$)/.exec(what)?.[1];
  const pair = /^hears (\S+) from (\S+)/.exec(what);
  const item = shows.split('; ').find((one) => {
    const said = one.replace(/ \(.*$/, '').replace(/ while .*$/, '');
    return names !== undefined ? /^(restarts|returns|steady) /.test(said) && said.replace(/^\S+ /, '') === names : pair !== null && (said === `hears ${pair[1]} from ${pair[2]}` || said === `deaf ${pair[1]} to ${pair[2]}`);
  });
  return item === undefined ? undefined : piecesOf(item).find((piece) => piece.lines)?.lines;
}

/** A range with some frames around it, for reading on: "120-131" to "110-141". */
export function widened(lines: string, by: number): string {
  const [from = 1, to = from] = lines.split('-').map(Number);
  return `${Math.max(1, from - by)}-${to + by}`;
}
