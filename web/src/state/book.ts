// Lists of the book and the shelf; read anew when something was written.
import { signal } from '@preact/signals';
import { call, type Arguments } from '../api/client';
import type { JobLine, LoomLine } from '../api/book';
import type { Diagnostic } from '../api/replies';

export const jobs = signal<JobLine[] | null>(null);
export const looms = signal<LoomLine[] | null>(null);
export const bookProblems = signal<Diagnostic[]>([]);

let askedJobs = 0;

export async function readJobs(search: string, all: boolean): Promise<void> {
  const mine = ++askedJobs;
  const args: Arguments = search.trim() === '' ? { what: ['list'], ...(all ? { all: true } : {}) } : { what: ['search', search.trim()] };
  const reply = await call<{ jobs: JobLine[] }>('jobs', args);
  if (mine !== askedJobs) return;
  bookProblems.value = reply.ok ? [] : reply.diagnostics;
  jobs.value = reply.ok ? reply.result.jobs ?? [] : jobs.value ?? [];
}

let askedLooms = 0;

export async function readShelf(search: string): Promise<void> {
  const mine = ++askedLooms;
  const args: Arguments = search.trim() === '' ? { what: ['list'] } : { what: ['search', search.trim()] };
  const reply = await call<{ looms: LoomLine[] }>('shelf', args);
  if (mine !== askedLooms) return;
  bookProblems.value = reply.ok ? [] : reply.diagnostics;
  looms.value = reply.ok ? reply.result.looms ?? [] : looms.value ?? [];
}
