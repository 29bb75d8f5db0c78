#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""cases.py passes what holds, fails what does not, and blesses faithfully. Run by ctest."""
import contextlib
import io
import tempfile
import unittest
from pathlib import Path

import cases

PROGRAM = """#!/bin/bash
case $1 in
  volts) echo "seen 23.81 V at J4:12" ;;
  both) echo out; echo err >&2; exit 3 ;;
  dollar) echo '$ not a command'; echo '\\'; echo '> quoted' ;;
  blank) echo one; echo; echo two; echo ;;
  where) ls; echo "$HOME" | grep -c halfsplit-case- ;;
esac
"""


class Cases(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.root = Path(folder.name)
        self.binary = self.root / "halfsplit"
        self.binary.write_text(PROGRAM, encoding="utf-8")
        self.binary.chmod(0o755)
        self.case = self.root / "a.case"

    def run_case(self, text, *options):
        self.case.write_text(text, encoding="utf-8")
        out = io.StringIO()
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(out):
            code = cases.main(["--binary", str(self.binary), *options, str(self.case)])
        return code, out.getvalue()

    def expect(self, code, text, *options):
        got, out = self.run_case(text, *options)
        self.assertEqual(got, code, out)
        return out

    def test_exact_text_passes(self):
        self.expect(0, "# volts\n$ halfsplit volts\nseen 23.81 V at J4:12\n")

    def test_other_text_fails_and_shows_both(self):
        out = self.expect(1, "# volts\n\n$ halfsplit volts\nseen 23.80 V at J4:12\n")
        self.assertIn("a.case:3: $ halfsplit volts", out)
        self.assertIn("-seen 23.80 V", out)
        self.assertIn("+seen 23.81 V", out)

    def test_missing_and_extra_lines_fail(self):
        self.expect(1, "# volts\n$ halfsplit volts\n")
        self.expect(1, "# volts\n$ halfsplit volts\nseen 23.81 V at J4:12\nmore\n")

    def test_tolerance(self):
        self.expect(0, "# t\n$ halfsplit volts\nseen ~23.8 V at J4:12\n")
        self.expect(0, "# t\n$ halfsplit volts\nseen ~23.80 V at J4:12\n")
        self.expect(1, "# t\n$ halfsplit volts\nseen ~23.83 V at J4:12\n")
        self.expect(0, "# t\n$ halfsplit volts\nseen ~24:0.2 V at J4:12\n")
        self.expect(1, "# t\n$ halfsplit volts\nseen ~24:0.1 V at J4:12\n")
        self.expect(1, "# t\n$ halfsplit volts\nseen ~23.8 V at J4:13\n")

    def test_exit_code_and_error_stream_are_part_of_the_text(self):
        self.expect(0, "# b\n$ halfsplit both\nout\nerr\n[exit 3]\n")
        self.expect(1, "# b\n$ halfsplit both\nout\nerr\n")
        self.expect(1, "# b\n$ halfsplit volts\nseen 23.81 V at J4:12\n[exit 3]\n")

    def test_continued_command_and_shared_folder(self):
        self.expect(0, "# c\n$ cat > x.txt <<END\n> one\n>\n>   two\n> END\n\n$ cat x.txt\none\n\n  two\n")

    def test_every_case_starts_in_an_empty_folder_of_its_own(self):
        self.expect(0, "# w\n$ halfsplit where\n1\n")

    def test_blank_lines_inside_count_and_at_the_end_do_not(self):
        self.expect(0, "# b\n$ halfsplit blank\none\n\ntwo\n\n\n$ true\n")
        self.expect(1, "# b\n$ halfsplit blank\none\ntwo\n")

    def test_what_looks_like_a_command_is_escaped(self):
        self.expect(0, "# d\n$ halfsplit dollar\n\\$ not a command\n\\\\\n\\> quoted\n")

    def test_bless_rewrites_so_that_the_case_holds_and_keeps_tolerances(self):
        text = "# two things\n# more about it\n\n$ halfsplit volts\nseen ~23.8 V at J4:12\nold\n\n$ halfsplit dollar\n$ cat <<END\n> a\n>\n> b\n> END\n"
        self.expect(0, text, "--bless")
        blessed = self.case.read_text(encoding="utf-8")
        self.assertEqual(blessed,
                         "# two things\n# more about it\n\n$ halfsplit volts\nseen ~23.8 V at J4:12\n\n$ halfsplit dollar\n"
                         "\\$ not a command\n\\\\\n\\> quoted\n$ cat <<END\n> a\n>\n> b\n> END\na\n\nb\n")
        self.expect(0, blessed)

    def test_bless_leaves_alone_what_holds(self):
        text = "# v\n\n$ halfsplit volts\nseen ~23.8 V at J4:12\n\n\n$ true\n"
        self.expect(0, text, "--bless")
        self.assertEqual(self.case.read_text(encoding="utf-8"), text)

    def test_a_file_that_is_no_case_fails_with_its_line(self):
        self.assertIn("a.case:1: no command", self.expect(1, "# nothing\n"))
        self.assertIn("a.case:2: before the first", self.expect(1, "# x\nstray\n$ true\n"))
        self.assertIn("says what the case shows", self.expect(1, "$ true\n"))

    def test_no_cases_pass_and_say_so(self):
        empty = self.root / "empty"
        empty.mkdir()
        out = io.StringIO()
        with contextlib.redirect_stdout(out):
            code = cases.main(["--binary", "/nowhere", str(empty)])
        self.assertEqual((code, out.getvalue()), (0, "0 cases, 0 failed\n"))

    def test_slow_cases_wait_for_their_flag(self):
        (self.root / "b.slow.case").write_text("# s\n$ false\n[exit 1]\n", encoding="utf-8")
        self.assertEqual(len(cases.find_cases([str(self.root)], slow=False)), 0)
        self.assertEqual(len(cases.find_cases([str(self.root)], slow=True)), 1)

    def test_a_command_that_hangs_is_stopped_with_what_it_started(self):
        limit, cases.SECONDS_PER_COMMAND = cases.SECONDS_PER_COMMAND, 0.3
        self.addCleanup(setattr, cases, "SECONDS_PER_COMMAND", limit)
        out = self.expect(1, "# h\n$ echo begun; sleep 60 | cat\nbegun\n")
        self.assertIn("[stopped after", out)

    def test_a_missing_program_is_said(self):
        self.case.write_text("# v\n$ halfsplit volts\n", encoding="utf-8")
        out = io.StringIO()
        with contextlib.redirect_stderr(out):
            self.assertEqual(cases.main(["--binary", "/nowhere/halfsplit", str(self.case)]), 2)
        self.assertIn("is not built", out.getvalue())


if __name__ == "__main__":
    unittest.main()
