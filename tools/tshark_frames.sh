#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
# tools/tshark_frames.sh MAKE_TRAFFIC: what tshark reads in the recordings of tests/data/captures, as the number of
# frames and the CRC-32 of their list; writes tests/data/captures/tshark.csv, which tests/captures/recordings.test.cpp
# compares our readers with. A line of the list: seconds.microseconds, identifier, extended, remote, length, bytes. Error
# frames are not in it: tshark gives them no identifier. MAKE_TRAFFIC is build/dev/make_traffic; its "kinds" are our own
# pcapng, so the writer is checked too. Needs tshark, zstd and python3; run by hand, not by CI.
set -euo pipefail
cd "$(dirname "$0")/.."
make_traffic=$1
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

list() {
  tshark -r "$1" -d can.subdissector,data -T fields -E separator=, -e frame.time_epoch -e can.id -e can.flags.xtd \
    -e can.flags.rtr -e can.len -e data.data 2>"$work/said" | python3 -c '
import sys, zlib
count = crc = 0
for line in sys.stdin:
    time, number, extended, remote, length, data = line.rstrip("\n").split(",")[:6]
    if not number:
        continue
    seconds, fraction = time.split(".")
    remote = remote or "0"  # CAN FD has no remote frames
    if remote == "1":
        data = ""  # the packet is filled up with zeroes
    text = f"{seconds}.{fraction[:6]},{number},{extended},{remote},{length},{data}\n"
    crc = zlib.crc32(text.encode(), crc)
    count += 1
print(f"{count},{crc}")'
}

{
  echo "# $(tshark -v 2>/dev/null | head -1) tools/tshark_frames.sh"
  for packed in j1939-multi-ecu/multi-ecu-a-30s.pcap j1939-multi-ecu/multi-ecu-a-30s.pcapng \
    j1939-multi-ecu/multi-ecu-a.candump.log n2k/network-a.pcap n2k/network-b.pcap n2k/logfile-c.candump.log; do
    zstd -qdc "tests/data/captures/$packed.zst" >"$work/file"
    echo "$packed.zst,$(list "$work/file")"
  done
  for plain in j1939-multi-ecu/multi-ecu-a-30s.candump.log j1939-micro/dm1-none-then-one.candump.log j1939-micro/three-frames.candump.log \
    j1939-micro/request-global-65260.candump.log j1939-micro/tp-rts-two-packets.candump.log n2k/fastpacket-engine.candump.log \
    n2k/fastpacket-engine-crlf.candump.log; do
    echo "$plain,$(list "tests/data/captures/$plain")"
  done
  "$make_traffic" kinds 5000 9 >"$work/kinds.pcapng"
  echo "kinds 5000 9,$(list "$work/kinds.pcapng")"
} >"$work/table"
mv "$work/table" tests/data/captures/tshark.csv
