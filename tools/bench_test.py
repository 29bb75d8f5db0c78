#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Tests of bench.py: what counts as a figure, the fastest round, goals met and not met."""
import contextlib
import io
import unittest

import bench


def report(**figures):
    return {"benchmarks": [{"name": "b", "run_type": "iteration", "real_time": 2.0, "time_unit": "ms"} | figures]}


class Read(unittest.TestCase):
    def test_times_become_seconds_and_counters_stay(self):
        found = bench.read(report(ratio=3.5))
        self.assertAlmostEqual(found["b"]["seconds"], 2e-3)
        self.assertEqual(found["b"]["ratio"], 3.5)

    def test_how_it_was_timed_is_no_part_of_the_name(self):
        self.assertEqual(list(bench.read(report(name="b/300/iterations:3/manual_time"))), ["b/300"])

    def test_a_bench_that_failed_is_told_and_has_no_figure(self):
        told = io.StringIO()
        with contextlib.redirect_stderr(told):
            found = bench.read(report(error_occurred=True, error_message="no peer here"))
        self.assertEqual(found, {})
        self.assertIn("b: no peer here", told.getvalue())

    def test_means_and_medians_of_repetitions_are_left_out(self):
        self.assertEqual(bench.read(report(run_type="aggregate")), {})


class KeepFastest(unittest.TestCase):
    def test_the_ratio_stays_with_its_round(self):
        best = {}
        for seconds, ratio in ((2.0, 7.0), (1.0, 9.0), (3.0, 5.0)):
            bench.keep_fastest(best, {"b": {"seconds": seconds, "ratio": ratio}})
        self.assertEqual(best["b"], {"seconds": 1.0, "ratio": 9.0})


class GoalLine(unittest.TestCase):
    def test_at_least(self):
        self.assertIn(">= 100", bench.goal_line("b", {"ratio": 120.0, "goal_at_least": 100.0}, 4))
        self.assertTrue(bench.goal_line("b", {"ratio": 100.0, "goal_at_least": 100.0}, 4).endswith("  met"))
        self.assertTrue(bench.goal_line("b", {"ratio": 99.0, "goal_at_least": 100.0}, 4).endswith("NOT met"))

    def test_at_most(self):
        self.assertTrue(bench.goal_line("b", {"ratio": 0.9, "goal_at_most": 1.0}, 4).endswith("  met"))
        self.assertTrue(bench.goal_line("b", {"ratio": 1.1, "goal_at_most": 1.0}, 4).endswith("NOT met"))

    def test_a_ratio_without_a_goal_is_shown_all_the_same(self):
        self.assertEqual(bench.goal_line("b", {"ratio": 2.0}, 4).split(), ["b", "2"])

    def test_no_ratio_no_line(self):
        self.assertEqual(bench.goal_line("b", {"seconds": 1.0}, 4), "")


if __name__ == "__main__":
    unittest.main()
