// Lists of the book and the shelf; read anew when something was written.
import { signal } from '@preact/signals';
import { listJobs, listLooms, type JobLine, type LoomLine } from '../api/book';
import type { Diagnostic } from '../api/replies';

export const jobs = signal<JobLine[] | null>(null);
export const looms = signal<LoomLine[] | null>(null);
export const bookProblems = signal<Diagnostic[]>([]);

let askedJobs = 0;

export async function readJobs(search: string): Promise<void> {
  const mine = ++askedJobs;
  const reply = await listJobs(search);
  if (mine !== askedJobs) return;
  bookProblems.value = reply.ok ? [] : reply.diagnostics;
  jobs.value = reply.ok ? reply.result.jobs : jobs.value ?? [];
}

let askedLooms = 0;

export async function readShelf(search: string): Promise<void> {
  const mine = ++askedLooms;
  const reply = await listLooms(search);
  if (mine !== askedLooms) return;
  if (!reply.ok) bookProblems.value = reply.diagnostics;
  looms.value = reply.ok ? reply.result.looms : looms.value ?? [];
}
