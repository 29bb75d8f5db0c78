import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { Captured, Remark, SenderKey } from '../../src/api/recording';
import { language } from '../../src/text/text';
import { remarkText } from '../../src/views/remarks';

const at = (line: number) => ({ at_s: line / 10, line });
const from = (address: number): SenderKey => ({ channel: 'can0', address });

/** A recording in which everything happens. Invented. */
const captured = {
  recording: { format: 'candump', times: 'relative', lines: 900, damaged: 2, first_damage: [{ line: 7 }], truncated: true, duration_s: 90, channels: ['can0', 'can1'], clock_set: [{ line: 3, by_s: -2 }] },
  frames: 880,
  senders: [{ ...from(39), frames: 5, first: at(1), last: at(9), messages: [{ id: 1, pgn: 65262, name: 'Engine temperature', frames: 5, last: at(44), comes: 'cyclic', stopped: true }] }],
  silences: [
    { senders: [from(39), from(40)], times: 2, shortest_s: 0.5, longest_s: 2, events: [
      { begins: at(100), quiet: [{ ...from(39), seconds: 2, before: at(100), after: at(120), claimed: true }], heard: [from(41)], too_slow_to_tell: [], ended_together: true, whole_bus: false, volts_before: { volts: 27.604, ...at(90) }, volts_least: { volts: 26.1, ...at(101) } },
      { begins: at(200), quiet: [{ ...from(39), seconds: 0.5, before: at(200), after: at(205) }], heard: [], too_slow_to_tell: [], ended_together: true, whole_bus: false },
    ] },
    { senders: [from(41)], times: 1, shortest_s: 3, longest_s: 3, events: [{ begins: at(300), quiet: [{ ...from(41), seconds: 3, before: at(300), after: at(330), to_the_end: true }], heard: [], too_slow_to_tell: [], ended_together: true, whole_bus: true }] },
  ],
  heard_late: [{ ...from(41), ...at(50), claimed: true }],
  addresses: { claimed_by_several: [{ ...from(39), names: ['A', 'B'], contested: true }], cannot_claim: [{ name: '00AB', first: at(60) }] },
  requests: [{ channel: 'can0', from: 249, to: 39, pgn: 65262, unanswered: 3, not_answered_by: [39], first_unanswered: at(61) }],
  long_messages: [{ channel: 'can0', from: 39, to: 255, pgn: 65226, begun: 3, complete: 1, aborted: 2, first_failed: at(62) }],
  codes: [{ ...from(39), list: 'active', pgn: 65226, spn: 520193, fmi: 3, times: 2, at_the_end: true, first: at(63), last: at(64) }],
  load: [{ channel: 'can0', bit_rate: 250000, guessed: true, mean: 0.2, peak: 0.71, peak_at: at(65), slot_s: 1, slots: [] }],
  errors: { frames: 12, classes: { 'no acknowledgement': 12 }, bursts: [{ first: at(66) }], more_bursts: 1 },
  stands_out: [] as Remark[],
} as unknown as Captured;

const names: Record<number, string> = { 39: 'PMP', 40: 'REL', 41: 'RCV' };
const label = (one: SenderKey) => names[one.address ?? -1] ?? `SA ${one.address}`;
const raw = 'as the program wrote it';
const say = (kind: string, ...lines: number[]) => {
  const remark = { kind, text: raw, lines };
  return remarkText({ captured: { ...captured, stands_out: [remark] }, label }, remark);
};

/** kind, its first line, what must be in it. */
const kinds: [string, number, RegExp][] = [
  ['quiet-together', 100, /2.*500 ms.*2 s.*PMP, REL.*RCV.*27\.6.*26\.1/],
  ['quiet', 300, /3 s.*RCV/],
  ['errors', 66, /12.*2.*6\.6 s/],
  ['only-errors', 66, /12/],
  ['address-conflict', 1, /PMP.*2/],
  ['cannot-claim', 60, /00AB/],
  ['active-codes', 63, /1.*PMP SPN 520193 FMI 3/],
  ['not-answered', 61, /PMP.*SA 249.*65262 \(Engine temperature\)/],
  ['long-message-failed', 62, /65226.*PMP.*1.*3.*2/],
  ['message-stopped', 44, /PMP.*65262.*4\.4 s/],
  ['heard-late', 50, /RCV.*5 s/],
  ['busy', 65, /71.*250.*6\.5 s/],
  ['empty', 0, /./],
  ['no-times', 0, /./],
  ['clock-set', 3, /−2 s/],
  ['several-channels', 0, /can0, can1/],
  ['damaged', 7, /2.*7/],
  ['truncated', 0, /./],
];

for (const which of ['en', 'de'] as const)
  test(`every kind of remark is said in words of the catalogue: ${which}`, () => {
    language.value = which;
    for (const [kind, line, wanted] of kinds) {
      const text = say(kind, line);
      assert.notEqual(text, raw, kind);
      assert.match(text, wanted, kind);
      assert.doesNotMatch(text, /[{}]|undefined|NaN/, kind);
    }
    language.value = 'en';
  });

test('German and English differ in every sentence', () => {
  const english = kinds.map(([kind, line]) => say(kind, line));
  language.value = 'de';
  kinds.forEach(([kind, line], i) => assert.notEqual(say(kind, line), english[i], kind));
  language.value = 'en';
});

test('what the lists do not hold stays as the program wrote it', () => {
  assert.equal(say('quiet-together', 999), raw);
  assert.equal(say('lost', 1), raw);
  assert.equal(say('something new'), raw);
});

test('a number that only the sentence of the program has is said in the language of the screen', () => {
  const tell = (kind: string, text: string) => remarkText({ captured, label }, { kind, text, lines: [] });
  language.value = 'de';
  assert.equal(tell('lost', 'the tap itself says that it lost 1,234 frames'), 'Der Mitschneider sagt selbst, dass ihm 1.234 Botschaften verloren gingen.');
  assert.match(tell('not-all-listed', '3 frames are of more senders or messages than are kept apart'), /^3 Botschaften gehör/);
  language.value = 'en';
});

test('who started anew only now and then is said with the number', () => {
  assert.match(say('quiet-together', 100), /Once addresses were claimed anew/);
  assert.match(say('quiet', 300), /Silent to the end\..*Nobody at all was heard/);
});
