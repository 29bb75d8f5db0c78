#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""What a hostile page, neighbour or line can do to `halfsplit serve`: be refused. One server takes all of it and must
answer its user at the end. The pairing's 100,000 guesses stand in src/http/gate.test.cpp; here comes a thousand over
the wire. Usage: hostile.py PROGRAM
"""
import hashlib
import json
import socket
import sys
import threading
import time
import unittest
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "doors"))
from served import Served  # noqa: E402


def raw(served, data, timeout=5.0):
    """The bytes that come back for these bytes; empty when the line is cut."""
    with socket.create_connection(("127.0.0.1", served.port), timeout) as line:
        try:
            line.sendall(data)
            line.settimeout(timeout)
            parts = []
            while part := line.recv(65536):
                parts.append(part)
                if b"\r\n\r\n" in b"".join(parts):
                    break
            return b"".join(parts)
        except OSError:
            return b""


def status_of(answer):
    return int(answer.split(b" ", 2)[1]) if answer.startswith(b"HTTP/1.1 ") else 0


class Stream:
    """An event stream, read line by line."""

    def __init__(self, served, target="/events"):
        self.line = socket.create_connection(("127.0.0.1", served.port), 10)
        self.line.sendall(f"GET {target} HTTP/1.1\r\nHost: {served.host}\r\nCookie: {served.cookie}\r\n"
                          "Last-Event-ID: 17\r\n\r\n".encode())
        self.file = self.line.makefile("rb")

    def until(self, text):
        """True when `text` came; False when the stream ended first."""
        for line in self.file:
            if text in line:
                return True
            if line == b"0\r\n":
                return False
        return False

    def close(self):
        self.file.close()
        self.line.close()


class Hostile(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.served = Served(PROGRAM)
        cls.set_cookie = cls.served.let_in()
        cls.served.put_on_shelf("gritter")
        for number in (1, 2):
            opened = cls.served.result("open", {"loom": "shelf:gritter", "complaint": "c"})
            assert opened["job"] == f"book:{number}", opened

    @classmethod
    def tearDownClass(cls):
        cls.served.__exit__()

    def tearDown(self):
        self.assertEqual(self.served.run("status", {"job": "book:1"})[0], 200, "the user is still served")

    def refused(self, status, code, method="POST", target="/api/status", body=b'{"job":"book:1"}', **more):
        got, headers, answer = self.served.ask(method, target, body if method == "POST" else None, **more)
        self.assertEqual(got, status, answer)
        self.assertEqual(json.loads(answer)["diagnostics"][0]["code"], code)
        return headers

    def test_names_and_pages_of_others(self):
        for host in ("evil.example", "localhost", f"127.0.0.2:{self.served.port}", f"evil.example:{self.served.port}"):
            self.refused(421, "http.wrong-host", headers={"Host": host, "Origin": f"http://{host}"})
        for origin in ("http://evil.example", "null", f"http://localhost:{self.served.port}", "file://"):
            self.refused(403, "http.wrong-origin", headers={"Origin": origin})
        self.refused(403, "http.no-origin", headers={"Origin": None})
        for target in ("/events", "/api/operations", "/api/devices"):
            self.refused(403, "http.other-site", "GET", target, headers={"Sec-Fetch-Site": "cross-site"})
        for kind in ("text/plain", "application/x-www-form-urlencoded", "multipart/form-data"):  # a form needs no preflight
            self.refused(415, "http.wrong-type", headers={"Content-Type": kind})
        self.refused(405, "http.wrong-method", "OPTIONS")

    def test_without_a_cookie(self):
        for target in ("/events", "/api/operations", "/api/session", "/photo/" + "a" * 64):
            self.refused(401, "http.no-session", "GET", target, cookie=None)
        self.refused(401, "http.no-session", cookie="halfsplit_%d=%s" % (self.served.port, "0" * 32))
        self.refused(401, "http.no-session", cookie=self.served.cookie[:-1])
        self.assertEqual(self.served.ask("GET", self.served.start, cookie=None)[0], 403, "the start address works once")

    def test_cookie_and_headers(self):
        for word in ("HttpOnly", "SameSite=Strict", "Path=/"):
            self.assertIn(word, self.set_cookie)
        for target in ("/", "/nothing", "/api/operations"):
            headers = self.served.ask("GET", target)[1]
            self.assertIn("default-src 'none'", headers["Content-Security-Policy"])
            self.assertNotIn("unsafe", headers["Content-Security-Policy"])
            self.assertEqual(headers["X-Content-Type-Options"], "nosniff")
            self.assertEqual(headers["Referrer-Policy"], "no-referrer")
            self.assertEqual(headers["Cross-Origin-Resource-Policy"], "same-origin")
            self.assertNotIn("Access-Control-Allow-Origin", headers)

    def test_malformed(self):
        for body in (b"{", b"[1]", b"7", b'{"job":{}}', b'{"job":[[1]]}', b"\xff\xfe", b"[" * 100_000):
            status, _, answer = self.served.ask("POST", "/api/status", body)
            self.assertEqual((status, json.loads(answer)["diagnostics"][0]["code"]), (400, "args.bad-json"), body[:20])
        for data in (b"\r\n\r\n", b"GET\r\n\r\n", b"GET / HTTP/9\r\n\r\n", b"\x00" * 100 + b"\r\n\r\n",
                     b"GET / HTTP/1.1\r\n\r\n", b"\x16\x03\x01\x02\x00\x01", b"GET / HTTP/1.1\r\nHost: a\r\nHost: b\r\n\r\n"):
            self.assertNotEqual(status_of(raw(self.served, data, 0.3)), 200, data)

    def test_too_large(self):
        self.refused(413, "http.too-large", body=b" " * ((1 << 20) + 1))  # taken, dropped and answered
        head = (f"POST /api/status HTTP/1.1\r\nHost: {self.served.host}\r\nOrigin: http://{self.served.host}\r\n"
                f"Cookie: {self.served.cookie}\r\nContent-Type: application/json\r\n")
        endless = head + "Transfer-Encoding: chunked\r\n\r\n" + ("10000\r\n" + "x" * 65536 + "\r\n") * 40
        self.assertNotEqual(status_of(raw(self.served, endless.encode())), 200)
        self.assertEqual(status_of(raw(self.served, (head + "Content-Length: 99999999999999999\r\n\r\n").encode())), 413)
        many = head + "".join(f"X-{i}: {'y' * 100}\r\n" for i in range(1000)) + "\r\n"
        self.assertIn(status_of(raw(self.served, many.encode())), (0, 413, 431))
        self.assertIn(status_of(raw(self.served, f"GET /{'a' * 100_000} HTTP/1.1\r\n\r\n".encode())), (0, 400, 414, 431))

    def test_paths(self):
        for target in ("/../../etc/passwd", "/%2e%2e/%2e%2e/etc/passwd", "//etc/passwd", "/..%2f..%2fetc/passwd",
                       "/page.js%00.html", "/api/../api/status", "/photo/../../etc/passwd", "/photo/..%2f..", "/etc/passwd"):
            answer = raw(self.served, f"GET {target} HTTP/1.1\r\nHost: {self.served.host}\r\n"
                                      f"Cookie: {self.served.cookie}\r\n\r\n".encode())
            self.assertIn(status_of(answer), (400, 404, 405), target)
            self.assertNotIn(b"root:", answer)
        outside = ("/etc/passwd", "../../etc/passwd", "file:/etc/passwd", "file:///etc/passwd", "mem:x", "book:../x",
                   "shelf:../../etc/passwd", "shelf:/etc/passwd", "shelf:a/../b", "book:1/../2", "./x", "shelf:.hidden",
                   "shelf:a\u0000b", "shelf:a\\b", "profile:/etc/passwd", "BOOK:1")
        for path in outside:
            for operation, arguments in (("check", {"loom": path}), ("status", {"job": path}),
                                         ("wires", {"loom": "shelf:gritter", "out": path}),
                                         ("sheet", {"job": "book:1", "out": path}),
                                         ("draw", {"loom": "shelf:gritter", "out": path}),
                                         ("open", {"loom": "shelf:gritter", "complaint": "c", "job": path, "force": True}),
                                         ("kit", {"job": "book:1", "like": path}), ("meter", {"meter": path})):
                reply = json.loads(self.served.run(operation, arguments)[2])
                self.assertFalse(reply["ok"], (operation, path, reply))
                self.assertNotIn("root:", json.dumps(reply))
                if not path.startswith(("book:", "shelf:", "profile:")) and operation != "open":
                    self.assertIn("the page reaches no file", reply["diagnostics"][0]["message"], (operation, path, reply))
        names = sorted(str(p.relative_to(self.served.folder)) for p in self.served.folder.rglob("*") if p.is_file())
        self.assertTrue(all(name.startswith("book/") or name == "log" for name in names), names)

    def send(self, data, target="/recording?job=book%3A1&name=run.log", **headers):
        return self.served.ask("POST", target, data, headers={"Content-Type": "application/octet-stream", **headers})

    def test_recordings_come_in_by_the_door_alone(self):
        log = b"".join(b"(%d.000000) can0 18FEF121#%016X\n" % (1000 + i, i) for i in range(60_000))  # more than one piece
        status, _, answer = self.send(log)
        reply = json.loads(answer)
        self.assertEqual((status, reply["ok"]), (200, True), reply)
        path = reply["result"]["recording"]
        self.assertEqual((reply["result"]["bytes"], path), (len(log), "recording:" + hashlib.sha256(log).hexdigest()))
        self.assertEqual((self.served.folder / "book/recordings" / path[10:]).read_bytes(), log)
        self.assertEqual(self.served.result("capture", {"file": path, "lines": ["59999"]})["frames"][0]["line"], 59999)
        self.assertEqual(self.served.result("capture", {"file": path})["frames"], 60_000)
        listed = self.served.result("jobs", {"do": "recordings", "what": "1"})["recordings"]
        self.assertIn(path, [one["recording"] for one in listed])
        # Other pages, no session, other types, other jobs, other paths.
        for headers in ({"Origin": "http://evil.example"}, {"Origin": None}, {"Sec-Fetch-Site": "cross-site"}):
            self.assertEqual(self.send(log, **headers)[0], 403)
        self.assertEqual(self.send(log, Cookie=None)[0], 401)
        self.assertEqual(self.send(log, **{"Content-Type": "text/plain"})[0], 415)
        for job in ("book%3A99", "x", "", "book%3A1%20/etc/passwd"):
            self.assertFalse(json.loads(self.send(log, f"/recording?job={job}&name=a")[2])["ok"], job)
        for name in ("..%2F..%2Fx.log", "a%3Bb.log", "%2Fetc%2Fpasswd"):
            self.assertTrue(json.loads(self.send(log + name.encode() + b"\n", f"/recording?job=book%3A1&name={name}")[2])["ok"])
        for file in ("/etc/passwd", "recording:../book.sqlite", "recording:", "recording:/etc/passwd", "upload:recording",
                     "upload:photo", "-", "recording:" + "0" * 64):
            for operation in ("capture", "witness"):
                reply = json.loads(self.served.run(operation, {"file": file, "job": "book:1"}
                                                   if operation == "witness" else {"file": file})[2])
                self.assertFalse(reply["ok"], file)
        refused = json.loads(self.served.run("capture", {"file": path, "picture": path})[2])
        self.assertIn("the page reaches no file", refused["diagnostics"][0]["message"])
        refused = json.loads(self.served.run("capture", {"file": path, "picture": "/tmp/x.svg"})[2])
        self.assertIn("the page reaches no file", refused["diagnostics"][0]["message"])
        self.assertEqual((self.served.folder / "book/recordings" / path[10:]).read_bytes(), log)
        kept = {p.name for p in (self.served.folder / "book/recordings").iterdir()}
        self.assertTrue(all(len(name) == 64 for name in kept), kept)

    def test_recordings_too_large_or_broken_off(self):
        head = (f"POST /recording?job=book%3A1&name=x HTTP/1.1\r\nHost: {self.served.host}\r\n"
                f"Origin: http://{self.served.host}\r\nCookie: {self.served.cookie}\r\n"
                "Content-Type: application/octet-stream\r\n")
        answer = raw(self.served, (head + f"Content-Length: {(64 << 20) + 1}\r\n\r\n").encode())
        self.assertIn(status_of(answer), (0, 413))
        before = sorted(p.name for p in (self.served.folder / "book").rglob("*"))
        for _ in range(6):  # more than may be on their way at once: each is let go when its line breaks
            with socket.create_connection(("127.0.0.1", self.served.port), 5) as line:
                line.sendall((head + "Content-Length: 9000000\r\n\r\n").encode() + b"x" * 100_000)
        time.sleep(4)
        held = []
        for _ in range(4):
            line = socket.create_connection(("127.0.0.1", self.served.port), 5)
            line.sendall((head + "Content-Length: 9000000\r\n\r\n").encode() + b"x" * 1000)
            held.append(line)
        time.sleep(0.5)
        status, _, answer = self.send(b"(1.0) can0 123#00\n")
        self.assertEqual((status, json.loads(answer)["diagnostics"][0]["code"]), (503, "http.no-room"))
        for line in held:
            line.close()
        time.sleep(4)
        self.assertEqual(self.send(b"(1.0) can0 123#00\n")[0], 200)
        after = sorted(p.name for p in (self.served.folder / "book").rglob("*"))
        self.assertLessEqual(len(set(after) - set(before)), 2, "a recording, and its folder")
        self.assertFalse([name for name in after if name.startswith(".incoming")])

    def test_slow_lines_are_cut(self):
        begun = time.monotonic()
        with socket.create_connection(("127.0.0.1", self.served.port), 30) as line:
            line.sendall(f"POST /api/status HTTP/1.1\r\nHost: {self.served.host}\r\n".encode())
            for _ in range(300):  # always lively: no idle timeout would end it
                time.sleep(0.1)
                try:
                    line.sendall(b"X: y\r\n"[0:1] if _ % 2 else b"a")
                    line.setblocking(False)
                    try:
                        if line.recv(100) == b"":
                            break
                    except BlockingIOError:
                        pass
                    finally:
                        line.setblocking(True)
                except OSError:
                    break
        self.assertLess(time.monotonic() - begun, 14)

    def test_pairing_guessed_over_the_wire(self):
        wrong = 0
        for i in range(1000):
            body = f"secret={i:032x}&name=x".encode()
            status = self.served.ask("POST", "/pair", body, cookie=None,
                                     headers={"Content-Type": "application/x-www-form-urlencoded"})[0]
            self.assertIn(status, (403, 429))
            wrong += 1
        self.assertEqual(wrong, 1000)

    def test_two_jobs_at_once(self):
        ends = {}

        def enter(number):
            for i in range(10):
                self.served.result("note", {"job": f"book:{number}", "what": f"note {number}-{i}"})
            ends[number] = self.served.result("status", {"job": f"book:{number}"})

        threads = [threading.Thread(target=enter, args=(n,)) for n in (1, 2, 1, 2)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        for number in (1, 2):
            text = json.dumps(self.served.result("status", {"job": f"book:{number}"}))
            self.assertEqual([text.count(f'"note {number}-{i}"') for i in range(10)], [2] * 10)
            self.assertNotIn(f"note {3 - number}-", text)

    def test_events_reach_both_screens(self):
        one, two = Stream(self.served, "/events?job=book%3A1"), Stream(self.served)
        self.assertTrue(one.until(b": halfsplit") and two.until(b": halfsplit"))
        self.served.result("note", {"job": "book:1", "what": "seen by both"})
        self.assertTrue(one.until(b"event: changed") and two.until(b'"job":"book:1"'))
        one.close()
        two.close()

    def test_a_client_that_leaves_is_not_worked_for(self):
        body = json.dumps({"loom": ["shelf:gritter"], "count": 100000}).encode()
        lines = []
        for _ in range(2):
            line = socket.create_connection(("127.0.0.1", self.served.port), 10)
            line.sendall((f"POST /api/bench HTTP/1.1\r\nHost: {self.served.host}\r\nOrigin: http://{self.served.host}\r\n"
                          f"Cookie: {self.served.cookie}\r\nContent-Type: application/json\r\n"
                          f"Content-Length: {len(body)}\r\n\r\n").encode() + body)
            lines.append(line)
        time.sleep(0.5)
        begun = time.monotonic()
        self.assertTrue(self.served.result("status", {"job": "book:1"}), "long work leaves a thread free")
        self.assertLess(time.monotonic() - begun, 5)
        for line in lines:
            line.close()
        time.sleep(1.0)
        # Nothing is left to cancel once both have been noticed.
        for _ in range(100):
            if json.loads(self.served.ask("POST", "/api/cancel", b'{"operation":"bench"}')[2])["result"]["cancelled"] == 0:
                return
            time.sleep(0.1)
        self.fail("work went on for a client that left")

    def test_log_tells_and_keeps_secrets(self):
        self.refused(421, "http.wrong-host", headers={"Host": "evil.example"})
        log = self.served.read_log()
        self.assertIn("http.wrong-host", log)
        self.assertNotIn(self.served.cookie.split("=")[1], log)
        self.assertNotIn("secret=", log)


if __name__ == "__main__":
    PROGRAM = sys.argv.pop(1)
    unittest.main()
