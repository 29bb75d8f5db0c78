#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""layers.py finds what it should, where it should, and nothing else. Run by ctest."""
import contextlib
import io
import tempfile
import unittest
from pathlib import Path

import layers

TABLE = """
room(base)
room(circuit USES base)   # room(ignored USES nowhere)
room(plan
     USES base
     LINKS klu)
room(app USES base circuit plan)
room(cli USES base app)
"""


class Tree(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)
        self.root = Path(self.folder.name)
        self.write("CMakeLists.txt", TABLE)
        self.write("src/base/result.h", "#include <vector>\n")
        self.write("src/circuit/netlist.h", '#include "base/result.h"\n')

    def write(self, path, text):
        file = self.root / path
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text, encoding="utf-8")

    def findings(self):
        return layers.check_tree(self.root)[0]

    def test_a_clean_tree_has_no_findings(self):
        self.assertEqual(self.findings(), [])

    def test_an_include_the_table_does_not_allow_is_named_with_file_and_line(self):
        self.write("src/plan/decide.cpp", '#include "base/result.h"\n\n  #  include "circuit/netlist.h"\n')
        (finding,) = self.findings()
        self.assertTrue(finding.startswith("src/plan/decide.cpp:3: room 'plan' may not include 'circuit'"), finding)

    def test_use_is_not_inherited(self):
        self.write("src/cli/main_loop.cpp", '#include "circuit/netlist.h"\n')
        self.assertEqual(len(self.findings()), 1)

    def test_a_test_obeys_the_table_too(self):
        self.write("src/plan/decide.test.cpp", '#include "circuit/netlist.h"\n')
        self.assertEqual(len(self.findings()), 1)

    def test_the_outside_world_stays_out_of_core_rooms(self):
        for header in ("iostream", "fstream", "filesystem", "thread", "chrono", "random", "ctime"):
            with self.subTest(header=header):
                self.write("src/plan/decide.cpp", f"#include <{header}>\n")
                (finding,) = self.findings()
                self.assertIn(f"src/plan/decide.cpp:1: <{header}>", finding)

    def test_doors_seams_main_and_tests_may_touch_the_outside(self):
        for path in ("src/cli/keyboard.cpp", "src/main.cpp", "src/app/system_files.cpp", "src/plan/decide.test.cpp",
                     "src/plan/decide.bench.cpp", "src/plan/decide.fuzz.cpp"):
            self.write(path, "#include <iostream>\n")
        self.assertEqual(self.findings(), [])
        self.write("src/app/operations.cpp", "#include <iostream>\n")
        self.assertEqual(len(self.findings()), 1)

    def test_an_include_that_skips_the_room_is_found(self):
        self.write("src/base/text.cpp", '#include "result.h"\n')
        self.assertIn("no file under src/", self.findings()[0])

    def test_a_folder_without_a_line_is_found(self):
        self.write("src/stray/a.cpp", "")
        self.assertEqual(self.findings(), ["src/stray/a.cpp:1: room 'stray' has no line in CMakeLists.txt"])

    def test_a_cycle_is_spelled_out(self):
        self.write("CMakeLists.txt", "room(base USES plan)\nroom(circuit USES base)\nroom(plan USES circuit)\n")
        self.assertIn("cycle: base -> plan -> circuit -> base", self.findings()[0])

    def test_use_of_a_later_or_unknown_room_is_found(self):
        self.write("CMakeLists.txt", "room(circuit USES base nowhere)\nroom(base)\n")
        text = "\n".join(self.findings())
        self.assertIn("'base', whose line comes later", text)
        self.assertIn("'nowhere', which has no line", text)

    def test_two_helpers_of_one_name(self):
        helper = "namespace halfsplit::plan {\nnamespace {\n\nint cost(int a) {\n  return a;\n}\n\n}  // namespace\n}\n"
        self.write("src/plan/one.test.cpp", helper)
        self.write("src/app/other.test.cpp", helper)
        self.assertEqual(self.findings(), [])
        self.write("src/plan/two.test.cpp", helper.replace("int a", "const std::vector<int>& a"))
        self.write("tests/twins/a.test.cpp", helper)
        self.write("tests/twins/b.test.cpp", helper.replace("namespace {", "").replace("}  // namespace\n", "", 1))
        found = self.findings()
        self.assertEqual(len(found), 1)
        self.assertIn("src/plan/two.test.cpp:4: 'cost'", found[0])

    def test_exit_codes(self):
        with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
            self.assertEqual(layers.main([str(self.root)]), 0)
            self.write("src/plan/decide.cpp", '#include "circuit/netlist.h"\n')
            self.assertEqual(layers.main([str(self.root)]), 1)
            self.write("CMakeLists.txt", "project(x)\n")
            self.assertEqual(layers.main([str(self.root)]), 2)


if __name__ == "__main__":
    unittest.main()
