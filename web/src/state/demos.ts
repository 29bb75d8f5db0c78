// The four invented looms to practise on: they come with the page and go onto the shelf when first used.
import gritter from '../../../examples/gritter/gritter.loom.toml';
import refuseTruck from '../../../examples/refuse-truck/refuse-truck.loom.toml';
import roadSweeper from '../../../examples/road-sweeper/road-sweeper.loom.toml';
import tipperTrailer from '../../../examples/tipper-trailer/tipper-trailer.loom.toml';
import { importLoom } from '../api/book';
import type { Reply } from '../api/replies';
import type { MessageKey } from '../text/text';

export interface Demo {
  /** Name on the page; on the shelf it is `shelf:demo-...`. */
  loom: string;
  shelf: string;
  name: string;
  text: string;
  complaint: MessageKey & `complaint.demo-${string}`;
}

function demo(shelf: string, text: string, complaint: Demo['complaint']): Demo {
  return { loom: `demo:${shelf}`, shelf: `demo-${shelf}`, name: /^name = "(.*)"/m.exec(text)?.[1] ?? shelf, text, complaint };
}

export const demos: Demo[] = [
  demo('gritter', gritter, 'complaint.demo-gritter'),
  demo('refuse-truck', refuseTruck, 'complaint.demo-refuse-truck'),
  demo('tipper-trailer', tipperTrailer, 'complaint.demo-tipper-trailer'),
  demo('road-sweeper', roadSweeper, 'complaint.demo-road-sweeper'),
];

/** There already is as good as put there. */
export async function putOnShelf(one: Demo): Promise<Reply<{ loom: string }>> {
  const reply = await importLoom(one.shelf, one.text);
  if (reply.ok || reply.diagnostics[0]?.code !== 'shelf.exists') return reply;
  return { ...reply, ok: true, result: { loom: `shelf:${one.shelf}` } };
}
