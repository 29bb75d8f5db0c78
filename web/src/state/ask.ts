// A question to the program that belongs to a view: asked when the view comes up, and again when `key` changes.
import { useSignal, type Signal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import { call, isLineTrouble, type Arguments, type Operation } from '../api/client';
import type { Reply } from '../api/replies';
import { comebacks } from './line';

export interface Asked<Result> {
  reply: Signal<Reply<Result> | null>;
  again: () => void;
}

export function useAsk<Result>(operation: Operation, args: Arguments, key: string): Asked<Result> {
  const reply = useSignal<Reply<Result> | null>(null);
  const turn = useSignal(0);
  const count = turn.value + comebacks.value;
  useEffect(() => {
    const stop = new AbortController();
    void call<Result>(operation, args, stop.signal).then((got) => {
      const keep = isLineTrouble(got.diagnostics) && reply.value !== null;
      if (!stop.signal.aborted && !keep) reply.value = got;
    });
    return () => stop.abort();
  }, [operation, key, count]);
  return { reply, again: () => ++turn.value };
}
