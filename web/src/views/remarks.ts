// What stands out in a recording, as sentences in the language of the screen, made of the reply's own lists; modules by
// the names that the drawing has for them. What the lists cannot say stays as the program wrote it.
import type { Captured, Group, Remark, SenderKey } from '../api/recording';
import { lengthText } from '../draw/span';
import { numbers, t, tell, language, type MessageKey } from '../text/text';
import { en } from '../text/en';

export interface RemarkNames {
  captured: Captured;
  /** A sender in full; for a list of several its first word will do. */
  label: (one: SenderKey) => string;
}

const mostNamed = 4;

function listed(names: string[], most = Infinity): string {
  return names.length > most ? `${names.slice(0, most).join(', ')} +${names.length - most}` : names.join(', ');
}

function pgnText({ captured }: RemarkNames, pgn: number): string {
  const name = captured.senders.flatMap((one) => one.messages).find((one) => one.pgn === pgn)?.name;
  return name ? `PGN ${pgn} (${name})` : `PGN ${pgn}`;
}

const everybody = 255;
function addressLabel(names: RemarkNames, channel: string, address: number): string {
  return address === everybody ? t('remark.everybody') : names.label({ channel, address });
}

/** The list's item that a remark is about: the one that begins on the remark's first line. */
function about<Item>(list: Item[], remark: Remark, lineOf: (one: Item) => number | undefined): Item | undefined {
  return list.find((one) => lineOf(one) === remark.lines[0]);
}

const volts = (value: number) => String(Number(value.toFixed(2)));

function voltsSentence(group: Group): string {
  const before = group.events.find((one) => one.volts_before)?.volts_before;
  const least = group.events.flatMap((one) => one.volts_least ?? []).sort((a, b) => a.volts - b.volts)[0];
  if (!before && !least) return '';
  return [t('recording.volts'), before ? t('recording.volts-before', { volts: volts(before.volts) }) : '', least ? t('recording.volts-least', { volts: volts(least.volts) }) : ''].filter(Boolean).join(' ');
}

function quiet(names: RemarkNames, group: Group): string {
  const { times, events } = group;
  const shortest = lengthText(group.shortest_s);
  const longest = lengthText(group.longest_s);
  const key = group.senders.length > 1 ? 'remark.quiet-together' : 'remark.quiet';
  const heard = events.map((one) => one.heard).sort((a, b) => b.length - a.length)[0] ?? [];
  const restarts = events.filter((one) => one.quiet.some((each) => each.claimed)).length;
  return [
    t(key, { n: times, time: shortest === longest ? shortest : t('recording.seen', { from: shortest, to: longest }), at: lengthText(events[0]?.begins.at_s ?? 0), names: listed(group.senders.map(names.label)) }),
    events.some((one) => one.quiet.some((each) => each.to_the_end)) ? t('recording.to-the-end') : '',
    events.some((one) => one.whole_bus) ? t('recording.whole-bus') : heard.length > 0 ? t('recording.went-on', { names: listed(heard.map(names.label), mostNamed) }) : '',
    voltsSentence(group),
    restarts === 0 ? '' : restarts === times ? t('recording.claimed') : t('remark.claimed-some', { n: restarts }),
  ]
    .filter(Boolean)
    .join(' ');
}

function activeCodes(names: RemarkNames): string {
  const active = names.captured.codes.filter((one) => one.list === 'active');
  const senders = new Set(active.map((one) => `${one.channel} ${one.address}`)).size;
  return t('remark.active-codes', { n: active.length, modules: senders, list: listed(active.map((one) => `${names.label(one)} SPN ${one.spn} FMI ${one.fmi}`), mostNamed) });
}

function className(name: string): string {
  const key = `errors.${name}`;
  return key in en ? tell(language.value, key as MessageKey) : name;
}

function errors({ captured }: RemarkNames): string {
  const { frames, bursts, more_bursts, classes } = captured.errors;
  return t('remark.errors', { n: frames, bursts: bursts.length + more_bursts, at: lengthText(bursts[0]?.first.at_s ?? 0), classes: listed(Object.entries(classes).map(([name, n]) => `${className(name)} ${numbers.value.whole(n)}`)) });
}

function notAnswered(names: RemarkNames): string {
  const list = names.captured.requests.filter((one) => one.unanswered > 0 && one.to !== everybody && one.not_answered_by.length > 0);
  return t('remark.not-answered', { n: list.length, list: listed(list.map((one) => t('remark.request', { to: addressLabel(names, one.channel, one.to), from: addressLabel(names, one.channel, one.from), pgn: pgnText(names, one.pgn) })), mostNamed) });
}

