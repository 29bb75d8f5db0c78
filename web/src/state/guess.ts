// What may come next on a path, as the program guesses it. Answers are kept, for the same text has the same answer; behind
// each answer the one that its first guess leads to is asked for ahead, so that Enter upon Enter waits for nothing.
import { call, type Operation } from '../api/client';
import type { Guessed, Reply } from '../api/replies';
import { withNewPath } from '../lib/path';

const most = 400;
const nothing: Guessed = { path: '', ends: false, guesses: [] };
const known = new Map<string, Guessed>();
const asked = new Map<string, Promise<Guessed>>();

type Ask = (operation: Operation, args: { path: string }) => Promise<Reply<Guessed>>;
let ask: Ask = (operation, args) => call<Guessed>(operation, args);

/** For tests: who is asked instead of the program; forgets what was answered. */
export function askGuessesOf(other: Ask): void {
  ask = other;
  known.clear();
  asked.clear();
}

/** The answer if it is here. */
export function knownGuess(path: string): Guessed | undefined {
  return known.get(path);
}

/** The answer, when it comes. A program that is silent guesses nothing, and is asked again the next time. */
export function guess(path: string, ahead = 1): Promise<Guessed> {
  const here = known.get(path);
  if (here) {
    lookAhead(here, ahead);
    return Promise.resolve(here);
  }
  const under = asked.get(path);
  if (under) return under;
  const coming = ask('guess', { path }).then((reply) => {
    asked.delete(path);
    if (!reply.ok) return nothing;
    if (known.size >= most) known.delete(known.keys().next().value!);
    known.set(path, reply.result);
    lookAhead(reply.result, ahead);
    return reply.result;
  });
  asked.set(path, coming);
  return coming;
}

/** The text after Enter with nothing typed: a path that has come to its end is ended, else its first guess is taken. */
export function afterEnter(answer: Guessed): string | null {
  if (answer.ends) return withNewPath(answer.path);
  const first = answer.guesses[0];
  return first ? answer.path + first.append : null;
}

function lookAhead(answer: Guessed, ahead: number): void {
  const next = afterEnter(answer);
  if (ahead > 0 && next !== null) void guess(next, ahead - 1);
}
