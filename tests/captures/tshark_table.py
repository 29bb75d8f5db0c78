#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Counts of the recordings in tests/data/captures as tshark's J1939 dissector gives them.

  tshark_table.py           compares tests/data/captures/tshark-counts.csv with the tshark that is installed
  tshark_table.py --write   writes it anew

Rows: group,FILE,PGN,SOURCE,,FRAMES; control,FILE,SOURCE,DESTINATION,CONTROL BYTE,FRAMES of group 60416;
code,FILE,SOURCE,SPN,FMI,FRAMES of group 65226 in one frame (bytes from tshark; SAE J1939-73, conversion method 4, apart
here). src/capture/tshark.test.cpp holds the program against it, so that no tshark is needed there.
"""
import collections
import pathlib
import subprocess
import sys
import tempfile

DATA = pathlib.Path(__file__).resolve().parent.parent / "data" / "captures"
TABLE = DATA / "tshark-counts.csv"
FILES = [
    "j1939-micro/dm1-none-then-one.candump.log",
    "j1939-micro/request-global-65260.candump.log",
    "j1939-micro/three-frames.candump.log",
    "j1939-micro/tp-rts-two-packets.candump.log",
    "j1939-multi-ecu/multi-ecu-a.candump.log.zst",
    "j1939-multi-ecu/multi-ecu-a-30s.candump.log",
    "j1939-multi-ecu/multi-ecu-a-30s.pcap.zst",
    "j1939-multi-ecu/multi-ecu-a-30s.pcapng.zst",
    "n2k/fastpacket-engine.candump.log",
    "n2k/fastpacket-engine-crlf.candump.log",
    "n2k/logfile-c.candump.log.zst",
    "n2k/network-a.pcap.zst",
    "n2k/network-b.pcap.zst",
]


def plain(path, folder):
    if path.suffix != ".zst":
        return path
    out = pathlib.Path(folder) / path.stem
    subprocess.run(["zstd", "-dqf", str(path), "-o", str(out)], check=True)
    return out


def fields(path):
    command = ["tshark", "-r", str(path), "-d", "can.subdissector,j1939", "-T", "fields", "-Y", "j1939"]
    for name in ("pgn", "src_addr", "dst_addr", "data"):
        command += ["-e", "j1939." + name]
    run = subprocess.run(command, check=True, capture_output=True, text=True)
    for line in run.stdout.splitlines():
        yield (line.split("\t") + [""] * 4)[:4]


def rows_of(name, folder):
    counts = collections.Counter()
    for pgn, source, destination, data in fields(plain(DATA / name, folder)):
        bytes_ = bytes.fromhex(data.replace(":", ""))
        counts["group", name, int(pgn), int(source), ""] += 1
        if int(pgn) == 60416 and bytes_:
            counts["control", name, int(source), int(destination), bytes_[0]] += 1
        if int(pgn) == 65226 and len(bytes_) >= 6:
            spn = bytes_[2] | bytes_[3] << 8 | (bytes_[4] >> 5) << 16
            fmi = bytes_[4] & 31
            if (spn, fmi) != (0, 0):
                counts["code", name, int(source), spn, fmi] += 1
    return [",".join(str(k) for k in key) + "," + str(n) for key, n in sorted(counts.items(), key=str)]


def main():
    version = subprocess.run(["tshark", "--version"], capture_output=True, text=True).stdout.splitlines()[0]
    lines = ["# made by tests/captures/tshark_table.py with " + version, "kind,file,a,b,c,frames"]
    with tempfile.TemporaryDirectory() as folder:
        for name in FILES:
            lines += rows_of(name, folder)
    text = "\n".join(lines) + "\n"
    if "--write" in sys.argv[1:]:
        TABLE.write_text(text)
        print(f"{TABLE}: {len(lines) - 2} rows, {version}")
        return 0
    old = TABLE.read_text().splitlines()
    differ = set(old[1:]) ^ set(lines[1:])
    for line in sorted(differ):
        print(("only in the table: " if line in old else "only from tshark: ") + line)
    print(f"{len(lines) - 2} rows compared with {version}, {len(differ)} differ")
    return 1 if differ else 0


if __name__ == "__main__":
    sys.exit(main())