type Say = (names: RemarkNames, remark: Remark) => string | undefined;

const says: Record<string, Say> = {
  'only-errors': ({ captured }) => t('remark.only-errors', { n: captured.errors.frames }),
  'errors': errors,
  'quiet-together': (names, remark) => silence(names, remark, true),
  'quiet': (names, remark) => silence(names, remark, false),
  'address-conflict': (names, remark) => {
    // Its lines are those of the claims, which the reply does not repeat: several of them stand in their order.
    const same = names.captured.stands_out.filter((one) => one.kind === remark.kind);
    const one = names.captured.addresses.claimed_by_several[same.indexOf(remark)];
    return one && t(one.contested ? 'remark.conflict' : 'remark.one-after-other', { n: one.names.length, who: names.label(one) });
  },
  'cannot-claim': ({ captured }, remark) => {
    const one = about(captured.addresses.cannot_claim, remark, (each) => each.first.line);
    return one && t('remark.cannot-claim', { name: one.name });
  },
  'active-codes': activeCodes,
  'not-answered': notAnswered,
  'long-message-failed': (names, remark) => {
    const one = about(names.captured.long_messages, remark, (each) => each.first_failed?.line);
    return one && t('remark.long-message', { pgn: pgnText(names, one.pgn), from: addressLabel(names, one.channel, one.from), to: addressLabel(names, one.channel, one.to), complete: one.complete, begun: one.begun, aborted: one.aborted });
  },
  'message-stopped': (names, remark) => {
    for (const sender of names.captured.senders) {
      const one = about(sender.messages.filter((each) => each.stopped), remark, (each) => each.last.line);
      if (one) return t('remark.stopped', { who: names.label(sender), what: one.pgn === undefined ? `id ${one.id.toString(16).toUpperCase()}` : pgnText(names, one.pgn), at: lengthText(one.last.at_s) });
    }
    return undefined;
  },
  'heard-late': (names, remark) => {
    const one = about(names.captured.heard_late, remark, (each) => each.line);
    return one && [t('remark.late', { who: names.label(one), at: lengthText(one.at_s) }), one.claimed ? t('remark.late-claim') : ''].filter(Boolean).join(' ');
  },
  'busy': ({ captured }, remark) => {
    const one = about(captured.load, remark, (each) => each.peak_at.line);
    return one && [t('remark.busy', { share: numbers.value.percent(Math.min(1, one.peak)), rate: numbers.value.whole(one.bit_rate / 1000), at: lengthText(one.peak_at.at_s) }), one.guessed ? t('remark.rate-guessed') : ''].filter(Boolean).join(' ');
  },
  'empty': () => t('remark.empty'),
  'no-times': () => t('remark.no-times'),
  'clock-set': ({ captured }) => {
    const [first] = captured.recording.clock_set;
    return first && t('remark.clock-set', { by: `${first.by_s < 0 ? '−' : '+'}${lengthText(Math.abs(first.by_s))}` });
  },
  'several-channels': ({ captured }) => t('remark.several-channels', { names: listed(captured.recording.channels) }),
  'damaged': ({ captured }) => t('remark.damaged', { n: captured.recording.damaged, line: captured.recording.first_damage[0]?.line ?? 0 }),
  'truncated': ({ captured }) => (captured.recording.truncated ? t('remark.truncated') : undefined),
  'lost': (_, remark) => counted(remark, (n) => t('remark.lost', { n })),
  'not-all-listed': (_, remark) => counted(remark, (n) => t('remark.not-all-listed', { n })),
};

function silence(names: RemarkNames, remark: Remark, together: boolean): string | undefined {
  const groups = names.captured.silences.filter((one) => one.senders.length > 1 === together);
  const group = about(groups, remark, (each) => each.events[0]?.begins.line);
  return group && quiet(names, group);
}

/** The reply has this number in the program's own sentence only. */
function counted(remark: Remark, say: (n: number) => string): string | undefined {
  const digits = /\d[\d,]*/.exec(remark.text)?.[0];
  return digits === undefined ? undefined : say(Number(digits.replaceAll(',', '')));
}

/** A remark in words. */
export function remarkText(names: RemarkNames, remark: Remark): string {
  return says[remark.kind]?.(names, remark) ?? remark.text;
}
