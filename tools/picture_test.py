# SPDX-License-Identifier: Apache-2.0
"""Tests of picture.py, with a program of three lines in halfsplit's place."""
import contextlib
import io
import stat
import sys
import tempfile
import unittest
import xml.dom.minidom
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))
import picture

PROGRAM = """#!/bin/bash
case $1 in
  count) for i in 1 2 3 4 5 6; do echo "line $i"; done ;;
  work) while read -r typed; do echo "> $typed"; echo "heard $typed"; done ;;
  now) echo "opened 2031-02-03T04:05:06Z" ;;
  *) echo "error: $1" >&2; exit 3 ;;
esac
"""


class PictureTest(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)
        self.program = Path(self.folder.name) / "program"
        self.program.write_text(PROGRAM, encoding="utf-8")
        self.program.chmod(self.program.stat().st_mode | stat.S_IXUSR)

    def play(self, *lines):
        return picture.play_page(self.program, "\n".join(lines)).split("\n")

    def test_output_is_played_anew_and_the_rest_of_the_page_stays(self):
        page = self.play("text", "```console", "$ halfsplit count", "old", "```", "```", "$ halfsplit count", "```", "")
        self.assertEqual(page[:4], ["text", "```console", "$ halfsplit count", "line 1"])
        self.assertEqual(page[8:], ["line 6", "```", "```", "$ halfsplit count", "```", ""])

    def test_a_failure_shows_its_exit_code(self):
        page = self.play("```console", "$ halfsplit frob", "```")
        self.assertEqual(page, ["```console", "$ halfsplit frob", "error: frob", "[exit 3]", "```"])

    def test_only_the_lines_named_are_kept(self):
        page = self.play("```console keep 1-2,4,6-", "$ halfsplit count", "```")
        self.assertEqual(page[2:-1], ["line 1", "line 2", "...", "line 4", "...", "line 6"])

    def test_what_was_typed_is_typed_again_and_always_shown(self):
        page = self.play("```console keep 4", "$ halfsplit work", "> a b", "> c", "```")
        self.assertEqual(page[2:-1], ["> a b", "...", "> c", "heard c"])
        self.assertEqual(page, self.play(*page))

    def test_a_time_alone_makes_nothing_stale(self):
        page = ["```console", "$ halfsplit now", "opened 2024-01-01T00:00:00Z", "```"]
        self.assertEqual(self.play(*page), page)

    def test_files_of_the_page_are_there_for_what_follows(self):
        page = self.play("```toml file a.toml", "x = 1", "```", "```console", "$ cat a.toml", "```")
        self.assertEqual(page[3:], ["```console", "$ cat a.toml", "x = 1", "```"])

    def test_two_commands_of_one_block_share_the_folder(self):
        page = self.play("```console", "$ halfsplit now > kept", "", "$ wc -l < kept", "```")
        self.assertEqual(page, ["```console", "$ halfsplit now > kept", "", "$ wc -l < kept", "1", "```"])

    def test_keep_refuses_two_commands_and_a_block_needs_its_end(self):
        with self.assertRaisesRegex(picture.PageError, "line 1: keep needs exactly one command"):
            self.play("```console keep 1", "$ halfsplit count", "$ halfsplit count", "```")
        with self.assertRaisesRegex(picture.PageError, "line 2: a block without an end"):
            self.play("text", "```console", "$ halfsplit count")

    def test_a_picture_holds_every_line_and_is_xml(self):
        text = picture.draw_text("a < b", ["$ halfsplit x", "", "  1 < 2 & 3"])
        drawn = xml.dom.minidom.parseString(text).getElementsByTagName("text")
        self.assertEqual([line.firstChild.data for line in drawn], ["$ halfsplit x", "  1 < 2 & 3"])
        self.assertEqual([line.getAttribute("font-weight") for line in drawn], ["bold", ""])
        self.assertLess(int(drawn[0].getAttribute("y")), int(drawn[1].getAttribute("y")))

    def test_without_a_program_the_usage_is_said(self):
        with contextlib.redirect_stderr(io.StringIO()) as said:
            self.assertEqual(picture.main(["--check"]), 2)
        self.assertIn("Usage: picture.py [--check] PROGRAM", said.getvalue())


if __name__ == "__main__":
    unittest.main()
