// The book and the shelf as the page asks them.
import { call } from './client';
import type { Reply } from './replies';

export interface JobLine {
  job: string;
  number?: number;
  loom: string;
  vehicle?: string;
  complaint: string;
  customer?: string;
  opened_at?: string;
  closed_at?: string;
  changed_at?: string;
  entries?: number;
  proven?: boolean;
}

export interface LoomLine {
  loom: string;
  name: string;
  vehicle?: string;
  note?: string;
  demo?: boolean;
}

export interface Photo {
  hash: string;
  caption?: string;
  at?: string;
}

export async function addPhoto(job: string, file: File): Promise<Reply<Photo>> {
  try {
    const response = await fetch(`/photo?job=${encodeURIComponent(job)}&name=${encodeURIComponent(file.name)}`, {
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
      result: { hash: '' },
      diagnostics: [{ severity: 'error', code: 'page.unreachable', message: 'The program does not answer.' }],
    };
  }
}


/** What a wire list's columns are taken to be. */
export interface WireColumns {
  columns?: { is: string; column: string; required?: boolean }[];
  headings?: string[];
  loom?: string;
}

export interface WireList extends WireColumns {
  name: string;
  text: string;
}

export function importLoom(name: string, text: string): Promise<Reply<{ loom: string }>> {
  return call('shelf', { what: ['put', name], text });
}

export function importJob(text: string): Promise<Reply<{ job: string }>> {
  return call('jobs', { what: ['import'], text });
}

/** Reads a wire list; with `keepName` also puts it on the shelf. */
export function readWires(name: string, text: string, columns: Record<string, string>, keepName?: string): Promise<Reply<WireColumns>> {
  return call('import', { text, name, columns, ...(keepName ? { out: `shelf:${keepName}` } : {}) });
}
