# SPDX-License-Identifier: Apache-2.0
"""`halfsplit serve` for the tests: started on a free port with a book of its own, and one browser let in."""
import http.client
import json
import os
import re
import shutil
import subprocess
import tempfile
import threading
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
LOOM = ROOT / "examples/gritter/gritter.loom.toml"


class Served:
    def __init__(self, program, *words):
        self.folder = Path(tempfile.mkdtemp(prefix="halfsplit-served-"))
        self.environment = dict(os.environ, HALFSPLIT_BOOK=str(self.folder / "book"), HOME=str(self.folder), TZ="UTC")
        for name in ("DISPLAY", "WAYLAND_DISPLAY", "HALFSPLIT_METER", "XDG_CONFIG_HOME", "XDG_DATA_HOME"):
            self.environment.pop(name, None)
        self.program = str(Path(program).resolve())
        self.log = open(self.folder / "log", "w+", encoding="utf-8")
        self.process = subprocess.Popen([self.program, "serve", "--no-browser", "--port", "0", *words],
                                        env=self.environment, cwd=self.folder, stdin=subprocess.DEVNULL,
                                        stdout=subprocess.PIPE, stderr=self.log, text=True)
        self.printed = ""
        for line in self.process.stdout:
            self.printed += line
            if "Ctrl-C ends" in line:
                break
        threading.Thread(target=self.process.stdout.read, daemon=True).start()
        found = re.search(r"http://127\.0\.0\.1:(\d+)(/start\?secret=[0-9a-f]{32})", self.printed)
        assert found, f"no address printed: {self.printed}{self.read_log()}"
        self.port, self.start = int(found.group(1)), found.group(2)
        self.host = f"127.0.0.1:{self.port}"
        self.cookie = None

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.process.terminate()
        code = self.process.wait(30)
        log = self.read_log()
        self.log.close()
        shutil.rmtree(self.folder, ignore_errors=True)
        assert code == 0, f"serve ended with {code}\n{log}"

    def read_log(self):
        self.log.flush()
        return (self.folder / "log").read_text(encoding="utf-8", errors="replace")

    def let_in(self):
        status, headers, _ = self.ask("GET", self.start, cookie=None)
        assert status == 200, status
        self.cookie = headers["Set-Cookie"].split(";")[0]
        return headers["Set-Cookie"]

    def ask(self, method, target, body=None, cookie=True, headers=None, timeout=60):
        """(status, headers, bytes). What a browser of this page sends; `headers` replaces, None leaves out."""
        sent = {"Host": self.host}
        if method != "GET":
            sent.update({"Origin": f"http://{self.host}", "Content-Type": "application/json"})
        if cookie:
            sent["Cookie"] = self.cookie if cookie is True else cookie
        sent.update(headers or {})
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=timeout)
        try:
            connection.putrequest(method, target, skip_host=True, skip_accept_encoding=True)
            for name, value in sent.items():
                if value is not None:
                    connection.putheader(name, value)
            if body is not None:
                connection.putheader("Content-Length", str(len(body)))
            connection.endheaders()
            if body is not None:
                connection.send(body)
            answer = connection.getresponse()
            return answer.status, answer.headers, answer.read()
        finally:
            connection.close()

    def run(self, operation, arguments, **more):
        return self.ask("POST", f"/api/{operation}", json.dumps(arguments).encode(), **more)

    def result(self, operation, arguments):
        reply = json.loads(self.run(operation, arguments)[2])
        assert reply["ok"], reply
        return reply["result"]

    def put_on_shelf(self, name, loom=LOOM):
        done = self.command("shelf", "put", name, str(loom))
        assert done.returncode == 0, done.stderr

    def command(self, *words):
        return subprocess.run([self.program, *words], env=self.environment, cwd=self.folder, stdin=subprocess.DEVNULL,
                              capture_output=True, timeout=120, check=False)
