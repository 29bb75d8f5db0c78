// A job that comes to "put all back and leave it": mended as far as anybody can tell, something still apart, brakes on
// the line, and every test left out that would be worth its minutes.
const loom = `loom = 1
name = "straight line, invented"
system_volts = 24
[studs.G1]
[connectors.J1]
sides = ["cab", "frame"]
pins = ["1"]
caution = "Wheels chocked before it is parted."
[connectors.J2]
hazard = "brakes"
sides = ["frame", "rear"]
pins = ["1"]
[parts.BAT]
kind = "battery"
[parts.F1]
kind = "fuse"
rating_a = 10
[parts.L1]
kind = "lamp"
watt = 21
[setups.ramp-raised]
do = 2
undo = 2
caution = "Prop the ramp before anybody reaches under it."
[runs]
feed = "BAT:+ -[RD 2.5mm2 1m]-> F1 -[RD 1mm2 2m]-> J1:1 -[RD 1mm2 4m]-> J2:1 -[RD 1mm2 2m]-> L1 -[BN 1mm2 1m]-> G1"
minus = "BAT:- -[BK 10mm2 1m]-> G1"
`;

/** `call`: of an operation of the program. The job's name. */
export async function jobToLeave(call) {
  const must = async (operation, args) => {
    const reply = await call(operation, args);
    if (!reply.ok) throw new Error(`${operation}: ${JSON.stringify(reply.diagnostics)}`);
    return reply.result;
  };
  const { loom: shelved } = await must('shelf', { do: 'put', what: 'straight-line', text: loom });
  const { job } = await must('open', { loom: shelved, complaint: 'comes and goes' });
  for (const shows of ['dark', 'bright', 'dark', 'bright', 'dark', 'bright']) await must('saw', { job, what: 'look L1', shows });
  await must('did', { job, what: 'repaired remake contact J1:1' });
  for (let turn = 0; turn < 7; ++turn) await must('saw', { job, what: 'look L1', shows: 'bright' });
  // A short way back and few tools: not much is worth another look.
  await must('kit', { job, 'road-minutes': '1', clamp: 'no', 'test-lamp': 'no' });
  await must('did', { job, what: 'ramp-raised' });
  await must('did', { job, what: 'unplug J1' });
  for (let turn = 0; turn < 120; ++turn) {
    const next = await must('next', { job });
    if (next.kind === 'leave') return job;
    await must('skip', { job });
  }
  throw new Error('it is not left');
}
