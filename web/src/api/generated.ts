// The operations of the program and their arguments. Made by tools/page_types.py from the reply of `operations`; change
// src/app/operations.cpp, not this file.

export type Told = string | number;

export interface OperationArguments {
  /** read a loom: every error at once, and what is electrically odd */
  check: {
    /** the loom file, or shelf:NAME */
    loom?: Told;
    /** list every point a probe can touch */
    points?: boolean;
  };
  /** the path between two points, hop by hop, with places and minutes */
  trace: {
    /** a point */
    from?: Told;
    /** a point */
    to?: Told;
    /** a loom file, when there is no job; without --loom it stands first, as in check */
    loom?: Told;
    /** the job file, or book:7 (or 7), a job of the book; not needed when the folder holds just one file */
    job?: Told;
  };
  /** the circuit as SVG; of a job: with the suspicion as line weight and percentage */
  draw: {
    /** a loom file, when there is no job; without --loom it stands first, as in check */
    loom?: Told;
    /** the job file, or book:7 (or 7), a job of the book; not needed when the folder holds just one file */
    job?: Told;
    /** write to this file */
    out?: Told;
    /** light lines on a dark ground */
    dark?: boolean;
  };
  /** what should I read here: healthy, and under each suspect */
  expect: {
    /** a test, as in saw: volts A B, ohms A B, code NAME ... */
    what?: Told | readonly Told[];
    /** instead of one test: the list of codes, and which modules answer the reader */
    codes?: boolean;
    /** something done first: key-on, "unplug J4" */
    with?: Told | readonly Told[];
    /** under this fault: NAME or NAME@SEVERITY, severity 0 to 1; two: NAME and NAME */
    if?: Told | readonly Told[];
    /** read with this meter, a file */
    meter?: Told;
    /** a loom file, when there is no job */
    loom?: Told;
    /** the job file, or book:7 (or 7), a job of the book; not needed when the folder holds just one file */
    job?: Told;
  };
  /** who hears whom on each bus, healthy or under a fault: levels, margins, who is cut off and why */
  hears: {
    /** this bus only */
    bus?: Told;
    /** something done first: key-on, "unplug J4"; without: the vehicle at work, as the job has it otherwise */
    with?: Told | readonly Told[];
    /** under this fault: NAME or NAME@SEVERITY, severity 0 to 1 */
    if?: Told | readonly Told[];
    /** a loom file, when there is no job */
    loom?: Told;
    /** the job file, or book:7 (or 7), a job of the book; not needed when the folder holds just one file */
    job?: Told;
  };
  /** every single fault of a loom, with the name that expect and rehearse take, and the fuses it blows */
  faults: {
    /** a loom file, when there is no job; without --loom it stands first, as in check */
    loom?: Told;
    /** the job file, or book:7 (or 7), a job of the book; not needed when the folder holds just one file */
    job?: Told;
    /** work out which fuses they blow, however large the loom (from 3,000 faults on) */
    blows?: boolean;
  };
  /** the wire list of a loom as CSV */
  wires: {
    /** a loom file, when there is no job; without --loom it stands first, as in check */
    loom?: Told;
    /** the job file, or book:7 (or 7), a job of the book; not needed when the folder holds just one file */
    job?: Told;
    /** write to this file */
    out?: Told;
  };
  /** a loom from a few answers, asked for at the keyboard when none are given; what is not known stands as usual */
  sketch: {
    /** which template */
    template?: Told;
    /** which templates there are, and what they ask */
    list?: boolean;
    /** nodes in order along the backbone, each NAME or NAME @ PLACE */
    nodes?: Told | readonly Told[];
    /** bit rate, kbit/s */
    'bit-rate'?: Told;
    /** metres from node to node: one for all, or one for each stretch */
    lengths?: Told | readonly Told[];
    /** terminators: inside (the end nodes), plug or none; one word for both ends, or two */
    terminators?: Told | readonly Told[];
    /** metres from the backbone to a node */
    stub?: Told;
    /** plugs on the way, each J7 between NODE and NODE, or with its cavities J7:3/4 between ... */
    plugs?: Told | readonly Told[];
    /** which node passes messages on to a second bus */
    gateway?: Told;
    /** nodes of that second bus, in order away from the gateway */
    beyond?: Told | readonly Told[];
    /** its bit rate, kbit/s */
    'beyond-bit-rate'?: Told;
    /** its metres from node to node */
    'beyond-lengths'?: Told | readonly Told[];
    /** its terminators, the gateway's end first */
    'beyond-terminators'?: Told | readonly Told[];
    /** where the code reader is plugged in, X9 at NODE or X9:C/D at NODE */
    reader?: Told;
    /** codes for lost nodes, each CODE in NODE lost NODE */
    codes?: Told | readonly Told[];
    /** supply, V */
    volts?: Told;
    /** name of the loom */
    name?: Told;
    /** which vehicle */
    vehicle?: Told;
    /** what is fed, NAME or NAME @ PLACE */
    load?: Told;
    /** motor, lamp, solenoid or heater */
    'load-kind'?: Told;
    /** its watts */
    watt?: Told;
    /** its fuse, NAME or NAME @ PLACE */
    fuse?: Told;
    /** the fuse's amperes */
    rating?: Told;
    /** the switch, NAME or NAME @ PLACE */
    switch?: Told;
    /** the relay that the switch works; none: the switch feeds it itself */
    relay?: Told;
    /** the ground stud, NAME or NAME @ PLACE */
    ground?: Told;
    /** mm2 of the wire */
    size?: Told;
    /** metres of wire there */
    length?: Told;
    /** the module that reads it, NAME or NAME @ PLACE */
    module?: Told;
    /** the sensor, NAME or NAME @ PLACE */
    sensor?: Told;
    /** what it senses and its ohms, at two points or more: -40=50k, 20=2500, 120=120 */
    curve?: Told | readonly Told[];
    /** in which unit */
    unit?: Told;
    /** what it senses now; the middle when not known */
    at?: Told;
    /** the module's cavity for the signal */
    'signal-pin'?: Told;
    /** ... and for the return */
    'return-pin'?: Told;
    /** the module's pull-up, ohm */
    'pull-up'?: Told;
    /** the code for a voltage above normal */
    'code-high'?: Told;
    /** the code for a voltage below normal */
    'code-low'?: Told;
    /** the module's cavity for the sensor's supply */
    'supply-pin'?: Told;
    /** ... and for the sensor's ground */
    'ground-pin'?: Told;
    /** volts of the module's sensor supply */
    reference?: Told;
    /** its pull-down on the signal, ohm; 0: none or not known */
    'pull-down'?: Told;
    /** which socket */
    socket?: Told;
    /** which of its pins are in question, by number or function (stop, tail-left ...); none told: all */
    pins?: Told | readonly Told[];
    /** is there a coiled lead with a plug at both ends; usual at 24 V */
    lead?: Told;
    /** are the lamps LED lamps */
    led?: Told;
    /** the socket's name, NAME or NAME @ PLACE */
    'socket-name'?: Told;
    /** the alternator, NAME or NAME @ PLACE */
    alternator?: Told;
    /** the battery, NAME or NAME @ PLACE */
    battery?: Told;
    /** how many of them in series; two usual at 24 V, one at 12 V */
    batteries?: Told;
    /** the fuse in the charging cable, NAME or NAME @ PLACE; none when left out */
    'main-fuse'?: Told;
    /** the charge warning lamp, NAME or NAME @ PLACE */
    lamp?: Told;
    /** its watts */
    'lamp-watt'?: Told;
    /** the key switch, NAME or NAME @ PLACE */
    key?: Told;
    /** the strap from engine to frame, NAME */
    strap?: Told;
    /** watts that are switched on */
    consumers?: Told;
    /** metals the return goes over in order, from the stud's to the one with the battery's cable; a strap between each two */
    metals?: Told | readonly Told[];
    /** other loads on the same stud, NAME or NAME @ PLACE */
    others?: Told | readonly Told[];
    /** mm2 of straps and the battery's cable */
    'strap-size'?: Told;
    /** the path hop by hop, as read off the drawing: F3 -> S1 -[RD 1mm2 2m]-> J4:3 -> E1 (lamp 21W); several: with ; between */
    path?: Told | readonly Told[];
    /** where things are, each NAME @ PLACE */
    places?: Told | readonly Told[];
    /** the new file; made from the loom's name when left out */
    out?: Told;
    /** replace a file of that name */
    force?: boolean;
    /** show the loom and what check says of it; write nothing */
    text?: boolean;
    /** with --text: the drawing as SVG in the JSON reply too */
    drawing?: boolean;
    /** ... light lines on a dark ground */
    dark?: boolean;
  };
  /** what may come next while a path is typed: hops, likeliest first, each as the text to put behind */
  guess: {
    /** all paths so far; the last line, or what stands behind ;, goes on */
    path?: Told;
    /** a loom file that is extended */
    loom?: Told;
  };
  /** a wire list of somebody else as a loom: CSV, its columns guessed from their heads, shown, put right */
  import: {
    /** the wire list */
    file?: Told;
    /** its text, instead of a file */
    text?: Told;
    /** what a column holds: from=3, colour=Farbe; name= for none */
    column?: Told | readonly Told[];
    /** name of the loom */
    name?: Told;
    /** which vehicle */
    vehicle?: Told;
    /** supply, V */
    volts?: Told;
    /** the new loom; shown when left out */
    out?: Told;
    /** replace a file of that name */
    force?: boolean;
  };
  /** open a job: which loom, which complaint */
  open: {
    /** the loom file, or shelf:NAME */
    loom?: Told;
    /** what the customer says */
    complaint?: Told;
    /** name of the new job file; left out: made from the loom's name, for a loom on the shelf the next job of the book */
    job?: Told;
    /** which vehicle */
    vehicle?: Told;
    /** for whom */
    customer?: Told;
    /** your meter, a file; `default`: the common handheld */
    meter?: Told;
    /** the vehicle is parked, not in its working state */
    parked?: boolean;
    /** replace a job of that name */
    force?: boolean;
  };
  /** enter what was seen: a reading, a code, a live value, a lamp; or just the value that next asked for */
  saw: {
    /** a test and what it showed (121.7, OL, 4k7, 23.8V, active, dim), or the bare value; list MODULE CODE, CODE past: all codes of a module */
    what?: Told | readonly Told[];
    /** what it showed, when not said with the test */
    shows?: Told;
    /** enter it, and leave out how the suspects stand then */
    brief?: boolean;
    /** the job file, or book:7 (or 7), a job of the book; not needed when the folder holds just one file */
    job?: Told;
  };
  /** put a recording of a bus into the job: who is heard, who never, who goes quiet together, who answers whom */
  witness: {
    /** the recording: candump text, pcap or pcapng, plain, gzip or zstd; -: standard input */
    file?: Told;
    /** the bus it was recorded on; not needed when only one has a reader drawn */
    on?: Told;
    /** where on it: "HIGH-POINT LOW-POINT"; the drawn reader when left out */
    at?: Told;
    /** NUMBER=MODULE: a source address or 11-bit identifier that the loom does not know */
    who?: Told | readonly Told[];
    /** of a recording of several buses: this one */
    channel?: Told;
    /** what it took; 3 when left out */
    minutes?: Told;
    /** say what would be entered, and enter nothing */
    dry?: boolean;
    /** enter it, and leave out how the suspects stand then */
    brief?: boolean;
    /** the job file, or book:7 (or 7), a job of the book; not needed when the folder holds just one file */
    job?: Told;
  };
  /** enter what was done: a setup, unplug, plug, fit, remove, swap, put back, repaired */
  did: {
    /** what was done */
    what?: Told | readonly Told[];
    /** how long it took */
    minutes?: Told;
    /** the job file, or book:7 (or 7), a job of the book; not needed when the folder holds just one file */
    job?: Told;
  };
  /** what to mind before a test or an act of your own choice: refused or not, what comes first, cautions */
  mind: {
    /** a test, as in saw: ohms A B */
    what?: Told | readonly Told[];
    /** instead: something to be done, as in did */
    act?: Told;
    /** something done first: key-on, "unplug J4" */
    with?: Told | readonly Told[];
    /** the job file, or book:7 (or 7), a job of the book; not needed when the folder holds just one file */
    job?: Told;
  };
  /** take back the newest entry, or entry N; again: it counts again */
  undo: {
    /** number of an entry */
    entry?: Told;
    /** enter it, and leave out how the suspects stand then */
    brief?: boolean;
    /** the job file, or book:7 (or 7), a job of the book; not needed when the folder holds just one file */
    job?: Told;
  };
  /** leave out the test just proposed (or a named one): next plans around it */
  skip: {
    /** a test */
    what?: Told | readonly Told[];
    /** take all skips back */
    none?: boolean;
    /** the job file, or book:7 (or 7), a job of the book; not needed when the folder holds just one file */
    job?: Told;
  };
  /** what may be wrong, how probable, and why */
  suspects: {
    /** every suspect */
    all?: boolean;
    /** without asking which of them tests can part */
    quick?: boolean;
    /** the job file, or book:7 (or 7), a job of the book; not needed when the folder holds just one file */
    job?: Told;
  };
  /** the next test worth its minutes, or the repair when testing on would cost more */
  next: {
    /** minutes that are left: nothing that takes longer, putting back included */
    within?: Told;
    /** instead: why this test is not the one proposed, refused ones too */
    'why-not'?: Told;
    /** the job file, or book:7 (or 7), a job of the book; not needed when the folder holds just one file */
    job?: Told;
  };
  /** the whole strategy as a tree, each end a repair, with expected, median and 95 % minutes; or what to bring */
  plan: {
    /** on the telephone: what to ask the driver, what to bring */
    before?: boolean;
    /** write to this file: .txt, .html (to print), .svg or .json */
    out?: Told;
    /** percent; what is less likely is cut; 1 when left out */
    least?: Told;
    /** minutes: how likely all is done by then */
    within?: Told;
    /** the job file, or book:7 (or 7), a job of the book; not needed when the folder holds just one file */
    job?: Told;
  };
  /** what the vehicle should show when mended, against what it shows; what is left behind */
  proof: {
    /** the job file, or book:7 (or 7), a job of the book; not needed when the folder holds just one file */
    job?: Told;
  };
  /** enter something found on the way; it stands on the sheet */
  note: {
    /** in your own words */
    what?: Told | readonly Told[];
    /** the job file, or book:7 (or 7), a job of the book; not needed when the folder holds just one file */
    job?: Told;
  };
  /** the job so far: entries, state of the vehicle, what is still to undo */
  status: {
    /** the job file, or book:7 (or 7), a job of the book; not needed when the folder holds just one file */
    job?: Told;
  };
  /** all that a screen shows of a job in one reply: job, choices, suspects, drawing, proof, next */
  board: {
    /** only this part; may be given several times */
    part?: Told | readonly Told[];
    /** minutes that are left, as for next */
    within?: Told;
    /** the job file, or book:7 (or 7), a job of the book; not needed when the folder holds just one file */
    job?: Told;
  };
  /** the job sheet to hand over: text, a page to print, PDF or JSON */
  sheet: {
    /** as HTML */
    html?: boolean;
    /** as PDF in the reply, as base64: for a screen; to a file with out */
    pdf?: boolean;
    /** write to this file: .txt, .html (to print), .pdf or .json */
    out?: Told;
    /** the job file, or book:7 (or 7), a job of the book; not needed when the folder holds just one file */
    job?: Told;
  };
  /** close the job; refused while something is left behind */
  close: {
    /** close all the same; it stands on the sheet */
    anyway?: boolean;
    /** the job file, or book:7 (or 7), a job of the book; not needed when the folder holds just one file */
    job?: Told;
  };
  /** what you have along: resistors to stand in, instruments, hot air, cold spray, and which meter */
  kit: {
    /** the roll: 120R 1k 4k7 */
    resistors?: Told | readonly Told[];
    /** yes or no */
    clamp?: Told;
    /** yes or no */
    'test-lamp'?: Told;
    /** yes or no */
    'long-lead'?: Told;
    /** yes or no */
    reader?: Told;
    /** yes or no */
    'heat-gun'?: Told;
    /** yes or no */
    'cold-spray'?: Told;
    /** yes or no: a scope, or a meter that holds peaks of microseconds */
    scope?: Told;
    /** what an hour of yours costs: weighs a part against a test */
    'money-per-hour'?: Told;
    /** to come by a dear part: road time, a second visit; 0: all are along */
    'fetch-minutes'?: Told;
    /** the road there and back: what coming once more costs, when it was not mended after all */
    'road-minutes'?: Told;
    /** first everything as in this other job, its meter too */
    like?: Told;
    /** your meter, a file that is copied into the job; `default` takes it out */
    meter?: Told;
    /** the job file, or book:7 (or 7), a job of the book; not needed when the folder holds just one file */
    job?: Told;
  };
  /** the workshop's profile: what stands on its sheets, and what counts for new jobs */
  profile: {
    /** its name */
    workshop?: Told;
    /** where it is */
    address?: Told;
    /** its telephone */
    phone?: Told;
    /** who does the jobs */
    technician?: Told;
    /** what the customer pays for an hour; empty: nothing is said */
    'labour-per-hour'?: Told;
    /** of all amounts */
    currency?: Told;
    /** tax on labour and parts; empty: nothing is said */
    'tax-percent'?: Told;
    /** the roll of new jobs: 120R 1k 4k7 */
    resistors?: Told | readonly Told[];
    /** yes or no */
    clamp?: Told;
    /** yes or no */
    'test-lamp'?: Told;
    /** yes or no */
    'long-lead'?: Told;
    /** yes or no */
    reader?: Told;
    /** yes or no */
    'heat-gun'?: Told;
    /** yes or no */
    'cold-spray'?: Told;
    /** yes or no */
    scope?: Told;
    /** what an hour of yours costs: weighs a part against a test */
    'money-per-hour'?: Told;
    /** to come by a dear part, a second visit */
    'fetch-minutes'?: Told;
    /** the road there and back: what coming once more costs */
    'road-minutes'?: Told;
    /** your meter, a file that is copied in; `default` takes it out */
    meter?: Told;
  };
  /** the meter in force: its ranges, how far each may be off, what it puts into the circuit */
  meter: {
    /** this file instead; `default`: the common handheld */
    meter?: Told;
    /** as a file to start from; the common handheld unless --meter or --job is given */
    write?: boolean;
    /** the job file, or book:7 (or 7), a job of the book; not needed when the folder holds just one file */
    job?: Told;
  };
  /** the book of jobs: list, find, history, photos, recordings, files in and out, backup, check, what proven jobs taught */
  jobs: {
    /** list (when left out), find, show, history, export, import, backup, check, remove, restore, photos, photo, photo-remove, recordings, recording, recording-remove, rates */
    do?: Told;
    /** words to find, the number of a job, the file */
    what?: Told | readonly Told[];
    /** list, find: only jobs under way on this day or later, 2024-05-06 */
    since?: Told;
    /** list, find: only jobs opened on this day or earlier */
    until?: Told;
    /** also what was taken out; rates: also kinds that have not come up */
    all?: boolean;
    /** show, export: the job as it was after this event of its history */
    event?: Told;
    /** export: write to this file, its loom beside it; backup: to this folder, or FILE.sqlite for the database alone */
    out?: Told;
    /** replace files of that name */
    force?: boolean;
    /** import: the job's text instead of a file */
    text?: Told;
    /** import: the text of its loom instead of the file it names */
    'loom-text'?: Told;
    /** photo: of this entry */
    entry?: Told;
    /** photo, recording: its name */
    name?: Told;
    /** photo: its bytes as base64 instead of a file */
    data?: Told;
    /** rates: this job no longer counts */
    forget?: Told;
    /** rates: this job counts again */
    remember?: Told;
  };
  /** the shelf of looms, for the next vehicle of their kind; a loom there is named shelf:NAME everywhere */
  shelf: {
    /** list (when left out), find, put, get, remove, restore */
    do?: Told;
    /** words to find; the loom's name, and for put its file */
    what?: Told | readonly Told[];
    /** put: the loom's text instead of a file */
    text?: Told;
    /** put: also with errors, and over a draft of that name */
    draft?: boolean;
    /** get: write to this file */
    out?: Told;
    /** list: also what was taken off */
    all?: boolean;
    /** put: in place of the loom of that name, which is kept aside; get: replace the file */
    force?: boolean;
  };
  /** what a recording of a CAN bus tells: who is there, who went quiet with whom, codes, requests, load, errors */
  capture: {
    /** the recording: a candump log, pcap or pcapng, also as .gz or .zst; - is standard input */
    file?: Told;
    /** instead of a file: listen to this interface of the machine (SocketCAN) */
    live?: Told;
    /** with --live: so long; 60 when left out, Ctrl-C ends it sooner */
    seconds?: Told;
    /** of the bus in kbit/s, for its load; guessed when left out */
    'bit-rate'?: Told;
    /** this channel only, as the recording names it: can0 */
    channel?: Told;
    /** names and scaling of messages: a DBC or KCD file; may be given several times */
    names?: Told | readonly Told[];
    /** list every message too: how often, how regularly, its longest gap */
    messages?: boolean;
    /** in the JSON also each sender's frames and the supply slot by slot */
    slots?: boolean;
    /** show these lines and what they say instead: 903 or 903-1040 */
    lines?: Told | readonly Told[];
    /** write the time picture here: .svg, or .html */
    picture?: Told;
  };
  /** practise on a virtual vehicle with a hidden fault; the program plays, scored in minutes */
  rehearse: {
    /** the loom file, or shelf:NAME */
    loom?: Told;
    /** same seed, same vehicle */
    seed?: Told;
    /** this fault instead of a drawn one */
    fault?: Told;
    /** 0 to 1, where in its range */
    severity?: Told;
    /** share of meter readings that are nonsense */
    'mis-probe'?: Told;
    /** read with this meter, a file */
    meter?: Told;
    /** so many vehicles, seeds counted up */
    count?: Told;
    /** a recording of the bus comes before the first test */
    recorded?: boolean;
    /** the same, and write the recording here: NAME.pcapng, or any other name as candump text */
    record?: Told;
    /** record on this bus; the one with a reader drawn when left out */
    on?: Told;
    /** and there: "HIGH-POINT LOW-POINT"; at the drawn reader when left out */
    at?: Told;
    /** how long; 120 when left out */
    seconds?: Told;
    /** the program plays; the only way for now, and the default */
    auto?: boolean;
  };
  /** many rehearsals over one or several looms: mended or not by kind of fault, and is belief calibrated */
  bench: {
    /** a loom file; may be given several times */
    loom?: Told | readonly Told[];
    /** vehicles per loom; 100 when left out */
    count?: Told;
    /** first seed */
    seed?: Told;
    /** read with this meter, a file */
    meter?: Told;
    /** only percentages against truth, repairs left out: pairs, slips and what is not drawn as well; quick */
    calibration?: boolean;
    /** the program against other rules on the same vehicles: mended, wrong parts, minutes, by kind of fault */
    quality?: boolean;
    /** with --quality: the program and no other rule, in a fourth of the time */
    alone?: boolean;
    /** a fault, what a tap on its bus records, and what is believed of that alone; looms with a bus */
    recordings?: boolean;
    /** with --recordings: each job to its end as well */
    play?: boolean;
    /** write the reliability diagram (SVG) here; with --calibration a folder for calibration.svg and .json, with --quality one for quality.md and .json */
    out?: Told;
  };
  /** what a number means: an identifier, a frame, a trouble code, a failure mode, an address, a socket's pins */
  decode: {
    /** 18FEF100, 7E8, 18FECA0B#40FF5B000301FFFF, SPN 639 FMI 9, PGN 65226, address 11, NAME 8EF2DDE800966440, U0100, P0562-16, C1 00 87, status 2F, 24N, 15-pin:4 */
    what?: Told | readonly Told[];
    /** a description of messages and signals, a file in DBC or KCD */
    with?: Told;
  };
  /** the JSON Schema of the loom file, or the tables of part kinds and of faults */
  schema: {
    /** the parts table of docs/formats/loom.md */
    parts?: boolean;
    /** the tables of rates, stress and repairs of docs/formats/loom.md */
    faults?: boolean;
  };
  /** this table: every operation with its arguments, as JSON */
  operations: {
  };
}

export type OperationName = keyof OperationArguments;
