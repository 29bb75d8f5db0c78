// The book and the shelf as the page asks them.
import { call } from './client';
import type { Reply } from './replies';

export interface JobLine {
  job: string;
  open: boolean;
  loom: string;
  vehicle: string;
  customer: string;
  complaint: string;
  opened_at: string;
  closed_at: string;
  changed_at: string;
  /** Of a search: the words around what was found, in brackets. */
  found?: string;
}

export interface LoomLine {
  loom: string;
  name: string;
  vehicle: string;
  draft?: boolean;
  wires?: number;
  parts?: number;
  modules?: number;
}

export interface Photo {
  photo: string;
  name: string;
  entry?: number;
  removed?: boolean;
}

export function listJobs(search: string): Promise<Reply<{ jobs: JobLine[] }>> {
  const words = search.trim();
  return call('jobs', words === '' ? { do: 'list' } : { do: 'find', what: words });
}

export function listLooms(search: string): Promise<Reply<{ looms: LoomLine[] }>> {
  const words = search.trim();
  return call('shelf', words === '' ? { do: 'list' } : { do: 'find', what: words });
}

export function importLoom(name: string, text: string): Promise<Reply<{ loom: string }>> {
  return call('shelf', { do: 'put', what: name, text });
}

export function importJob(text: string): Promise<Reply<{ job: string }>> {
  return call('jobs', { do: 'import', text });
}

/** Where a photo of the book is shown from: `photo:SHA256.jpg` without its frame. */
export function photoAddress(photo: string): string {
  return `/photo/${photo.replace(/^photo:/, '').replace(/\.\w+$/, '')}`;
}

export async function addPhoto(job: string, file: File): Promise<Reply<Photo>> {
  try {
    const response = await fetch(`/photo?job=${encodeURIComponent(job)}`, {
      method: 'POST',
      headers: { 'Content-Type': file.type || 'image/jpeg' },
      body: file,
      credentials: 'same-origin',
    });
    return (await response.json()) as Reply<Photo>;
  } catch {
    return {
      ok: false,
      exit_code: 4,
      result: { photo: '', name: '' },
      diagnostics: [{ severity: 'error', code: 'page.unreachable', message: 'The program does not answer.' }],
    };
  }
}

/** A wire list of somebody else: what its columns were taken to hold, and what became of it. */
export interface WireList {
  columns?: { number: number; head: string; meaning: string; told: boolean }[];
  meanings?: string[];
  separator?: string;
  rows?: number;
  wires?: number;
  name?: string;
  file?: string;
}

/** `columns`: meaning to column number as set by hand, 0: none has it. With `out` it goes onto the shelf. */
export function readWires(text: string, columns: Record<string, number>, more: { name?: string; out?: string } = {}): Promise<Reply<WireList>> {
  const column = Object.entries(columns).map(([meaning, number]) => `${meaning}=${number === 0 ? '' : number}`);
  return call('import', { text, ...(column.length > 0 ? { column } : {}), ...more });
}
